"""A map in the front view: lines of equal thickness, what is not measured, and where the bed is near its least."""

import numpy as np

from tissue.budget.comparison import Comparison, Result
from tissue.budget.map_figures import NEAR_SDS, bed_um, near_least_mm2, near_least_um
from tissue.drawing.base.palette import DASH, HEADS, Look
from tissue.drawing.base.traces import lines
from tissue.drawing.base.words import whole
from tissue.drawing.own_map.layer import REACH_MM, STEP_UM, Stroke, layer_of, level_lines, stretches
from tissue.drawing.own_map.view import layer_traces
from tissue.eye.measured.surface import Surface

GRID_MM = 0.08


def map_traces(comparison: Comparison, look: Look, near: dict[str, list[Stroke]]) -> list[dict]:
    """The traces under the rings of the front view; none in an eye whose thickness is not from a map.

    Args:
        comparison: Comparison of one eye. look: Look. near: see `near_least`.
    """
    surface = map_of_thickness(comparison)
    if surface is None:
        return []
    reach = min(REACH_MM, float(comparison.cornea.white_to_white_mm) / 2.0)
    found = layer_traces(layer_of(surface, reach), look, 0.6)
    return found + [lines(part, "", look.option[name], 1.8, DASH[name]) for name, part in near.items()]


def near_least(comparison: Comparison) -> dict[str, list[Stroke]]:
    """The outline, by option, of the area where the bed is near its least; only for options that have one."""
    if map_of_thickness(comparison) is None:
        return {}
    found = {name: near_least_lines(comparison, result) for name, result in comparison.results.items()}
    return {name: strokes for name, strokes in found.items() if strokes}


def map_of_thickness(comparison: Comparison) -> Surface | None:
    """The map of the thickness of an eye; None where there is none."""
    own = comparison.cornea.own_map
    return None if own is None else own.thickness


def near_least_lines(comparison: Comparison, result: Result) -> list[Stroke]:
    """The outline of the area where the bed is within two errors of a reading of its least; empty without a least bed.

    Args:
        comparison: Comparison of one eye with a map. result: one of its Results.
    """
    taken = result.option.removal
    if not result.available or np.isnan(result.budget.bed_min_um):
        return []
    reach = float(taken.radius_mm)
    line = np.arange(-reach - GRID_MM, reach + 1.5 * GRID_MM, GRID_MM)
    x, y = line + float(taken.centre_x_mm), line + float(taken.centre_y_mm)
    bed = bed_um(comparison, result, *np.meshgrid(x, y))
    found = []
    for u, v in level_lines(x, y, bed, float(near_least_um(comparison, result))):
        found += stretches(u, v, np.hypot(u - taken.centre_x_mm, v - taken.centre_y_mm) <= reach)
    return found


def map_sentences(comparison: Comparison) -> list[str]:
    """The sentences of the map for the alternative text of the front view; none without one."""
    surface = map_of_thickness(comparison)
    if surface is None:
        return []
    found = [
        f"Lines of equal thickness every {STEP_UM[True]:g} µm by the map of the eye; it is known over a disc of "
        f"{2.0 * float(surface.covered_mm(0.0, 0.0)):.1f} mm about the vertex, beyond it is hatched and not measured"
    ]
    areas = {
        HEADS[name].lower(): near_least_mm2(comparison, result)
        for name, result in comparison.results.items()
        if result.available and not np.isnan(result.budget.bed_min_um)
    }
    if areas:
        near = ", ".join(f"{name} {area:.1f} mm²" for name, area in areas.items())
        found.append(f"The bed is within {near_words(comparison)} µm of its least over: {near}")
    return found


def near_words(comparison: Comparison) -> str:
    """How far above the least the outline lies [µm], in words."""
    return whole(NEAR_SDS * comparison.cornea.thickness.sd_um)
