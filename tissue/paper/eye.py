"""The eye on paper: flattened sections with their scale bars, the front view, and a map on it."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tissue.budget.comparison import Comparison
from tissue.drawing.base.curve import Curve
from tissue.drawing.base.outline import Least, Outline
from tissue.drawing.base.rings import Front
from tissue.drawing.base.traces import Points
from tissue.drawing.base.words import whole
from tissue.drawing.own_map.layer import REACH_MM, layer_of
from tissue.drawing.own_map.over_front import map_of_thickness
from tissue.ground.vocabulary import Array
from tissue.paper.page import Paper
from tissue.removal.options import Every

DASH = Every(lambda traits: traits.dash)
TITLES = Every(lambda traits: traits.head)
ABOVE = Every(lambda traits: traits.above)
GREYS = {"stroma": 1.0, "epithelium": 0.93, "above": 0.95, "removed": 0.86, "pupil": 0.88}
ISO_GREY = 0.78
LABEL_PT = 7.6
MAP_STEP_UM = 20.0  # between the lines of a map; closer ones would run together
MAP_PT, MAP_RIGHT_MM, MAP_DOWN_MM, MAP_LINE_MM = 6.3, 24.0, 15.4, 2.5
LINE_PT, BEYOND_PT, HATCH_PT = 0.3, 0.25, 0.2
LINE_GREY, HATCH_GREY = 0.35, 0.6


class Frame:
    """Where a flattened section lies on the page: upper left corner [mm], mm of paper for a mm and a µm of the eye."""

    def __init__(
        self, x_mm: float, y_mm: float, width_mm: float, height_mm: float, half_width_mm: float, deepest_um: float
    ) -> None:
        self.x_mm, self.y_mm, self.width_mm, self.height_mm = x_mm, y_mm, width_mm, height_mm
        self.half_width_mm = half_width_mm
        self.across = width_mm / (2.0 * half_width_mm)
        self.down = height_mm / deepest_um

    def x(self, position_mm: ArrayLike) -> Any:
        """Page position [mm] of a position along the meridian [mm]."""
        return self.x_mm + (np.asarray(position_mm, dtype=float) + self.half_width_mm) * self.across

    def y(self, depth_um: ArrayLike) -> Any:
        """Page position [mm] of a depth [µm]."""
        return self.y_mm + np.asarray(depth_um, dtype=float) * self.down

    def points(self, curve: Curve) -> tuple[Any, Any]:
        """Page points [mm] of a Curve."""
        return self.x(curve.position_mm), self.y(curve.depth_um)

    @property
    def corners(self) -> tuple[list[float], list[float]]:
        """The frame as a polygon [mm]."""
        x, y = self.x_mm, self.y_mm
        return [x, x + self.width_mm, x + self.width_mm, x], [y, y, y + self.height_mm, y + self.height_mm]


def draw_section(paper: Paper, outline: Outline, frame: Frame) -> None:
    """One flattened section: tissues by grey and hatch, cut, removal, bed, the user's line, labels in µm."""
    with paper.clipped(*frame.corners):
        for curve in outline.iso_depths:
            paper.line(*frame.points(curve), 0.25, grey=ISO_GREY)
        _band(paper, frame, outline.epithelium, "epithelium", ".")
        if outline.above is not None:
            paper.area(*frame.points(outline.above), GREYS["above"], "\\")
        if outline.floor is not None:
            paper.area(*frame.points(outline.floor), GREYS["removed"], "/")
            paper.line(*frame.points(outline.floor), 0.7, DASH[outline.name])
        if outline.cut is not None:
            paper.line(*frame.points(outline.cut), 1.1, DASH[outline.name])
        if outline.user_line is not None:
            paper.line(*frame.points(outline.user_line), 0.5, "longdashdot")
        paper.line(*frame.points(outline.back), 1.1)
    paper.line([frame.x_mm, frame.x_mm + frame.width_mm], [frame.y_mm, frame.y_mm], 0.7)
    if outline.available:
        _labels(paper, outline, frame)
    else:
        paper.text(frame.x(0.0), frame.y(0.55 * outline.thickness_um), outline.why_not, LABEL_PT, "bold", "centre")


