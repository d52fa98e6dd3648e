"""Stress of the states of one eye over the intact bed's mean: sections on one colour scale, and the ratios."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tissue.drawing.base.palette import HEADS, SYMBOL, Look
from tissue.drawing.base.traces import area, axis, layout, lines, listed, marks, words
from tissue.ground.vocabulary import Array, Figure
from tissue.mechanics.body import CLOSED
from tissue.mechanics.states import BARE, INTACT, LIFTED, SLACK, SLIDING, TAUT, State, StressMap
from tissue.removal.options import first_name

TITLES = {
    INTACT: "Intact eye",
    BARE: "Surface ablation",
    LIFTED: "Flap ablation, the flap carries nothing",
    TAUT: "Lenticule extraction, cap taut",
    SLIDING: "Lenticule extraction, cap sliding",
    SLACK: "Lenticule extraction, cap carries nothing",
    CLOSED: "Lenticule extraction, cap closed",
}
REACH_MM = 5.0  # half of the drawn width; farther out the stress shows the support at the limbus, not the surgery
STEP_MM, DEPTH_STEP_MM = 0.1, 0.01
LEVEL = 0.1  # between contours
DEEPER = 4.0  # depth is drawn this many times as large
DEEP_MM = 0.78  # depth drawn, from the front of the intact stroma
SCALE_AT_MM = 3.5  # the colour scale spans what stands within this radius
USUAL_PX, ROOMY_PX_PER_MM = 531.0, 35.0  # width of one of two side by side; from where there is room for every word
ON_MAP, UNDER = "#1D2327", "#FFFFFF"
MARGIN_PX = (6, 84, 26, 40)


@dataclass(frozen=True, eq=False)
class Frame:
    """The scales that the sections of one eye share.

    scale: least and greatest of the colours. bed_kPa: mean stress of the intact bed. front_mm: depth of the intact
    front at radii [mm], as a function; drawn thin where tissue is gone.
    """

    scale: tuple[float, float]
    bed_kPa: float
    front_mm: Callable[[Array], Array]


def frame_of(states: dict[str, State], front_mm: Callable[[Array], Array]) -> Frame:
    """The Frame of the states of one eye."""
    return Frame(common_scale(states), intact_bed_kPa(states), front_mm)


def intact_bed_kPa(states: dict[str, State]) -> float:
    """Mean stress of the intact bed [kPa], which every stress is laid over."""
    return states[INTACT].bed_stress_kPa


def common_scale(states: dict[str, State]) -> tuple[float, float]:
    """Least and greatest stress of the one colour scale over the intact bed's mean, whole levels."""
    inside = [
        stress[(r <= SCALE_AT_MM) & (stress > 0)]
        for state in states.values()
        if state.map is not None
        for r, stress in zip(state.map.r_mm, state.map.stress_kPa, strict=True)
    ]
    values = np.concatenate(inside) / intact_bed_kPa(states)
    return float(LEVEL * np.floor(values.min() / LEVEL)), float(LEVEL * np.ceil(values.max() / LEVEL))


def flattened(picture: StressMap, front_mm: Callable[[Array], Array]) -> StressMap:
    """A StressMap with depth below the front of the intact stroma [mm] in place of height.

    Args:
        picture: StressMap.
        front_mm: depth of the intact front at radii [mm], as a function.
    """
    depth = tuple(z - front_mm(r) for r, z in zip(picture.r_mm, picture.z_mm, strict=True))
    return StressMap(picture.r_mm, depth, picture.stress_kPa)


def raster(picture: StressMap, over_kPa: float = 1.0) -> tuple[Array, Array, Array, dict[str, Any]]:
    """Stress over another on a regular grid for the colours: positions [mm], heights [mm], values; and the outlines.

    Between the rows of the grid the stress is linear along each column of the picture; outside the tissue it goes on
    as at its edge, so that smoothing finds no gap: what lies outside is covered.
    """
    r = np.arange(0.0, REACH_MM + STEP_MM / 2.0, STEP_MM)
    front, cut, back = (_along(picture, grid, row, r) for grid, row in ((0, 0), (0, -1), (1, -1)))
    z = np.arange(0.0, back.max() + DEPTH_STEP_MM, DEPTH_STEP_MM)
    values = np.empty((len(z), len(r)))
    for i, radius in enumerate(r):
        depths, stresses = [], []
        for grid in (0, 1):
            rows = range(picture.r_mm[grid].shape[0])
            depths += [np.interp(radius, picture.r_mm[grid][row], picture.z_mm[grid][row]) for row in rows]
            stresses += [np.interp(radius, picture.r_mm[grid][row], picture.stress_kPa[grid][row]) for row in rows]
        steps = np.maximum.accumulate(np.asarray(depths) + 1e-9 * np.arange(len(depths)))
        values[:, i] = np.interp(z, steps, stresses)
    return r, z, values / over_kPa, {"front": front, "cut": cut, "back": back}


