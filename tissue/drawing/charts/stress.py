"""Stress of the states of one eye: sections at true scale on one colour scale, and the ratios to the intact eye."""

import numpy as np

from tissue.drawing.base.palette import HEADS, SYMBOL
from tissue.drawing.base.traces import area, axis, layout, lines, listed, marks, words
from tissue.mechanics.states import BARE, INTACT, LIFTED, SLACK, SLIDING, TAUT
from tissue.options.options import first_name

TITLES = {
    INTACT: "Intact eye",
    BARE: "Surface ablation",
    LIFTED: "Flap ablation, the flap carries nothing",
    TAUT: "Lenticule extraction, cap taut",
    SLIDING: "Lenticule extraction, cap sliding",
    SLACK: "Lenticule extraction, cap carries nothing",
}
REACH_MM = 5.0  # half of the width drawn; farther out the support of the limbus shows, not the surgery
STEP_MM, DEPTH_STEP_MM = 0.1, 0.02
LEVEL_KPA = 5.0
SCALE_AT_MM = 4.0  # the colour scale spans what stands within this radius
PX_PER_MM = 48.0
ON_MAP, UNDER = "#1D2327", "#FFFFFF"
MARGIN_PX = (6, 70, 26, 40)


def scale_kPa(states):
    """Least and greatest stress of the one colour scale [kPa], whole levels, over every state that is there."""
    inside = [
        stress[(r <= SCALE_AT_MM) & (stress > 0)]
        for state in states.values()
        if state.map is not None
        for r, stress in zip(state.map.r_mm, state.map.stress_kPa, strict=True)
    ]
    values = np.concatenate(inside)
    return float(LEVEL_KPA * np.floor(values.min() / LEVEL_KPA)), float(LEVEL_KPA * np.ceil(values.max() / LEVEL_KPA))


