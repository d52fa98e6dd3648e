"""What the zone buys and what it takes: figures of one option over the optical zone, in panels on one axis."""

from typing import NamedTuple

import numpy as np

from tissue.drawing.base.palette import HEADS
from tissue.drawing.base.traces import axis, layout, lines, words
from tissue.ground.vocabulary import NO_FIGURE, TRUE_MINUS, rounded

MARGIN_PX = (64, 190, 56, 50)  # left, right, top, bottom
PANEL_PX, GAP_PX = 150, 26
LABEL_PX = 17


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


def rung_curves(rungs, option, look, panels, said, plan):
    """Panels one under another over one axis, each line with its name and the plan's own figure at its end.

    Args:
        rungs: explore Rungs.
        option: name of one.
        look: Look.
        panels: BOUGHT or TAKEN.
        said: (title, line under it, name of the axis).
        plan: the plan's own value on the axis, marked by a rule; no rule and the first figures where None.
    """
    x = np.array([rung.value for rung in rungs])
    height = len(panels) * PANEL_PX + (len(panels) - 1) * GAP_PX
    frame = layout(look, None, MARGIN_PX[2] + height + MARGIN_PX[3], MARGIN_PX)
    data, notes = [], _titles(said, look)
    for number, panel in enumerate(panels):
        top = 1.0 - number * (PANEL_PX + GAP_PX) / height
        spans = (top - PANEL_PX / height, top)
        data += _panel(rungs, x, option, look, panel, (frame, number, spans, plan, number == len(panels) - 1))
        notes += _ends(rungs, option, look, panel, (number, spans, _nearest(x, plan)))
    if plan is not None and x[0] <= plan <= x[-1]:
        at = {"yref": "paper", "yanchor": "bottom", "xanchor": "left", "xshift": 4}
        notes.append(words("this plan", plan, 0.0, 11.5, look.ink2, bgcolor=look.page, **at))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _nearest(x, plan):
    """Number of the rung nearest to the plan; the first where there is no place of the plan."""
    return 0 if plan is None else int(np.argmin(np.abs(x - plan)))


def along_rungs(rungs, option, figure):
    """A figure of an option along the rungs; NaN where there is none."""
    return np.array([np.nan if rung.options[option] is None else rung.options[option][figure] for rung in rungs])


def _panel(rungs, x, option, look, panel, place):
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


def _range(rungs, option, panel):
    """Least and greatest of a panel with a little air."""
    every = np.concatenate([along_rungs(rungs, option, curve.figure) for curve in panel.curves])
    every = every[~np.isnan(every)]
    if every.size == 0:
        return 0.0, 1.0
    air = max(0.06 * np.ptp(every), 0.01 * abs(every.mean()), 1e-3)
    return float(every.min() - air), float(every.max() + air)


def _ends(rungs, option, look, panel, place):
    """The names at the right ends with the plan's figure, pushed apart where they would touch, and the unit."""
    number, spans, at = place
    suffix = "" if number == 0 else str(number + 1)
    low, high = _range(rungs, option, panel)
    ends = []
    for curve in panel.curves:
        values = along_rungs(rungs, option, curve.figure)
        known = values[~np.isnan(values)]
        if known.size:
            ends.append((known[-1], values[at], curve))
    notes, above = [], np.inf
    for end, value, curve in sorted(ends, key=lambda one: -one[0]):
        above = min(end, above - LABEL_PX * (high - low) / PANEL_PX)
        text = f"{curve.label} {NO_FIGURE if np.isnan(value) else rounded(value, curve.decimals)}"
        place = {"xref": "paper", "yref": "y" + suffix, "xanchor": "left", "xshift": 8}
        notes.append(words(text, 1.0, above, 12.5, look.ink, **place))
    unit = {"xref": "paper", "yref": "paper", "xanchor": "right", "yanchor": "bottom", "xshift": -8, "yshift": 2}
    return [*notes, words(panel.unit, 0.0, min(spans[1], 1.0), 11.5, look.ink2, **unit)]


def _titles(said, look):
    """Title, what stands under it, and the name of the axis."""
    title, under, axis_name = said
    paper = {"xref": "paper", "yref": "paper"}
    by = {"xanchor": "left", "yanchor": "bottom", "xshift": -MARGIN_PX[0] + 6}
    return [
        words(title, 0.0, 1.0, 17, look.ink, serif=True, weight=600, yshift=30, **by, **paper),
        words(under, 0.0, 1.0, 12, look.ink2, yshift=13, **by, **paper),
        words(axis_name, 0.5, 0.0, 12, look.ink, yshift=-42, yanchor="bottom", **paper),
    ]


def describe_curves(rungs, option, panels, said, plan):
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
