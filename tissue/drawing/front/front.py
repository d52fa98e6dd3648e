"""The view from the front: the large picture with its names, and the small one of the measures' column."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base import palette
from tissue.drawing.base.handles import with_handles
from tissue.drawing.base.labels import Label, Leader, label
from tissue.drawing.base.palette import DASH, SHORT, Look
from tissue.drawing.base.rings import Circle, Front, front
from tissue.drawing.base.traces import Item, area, axis, layout, lines, marks, texts, words
from tissue.drawing.base.words import SIDES, degrees, direction_word, length, whole
from tissue.drawing.front.handles import zone_handle
from tissue.drawing.own_map.layer import STEP_UM
from tissue.drawing.own_map.over_front import map_of_thickness, map_traces, near_least, near_words
from tissue.ground.vocabulary import Array, Figure

TICKS_PX = 52.0  # right part of the measure column, left to the figures of the depth axis
SMALL_PX, NARROW_SMALL_PX = 134.0, 108.0  # diameter of the limbus
WORDS_PX = 24.0  # words under the limbus
LEAST_SMALL_PX = 54.0  # of the limbus, however narrow the column is: half of what a narrow one shows
LINE_PX = 15.0  # between two lines of words, where one has no room for both
SMALL_STEP_DEG = 7.5  # between the points of a small circle: a seventh of a pixel off it at most
CENTRE_DOWN = 0.42  # middle of the eye, from the upper edge of the plot
PUPIL_TINT = 0.10  # ink in the stroma
WIDTH_PX, HEIGHT_PX = 900, 460
LIMBUS_PX, CENTRE_DOWN_PX = 402.0, 240.0
COLUMN_PX = 231.0  # inner edge of a column of names, from the middle
ROW_PX = 37.0  # between the names
SPREAD = 1.15  # a name is this many times as far up or down as its place
DEGREES_PX, TALL_DEGREES_PX = 16.0, 26.0  # distance of names of one line, and of two, from the row of 0° and 180°
STOP_PX = 9.0  # leaders of places stop short of their mark
SIZE_PX = 13.0
RING_AT_DEG = {"lifted": 55.0, "cap": 40.0, "bare": 22.0, "zone": -16.0, "pupil": -32.0}


class Column(NamedTuple):
    """The measures' column: share of the width, width of the figure, height of the plot and of its last row [px]."""

    share: float
    width_px: float
    plot_px: float
    row_px: float
    narrow: bool

    @property
    def room_px(self) -> float:
        """Width left of the depth axis [px]."""
        return self.share * self.width_px - TICKS_PX

    @property
    def limbus_px(self) -> float:
        """Diameter of the limbus [px]."""
        return max(LEAST_SMALL_PX, min(NARROW_SMALL_PX, self.room_px)) if self.narrow else SMALL_PX

    @property
    def tight(self) -> bool:
        """Whether the words of one row have no room beside each other."""
        return self.narrow and self.room_px < NARROW_SMALL_PX

    def per_mm(self, limbus_mm: float) -> float:
        """Px per mm of the small front view."""
        return self.limbus_px / limbus_mm


def small_front(comparison: Comparison, look: Look, column: Column) -> list[Figure]:
    """Traces of the small front view on the first pair of axes of its Column."""
    seen = front(comparison)
    edge, gap = seen.limbus.radius_mm, 5.0 / column.per_mm(2.0 * seen.limbus.radius_mm)
    items = [] if column.narrow else [
        ("180°", -edge - gap, 0.0, 11, "middle left", "ink2"),
        ("0°", edge + gap, 0.0, 11, "middle right", "ink2"),
    ]  # fmt: skip
    rings = ring_traces(seen, look, "", thick=5.0, thin=1.3, step_deg=SMALL_STEP_DEG)
    return rings + ([texts(items, "", look)] if items else [])


class Under(NamedTuple):
    """Words under a small front view: at which end of its row they begin or end, and px above the lower edge."""

    text: str
    end: str
    above_px: float
    size_px: float
    italic: bool