def _along(picture: StressMap, grid: int, row: int, r: Array) -> Array:
    """Depth of one row of a grid at radii [mm]."""
    return np.interp(r, picture.r_mm[grid][row], picture.z_mm[grid][row])


def draw_stress(
    state: State, name: str, look: Look, frame_of: Frame, wide_px: float = USUAL_PX, bar: bool = False
) -> Figure:
    """One state as a figure, or the reason why there is none, in words.

    Args:
        state: State.
        name: its name.
        look: Look.
        frame_of: Frame that all states share.
        wide_px: its width; it is as high as that width asks for.
        bar: whether the bar of the colour scale stands beside it; one is enough for those side by side.
    """
    scale, front_mm = frame_of.scale, frame_of.front_mm
    deep, half = DEEP_MM, REACH_MM + 0.1
    per_mm = (wide_px - MARGIN_PX[0] - MARGIN_PX[1]) / (2.0 * half)
    roomy = per_mm >= ROOMY_PX_PER_MM
    height = MARGIN_PX[2] + MARGIN_PX[3] + DEEPER * per_mm * (deep + 0.06)
    frame = layout(look, None, round(height), MARGIN_PX)
    frame["xaxis"] = axis((0.0, 1.0), (-half, half), "y")
    frame["yaxis"] = axis((0.0, 1.0), (-deep, 0.06), "x", scaleanchor="x", scaleratio=DEEPER)
    title = words(
        TITLES[name] if roomy else TITLES[name].rpartition(", ")[2].capitalize(),
        0.0,
        1.0,
        15,
        look.ink,
        xref="paper",
        yref="paper",
        serif=True,
        xanchor="left",
        yanchor="bottom",
    )
    if state.map is None:
        why = words(state.why_not, 0.0, -deep / 2.0, 13, look.ink, xanchor="center")
        return {"data": [], "layout": frame | {"annotations": [title, why]}}
    r, z, values, edges = raster(flattened(state.map, front_mm), frame_of.bed_kPa)
    both = np.concatenate([-r[:0:-1], r])
    mirrored = np.concatenate([values[:, :0:-1], values], axis=1)
    data = [_heat((both, z, mirrored), look, scale, bar, roomy), *_contours(both, z, mirrored, scale)]
    full = {key: np.concatenate([edge[:0:-1], edge]) for key, edge in edges.items()}
    data += _covers(both, full, deep, look)
    if name in (LIFTED, SLACK):
        data.append(area(_ring(both, full["front"], full["cut"]), "", look.page))
    data.append(lines([(both, 0.0 * both)], "", look.rule2, 1, "dot"))
    data.append(lines([(both, -full["front"]), (both, -full["back"])], "", look.ink, 1.4))
    if name != "intact":
        data.append(lines([(both, -full["cut"])], "", look.ink, 0.8, "dash"))
    return {
        "data": data,
        "layout": frame
        | {"annotations": [title, *_level_words(r, values, edges, (0.0, 2.0, 3.5) if roomy else (0.0, 3.0))]},
    }


def _heat(grid: tuple[Array, Array, Array], look: Look, scale: tuple[float, float], bar: bool, roomy: bool) -> Figure:
    """The colours, with their bar where it is wanted."""
    x, z, values = grid
    drawn = {
        "thickness": 10, "outlinewidth": 0, "xpad": 8, "ticks": "", "len": 0.9,
        "dtick": 0.5 if roomy else 1.0, "tickformat": ".1f",
        "tickfont": {"size": 11, "color": look.ink2},
        "title": {"text": "× intact bed", "font": {"size": 11, "color": look.ink2}},
    }  # fmt: skip
    return {
        "type": "heatmap", "x": listed(x), "y": listed(-z), "z": np.round(values, 2).tolist(), "colorscale": "Cividis",
        "zmin": scale[0], "zmax": scale[1], "zsmooth": "best", "hoverinfo": "skip", "showscale": bar,
        "colorbar": drawn,
    }  # fmt: skip


