"""A plan in three dimensions from the front: ratios of stress behind the cut as maps on one colour scale."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.palette import Look
from tissue.drawing.base.palette import look as look_of
from tissue.drawing.base.rings import Circle, Front, front
from tissue.drawing.base.traces import area, axis, layout, lines, listed, marks, words
from tissue.drawing.charts.stress import TITLES
from tissue.ground.vocabulary import Array, Figure, signed
from tissue.mechanics.states import BARE, LIFTED

if TYPE_CHECKING:
    from tissue.mechanics.space.maps import BedMap
    from tissue.mechanics.space.plan import SpaceState

STEP = 0.1  # between contours
REACH_MM = 4.75
DRAWN_MM = 3.7  # how far out the map is drawn: beyond, its grid ends
ON_MAP, UNDER = look_of("light").ink, "#FFFFFF"
MARGIN_PX = (4, 4, 30, 8)
BAR_PX = 84  # to the right of the one map that has the bar of the colours
PER_MM = 36.0


def common_scale(states: dict[str, SpaceState]) -> tuple[float, float]:
    """Least and greatest ratio of all maps, whole steps; 1 lies between them.

    Args:
        states: {name: SpaceState}.
    """
    values = [state.map.bed_stress_ratio for state in states.values() if state.map is not None]
    if not values:
        return 1.0 - STEP, 1.0 + STEP
    every = np.concatenate([value[np.isfinite(value)] for value in values])
    return min(1.0, STEP * np.floor(every.min() / STEP)), max(1.0 + STEP, STEP * np.ceil(every.max() / STEP))


def draw_space(state: SpaceState, name: str, comparison: Comparison, look: Look, scale: tuple[float, float]) -> Figure:
    """One state seen from the front, or the reason why there is none, in words.

    Args:
        state: SpaceState.
        name: its name.
        comparison: Comparison of the eye, for what is drawn over the map.
        look: Look.
        scale: the one colour scale (least, greatest).
    """
    height = round(MARGIN_PX[2] + MARGIN_PX[3] + 2.0 * REACH_MM * PER_MM)
    frame = layout(look, None, height, (MARGIN_PX[0], BAR_PX, MARGIN_PX[2], MARGIN_PX[3]))
    frame["xaxis"] = axis((0.0, 1.0), (-REACH_MM, REACH_MM), "y")
    frame["yaxis"] = axis((0.0, 1.0), (-REACH_MM, REACH_MM), "x", scaleanchor="x", scaleratio=1)
    place = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "bottom"}
    title = words(TITLES[name], 0.0, 1.0, 14, look.ink, serif=True, **place)
    if state.map is None:
        why = words(state.why_not, 0.0, 0.0, 13, look.ink, xanchor="center")
        return {"data": [], "layout": frame | {"annotations": [title, why]}}
    seen = front(comparison)
    data = [_heat(state.map, look, scale), *_contours(state.map, scale), _cover(look), *_over(seen, name, look)]
    notes = [title, *_place_words(state, seen)]
    return {"data": data, "layout": frame | {"annotations": notes}}


def _blank(values: Array) -> list[list[float | None]]:
    """Values as nested lists, None where there is none."""
    return [[None if value != value else value for value in row] for row in np.round(values, 4).tolist()]


def _heat(found: BedMap, look: Look, scale: tuple[float, float]) -> Figure:
    """The colours with their bar."""
    bar = {
        "thickness": 9, "len": 0.9, "outlinewidth": 0, "xpad": 6, "ticks": "", "dtick": 2 * STEP, "tickformat": ".1f",
        "tickfont": {"size": 11, "color": look.ink2},
        "title": {"text": "× intact bed", "font": {"size": 11, "color": look.ink2}},
    }  # fmt: skip
    return {
        "type": "heatmap", "x": listed(found.x_mm), "y": listed(found.y_mm), "z": _blank(found.bed_stress_ratio),
        "colorscale": "Cividis", "zmin": scale[0], "zmax": scale[1], "zsmooth": "best", "hoverinfo": "skip",
        "colorbar": bar,
    }  # fmt: skip


def _contours(found: BedMap, scale: tuple[float, float]) -> list[Figure]:
    """A line each tenth with its number, and a thicker one where the bed carries what it did."""
    same = {
        "type": "contour", "x": listed(found.x_mm), "y": listed(found.y_mm), "z": _blank(found.bed_stress_ratio),
        "hoverinfo": "skip", "showscale": False, "autocontour": False, "connectgaps": False,
    }  # fmt: skip
    every = {"start": scale[0], "end": scale[1], "size": STEP, "coloring": "none"}
    numbered = {"showlabels": True, "labelfont": {"size": 11, "color": ON_MAP}, "labelformat": ".1f"}
    one = {"start": 1.0, "end": 1.0, "size": 1.0, "coloring": "none"}
    return [
        same | {"contours": every, "line": {"color": UNDER, "width": 3.0, "smoothing": 0.6}, "opacity": 0.6},
        same | {"contours": every | numbered, "line": {"color": ON_MAP, "width": 0.9, "smoothing": 0.6}},
        same | {"contours": one, "line": {"color": ON_MAP, "width": 2.2, "smoothing": 0.6}},
    ]


def _cover(look: Look) -> Figure:
    """The page over what lies outside the map."""
    ring, turn = Circle(0.0, 0.0, DRAWN_MM).arc(step_deg=2.0), np.array([-1.0, 1.0, 1.0, -1.0, -1.0]) * 1.05 * REACH_MM
    square = turn, np.array([-1.0, -1.0, 1.0, 1.0, -1.0]) * 1.05 * REACH_MM
    outside = [np.concatenate([a, b[::-1], a[:1]]) for a, b in zip(square, ring, strict=True)]
    return area((outside[0], outside[1]), "", look.page)


def _over(seen: Front, name: str, look: Look) -> list[Figure]:
    """Zone and axis over the map, the cut with its hinge or incision beside it, vertex and thinnest point."""
    strokes, cut = [seen.zone.arc()], []
    if name == LIFTED and seen.flap is not None:
        cut += [seen.flap.arc(*seen.flap_arc_deg), *seen.hinge]
    elif name != BARE and seen.cap is not None:
        cut += [seen.cap.arc(*seen.incision_arc_deg)]
    if not np.isnan(seen.axis_deg):
        turn = np.radians(seen.axis_deg)
        reach = np.array([-1.0, 1.0]) * seen.zone.radius_mm
        strokes.append((seen.centre[0] + reach * np.cos(turn), seen.centre[1] + reach * np.sin(turn)))
    points = [(0.0, 0.0, "cross-thin", 10, 1.6), (*seen.thinnest, "circle-open", 9, 1.6)]
    return [
        lines(strokes, "", UNDER, 2.2), lines(strokes, "", ON_MAP, 1.2, "dot"),
        *([lines(cut, "", look.ink, 1.6)] if cut else []),
        marks([(x, y, symbol, size, 4.0) for x, y, symbol, size, _ in points], "", UNDER), marks(points, "", ON_MAP),
    ]  # fmt: skip


def _place_words(state: SpaceState, seen: Front) -> list[Figure]:
    """The ratio at the treatment centre."""
    x, y = seen.centre
    ground = "rgba(255,255,255,0.82)"
    assert state.centre is not None  # true of every state with a map
    text = f"{state.centre.bed_stress_ratio:.2f}"
    return [words(text, x, y, 12, ON_MAP, bgcolor=ground, xanchor="center", yshift=-16)]


def describe_space(state: SpaceState, name: str) -> str:
    """One map in words, with its numbers."""
    if state.map is None:
        return f"{TITLES[name]}: {state.why_not}."
    worst, centre, thinnest = state.worst, state.centre, state.thinnest
    assert worst is not None and centre is not None and thinnest is not None  # true of every state with a map
    at = f"{signed(worst.x_mm, 2)}, {signed(worst.y_mm, 2)} mm"
    places = f"{centre.bed_stress_ratio:.2f} at the treatment centre, {thinnest.bed_stress_ratio:.2f} at the"
    return (
        f"{TITLES[name]}, from the front: stress behind the cut over the intact eye, {places} thinnest point, at most "
        f"{worst.bed_stress_ratio:.2f} at {at}."
    )
