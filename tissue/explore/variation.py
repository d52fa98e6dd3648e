"""One eye's plan with some inputs in columns, and one measure of one option with only what it needs computed."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tissue.budget.budget import Budget, bed_wanted, budget, deepest_off_centre, share_wanted
from tissue.budget.comparison import availability, least_known
from tissue.budget.least_bed import Place, worst_places
from tissue.budget.spread import Spread, spread
from tissue.budget.strength.relationship import Relationship, relationships
from tissue.budget.strength.strength import relative_strength
from tissue.entry.eye import Inputs, build
from tissue.entry.fields import fields
from tissue.explore.draws import strength_name
from tissue.ground.errors import EyeError
from tissue.ground.errors import number as as_number
from tissue.ground.limits import of_kind, one_word
from tissue.ground.vocabulary import NOT_GIVEN, Array, Floats, Words
from tissue.removal.options import Setting, options_of
from tissue.removal.removal import Treatment, profile_of

SPANS = {"zone_mm": (5.5, 7.5), "cap_um": (90.0, 160.0), "flap_um": (80.0, 160.0), "base_um": (0.0, 40.0)}
SPHERES_D = ((-10.0, 0.0), (0.0, 6.0))  # of a myopic eye, and of any other
NUMBER = 60
NO_SURFACE = "there is no surface over this zone"
NOT_DEEPER = "the cut is not deeper than the epithelium"
REPORTED = (
    ("reported_ablation_um", "ablation"),
    ("reported_lenticule_um", "extracted"),
)  # and its Removal
SAME = 1e-9


def known_measures() -> tuple[str, ...]:
    """Names of all figures that can be varied: budget, spread, and the strength by each relationship."""
    return (*Budget.__dataclass_fields__, *Spread.__dataclass_fields__, *map(strength_name, relationships()))


def require_plan(values: Mapping[str, Any]) -> None:
    """Raise EyeError unless the values are those of one eye by the names of the interface."""
    of_kind(values=(values, Mapping))
    for name in fields().keys() & values.keys():
        if np.ndim(values[name]):
            raise EyeError(name, "a column", "the value of one eye")


def plan_value(values: dict[str, Any], field: str) -> float:
    """The value of an input in the plan, rules worked out [unit of the field].

    >>> plan_value({"sphere_D": -6.0, "central_thickness_um": 548.0}, "base_um")
    15.0
    """
    return plan_values(values, [field])[field]


def plan_values(values: dict[str, Any], names: Iterable[str]) -> dict[str, Any]:
    """The same for several inputs: {name: value}.

    >>> plan_values({"sphere_D": -6.0, "central_thickness_um": 548.0}, ["base_um", "zone_mm"])
    {'base_um': 15.0, 'zone_mm': 6.5}
    """
    plan = build(values)
    return {name: float(_planned(plan, name)) for name in names}


def values_along(
    values: dict[str, Any], field: str, low: float | None = None, high: float | None = None, number: int = NUMBER
) -> Array:
    """Values of an input from `low` to `high` in even steps, the plan's own among them.

    Args:
        values: the plan by the names of the interface, one eye.
        field: an input of `SPANS`, or the sphere.
        low, high: ends [unit of the field]; the usual ones, wide enough for the plan, where None.
        number: of even steps' ends.

    Raises:
        EyeError: an input that cannot be varied, an end out of its range, or ends in the wrong order.

    >>> values_along({"sphere_D": -6.0, "central_thickness_um": 548.0, "zone_mm": 6.4}, "zone_mm", 6.0, 7.0, 3).tolist()
    [6.0, 6.4, 6.5, 7.0]
    """
    require_varied(field)
    plan, entry = plan_value(values, field), fields()[field]
    usual = SPANS[field] if field in SPANS else SPHERES_D[0 if plan < 0 else 1]
    low, high = (min(usual[0], plan) if low is None else low), (max(usual[1], plan) if high is None else high)
    for end in (low, high):
        if not entry.low <= end <= entry.high:
            raise EyeError(field, end, entry.accepted)
    if not low < high:
        raise EyeError(field, low, f"less than the other end, {high:g}")
    even = np.linspace(low, high, number)
    return np.unique(np.append(even, plan)) if low <= plan <= high else even


def varied(values: dict[str, Any], **columns: Any) -> tuple[Inputs, NDArray[np.str_]]:
    """Inputs of a plan with some inputs in columns, and where they cannot be, in words (empty where they can).

    A reported depth belongs to the plan it was reported for: its ratio to the computed one is held.

    Args:
        values: the plan by the names of the interface, one eye.
        columns: arrays by name [unit of the field] that broadcast with each other.
    """
    plan, shape = build(values), np.broadcast_shapes(*(np.shape(c) for c in columns.values()))
    if "sphere_D" in columns and not np.isnan(plan_treated := _given(values, "treated_sphere_D")):
        columns["treated_sphere_D"] = plan_treated + columns["sphere_D"] - _given(values, "sphere_D")
    inputs = build(values | columns, plan.side)
    shapes = profile_of(inputs.cornea, inputs.treatment, 0.0)
    missing = np.asarray(shapes.zone_radius_mm >= shapes.largest_radius_mm)
    zone = np.where(missing, np.nan, inputs.treatment.zone_mm)[()]
    treatment = _with_reported(plan, inputs, replace(inputs.treatment, zone_mm=zone))
    why = np.where(np.broadcast_to(missing, shape), NO_SURFACE, "")
    for name in ("cap_um", "flap_um"):
        if name in columns:
            why = np.where(columns[name] <= inputs.cornea.epithelium_um, NOT_DEEPER, why)
    return replace(inputs, treatment=treatment), why


def figure_of(inputs: Inputs, option: str, measure: str) -> tuple[Floats, Words]:
    """One measure of one option, and why there is none; only what the measure needs is computed.

    Args:
        inputs: Inputs of one eye or of columns that broadcast.
        option: name of one; measure: one of `known_measures`.
    """
    require_known(measure)
    cornea, treatment, judgement = inputs.cornea, inputs.treatment, inputs.judgement
    setting = Setting(cornea, treatment, inputs.flap, inputs.cap, judgement, inputs.errors)
    options = {one.name: one for one in options_of(setting)}
    one_word(option, "option", options)
    mine = options[option]
    least, greatest = worst_places(cornea, [bed_wanted(cornea, mine)])[0], Place(np.nan, np.nan, np.nan)
    if measure == "altered_max_percent":
        greatest = worst_places(cornea, [share_wanted(cornea, mine)])[0]
    figures = budget(cornea, treatment, mine, least, greatest)
    available, why_not = availability(mine, least_known(figures))
    if hasattr(figures, measure):
        value = getattr(figures, measure)
    elif measure in Spread.__dataclass_fields__:
        beds = figures.bed_central_um, figures.bed_min_um, judgement.bed_line_um
        value = getattr(spread(cornea, mine, inputs.errors, *beds), measure)
    else:
        depths = (cornea.central_thickness_um, cornea.epithelium_um, mine.cut_um, mine.removal.central_um, mine.credit)
        value = relative_strength(relationship_of(measure), *depths)
        value = np.where(deepest_off_centre(mine), np.nan, value)
    return np.where(available, value, np.nan)[()], why_not


def require_known(measure: str) -> None:
    """Raise EyeError for a measure that cannot be varied."""
    one_word(measure, "measure", known_measures())


def require_varied(field: str) -> None:
    """Raise EyeError for an input that cannot be varied."""
    one_word(field, "field", (*SPANS, "sphere_D"))


def axis_values(x: ArrayLike, field: str) -> Array:
    """Values of an axis as they are given [unit of the field].

    Raises:
        EyeError: no numbers, or no row of them.
    """
    found = np.atleast_1d(as_number(x, field))
    if found.ndim != 1 or not found.size:
        raise EyeError(field, " × ".join(map(str, found.shape)) + " values", "a row of values")
    return found


def relationship_of(measure: str) -> Relationship:
    """The relationship whose strength a measure is."""
    return next(one for one in relationships().values() if strength_name(one.id) == measure)


def _given(values: Mapping[str, Any], field: str) -> float:
    """A number as given; NaN where it was not."""
    value = values.get(field)
    return np.nan if value is None else float(value)


def _planned(inputs: Inputs, field: str) -> Floats:
    """The value of an input that can be varied."""
    if field == "sphere_D":
        return inputs.measured.sphere_D
    parts = (inputs.treatment, inputs.cap, inputs.flap)
    value = next(getattr(part, field) for part in parts if hasattr(part, field))
    return np.nan if value is None else value


def _with_reported(plan: Inputs, inputs: Inputs, treatment: Treatment) -> Treatment:
    """The treatment with each reported depth in its ratio to the computed one; exactly as reported at the plan."""
    if np.all(np.isnan([getattr(plan.treatment, name) for name, _ in REPORTED])):
        return treatment
    free = replace(treatment, **dict.fromkeys((name for name, _ in REPORTED), NOT_GIVEN))
    settings = (inputs.judgement, inputs.errors)
    planned = Setting(plan.cornea, plan.treatment, plan.flap, plan.cap, *settings)
    computed = Setting(inputs.cornea, free, inputs.flap, inputs.cap, *settings)
    depths: dict[str, Any] = {}
    for name, at in REPORTED:
        reported, taken = getattr(plan.treatment, name), getattr(computed, at)
        held = getattr(planned, at).scale * taken.t_max_um + taken.base_um
        held = np.where(np.abs(held - reported) <= SAME * reported, reported, held)
        nothing = np.isnan(reported) | (taken.t_max_um <= 0)
        depths[name] = np.where(nothing, np.nan, held)
    return replace(treatment, **depths)