def _band(paper: Paper, frame: Frame, curve: Curve, tissue: str, hatch: str) -> None:
    """The layer from the front surface to a level."""
    x, y = frame.points(curve)
    paper.area([x[0], x[-1], x[-1], x[0]], [frame.y_mm, frame.y_mm, y[-1], y[0]], GREYS[tissue], hatch)


def _labels(paper: Paper, outline: Outline, frame: Frame) -> None:
    """Dimension line with its ticks, and the layers' names with their figures beside it."""
    middle = frame.x(0.0)
    floor = outline.cut_um + outline.removed_um
    paper.line([middle, middle], frame.y([0.0, outline.thickness_um]), 0.6)
    for depth in (0.0, outline.cut_um, floor, outline.thickness_um):
        paper.line([middle - 0.9, middle + 0.9], [frame.y(depth)] * 2, 0.6)
    first = ABOVE[outline.name]
    rows = [
        (first, outline.cut_um, 0.5 * outline.cut_um),
        ("removed", outline.removed_um, outline.cut_um + 0.5 * outline.removed_um),
    ]
    least_y = -np.inf
    for word, value, depth in rows:
        least_y = max(frame.y(depth) + 1.0, least_y + 3.1)
        _plate(paper, middle + 1.6, least_y, f"{word} {whole(value)}")
    bed_y = max(frame.y(floor + 0.45 * (outline.thickness_um - floor)) + 1.0, least_y + 3.4)
    _plate(paper, middle + 1.6, bed_y, f"bed {whole(outline.bed_um)}", "sans" if outline.ring else "bold")
    if outline.user_line is not None:
        at = -0.66 * frame.half_width_mm
        depth = np.interp(at, outline.user_line.position_mm, outline.user_line.depth_um)
        if depth < frame.height_mm / frame.down:
            _plate(paper, frame.x(at), frame.y(depth) + 0.9, f"bed {whole(outline.user_line_um)}", "sans", "centre")
    if outline.deepest is not None:
        _off_centre(paper, outline, frame)
    if outline.least is not None:
        _least(paper, outline.least, frame, "bold" if outline.ring else "sans")


def _off_centre(paper: Paper, outline: Outline, frame: Frame) -> None:
    """A second, thinner dimension line where the removal is deepest, which shows only the removal."""
    deepest = outline.deepest
    if deepest is None:
        return
    x = float(frame.x(deepest.position_mm))
    ends = frame.y([outline.cut_um, outline.cut_um + deepest.removed_um])
    paper.line([x, x], ends, 0.4)
    for y in ends:
        paper.line([x - 0.6, x + 0.6], [y, y], 0.4)
    _plate(paper, x, ends[1] + 3.2, f"removed {whole(deepest.removed_um)}", "sans", "centre")


def _plate(paper: Paper, x_mm: float, y_mm: float, text: str, font: str = "bold", align: str = "left") -> None:
    """A label on a white ground, so that no hatch runs through it."""
    from tissue.paper.page import text_width_mm

    width = text_width_mm(text, LABEL_PT, font)
    left = x_mm - (0.5 * width if align == "centre" else 0.0)
    x = [left - 0.5, left + width + 0.5, left + width + 0.5, left - 0.5]
    paper.area(x, [y_mm - 2.3, y_mm - 2.3, y_mm + 0.7, y_mm + 0.7], 1.0)
    paper.text(x_mm, y_mm, text, LABEL_PT, font, align)


def _least(paper: Paper, least: Least, frame: Frame, font: str) -> None:
    """The least bed: a triangle under the back surface, or in words where it lies off the meridian."""
    words = f"least bed {whole(least.bed_um)}"
    x, y = float(frame.x(least.position_mm)), float(frame.y(least.depth_um))
    if least.on_meridian:
        paper.area([x, x - 0.9, x + 0.9], [y + 0.3, y + 1.8, y + 1.8], 0.0)
    else:
        words += f", {least.off_mm:.1f} mm off this meridian"
    paper.text(x, y + 4.4, words, 7.0, font, "centre")


