"""A measure over two inputs as a map: Cividis, contour lines, the plan as a cross; depth runs downwards."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from tissue.drawing.base.palette import HEADS, LINE_OF_USER, Look, look
from tissue.drawing.base.traces import axis, layout, listed, words
from tissue.entry.fields import fields
from tissue.ground.vocabulary import TRUE_MINUS, Array, Figure, Floats, rounded

if TYPE_CHECKING:
    from tissue.explore.tradeoffs import Grid

SIZE_PX = (640, 520)
MARGIN_PX = (64, 84, 56, 50)  # left, right, top, bottom
CROSS_PX = 28
UNDER, UNDER_OPACITY = "#FFFFFF", 0.7  # white line below every line, so that it can be read on yellow and on blue
ON_MAP = look("light").ink  # the colours of a map are the same in both themes
MOST_LINES = 7
LABEL_PX = (46, 20)
PLAN_LABEL_PX = (170, 60)
SAID_IN_PLACE = 0.1  # share of the map that must be empty to hold words
DOWNWARDS = ("cap_um", "flap_um", "base_um")


class Named(Protocol):
    """What a map shows: a Measure, or something with the same words."""

    @property
    def label(self) -> str:
        """Its name."""

    @property
    def unit(self) -> str:
        """Its unit."""

    @property
    def decimals(self) -> int:
        """How many it is written with."""


def usual_levels(grid: Grid) -> list[float]:
    """Round values between the least and the greatest of a Grid, at most seven; none where all are the same.

    >>> from tissue.explore.tradeoffs import grid
    >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
    >>> usual_levels(grid(eye, "lenticule", "bed_min_um", "zone_mm", "cap_um", number=20))
    [260.0, 280.0, 300.0, 320.0, 340.0, 360.0, 380.0]
    """
    known = grid.values[~np.isnan(grid.values)]
    if known.size == 0 or np.ptp(known) < 1e-6:
        return []
    low, high = float(known.min()), float(known.max())
    rough = 10.0 ** np.floor(np.log10((high - low) / MOST_LINES))
    for step in (1.0, 2.0, 2.5, 5.0, 10.0, 20.0):
        made = np.arange(np.ceil(low / (step * rough)), np.floor(high / (step * rough)) + 0.5) * step * rough
        if made.size <= MOST_LINES:
            return made.tolist()
    return []


def tradeoff_map(
    grid: Grid, look: Look, measure: Named, levels: list[float] | None = None, line: tuple[float, str] | None = None
) -> Figure:
    """The map of a Grid.

    Args:
        grid: tradeoffs.Grid.
        look: Look.
        measure: Measure of the grid's figure, for its words, unit and decimals.
        levels: where contour lines run [unit of the measure]; round values where None.
        line: a line of the user (value, words), drawn as everywhere else; None where there is none.
    """
    levels = usual_levels(grid) if levels is None else levels
    levels = [level for level in levels if line is None or level != line[0]]
    left, right, top, bottom = MARGIN_PX
    frame = layout(look, SIZE_PX[0], SIZE_PX[1], MARGIN_PX, hovermode="closest")
    down = grid.y[::-1] if grid.down in DOWNWARDS else grid.y
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "ticks": "outside"}
    ticks |= {"ticklen": 4, "tickcolor": look.rule2}
    frame["xaxis"] = axis((0.0, 1.0), (grid.x[0], grid.x[-1]), "y", **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (down[0], down[-1]), "x", **ticks)
    data = [_heat(grid, look, measure)]
    for level in levels:
        data += _contour(grid, level, "solid", 1.0)
    if line is not None:
        data += _contour(grid, line[0], LINE_OF_USER, 1.4)
    data += _cross(grid)
    notes = _axis_words(grid, look, measure) + _level_words(grid, levels, line, measure) + _missing_words(grid, look)
    return {"data": data, "layout": frame | {"annotations": notes + _plan_words(grid, measure)}}


def _heat(grid: Grid, look: Look, measure: Named) -> Figure:
    """The colours."""
    bar = {
        "thickness": 10, "len": 0.82, "y": 0.41, "outlinewidth": 0, "xpad": 14,
        "tickfont": {"size": 11, "color": look.ink2}, "ticks": "",
    }  # fmt: skip
    z = [[None if np.isnan(value) else value for value in row] for row in np.round(grid.values, 4).tolist()]
    return {
        "type": "heatmap", "x": listed(grid.x), "y": listed(grid.y), "z": z, "colorscale": "Cividis", "zsmooth": "best",
        "hoverinfo": "none", "name": f"{grid.across},{grid.down}", "colorbar": bar,
    }  # fmt: skip


def _contour(grid: Grid, level: float, dash: str, width: float) -> list[Figure]:
    """One level: ink over a white line."""
    z = [[None if np.isnan(value) else value for value in row] for row in np.round(grid.values, 4).tolist()]
    same = {
        "type": "contour", "x": listed(grid.x), "y": listed(grid.y), "z": z, "hoverinfo": "skip", "showscale": False,
        "contours": {"start": level, "end": level, "size": 1.0, "coloring": "none", "showlabels": False},
        "autocontour": False, "connectgaps": False,
    }  # fmt: skip
    under = {"color": UNDER, "width": width + 2.6, "smoothing": 0, "dash": "solid"}
    over = {"color": ON_MAP, "width": width, "smoothing": 0, "dash": dash}
    return [same | {"line": under, "opacity": UNDER_OPACITY}, same | {"line": over}]


def _on_map(grid: Grid) -> bool:
    """Whether the plan lies on the map and has a figure."""
    x, y, value = grid.plan
    inside = grid.x[0] <= x <= grid.x[-1] and grid.y[0] <= y <= grid.y[-1]
    return bool(inside and not np.isnan(value))


def _cross(grid: Grid) -> list[Figure]:
    """The plan: ink over white."""
    if not _on_map(grid):
        return []
    same = {
        "type": "scatter", "mode": "markers", "x": listed([grid.plan[0]]), "y": listed([grid.plan[1]]),
        "hoverinfo": "skip", "showlegend": False, "cliponaxis": False,
    }  # fmt: skip
    mark = {"symbol": "cross-thin", "opacity": 1}
    wide = mark | {"size": CROSS_PX + 3, "line": {"color": UNDER, "width": 6}}
    thin = mark | {"size": CROSS_PX, "line": {"color": ON_MAP, "width": 2.2}}
    return [same | {"marker": wide}, same | {"marker": thin}]


def _places_px(grid: Grid, x: Floats, y: Floats) -> tuple[Any, Any]:
    """Places in pixels from the left and the top of the map."""
    left, right, top, bottom = MARGIN_PX
    across = (np.asarray(x) - grid.x[0]) / (grid.x[-1] - grid.x[0])
    down = (np.asarray(y) - grid.y[0]) / (grid.y[-1] - grid.y[0])
    down = down if grid.down in DOWNWARDS else 1.0 - down
    return across * (SIZE_PX[0] - left - right), down * (SIZE_PX[1] - top - bottom)


def _crossings(grid: Grid, level: float) -> tuple[Array, Array]:
    """Places where a level crosses the columns and the rows of the grid."""
    above = grid.values - level
    with np.errstate(invalid="ignore", divide="ignore"):
        share_down = above[:-1] / (above[:-1] - above[1:])
        share_across = above[:, :-1] / (above[:, :-1] - above[:, 1:])
    i, j = np.nonzero((share_down >= 0) & (share_down < 1))
    k, m = np.nonzero((share_across >= 0) & (share_across < 1))
    x = np.concatenate([grid.x[j], grid.x[m] + share_across[k, m] * np.diff(grid.x)[m]])
    y = np.concatenate([grid.y[i] + share_down[i, j] * np.diff(grid.y)[i], grid.y[k]])
    return x, y


def _level_words(grid: Grid, levels: Sequence[float], line: tuple[float, str] | None, measure: Named) -> list[Figure]:
    """The value of each line on the line itself, along the diagonal of change, clear of each other and of the plan."""
    wanted = [(level, rounded(level, measure.decimals), False) for level in levels]
    wanted += [(line[0], line[1], True)] if line is not None else []
    taken: list[tuple[float, ...]] = [(*_plan_label_px(grid), *PLAN_LABEL_PX)] if _on_map(grid) else []
    width, height = _places_px(grid, grid.x[-1], grid.y[-1] if grid.down in DOWNWARDS else grid.y[0])
    notes = []
    for level, text, bold in reversed(wanted):
        x, y = _crossings(grid, level)
        px, py = _places_px(grid, x, y)
        room = (LABEL_PX[0] + 6.0 * max(0, len(text) - 4), LABEL_PX[1])
        free = (px > room[0] / 2) & (px < width - room[0] / 2) & (py > room[1] / 2) & (py < height - room[1] / 2)
        for cx, cy, w, h in taken:
            free &= (np.abs(px - cx) > (w + room[0]) / 2) | (np.abs(py - cy) > (h + room[1]) / 2)
        if not free.any():
            continue
        off = np.where(free, np.abs(_off_diagonal(grid, px / width, py / height)), np.inf)
        best = int(np.argmin(off))
        taken.append((float(px[best]), float(py[best]), *room))
        text = f"<b>{text}</b>" if bold else text
        notes.append(words(text, x[best], y[best], 12, ON_MAP, bgcolor=UNDER, xanchor="center", yanchor="middle"))
    return notes


def _off_diagonal(grid: Grid, u: Array, v: Array) -> Array:
    """Distance from the diagonal along which the figure changes [share of the map]."""
    with np.errstate(invalid="ignore"):
        by_x, by_y = np.nanmean(np.diff(grid.values, axis=1)), np.nanmean(np.diff(grid.values, axis=0))
    alike = bool(by_x * by_y >= 0)
    alike = alike if grid.down in DOWNWARDS else not alike
    return u - v if alike else u + v - 1.0


def _plan_label_px(grid: Grid) -> tuple[float, float]:
    """Middle of the cross and its label in pixels."""
    px, py = _places_px(grid, grid.plan[0], grid.plan[1])
    return float(px) + (-1 if _to_left(grid) else 1) * PLAN_LABEL_PX[0] / 2 - 15, float(py) - 6


def _to_left(grid: Grid) -> bool:
    """Whether the label of the plan stands left of the cross."""
    return float(_places_px(grid, grid.plan[0], grid.plan[1])[0]) > 0.62 * (SIZE_PX[0] - MARGIN_PX[0] - MARGIN_PX[1])


def _plan_words(grid: Grid, measure: Named) -> list[Figure]:
    """The plan's own figure beside the cross."""
    x, y, value = grid.plan
    if not _on_map(grid):
        why = "has no figure here" if np.isnan(value) else "lies outside this map"
        return [
            words(f"this plan {why}", 1.0, 1.0, 12, ON_MAP, xref="paper", yref="paper", xanchor="right", bgcolor=UNDER)
        ]
    place = {"xanchor": "right", "xshift": -9} if _to_left(grid) else {"xanchor": "left", "xshift": 9}
    high = _places_px(grid, x, y)[1] < LABEL_PX[1] + 10
    place |= {"yanchor": "top", "yshift": -8} if high else {"yanchor": "bottom", "yshift": 8}
    text = f"this plan: <b>{rounded(value, measure.decimals)}</b>"
    return [words(text, x, y, 12.5, ON_MAP, bgcolor=UNDER, **place)]