def raster(picture):
    """Stress on a regular grid for the colours: positions [mm], heights [mm], values [kPa]; and the outlines.

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
    return r, z, values, {"front": front, "cut": cut, "back": back}


def _along(picture, grid, row, r):
    """Depth of one row of a grid at radii [mm]."""
    return np.interp(r, picture.r_mm[grid][row], picture.z_mm[grid][row])


def draw_stress(state, name, look, scale, front_mm, bar=False):
    """One state as a figure, or the words why there is none.

    Args:
        state: State.
        name: its name.
        look: Look.
        scale: the one colour scale (least, greatest) [kPa].
        front_mm: depth of the intact front surface at radii [mm], as a function; drawn thin where tissue is gone.
        bar: whether the bar of the colour scale stands beside it; one is enough for all.
    """
    deep = float(front_mm(REACH_MM)) + 0.75
    height = MARGIN_PX[2] + MARGIN_PX[3] + PX_PER_MM * (deep + 0.1)
    frame = layout(look, None, round(height), MARGIN_PX)
    frame["xaxis"] = axis((0.0, 1.0), (-REACH_MM - 0.1, REACH_MM + 0.1), "y")
    frame["yaxis"] = axis((0.0, 1.0), (-deep, 0.1), "x", scaleanchor="x", scaleratio=1)
    title = words(
        TITLES[name], 0.0, 1.0, 15, look.ink, xref="paper", yref="paper", serif=True, xanchor="left", yanchor="bottom"
    )
    if state.map is None:
        why = words(state.why_not, 0.0, -deep / 2.0, 13, look.ink, xanchor="center")
        return {"data": [], "layout": frame | {"annotations": [title, why]}}
    r, z, values, edges = raster(state.map)
    both = np.concatenate([-r[:0:-1], r])
    mirrored = np.concatenate([values[:, :0:-1], values], axis=1)
    data = [_heat(both, z, mirrored, look, scale, bar), *_contours(both, z, mirrored, scale)]
    full = {key: np.concatenate([edge[:0:-1], edge]) for key, edge in edges.items()}
    data += _covers(both, full, deep, look)
    if name in (LIFTED, SLACK):
        data.append(area(_ring(both, full["front"], full["cut"]), "", look.page))
    data.append(lines([(both, -np.asarray(front_mm(np.abs(both))))], "", look.rule2, 1, "dot"))
    data.append(lines([(both, -full["front"]), (both, -full["back"])], "", look.ink, 1.4))
    if name != "intact":
        data.append(lines([(both, -full["cut"])], "", look.ink, 0.8, "dash"))
    return {"data": data, "layout": frame | {"annotations": [title, *_level_words(r, values, edges, scale)]}}


def _heat(x, z, values, look, scale, bar):
    """The colours, with their bar where it is wanted."""
    drawn = {
        "thickness": 10, "outlinewidth": 0, "xpad": 8, "ticks": "", "dtick": LEVEL_KPA, "len": 0.9,
        "tickfont": {"size": 11, "color": look.ink2},
        "title": {"text": "kPa", "font": {"size": 11, "color": look.ink2}},
    }  # fmt: skip
    return {
        "type": "heatmap", "x": listed(x), "y": listed(-z), "z": np.round(values, 2).tolist(), "colorscale": "Cividis",
        "zmin": scale[0], "zmax": scale[1], "zsmooth": "best", "hoverinfo": "skip", "showscale": bar,
        "colorbar": drawn,
    }  # fmt: skip


def _contours(x, z, values, scale):
    """Round levels: ink over a white line."""
    same = {
        "type": "contour", "x": listed(x), "y": listed(-z), "z": np.round(values, 2).tolist(), "hoverinfo": "skip",
        "showscale": False, "autocontour": False,
        "contours": {"start": scale[0] + LEVEL_KPA, "end": scale[1] - LEVEL_KPA, "size": LEVEL_KPA, "coloring": "none"},
    }  # fmt: skip
    under = same | {"line": {"color": UNDER, "width": 3.2, "smoothing": 0}, "opacity": 0.6}
    return [under, same | {"line": {"color": ON_MAP, "width": 0.9, "smoothing": 0}}]


def _covers(x, edges, deep, look):
    """The page over everything outside the tissue."""
    top = np.full(len(x), 0.2)
    bottom = np.full(len(x), -deep - 0.3)
    above = np.concatenate([x, x[::-1]]), np.concatenate([-edges["front"], top])
    below = np.concatenate([x, x[::-1]]), np.concatenate([-edges["back"], bottom])
    sides = [
        (np.array([end, 1.1 * end, 1.1 * end, end]), np.array([0.3, 0.3, -deep - 0.3, -deep - 0.3]))
        for end in (x[0], x[-1])
    ]
    return [area([above, below, *sides], "", look.page)]


def _ring(x, upper, lower):
    """The tissue between two lines as a polygon."""
    return np.concatenate([x, x[::-1]]), np.concatenate([-upper, -lower[::-1]])


def _level_words(r, values, edges, scale):
    """A number in the middle of the bed, where the section is read."""
    notes = []
    for radius in (0.0, 2.0, 3.5):
        i = int(round(radius / STEP_MM))
        middle = 0.5 * (edges["cut"][i] + edges["back"][i])
        level = values[int(round(middle / DEPTH_STEP_MM)), i]
        notes.append(
            words(f"{level:.0f}", r[i], -middle, 11.5, ON_MAP, bgcolor="rgba(255,255,255,0.82)", xanchor="center")
        )
    return notes


def describe_map(state, name):
    """One map in words, with its numbers."""
    if state.map is None:
        return f"{TITLES[name]}: {state.why_not}."
    r, z, values, edges = raster(state.map)
    parts = []
    for radius in (0.0, 2.0, 3.5):
        i = int(round(radius / STEP_MM))
        middle = 0.5 * (edges["cut"][i] + edges["back"][i])
        parts.append(f"{values[int(round(middle / DEPTH_STEP_MM)), i]:.1f} at {radius:.1f} mm from the axis")
    return f"{TITLES[name]}: in-plane stress in the middle of the bed, in kPa: {', '.join(parts)}."


CAP = (TAUT, SLIDING, SLACK)
ROWS = {"bare": (BARE,), "lifts_flap": (LIFTED,), "keeps_cap": CAP}  # states of the first procedure with a trait
ROW_PX, TOP_PX, BOTTOM_PX = 46, 12, 48


def ratio_picture(states, ranges, look, figure="bed_stress_ratio"):
    """Ratios to the intact eye: a mark, the cap's range from taut to slack, and thin the spread over relationships.

    Args:
        states: {name: State}.
        ranges: {name: {figure: (least, greatest)}}.
        look: Look.
        figure: name of the ratio.
    """
    there = [name for row in ROWS.values() for name in row if states[name].figures is not None]
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
        mine, name = [one for one in row if states[one].figures is not None], first_name(trait)
        notes.append(words(HEADS[name], 0.0, at, 13, look.ink, xref="paper", yref="y", xanchor="left"))
        if mine:
            spans = [ranges[one][figure] for one in mine]
            data += _row([getattr(states[one].figures, figure) for one in mine], spans, name, at, look)
            notes += _row_words(states, mine, at, look, figure)
    foot = "ratio to the intact eye; thick: the cap from taut to carrying nothing; thin: over all relationships"
    place = {"xanchor": "left", "yanchor": "top", "yshift": -22}
    notes.append(words(foot, 0.0, 0.0, 11.5, look.ink2, xref="paper", yref="paper", **place))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _row(values, spans, name, at, look):
    """Lines and marks of one option: its values, and over all relationships the two ends of each."""
    lows, highs = zip(*spans, strict=True)
    data = [lines([((min(lows), max(highs)), (at, at))], "", look.rule2, 1.2)]
    if len(values) > 1:
        data.append(lines([((min(values), max(values)), (at, at))], "", look.option[name], 5))
    symbol = SYMBOL[name]
    shapes = [symbol] if len(values) == 1 else [f"{symbol}-open", symbol, f"{symbol}-open"]
    points = [(value, at, shape, 12, 1.8) for value, shape in zip(values, shapes, strict=True)]
    return [*data, marks(points, "", look.option[name])]


def _row_words(states, mine, at, look, figure):
    """The numbers over the marks."""
    names = {"lenticule_taut": "taut ", "lenticule_sliding": "sliding ", "lenticule_slack": "nothing carried "}
    return [
        words(
            f"{names.get(one, '')}{getattr(states[one].figures, figure):.2f}",
            getattr(states[one].figures, figure),
            at,
            11.5,
            look.ink,
            yshift=15 if one != "lenticule_sliding" else -15,
            xanchor="center",
        )
        for one in mine
    ]


def describe_ratios(states, ranges, figure="bed_stress_ratio"):
    """The ratios in words, with their numbers."""
    parts = []
    for name in (BARE, LIFTED, *CAP):
        if states[name].figures is None:
            parts.append(f"{TITLES[name]}: {states[name].why_not}")
            continue
        low, high = ranges[name][figure]
        value = getattr(states[name].figures, figure)
        parts.append(f"{TITLES[name]} {value:.2f}, {low:.2f} to {high:.2f} over all relationships")
    return f"Stress in the bed as a ratio to the intact eye. {'; '.join(parts)}."