def under_front(column: Column, side: str, said: str, size: int) -> list[Under]:
    """Words under a small front view: its two ends, and what is said of the sections beside it.

    They are placed from the lower edge: when a window gets narrower the eye shrinks towards the middle, and words that
    moved with it would lie under the button in the lower left.

    Args:
        column: Column.
        side: `OD` or `OS`.
        said: what stands in the last row.
        size: type size of the ends [px].
    """
    ends = column.plot_px * (1.0 - CENTRE_DOWN) - column.limbus_px / 2.0 - WORDS_PX
    left, right = ("temporal", "nasal") if side == "OD" else ("nasal", "temporal")
    lower = LINE_PX if column.tight else 0.0
    words_below = said.replace(", ", ",<br>") if column.tight else said
    return [
        Under(left, "left", ends, size, True),
        Under(right, "right", ends - lower, size, True),
        Under(words_below, "left", column.row_px, 11, False),
    ]


def column_words(look: Look, column: Column, side: str, said: str, size: int) -> list[Figure]:
    """The words of `under_front` as words of a figure; where time counts, `texts` draws them sooner."""
    place: Figure = {"xref": "paper", "yref": "paper", "yanchor": "middle"}
    ends = {"left": 0.0, "right": column.room_px / column.width_px}
    return [
        words(one.text, ends[one.end], 0.0, one.size_px, look.ink if one.italic else look.ink2,
              italic=one.italic, yshift=one.above_px, xanchor=one.end, **place)
        for one in under_front(column, side, said, size)
    ]  # fmt: skip


def small_axes(column: Column, limbus_mm: float) -> Figure:
    """The first pair of axes, at one scale both ways."""
    per_mm = column.per_mm(limbus_mm)
    across, up = column.room_px / per_mm, column.plot_px / per_mm
    ends = (-up * (1.0 - CENTRE_DOWN), up * CENTRE_DOWN)
    return {
        "xaxis": axis((0.0, column.room_px / column.width_px), (-across / 2, across / 2), "y"),
        "yaxis": axis((0.0, 1.0), ends, "x", scaleanchor="x", scaleratio=1, constrain="domain"),
    }


def ring_traces(seen: Front, look: Look, axes: str, thick: float, thin: float, step_deg: float = 5.0) -> list[Figure]:
    """Every circle, arc and place of a Front, from the limbus inwards to the marks.

    Args:
        seen: Front.
        look: Look.
        axes: suffix of the pair of axes.
        thick: width of the incision [px].
        thin: width of the circles [px].
        step_deg: between the points of a circle [degrees].
    """

    def circle(ring: Circle) -> tuple[Array, Array]:
        return ring.arc(step_deg=step_deg)

    ink, option = look.ink, look.option
    pupil = palette.mix(look.stroma, ink, PUPIL_TINT)
    traces = [
        area(circle(seen.limbus), axes, look.stroma, line=(ink, thin + 0.2, "solid")),
        area(circle(seen.pupil), axes, pupil, line=(look.rule2, 0.8, "solid")),
    ]
    inked = list(seen.axis_marks) + ([circle(seen.zone)] if seen.any_available else [])
    if inked:
        traces.append(lines(inked, axes, ink, thin + 0.2))
    if seen.bare:
        traces.append(lines([circle(seen.treated[seen.bare])], axes, option[seen.bare], thin + 0.5, DASH[seen.bare]))
    if seen.flap is not None:
        colour, dash = option[seen.flap_name], DASH[seen.flap_name]
        traces.append(lines([seen.flap.arc(*seen.flap_arc_deg, step_deg=step_deg)], axes, colour, thin + 0.5, dash))
        traces.append(lines(seen.hinge, axes, colour, 1.0))
    if seen.cap is not None:
        traces.append(lines([circle(seen.cap)], axes, option[seen.cap_name], thin))
        traces.append(
            lines([seen.cap.arc(*seen.incision_arc_deg, step_deg=step_deg)], axes, option[seen.cap_name], thick)
        )
    return traces + [marks(place_marks(seen), axes, ink)]


