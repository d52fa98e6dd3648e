"""What the zone gives and takes: figures of one option over the optical zone, in panels with one axis."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tissue.drawing.base.fonts import text_size
from tissue.drawing.base.labels import Box
from tissue.drawing.base.palette import HEADS, Look
from tissue.drawing.base.traces import axis, layout, lines, words
from tissue.drawing.charts.at_rule import BESIDE_PX, FIGURE_PX, Plot, place_figure
from tissue.ground.vocabulary import TRUE_MINUS, Array, Figure, Floats, rounded

if TYPE_CHECKING:
    from tissue.explore.zone_buys import Rung

MARGIN_PX = (64, 190, 64, 50)  # left, right, top, bottom
PANEL_PX, GAP_PX = 150, 26
LABEL_PX = 17
PLOT = Plot(400.0, PANEL_PX, 12.0)  # for which figures at the rule are placed; a wider picture has more room
SAID_PX = (2.0, 16.0)  # "this plan" over the uppermost panel


class Curve(NamedTuple):
    """A line of a panel: name of its figure, its words, its dash and its decimals."""

    figure: str
    label: str
    dash: str
    decimals: int


class Panel(NamedTuple):
    """Lines on one scale, and the unit of it."""

    unit: str
    curves: tuple[Curve, ...]


LIGHT = (
    Curve("light_10_arcmin_percent", "within 10′", "solid", 1),
    Curve("light_3_arcmin_percent", "within 3′", "dash", 1),
)
CONTRAST = (Curve("mtf_10", "at 10 c/deg", "solid", 3), Curve("mtf_20", "at 20 c/deg", "dash", 3))
TISSUE = (Curve("bed_min_um", "least bed", "solid", 0), Curve("removal_max_um", "deepest removal", "dash", 0))
IN_FOCUS = (
    Panel("ratio", (Curve("visual_strehl", "visual Strehl", "solid", 3),)),
    Panel("%", (Curve("light_10_arcmin_percent", "within 10′", "solid", 1),)),
)
BOUGHT = (Panel("%", LIGHT), Panel("MTF", CONTRAST))
TAKEN = (Panel("µm", TISSUE),)
BESIDE = (Panel("%", LIGHT[:1]), Panel("MTF", CONTRAST[:1]), Panel("µm", TISSUE[:1]))


def rung_curves(
    rungs: Sequence[Rung],
    option: str,
    look: Look,
    panels: tuple[Panel, ...],
    said: tuple[str, str, str],
    plan: float | None,
) -> Figure:
    """Panels one under another over one axis, each line with its name at its end and the plan's own figure at the
    rule of the plan.

    Args:
        rungs: explore Rungs.
        option: name of one.
        look: Look.
        panels: BOUGHT or TAKEN.
        said: (title, line under it, name of the axis).
        plan: the plan's own value on the axis, marked by a rule; no rule and the first figures, at the
            left, where None.
    """
    x = np.array([rung.value for rung in rungs])
    height = len(panels) * PANEL_PX + (len(panels) - 1) * GAP_PX
    frame = layout(look, None, MARGIN_PX[2] + height + MARGIN_PX[3], MARGIN_PX)
    at, (here, over) = _at(x, plan), _this_plan(x, plan, look)
    data, notes = [], _titles(said, look) + here
    for number, panel in enumerate(panels):
        top = 1.0 - number * (PANEL_PX + GAP_PX) / height
        spans = (top - PANEL_PX / height, top)
        data += _panel(rungs, x, option, look, panel, (frame, number, spans, plan, number == len(panels) - 1))
        notes += _ends(rungs, option, look, panel, number, spans)
        if at is not None:
            notes += _figures(rungs, option, look, panel, (number, at, [] if number else over))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _nearest(x: Array, plan: float | None) -> int:
    """Number of the rung nearest to the plan; the first where there is no place of the plan."""
    return 0 if plan is None else int(np.argmin(np.abs(x - plan)))


def _at(x: Array, plan: float | None) -> int | None:
    """Number of the rung whose figures stand in the picture: that of the plan; None where the plan is on none."""
    at = _nearest(x, plan)
    return at if plan is None or abs(x[at] - plan) < 1e-6 else None


def _this_plan(x: Array, plan: float | None, look: Look) -> tuple[list[Figure], list[Box]]:
    """What the rule is, over the uppermost panel at its left (its right, where that is the edge), and its Box."""
    if plan is None or not x[0] <= plan <= x[-1]:
        return [], []
    across, wide = _across(x, plan), text_size("this plan", 11.5)[0]
    left = across - BESIDE_PX - wide
    end, shift, left = ("right", -BESIDE_PX, left) if left >= 0.0 else ("left", BESIDE_PX, across + BESIDE_PX)
    at = {"yref": "paper", "yanchor": "bottom", "xanchor": end, "xshift": shift, "yshift": SAID_PX[0]}
    box = Box(left, -SAID_PX[1], left + wide, -SAID_PX[0])
    return [words("this plan", plan, 1.0, 11.5, look.ink2, **at)], [box]


def _across(x: Array, value: Floats) -> Any:
    """Place on the axis [px] in a plot of PLOT."""
    return (value - x[0]) / (x[-1] - x[0]) * PLOT.wide_px


def along_rungs(rungs: Sequence[Rung], option: str, figure: str) -> Array:
    """A figure of an option along the rungs; NaN where there is none."""
    known = (rung.options[option] for rung in rungs)
    return np.array([np.nan if one is None else one[figure] for one in known])


def _panel(
    rungs: Sequence[Rung],
    x: Array,
    option: str,
    look: Look,
    panel: Panel,
    place: tuple[Figure, int, tuple[float, float], float | None, bool],
) -> list[Figure]:
    """The lines of a panel, with the rule of the plan; its axes are put into the frame."""
    frame, number, spans, plan, last = place
    suffix = "" if number == 0 else str(number + 1)
    low, high = _range(rungs, option, panel)
    ticks = {"tickfont": {"size": 11, "color": look.ink2}}
    frame["xaxis" + suffix] = axis((0.0, 1.0), (x[0], x[-1]), "y" + suffix, showticklabels=last, **ticks)
    grid = {"showgrid": True, "gridcolor": look.rule, "showticklabels": True, "nticks": 5}
    frame["yaxis" + suffix] = axis((max(spans[0], 0.0), spans[1]), (low, high), "x" + suffix, **grid, **ticks)
    made = []
    if plan is not None and x[0] <= plan <= x[-1]:
        made.append(lines([((plan, plan), (low, high))], suffix, look.rule2, 1))
    for curve in panel.curves:
        values = along_rungs(rungs, option, curve.figure)
        if not np.isnan(values).all():
            made.append(lines([(x, values)], suffix, look.option[option], 2, curve.dash))
    return made


def _range(rungs: Sequence[Rung], option: str, panel: Panel) -> tuple[float, float]:
    """Least and greatest of a panel with a little air."""
    every = np.concatenate([along_rungs(rungs, option, curve.figure) for curve in panel.curves])
    every = every[~np.isnan(every)]
    if every.size == 0:
        return 0.0, 1.0
    air = max(0.06 * np.ptp(every), 0.01 * abs(every.mean()), 1e-3)
    return float(every.min() - air), float(every.max() + air)


def _figures(
    rungs: Sequence[Rung], option: str, look: Look, panel: Panel, place: tuple[int, int, list[Box]]
) -> list[Figure]:
    """The plan's figure of each line, at the rule: of the upper line over it, of the others under theirs."""
    number, at, taken = place
    x = np.array([rung.value for rung in rungs])
    low, high = _range(rungs, option, panel)
    columns = [along_rungs(rungs, option, curve.figure) for curve in panel.curves]
    curves = [(_across(x, x), (high - values) / (high - low) * PANEL_PX) for values in columns]
    found = [(values[at], curve.decimals) for values, curve in zip(columns, panel.curves, strict=True)]
    notes: list[dict[str, Any]] = []
    taken = list(taken)
    for value, decimals in sorted((one for one in found if not np.isnan(one[0])), reverse=True):
        text = rounded(value, decimals)
        point = _across(x, x[at]), (high - value) / (high - low) * PANEL_PX
        found_place = place_figure(text, point, curves, taken, PLOT, (-1, 1) if notes else (1, -1))
        taken.append(found_place.box)
        how = {"yref": "y" + (str(number + 1) if number else ""), **found_place.held}
        notes.append(words(text, x[at], value, FIGURE_PX, look.ink, bgcolor=look.page, **how))
    return notes


