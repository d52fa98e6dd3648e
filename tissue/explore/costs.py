"""What small changes and cures cost in tissue: plans side by side, from one call of the same arithmetic."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from tissue.budget import remedies
from tissue.budget.comparison import Result
from tissue.budget.notices import THIN_LENTICULE_UM
from tissue.entry.eye import build
from tissue.entry.fields import fields
from tissue.explore.variation import plan_value, plan_values, varied
from tissue.ground.vocabulary import Array
from tissue.removal.options import Judgement, procedures

STEPS = (("zone_mm", 0.1), ("cap_um", 10.0), ("flap_um", -10.0))
FIGURES = (
    "removal_central_um",
    "removal_max_um",
    "removal_volume_mm3",
    "bed_central_um",
    "bed_min_um",
    "altered_percent",
)
SPREADS = ("bed_low_um", "bed_high_um")
STRENGTH = "strength_percent"  # by the relationship the plan chooses


@dataclass(frozen=True, eq=False)
class Beside:
    """One plan beside others: its id, the inputs it changes, {option: {figure: value}}, and why it has no figures."""

    id: str
    inputs: dict[str, float]
    figures: dict[str, dict[str, float]]
    why: str = ""

    def less(self, other: "Beside") -> dict[str, dict[str, float]]:
        """{option: {figure: this value minus the other's}}."""
        return {
            name: {figure: value - other.figures[name][figure] for figure, value in mine.items()}
            for name, mine in self.figures.items()
        }


def beside(values: dict[str, Any], plans: dict[str, dict[str, float]]) -> list[Beside]:
    """Plans side by side, in their order.

    Args:
        values: the plan by the names of the interface, one eye.
        plans: {id: {input: value [unit of the field], NaN where not given}}; what a plan leaves out is as planned.

    Returns:
        A list of Beside, with figures of FIGURES and SPREADS, and the strength by the chosen relationship.
    """
    names = sorted({name for changes in plans.values() for name in changes})
    planned = plan_values(values, names)
    columns = {n: np.array([changes.get(n, planned[n]) for changes in plans.values()]) for n in names}
    inputs, why = varied(values, **columns) if names else (build(values), np.array([""]))
    said = [str(reason) or _out_of_range(changes) for reason, changes in zip(why, plans.values(), strict=True)]
    table = {name: _columns(result, inputs.judgement, len(plans)) for name, result in inputs.compare().results.items()}
    return [
        Beside(
            id,
            changes,
            {o: {f: float("nan") if said[i] else float(c[i]) for f, c in mine.items()} for o, mine in table.items()},
            said[i],
        )
        for i, (id, changes) in enumerate(plans.items())
    ]


def _columns(result: Result, judgement: Judgement, number: int) -> dict[str, Array]:
    """The figures of one option, one entry for each plan."""
    found = {name: getattr(result.budget, name) for name in FIGURES}
    found |= {name: getattr(result.spread, name) for name in SPREADS}
    found[STRENGTH] = result.strength.strength_percent[judgement.relationship]
    return {name: np.broadcast_to(value, number) for name, value in found.items()}


def _out_of_range(changes: Mapping[str, float]) -> str:
    """Words where a changed input is outside what its field accepts; otherwise empty."""
    for name, value in changes.items():
        entry = fields()[name]
        if value < entry.low or value > entry.high:
            return f"{entry.heading}: accepted {entry.accepted}"
    return ""


def step_costs(
    values: dict[str, Any], steps: tuple[tuple[str, float], ...] = STEPS
) -> dict[str, tuple[float, dict[str, dict[str, float]], str]]:
    """What one step of each input costs every option: {input: (step, {option: {figure: after less before}}, why)}.

    A step of the planned flap or cap changes nothing where a measured one is given, for that is the cut.

    Args:
        values: the plan by the names of the interface, one eye.
        steps: (input, step [unit of the field]).

    >>> costs = step_costs({"sphere_D": -6.0, "central_thickness_um": 548.0})
    >>> [round(changes["flap"]["bed_central_um"], 1) for _, changes, _ in costs.values()]
    [-3.5, 0.0, 10.0]
    """
    planned = plan_values(values, [field for field, _ in steps])
    plans = {field: {field: planned[field] + step} for field, step in steps}
    first, *rest = beside(values, {"as-planned": {}} | plans)
    return {row.id: (step, row.less(first), row.why) for row, (_, step) in zip(rest, steps, strict=True)}


def thin_lenticule_cures(values: dict[str, Any], thickest_um: float = THIN_LENTICULE_UM) -> list[Beside]:
    """The plan, and the zone and the base that bring a thin lenticule to `thickest_um`, beside each other.

    `wider-zone` is left out where no zone up to 9 mm reaches it, `thicker-base` where no accepted base does; only
    `as-planned` where the lenticule is no thinner, or where nothing is treated.

    Args:
        values: the plan by the names of the interface, one eye.
        thickest_um: what the lenticule shall reach at its thickest [µm].

    >>> rows = thin_lenticule_cures({"sphere_D": -1.25, "central_thickness_um": 548.0})
    >>> [(row.id, round(row.figures["lenticule"]["removal_max_um"])) for row in rows]
    [('as-planned', 35), ('wider-zone', 50), ('thicker-base', 50)]
    """
    comparison = build(values).compare()
    result = comparison.under_cap
    deepest = float(result.option.removal.max_um)
    plans: dict[str, dict[str, float]] = {"as-planned": {}}
    if result.available and deepest < thickest_um:
        zone = remedies.zone_for_depth(comparison, result.option, thickest_um)
        base = float(result.option.removal.base_um) + thickest_um - deepest
        plans |= {} if zone is None else {"wider-zone": {"zone_mm": zone}}
        plans |= {"thicker-base": {"base_um": base}} if base <= fields()["base_um"].high else {}
    return beside(values, plans)


def planned_and_measured(values: dict[str, Any]) -> dict[str, list[Beside]]:
    """The plan with the planned cut and with the measured one: {option: [Beside planned, Beside measured]}.

    Empty for an option without a measured cut.

    Args:
        values: the plan by the names of the interface, one eye.

    >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0, "flap_measured_um": 150.0}
    >>> [round(row.figures["flap"]["bed_central_um"]) for row in planned_and_measured(eye)["flap"]]
    [333, 293]
    """
    found = {}
    for option, traits in procedures().items():
        field = traits.measured_field
        measured = np.nan if field is None else plan_value(values, field)
        if field is not None and not np.isnan(measured):
            found[option] = beside(values, {"planned": {field: np.nan}, "measured": {field: measured}})
    return found