def place_marks(seen: Front, size_px: float = 12.0) -> list[tuple[float, float, str, float, float]]:
    """Vertex +, treatment centre × where it is another place, thinnest point ▽."""
    points = [(0.0, 0.0, "cross-thin-open", size_px + 2.0, 1.4)]
    if not seen.centred:
        points.append((*seen.centre, "x-thin-open", size_px - 2.0, 1.4))
    return points + [(*seen.thinnest, "triangle-down-open", size_px - 1.0, 1.4)]


class Named(NamedTuple):
    """A name and what it points at: (x, y) [mm], whether the leader ends in a dot, wished height [mm] or None."""

    text: str
    x_mm: float
    y_mm: float
    dot: bool = True
    wish_mm: float | None = None


def front_view(
    comparison: Comparison, side: str, look: Look, width_px: float = WIDTH_PX, more: Sequence[Named] = ()
) -> Figure:
    """The eye from the front with every name; bare numbers are mm.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        look: Look.
        width_px: width of the figure [px].
        more: Named of further places.
    """
    seen, near = front(comparison), near_least(comparison)
    per_mm = _px_per_mm(seen)
    placed = [
        *names_placed(cuts(seen, side), seen, per_mm, 1.0),
        *names_placed([*spots(seen, comparison), *_near_least(comparison, near), *more], seen, per_mm, -1.0),
    ]
    limbus, pupil, *rings = ring_traces(seen, look, "", thick=7.0, thin=1.4, step_deg=2.0)
    traces = [limbus, pupil, *map_traces(comparison, look, near), *rings]
    traces += _leaders(placed, look, per_mm)
    items = _items(placed, side, seen, per_mm, width_px)
    if map_of_thickness(comparison) is not None:
        items += _of_map(per_mm, width_px)
    traces.append(texts(items, "", look))
    title = words(
        f"{side} ({SIDES[side]}), seen from the front",
        *(0.0, 1.0, 17, look.ink),
        xref="paper",
        yref="paper",
        xanchor="left",
        yanchor="top",
        serif=True,
        weight=600,
    )
    half = width_px / 2.0 / per_mm
    ends = (-(HEIGHT_PX - CENTRE_DOWN_PX) / per_mm, CENTRE_DOWN_PX / per_mm)
    axes = {
        "xaxis": axis((0.0, 1.0), (-half, half), "y"),
        "yaxis": axis((0.0, 1.0), ends, "x", scaleanchor="x", scaleratio=1),
    }
    frame = layout(look, None, HEIGHT_PX, (0, 0, 0, 0), annotations=[title], **axes)
    handles = [zone_handle(seen, look)] if seen.any_available else []
    return {"data": traces, "layout": frame | with_handles(handles)}


def _px_per_mm(seen: Front) -> float:
    """The limbus at its usual size; smaller where a wide cut off the centre would leave the picture."""
    circles = [one for one in (seen.flap, seen.cap, seen.zone, *seen.treated.values()) if one is not None]
    highest = max(one.y_mm + one.radius_mm for one in circles)
    lowest = max(one.radius_mm - one.y_mm for one in circles)
    usual = LIMBUS_PX / (2.0 * seen.limbus.radius_mm)
    return min(usual, CENTRE_DOWN_PX / highest, (HEIGHT_PX - CENTRE_DOWN_PX) / lowest)


def _of_map(per_mm: float, width_px: float) -> list[Item]:
    """What the lines and the hatch of a map are, under the unit."""
    right = (width_px / 2.0 - 4.0) / per_mm
    said = (f"thickness by the map, every {STEP_UM[True]:g} µm", "hatched: not measured")
    rows = enumerate(said, 1)
    return [(text, right, (CENTRE_DOWN_PX - 14.0 - 17.0 * i) / per_mm, 12, "middle left", "ink2") for i, text in rows]