def _axis_words(grid: Grid, look: Look, measure: Named) -> list[Figure]:
    """Title, names of the axes, unit of the colours."""
    paper = {"xref": "paper", "yref": "paper"}
    down = fields()[grid.down].heading + (" (deeper downwards)" if grid.down in DOWNWARDS else "")
    first, second = (input_words(name) for name in (grid.across, grid.down))
    title = f"{HEADS[grid.option]}: {_lower(measure.label)}"
    blank = f"; blank where {', or '.join(_reasons(grid))}" if _reasons(grid) else ""
    by = {"xanchor": "left", "yanchor": "bottom", "xshift": -MARGIN_PX[0] + 6}
    unit = {"xanchor": "left", "yanchor": "top", "xshift": 12}
    return [
        words(title, 0.0, 1.0, 17, look.ink, serif=True, weight=600, yshift=24, **by, **paper),
        words(f"against {first} and {second}{blank}", 0.0, 1.0, 12, look.ink2, yshift=5, **by, **paper),
        words(fields()[grid.across].heading, 0.5, 0.0, 12, look.ink, yshift=-42, yanchor="bottom", **paper),
        words(down, 0.0, 0.5, 12, look.ink, xshift=-50, textangle=-90, **paper),
        words(measure.unit, 1.0, 0.97, 11.5, look.ink2, **unit, **paper),
    ]


