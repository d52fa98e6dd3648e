"""A plan in three dimensions for machines and for the terminal."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.ground.vocabulary import signed
from tissue.mechanics.space.maps import BedMap
from tissue.mechanics.space.plan import SPACE_STATES, SpaceRequest, SpaceState, states_in_space
from tissue.report.contract import plain_json

PLACES = {"centre": "centre", "thinnest": "thinnest point", "worst": "greatest in the treated disc"}
SAID = (
    "In three dimensions: the real plan, off the centre and with its axis, thickness map, hinge and incision.",
    "Linear laws only. Behind the cut, over the intact eye: within 1 mm of the treatment centre, within 0.5 mm of the",
    "thinnest point, and the greatest value in the treated disc with its place from the vertex.",
)


def space_report(comparison: Comparison, request: SpaceRequest) -> dict[str, Any]:
    """A plan in three dimensions under the names of the interface: strict JSON.

    Args:
        comparison: Comparison of one eye.
        request: SpaceRequest.

    Raises:
        EyeError: a front surface that ends before the limbus.
    """
    steps = list(states_in_space(comparison, request))
    intact = next((step for step in steps if step.state is None), None)
    found = {step.name: step.state for step in steps if step.state is not None}
    cornea, treatment = comparison.cornea, comparison.treatment
    return plain_json(
        {
            "mesh": request.mesh,
            "law": request.choice.law,
            "unknowns": intact.unknowns if intact else None,
            "reaction_ratio": intact.reaction_ratio if intact else None,
            "centre_mm": [float(treatment.centre_x_mm), float(treatment.centre_y_mm)],
            "thinnest_mm": [float(cornea.thinnest_x_mm), float(cornea.thinnest_y_mm)],
            "states": {name: _state(found[name]) for name in SPACE_STATES if name in found},
        }
    )


def _state(state: SpaceState) -> dict[str, Any]:
    """One state by the names of the interface."""
    made = {name: asdict(getattr(state, name)) if getattr(state, name) else None for name in PLACES}
    return {"why_not": state.why_not or None, **made, "map": _map(state.map) if state.map else None}


def _map(found: BedMap) -> dict[str, Any]:
    """A BedMap, rounded to what its mesh bears."""
    named = asdict(found)
    return {name: np.round(values, 4).tolist() for name, values in named.items()}


def space_table(report: dict[str, Any], titles: Mapping[str, str]) -> str:
    """The text of a space_report for the terminal.

    Args:
        report: what space_report gave.
        titles: {state: its words}.
    """
    lines = [f"In three dimensions, {report['mesh']} mesh, {report['unknowns']:,} unknowns", ""]
    heads = ("stress at the centre", "at the thinnest point", "greatest", "at x, y mm")
    lines.append(" " * 42 + "".join(f"{head:<24}" for head in heads).rstrip())
    for name, state in report["states"].items():
        lines.append((titles[name].ljust(42) + _cells(state)).rstrip())
    return "\n".join([*lines, "", *SAID])


def _cells(state: Mapping[str, Any]) -> str:
    """The stress ratios of one state at its places, or why there are none."""
    if state["why_not"]:
        return state["why_not"]
    worst = state["worst"]
    values = [f"{state[name]['bed_stress_ratio']:.2f}" for name in PLACES]
    place = f"{signed(worst['x_mm'], 2)}, {signed(worst['y_mm'], 2)}"
    return "".join(f"{value:<24}" for value in (*values, place))