def cuts(seen: Front, side: str) -> list[Named]:
    """Names of what is cut and treated, with the point of each ring they name."""
    named = []
    if seen.flap is not None:
        turn = np.radians(seen.hinge_deg)
        towards = direction_word(np.cos(turn), np.sin(turn), side)
        at = _off_hinge(seen, RING_AT_DEG["lifted"])
        named.append(Named(f"flap {length(2 * seen.flap.radius_mm)}, hinge {towards}", *seen.flap.point(at)))
    if seen.cap is not None:
        low, high = seen.incision_arc_deg
        end = low if np.cos(np.radians(low)) >= np.cos(np.radians(high)) else high
        middle = (low + high) / 2.0 % 360.0
        opening = np.radians(high - low) * seen.cap.radius_mm
        named.append(Named(f"incision {length(opening)} at {degrees(middle)}", *seen.cap.point(end)))
        named.append(Named(f"cap {length(2 * seen.cap.radius_mm)}", *seen.cap.point(RING_AT_DEG["cap"])))
    if seen.bare:
        ring = seen.treated[seen.bare]
        wide = "with blend " if ring.radius_mm > seen.zone.radius_mm + 1e-9 else ""
        named.append(Named(f"{SHORT[seen.bare]}, {wide}{length(2 * ring.radius_mm)}", *ring.point(RING_AT_DEG["bare"])))
    if seen.any_available:
        named.append(Named(f"zone {length(2 * seen.zone.radius_mm)}", *seen.zone.point(RING_AT_DEG["zone"])))
    return named + [Named(f"pupil {length(2 * seen.pupil.radius_mm)}", *seen.pupil.point(RING_AT_DEG["pupil"]))]


def _off_hinge(seen: Front, deg: float) -> float:
    """A direction near `deg` in which the flap is cut."""
    low, high = seen.flap_arc_deg
    beyond = (deg - high) % 360.0
    gap = 360.0 - (high - low)
    if beyond >= gap:
        return deg
    return high - 2.0 if beyond < gap / 2.0 else low + 2.0


def spots(seen: Front, comparison: Comparison) -> list[Named]:
    """Names of the places, the axis marks first."""
    named = []
    if seen.axis_marks:
        marks_at = [(float(np.mean(x)), float(np.mean(y))) for x, y in seen.axis_marks]
        x, y = min(marks_at)
        named.append(Named(f"axis of the minus<br>cylinder {degrees(seen.axis_deg)}", x, y, False, y))
    x, y = seen.centre
    if seen.centred:
        named.append(Named("vertex +, treatment centre", 0.0, 0.0, False, -1.1))
    else:
        named.append(Named("treatment centre ×", x, y, False, y * 0.5 - 1.1))
        named.append(Named("vertex +", 0.0, 0.0, False, -1.1))
    thinnest = f"thinnest point ▽ {whole(comparison.cornea.thinnest_um)} µm"
    x, y = seen.thinnest
    return [*named, Named(thinnest, x, y, False, y * 0.5 - 1.1)]


def _near_least(comparison: Comparison, near: dict[str, list[tuple[Array, Array]]]) -> list[Named]:
    """The name of the outlines about the least bed; none where there are none."""
    strokes = [stroke for part in near.values() for stroke in part]
    if not strokes:
        return []
    x, y = (np.concatenate(part) for part in zip(*strokes, strict=True))
    at = int(np.argmin(x + 2.0 * y))
    text = f"bed within {near_words(comparison)} µm<br>of its least, by the map"
    return [Named(text, float(x[at]), float(y[at]), wish_mm=float(y[at]) - 1.6)]