def _ends(
    rungs: Sequence[Rung], option: str, look: Look, panel: Panel, number: int, spans: tuple[float, float]
) -> list[Figure]:
    """The names at the right ends, pushed apart where they would touch, and the unit."""
    suffix = "" if number == 0 else str(number + 1)
    low, high = _range(rungs, option, panel)
    ends = []
    for curve in panel.curves:
        values = along_rungs(rungs, option, curve.figure)
        known = values[~np.isnan(values)]
        if known.size:
            ends.append((known[-1], curve.label))
    notes, above = [], np.inf
    for end, label in sorted(ends, key=lambda one: -one[0]):
        above = min(end, above - LABEL_PX * (high - low) / PANEL_PX)
        place = {"xref": "paper", "yref": "y" + suffix, "xanchor": "left", "xshift": 8}
        notes.append(words(label, 1.0, above, 12.5, look.ink, **place))
    unit = {"xref": "paper", "yref": "paper", "xanchor": "right", "yanchor": "bottom", "xshift": -8, "yshift": 2}
    return [*notes, words(panel.unit, 0.0, min(spans[1], 1.0), 11.5, look.ink2, **unit)]


def _titles(said: tuple[str, str, str], look: Look) -> list[Figure]:
    """Title, what stands under it, and the name of the axis."""
    title, under, axis_name = said
    paper = {"xref": "paper", "yref": "paper"}
    by = {"xanchor": "left", "yanchor": "bottom", "xshift": -MARGIN_PX[0] + 6}
    return [
        words(title, 0.0, 1.0, 17, look.ink, serif=True, weight=600, yshift=38, **by, **paper),
        words(under, 0.0, 1.0, 12, look.ink2, yshift=21, **by, **paper),
        words(axis_name, 0.5, 0.0, 12, look.ink, yshift=-42, yanchor="bottom", **paper),
    ]


def describe_curves(
    rungs: Sequence[Rung], option: str, panels: tuple[Panel, ...], said: tuple[str, str, str], plan: float | None
) -> str:
    """The curves in words: first, plan's and last figure of each."""
    x = np.array([rung.value for rung in rungs])
    parts = []
    for curve in (curve for panel in panels for curve in panel.curves):
        values = along_rungs(rungs, option, curve.figure)
        at = _nearest(x, plan)
        places = dict.fromkeys((0, at, x.size - 1))
        figures = (f"{rounded(values[i], curve.decimals)} at {x[i]:.4g}" for i in places)
        parts.append(f"{curve.label} {', '.join(figures)}")
    return f"{HEADS[option]}. {said[0]}, {said[2]}: {'; '.join(parts)}.".translate(TRUE_MINUS)