def draw_bars(paper: Paper, frame: Frame, x_mm: float, y_mm: float) -> None:
    """Scale bars with the scales in words: 1 mm of width, 100 µm of depth."""
    wide, deep = frame.across, 100.0 * frame.down
    paper.line([x_mm, x_mm, x_mm + wide], [y_mm - deep, y_mm, y_mm], 1.0)
    scale = f"100 µm of depth ({1000.0 * frame.down:.0f} : 1), front drawn flat"
    paper.text(x_mm + 1.2, y_mm - deep + 1.6, scale, 7.0)
    paper.text(x_mm + wide + 1.2, y_mm + 0.8, f"1 mm of width ({frame.across:.1f} : 1)", 7.0)


def draw_front(
    paper: Paper, seen: Front, x_mm: float, y_mm: float, radius_mm: float, side_words: tuple[str, str]
) -> None:
    """The front view about (x, y) with the limbus drawn at a radius [mm].

    Args:
        paper: Paper.
        seen: rings.Front.
        x_mm, y_mm, radius_mm: middle and limbus radius on the page [mm].
        side_words: words at the viewer's left and right (temporal, nasal).
    """
    factor = radius_mm / seen.limbus.radius_mm

    def put(points: Points) -> tuple[Array, Array]:
        return x_mm + np.asarray(points[0]) * factor, y_mm - np.asarray(points[1]) * factor

    pupil, zone = seen.pupil, seen.zone
    paper.circle(x_mm + pupil.x_mm * factor, y_mm - pupil.y_mm * factor, pupil.radius_mm * factor, 0.4, GREYS["pupil"])
    paper.circle(x_mm, y_mm, radius_mm, 0.9)
    paper.line(*put(zone.arc()), 0.8)
    if seen.bare:
        paper.line(*put(seen.treated[seen.bare].arc()), 0.7, DASH[seen.bare])
    if seen.flap is not None:
        paper.line(*put(seen.flap.arc(*seen.flap_arc_deg)), 0.9, "dashed")
        for stroke in seen.hinge:
            paper.line(*put(stroke), 0.5)
    if seen.cap is not None:
        paper.line(*put(seen.cap.arc()), 0.7)
        paper.line(*put(seen.cap.arc(*seen.incision_arc_deg)), 2.4)
    for stroke in seen.axis_marks:
        paper.line(*put(stroke), 1.2)
    tx, ty = (float(part) for part in put(seen.thinnest))
    paper.line([tx - 0.9, tx + 0.9, tx, tx - 0.9], [ty - 0.7, ty - 0.7, ty + 0.8, ty - 0.7], 0.6)
    paper.line([x_mm - 1.2, x_mm + 1.2], [y_mm, y_mm], 0.6)
    paper.line([x_mm, x_mm], [y_mm - 1.2, y_mm + 1.2], 0.6)
    if not seen.centred:
        cx, cy = (float(part) for part in put(seen.centre))
        paper.line([cx - 0.9, cx + 0.9], [cy - 0.9, cy + 0.9], 0.6)
        paper.line([cx - 0.9, cx + 0.9], [cy + 0.9, cy - 0.9], 0.6)
    for sign, words, align, mark in ((-1, side_words[0], "right", "180°"), (1, side_words[1], "left", "0°")):
        edge = x_mm + sign * radius_mm
        paper.line([edge, edge + sign * 1.4], [y_mm, y_mm], 0.8)
        paper.text(edge + sign * 1.9, y_mm + 0.9, mark, 7.0, align=align)
        paper.text(edge + sign * 1.9, y_mm - 2.4, words, 9.0, "italic", align)


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
            for stroke in strokes if level % MAP_STEP_UM == 0 else ():
                paper.line(*put(stroke), width, dash, LINE_GREY)
    said = (f"thickness by the map, every {MAP_STEP_UM:.0f} µm", "hatched: not measured")
    for i, words in enumerate(said):
        paper.text(x_mm + MAP_RIGHT_MM, y_mm + MAP_DOWN_MM + MAP_LINE_MM * i, words, MAP_PT, align="right", grey=0.3)