def input_words(name: str) -> str:
    """The name of an input inside a sentence.

    >>> input_words("zone_mm"), input_words("cap_um")
    ('optical zone', 'cap thickness')
    """
    return fields()[name].label.split(",")[0].lower()


def _lower(label: str) -> str:
    """A label inside a sentence.

    >>> _lower("Residual bed (RSB), centre"), _lower("K after")
    ('residual bed (RSB), centre', 'K after')
    """
    return label if label[1:2] in ("", " ") or label[1].isupper() else label[0].lower() + label[1:]


def _missing_words(grid: Grid, look: Look) -> list[Figure]:
    """Why there are no figures, in the middle of where there are none, if there is room."""
    notes = []
    for reason in _reasons(grid):
        i, j = np.nonzero(grid.why == reason)
        if i.size < SAID_IN_PLACE * grid.why.size:
            continue
        middle = np.argmin((i - i.mean()) ** 2 + (j - j.mean()) ** 2)
        x, y = grid.x[j[middle]], grid.y[i[middle]]
        share = float((x - grid.x[0]) / (grid.x[-1] - grid.x[0]))
        side = "left" if share < 0.3 else "right" if share > 0.7 else "center"
        notes.append(words(reason, x, y, 12, look.ink2, bgcolor=look.page, xanchor=side))
    return notes