def _contours(x: Array, z: Array, values: Array, scale: tuple[float, float]) -> list[Figure]:
    """A line each tenth, ink over white, with its number; where the stress is the intact bed's mean a thicker one."""
    same = {
        "type": "contour", "x": listed(x), "y": listed(-z), "z": np.round(values, 3).tolist(), "hoverinfo": "skip",
        "showscale": False, "autocontour": False,
    }  # fmt: skip
    every = {"start": scale[0] + LEVEL, "end": scale[1] - LEVEL, "size": LEVEL, "coloring": "none"}
    numbered = {"showlabels": True, "labelfont": {"size": 10, "color": ON_MAP}, "labelformat": ".1f"}
    one = {"start": 1.0, "end": 1.0, "size": 1.0, "coloring": "none"}
    return [
        same | {"contours": every, "line": {"color": UNDER, "width": 2.6, "smoothing": 0.4}, "opacity": 0.5},
        same | {"contours": every | numbered, "line": {"color": ON_MAP, "width": 0.7, "smoothing": 0.4}},
        same | {"contours": one, "line": {"color": ON_MAP, "width": 2.0, "smoothing": 0.4}},
    ]


def _covers(x: Array, edges: dict[str, Array], deep: float, look: Look) -> list[Figure]:
    """The page over everything outside the tissue."""
    top = np.full(len(x), 0.1)
    bottom = np.full(len(x), -deep - 0.3)
    above = np.concatenate([x, x[::-1]]), np.concatenate([-edges["front"], top])
    below = np.concatenate([x, x[::-1]]), np.concatenate([-edges["back"], bottom])
    sides = [
        (np.array([end, 1.1 * end, 1.1 * end, end]), np.array([0.1, 0.1, -deep - 0.3, -deep - 0.3]))
        for end in (x[0], x[-1])
    ]
    return [area([above, below, *sides], "", look.page)]


def _ring(x: Array, upper: Array, lower: Array) -> tuple[Array, Array]:
    """The tissue between two lines as a polygon."""
    return np.concatenate([x, x[::-1]]), np.concatenate([-upper, -lower[::-1]])


def _level_words(r: Array, values: Array, edges: dict[str, Array], radii: tuple[float, ...]) -> list[Figure]:
    """A number in the middle of the bed, where the section is read."""
    notes = []
    for radius in radii:
        i = int(round(radius / STEP_MM))
        middle = 0.5 * (edges["cut"][i] + edges["back"][i])
        level = values[int(round(middle / DEPTH_STEP_MM)), i]
        notes.append(
            words(f"{level:.2f}", r[i], -middle, 11.5, ON_MAP, bgcolor="rgba(255,255,255,0.82)", xanchor="center")
        )
    return notes


def describe_map(state: State, name: str, bed_kPa: float) -> str:
    """One map in words, with its numbers over the mean of the intact bed [kPa]."""
    if state.map is None:
        return f"{TITLES[name]}: {state.why_not}."
    r, z, values, edges = raster(state.map, bed_kPa)
    parts = []
    for radius in (0.0, 2.0, 3.5):
        i = int(round(radius / STEP_MM))
        middle = 0.5 * (edges["cut"][i] + edges["back"][i])
        parts.append(f"{values[int(round(middle / DEPTH_STEP_MM)), i]:.2f} at {radius:.1f} mm from the axis")
    return f"{TITLES[name]}: stress in the middle of the bed over the mean of the intact bed: {', '.join(parts)}."


CAP = (TAUT, SLIDING, CLOSED, SLACK)
ROWS = {"bare": (BARE,), "lifts_flap": (LIFTED,), "keeps_cap": CAP}  # states of the first procedure with a trait
ROW_PX, TOP_PX, BOTTOM_PX = 46, 12, 48


