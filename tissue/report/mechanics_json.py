"""The states of one eye for machines and for the terminal."""

from collections.abc import Callable, Mapping
from dataclasses import asdict, fields
from functools import partial
from typing import Any

from tissue.budget.comparison import Comparison
from tissue.ground.vocabulary import rounded, signed
from tissue.mechanics.laws.choice import Choice, mmHg
from tissue.mechanics.plan import section_plan
from tissue.mechanics.shape import PICTURE, Setting
from tissue.mechanics.states import (
    BARE,
    INTACT,
    LIFTED,
    SLACK,
    SLIDING,
    TAUT,
    Figures,
    State,
    StressMap,
    model,
    runs,
    spread_of_runs,
)
from tissue.mechanics.stress_free import StressFree
from tissue.report.contract import SCHEMA, plain_json
from tissue.report.measures import STANDING_LINE

TITLES = {
    INTACT: "intact eye",
    BARE: "surface ablation",
    LIFTED: "flap ablation, flap carries nothing",
    TAUT: "lenticule extraction, cap taut",
    SLIDING: "lenticule extraction, cap sliding",
    SLACK: "lenticule extraction, cap carries nothing",
    "lenticule_closed": "lenticule extraction, cap closed",
}
HEADS: dict[str, tuple[str, Callable[[float], str]]] = {
    "bed_stress_ratio": ("stress in the bed", partial(rounded, decimals=2)),
    "bed_strain_ratio": ("strain in the bed", partial(rounded, decimals=2)),
    "mean_strain_ratio": ("mean strain", partial(rounded, decimals=2)),
    "cap_stress_ratio": ("stress in front", partial(rounded, decimals=2)),
    "load_share_percent": ("load in front, %", rounded),
    "closing_strain_percent": ("closing strain, %", partial(signed, decimals=1)),
}
CLOSED_WORDS = (
    "Cap closed: the cap with the length it had, tied to the bed. Too long for its bed, it presses on it; the model",
    "cannot fold, so the stress of the bed may be higher than with a cap that carries nothing.",
)
WIDE, COLUMN = 42, 22
RATIOS = "Ratios to the intact eye within 1 mm of the centre"
RANGED = "; in brackets least and greatest over all relationships, or by the fibre law over its sets"
SAID = (
    "The truth of a cap lies somewhere between taut and carrying nothing: the range is the message.",
    "Closing strain: how much longer the cap is than the bed under it, along both surfaces over the optical zone;",
    "below 0 it is shorter. A mechanical argument, not a clinical finding. Healing is not in the model.",
)


def mechanics_report(
    comparison: Comparison,
    side: str,
    choice: Choice | None = None,
    setting: Setting = PICTURE,
    maps: bool = True,
    ranged: bool = True,
) -> dict[str, Any]:
    """The states of one eye under the names of the interface: strict JSON.

    Args:
        comparison: Comparison of one eye.
        side: OD or OS.
        choice: Choice of the law; the default one where None.
        setting: Setting of figures, maps and spread.
        maps: whether the stress maps are given.
        ranged: whether the spread is given.

    Raises:
        EyeError: a front surface that ends before the limbus.
    """
    choice, plan = choice or Choice(), section_plan(comparison)
    made, laws = model(plan, setting), choice.laws(plan.shape, setting, ranged)
    found = runs(made, laws, pictures=(choice.name,) if maps else ())
    ranges = spread_of_runs(found) if ranged else {}
    return plain_json(
        {
            "schema": SCHEMA,
            "eye": side,
            "relationship": choice.relationship,
            **_law(choice),
            "pressure_mmHg": mmHg(setting),
            "spread_over": list(laws) if ranged else None,
            "stress_free": _stress_free(made.stress_free(laws[choice.name])),
            "boundary": setting.boundary,
            "meridian_deg": plan.meridian_deg,
            "notes": list(plan.notes),
            "states": {name: _state(state, ranges.get(name), maps) for name, state in found[choice.name].items()},
        }
    )


def _stress_free(shape: StressFree | None) -> dict[str, Any] | None:
    """How a StressFree was found; None where there is none."""
    if shape is None:
        return None
    return {name: getattr(shape, name) for name in ("error_um", "steps", "newton_steps")}


def _law(choice: Choice) -> dict[str, Any]:
    """A Choice by the names of the interface, without the relationship."""
    return {field.name: getattr(choice, field.name) for field in fields(choice) if field.name != "relationship"}


def _state(state: State, ranges: Mapping[str, tuple[float, float]] | None, maps: bool) -> dict[str, Any]:
    """One state by the names of the interface."""
    values = asdict(state.figures) if state.figures else {field.name: None for field in fields(Figures)}
    made = {**values, "bed_stress_kPa": state.bed_stress_kPa, "why_not": state.why_not or None}
    made["spread"] = {name: list(pair) for name, pair in ranges.items()} if ranges else None
    if maps:
        made["map"] = _map(state.map) if state.map else None
    return made


def _map(picture: StressMap) -> dict[str, Any]:
    """A StressMap by layers."""
    names = ("in_front", "behind")
    return {
        name: {
            "r_mm": picture.r_mm[i].round(4).tolist(),
            "z_mm": picture.z_mm[i].round(4).tolist(),
            "stress_kPa": picture.stress_kPa[i].round(3).tolist(),
        }
        for i, name in enumerate(names)
    }


def mechanics_table(report: dict[str, Any]) -> str:
    """The text of a mechanics_report for the terminal.

    Args:
        report: what mechanics_report gave.
    """
    said = [f"{name} {report[name]:g}" for name in ("shear_ratio",) if report[name]]
    said += [f"{name} {report[name]}" for name in ("shear_relationship", "set") if report[name]]
    heads = (
        report["eye"],
        f"law {report['law']}",
        *said,
        f"stiffness by {report['relationship']}",
        f"{report['pressure_mmHg']:g} mmHg",
        f"boundary: {report['boundary']}",
    )
    lines = ["   ".join(heads), ""]
    lines.append(" " * WIDE + "".join(f"{head:<{COLUMN}}" for head, _ in HEADS.values()).rstrip())
    for name, state in report["states"].items():
        cells = [state["why_not"]] if state["why_not"] else [_cell(state, figure) for figure in HEADS]
        lines.append((TITLES[name].ljust(WIDE) + "".join(f"{cell:<{COLUMN}}" for cell in cells)).rstrip())
    return "\n".join(
        [
            *lines,
            "",
            RATIOS + RANGED * (report["spread_over"] is not None) + ".",
            *SAID,
            *(CLOSED_WORDS if "lenticule_closed" in report["states"] else ()),
            *report["notes"],
            "",
            STANDING_LINE,
        ]
    )


def _cell(state: Mapping[str, Any], figure: str) -> str:
    """One figure with its range; a dash where there is none."""
    value, written = state[figure], HEADS[figure][1]
    if value is None:
        return "–"
    if state["spread"] is None:
        return written(value)
    low, high = state["spread"][figure]
    ends = written(low), written(high)
    return written(value) + ("" if ends[0] == ends[1] else f" ({ends[0]}–{ends[1]})")