def _reasons(grid: Grid) -> list[str]:
    """The reasons for cells without a figure, each once."""
    return [str(reason) for reason in np.unique(grid.why) if reason]


def describe_map(
    grid: Grid, measure: Named, levels: list[float] | None = None, line: tuple[float, str] | None = None
) -> str:
    """The map in words, with its numbers; arguments as in `tradeoff_map`."""
    known, unit = ~np.isnan(grid.values), f" {measure.unit}"
    across, down = fields()[grid.across], fields()[grid.down]
    said = [
        f"Map of {HEADS[grid.option].lower()}: {_lower(measure.label)} against {input_words(grid.across)}, "
        f"{grid.x[0]:.4g} to {grid.x[-1]:.4g} {across.unit}, and {input_words(grid.down)}, "
        f"{grid.y[0]:.4g} to {grid.y[-1]:.4g} {down.unit}."
    ]
    if known.any():
        for word, at in (("Least", np.nanargmin(grid.values)), ("Greatest", np.nanargmax(grid.values))):
            i, j = np.unravel_index(at, grid.values.shape)
            value = rounded(grid.values[i, j], measure.decimals) + unit
            said.append(f"{word} {value} at {grid.x[j]:.4g} {across.unit} and {grid.y[i]:.4g} {down.unit}.")
    value = rounded(grid.plan[2], measure.decimals) + unit
    said.append(f"This plan, {grid.plan[0]:g} {across.unit} and {grid.plan[1]:g} {down.unit}: {value}.")
    levels = usual_levels(grid) if levels is None else levels
    if levels:
        said.append(f"Lines at {', '.join(rounded(level, measure.decimals) for level in levels)}{unit}.")
    if line is not None:
        said.append(f"A line of the user, {line[1]}.")
    said += [f"No figure in {100.0 * np.mean(grid.why == r):.0f} % of the map: {r}." for r in _reasons(grid)]
    return " ".join(said).translate(TRUE_MINUS)