def names_placed(named: Sequence[Named], seen: Front, per_mm: float, sign: float) -> list[tuple[Label, Leader, bool]]:
    """Labels and leaders of one column, ordered by height so that leaders do not cross: (Label, Leader, dot)."""

    def wish(one: Named) -> float:
        return -(one.y_mm * SPREAD if one.wish_mm is None else one.wish_mm) * per_mm

    ordered = sorted(named, key=lambda one: (wish(one), sign * one.x_mm))
    keep = [TALL_DEGREES_PX if "<br>" in one.text else DEGREES_PX for one in ordered]
    heights = _rows([wish(one) for one in ordered], keep)
    limbus = seen.limbus.radius_mm * per_mm
    placed = []
    for one, y in zip(ordered, heights, strict=True):
        put = label(one.text, 0.0, y, SIZE_PX)
        put = label(one.text, sign * (COLUMN_PX + put.width_px / 2.0), y, SIZE_PX)
        elbow = sign * max(np.sqrt(max(limbus**2 - y**2, 0.0)), 0.45 * limbus)
        to = np.array([one.x_mm * per_mm, -one.y_mm * per_mm])
        if not one.dot:
            away = np.array([elbow, y]) - to
            to = to + away / np.hypot(*away) * STOP_PX
        leader = Leader(((float(to[0]), float(to[1])), (float(elbow), y), (sign * (COLUMN_PX - 6.0), y)))
        placed.append((put, leader, one.dot))
    return placed


def _rows(wished: Sequence[float], keep: Sequence[float]) -> list[float]:
    """Heights [px] in the order given, at least a row apart, inside the figure, and each so far [px] off the row of 0°
    and 180° as it keeps from it."""
    top, bottom = 46.0 - CENTRE_DOWN_PX, HEIGHT_PX - CENTRE_DOWN_PX - 50.0
    heights: list[float] = []
    for wish, off in zip(wished, keep, strict=True):
        y = max(wish, top) if not heights else max(wish, heights[-1] + ROW_PX)
        heights.append(off if abs(y) < off else y)  # moved downwards
    for i in range(len(heights) - 1, -1, -1):
        limit = bottom if i == len(heights) - 1 else heights[i + 1] - ROW_PX
        y = min(heights[i], limit)
        heights[i] = -keep[i] if abs(y) < keep[i] and y < heights[i] else y
    return heights


def _leaders(placed: Sequence[tuple[Label, Leader, bool]], look: Look, per_mm: float) -> list[Figure]:
    """Leaders in one trace, dots in another."""
    strokes = [tuple(np.array(leader.points).T * [[1.0], [-1.0]] / per_mm) for _, leader, _ in placed]
    dots = [
        (stroke[0][0], stroke[1][0], "circle", 4.5, 0) for stroke, one in zip(strokes, placed, strict=True) if one[2]
    ]
    return [lines(strokes, "", look.ink, 0.8), marks(dots, "", look.ink)]


def _items(
    placed: Sequence[tuple[Label, Leader, bool]], side: str, seen: Front, per_mm: float, width_px: float
) -> list[Item]:
    """Names, the two degree marks, temporal and nasal, and the unit said once."""
    items = []
    for put, _, _ in placed:
        on_right = put.x_px > 0
        edge = (put.x_px - put.width_px / 2.0) if on_right else (put.x_px + put.width_px / 2.0)
        position = "middle right" if on_right else "middle left"
        items.append((put.text, edge / per_mm, -put.y_px / per_mm, SIZE_PX, position, "ink"))
    edge, half = seen.limbus.radius_mm + 8.0 / per_mm, (width_px / 2.0 - 4.0) / per_mm
    row = -(HEIGHT_PX - CENTRE_DOWN_PX - 18.0) / per_mm
    left, right = ("temporal", "nasal") if side == "OD" else ("nasal", "temporal")
    return [
        *items,
        ("180°", -edge, 0.0, 12, "middle left", "ink2"),
        ("0°", edge, 0.0, 12, "middle right", "ink2"),
        (left, -half, row, 15, "middle right", "italic"),
        (right, half, row, 15, "middle left", "italic"),
        ("lengths in mm", half, (CENTRE_DOWN_PX - 14.0) / per_mm, 12, "middle left", "ink2"),
    ]