def ratio_picture(
    states: dict[str, State],
    ranges: dict[str, dict[str, tuple[float, float]]],
    look: Look,
    figure: str = "bed_stress_ratio",
) -> Figure:
    """Ratios to the intact eye: a mark, the cap's range from taut to slack, and thin the spread over relationships.

    Args:
        states: {name: State}.
        ranges: {name: {figure: (least, greatest)}}.
        look: Look.
        figure: name of the ratio.
    """
    there = [name for row in ROWS.values() for name in row if _is_there(states, name)]
    ends = [end for name in there for end in ranges[name][figure]]
    low, high = (min(1.0, *ends), max(ends)) if ends else (1.0, 2.0)
    room = 0.06 * (high - low)
    frame = layout(look, None, TOP_PX + BOTTOM_PX + ROW_PX * len(ROWS), (0, 14, TOP_PX, BOTTOM_PX))
    frame["xaxis"] = axis(
        (0.24, 1.0), (low - room, high + room), "y", showgrid=True, gridcolor=look.rule, showticklabels=True,
        tickfont={"size": 11, "color": look.ink2}, dtick=0.2 if high - low < 2.0 else 0.5,
    )  # fmt: skip
    frame["yaxis"] = axis((0.0, 1.0), (len(ROWS) - 0.5, -0.5), "x")
    data, notes = [lines([((1.0, 1.0), (-0.5, len(ROWS) - 0.5))], "", look.rule2, 1)], []
    for at, (trait, row) in enumerate(ROWS.items()):
        mine, name = [one for one in row if _is_there(states, one)], first_name(trait)
        notes.append(words(HEADS[name], 0.0, at, 13, look.ink, xref="paper", yref="y", xanchor="left"))
        if mine:
            spans = [ranges[one][figure] for one in mine]
            data += _row([getattr(states[one].figures, figure) for one in mine], spans, name, at, look)
            notes += _row_words(states, mine, at, look, figure)
    foot = (
        "ratio to the intact eye; thick: the cap from taut to carrying nothing; thin: over all relationships, or sets"
    )
    place = {"xanchor": "left", "yanchor": "top", "yshift": -22}
    notes.append(words(foot, 0.0, 0.0, 11.5, look.ink2, xref="paper", yref="paper", **place))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _is_there(states: dict[str, State], name: str) -> bool:
    """Whether a state has figures."""
    return name in states and states[name].figures is not None


def _row(values: Sequence[float], spans: Sequence[tuple[float, float]], name: str, at: int, look: Look) -> list[Figure]:
    """Lines and marks of one option: its values, and over all relationships the two ends of each."""
    lows, highs = zip(*spans, strict=True)
    data = [lines([((min(lows), max(highs)), (at, at))], "", look.rule2, 1.2)]
    if len(values) > 1:
        data.append(lines([((min(values), max(values)), (at, at))], "", look.option[name], 5))
    symbol = SYMBOL[name]
    shapes = [symbol] if len(values) == 1 else [f"{symbol}-open", *[symbol] * (len(values) - 2), f"{symbol}-open"]
    points = [(value, at, shape, 12, 1.8) for value, shape in zip(values, shapes, strict=True)]
    return [*data, marks(points, "", look.option[name])]


def _row_words(states: dict[str, State], mine: Sequence[str], at: int, look: Look, figure: str) -> list[Figure]:
    """The numbers over the marks."""
    names = {TAUT: "taut ", SLIDING: "sliding ", CLOSED: "closed ", SLACK: "nothing carried "}
    return [
        words(
            f"{names.get(one, '')}{getattr(states[one].figures, figure):.2f}",
            getattr(states[one].figures, figure),
            at,
            11.5,
            look.ink,
            yshift=-15 if one in (SLIDING, CLOSED) else 15,
            xanchor="center",
        )
        for one in mine
    ]


def describe_ratios(
    states: dict[str, State], ranges: dict[str, dict[str, tuple[float, float]]], figure: str = "bed_stress_ratio"
) -> str:
    """The ratios in words, with their numbers."""
    parts = []
    for name in (one for one in (BARE, LIFTED, *CAP) if one in states):
        if states[name].figures is None:
            parts.append(f"{TITLES[name]}: {states[name].why_not}")
            continue
        low, high = ranges[name][figure]
        value = getattr(states[name].figures, figure)
        parts.append(f"{TITLES[name]} {value:.2f}, {low:.2f} to {high:.2f} over all relationships or sets")
    return f"Stress in the bed as a ratio to the intact eye. {'; '.join(parts)}."
