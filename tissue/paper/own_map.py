"""An eye's own map on the record: its lines over the front view, and the area without readings."""

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.traces import Points
from tissue.drawing.own_map.layer import REACH_MM, layer_of
from tissue.drawing.own_map.over_front import map_of_thickness
from tissue.ground.vocabulary import Array
from tissue.paper.page import Paper

STEP_UM = 20.0  # step between the lines; closer ones would run together
WORDS_PT, RIGHT_MM, DOWN_MM, STEP_MM = 6.3, 24.0, 15.4, 2.5
LINE_PT, BEYOND_PT, HATCH_PT = 0.3, 0.25, 0.2
LINE_GREY, HATCH_GREY = 0.35, 0.6


def draw_map(paper: Paper, comparison: Comparison, x_mm: float, y_mm: float, radius_mm: float) -> None:
    """Draw the lines of equal thickness about (x, y), with their meaning below at the right; nothing without a map.

    Args:
        paper: Paper. comparison: Comparison of one eye.
        x_mm, y_mm, radius_mm: middle and limbus radius of the front view on the page [mm].
    """
    surface = map_of_thickness(comparison)
    if surface is None:
        return
    limbus_mm = float(comparison.cornea.white_to_white_mm) / 2.0
    factor = radius_mm / limbus_mm

    def put(stroke: Points) -> tuple[Array, Array]:
        return x_mm + np.asarray(stroke[0]) * factor, y_mm - np.asarray(stroke[1]) * factor

    found = layer_of(surface, min(REACH_MM, limbus_mm))
    for stroke in found.hatch:
        paper.line(*put(stroke), HATCH_PT, grey=HATCH_GREY)
    for by_level, width, dash in ((found.beyond, BEYOND_PT, "dotted"), (found.known, LINE_PT, "solid")):
        for level, strokes in by_level.items():
            for stroke in strokes if level % STEP_UM == 0 else ():
                paper.line(*put(stroke), width, dash, LINE_GREY)
    said = (f"thickness by the map, every {STEP_UM:.0f} µm", "hatched: not measured")
    for i, words in enumerate(said):
        paper.text(x_mm + RIGHT_MM, y_mm + DOWN_MM + STEP_MM * i, words, WORDS_PT, align="right", grey=0.3)
