"""Figures over one input: a measure of all options with its spread, a thicker cap's gain and cost, error shares."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from tissue.drawing.base.fonts import text_width
from tissue.drawing.base.labels import Box
from tissue.drawing.base.palette import DASH, HEADS, SHORT_HEADS, SYMBOL, Look, channels, mix
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.drawing.base.words import whole
from tissue.drawing.charts.at_rule import FIGURE_PX, Plot, place_figure
from tissue.drawing.charts.maps import Named, input_words
from tissue.entry.fields import fields
from tissue.ground.sources import data
from tissue.ground.vocabulary import Array, Figure, least_written, rounded
from tissue.removal.options import first_name

if TYPE_CHECKING:
    from tissue.explore.tradeoffs import Line, Sweep

SIZE_PX = (640, 400)
MARGIN_PX = (64, 150, 56, 50)  # left, right, top, bottom
PLOT = Plot(SIZE_PX[0] - MARGIN_PX[0] - MARGIN_PX[1], SIZE_PX[1] - MARGIN_PX[2] - MARGIN_PX[3])
LABEL_PX, PLAN_PX = 17, 60.0  # height of words, width of "this plan"
BAND_OPACITY = 0.16
ERROR_WORDS = {"thickness": "thickness", "epithelium": "epithelium", "cut": "flap or cap", "removal": "removal"}
TOGETHER = "together only"
ROW_PX, BARS_TOP_PX, BARS_BOTTOM_PX = 32, 66, 36
BAR_ENDS, BAR_GAP = (0.16, 0.98), 0.05  # of the width: the columns of bars, and between two
TRADE_HEIGHT_PX, TRADE_MARGIN_PX = 300, (52, 176, 34, 44)
STEP_UM, PAD_UM = 25.0, 8.0
TINT = 0.07  # ink in the page, behind the caps of one centre
APART_PX = 34.0  # least distance of two names at the right end
NO_CURVE = "no strength is given where more is removed beside the centre"
BED, ROOM = "bed over the line", "room for a thin flap"


def sweep_lines(sweep: Sweep, look: Look, measure: Named, planned: dict[str, float]) -> Figure:
    """The lines of a Sweep, each with its name at its end and the plan's figure at the plan's rule; spreads as bands.

    Args:
        sweep: tradeoffs.Sweep.
        look: Look.
        measure: Measure of the sweep's figure.
        planned: figure of the plan by option.
    """
    low, high = _range(sweep)
    frame = layout(look, SIZE_PX[0], SIZE_PX[1], MARGIN_PX)
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}}
    frame["xaxis"] = axis((0.0, 1.0), (sweep.x[0], sweep.x[-1]), "y", **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (low, high), "x", showgrid=True, gridcolor=look.rule, **ticks)
    data = [band for name, line in sweep.lines.items() for band in _band(sweep, name, line, look)]
    inside = sweep.x[0] <= sweep.plan <= sweep.x[-1]
    if inside:
        data.append(lines([((sweep.plan, sweep.plan), (low, high))], "", look.rule2, 1))
    for name, line in sweep.lines.items():
        strokes = [(sweep.x[i], line.values[i]) for i in _runs(line.values)]
        data += [lines(strokes, "", look.option[name], 2, DASH[name])] if strokes else []
        at = float(np.interp(sweep.plan, sweep.x, line.values)) if inside else np.nan
        data += [marks([(sweep.plan, at, SYMBOL[name], 9, 1)], "", look.option[name])] if not np.isnan(at) else []
    notes = _words(sweep, look, measure) + _end_words(sweep, look, low, high)
    notes += _figures(sweep, look, measure, planned, (low, high)) if inside else []
    if empty := why_empty(sweep):
        middle = {"xref": "paper", "yref": "paper", "xanchor": "center"}
        notes.append(words(empty, 0.5, 0.5, 12.5, look.ink, **middle))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _range(sweep: Sweep) -> tuple[float, float]:
    """Least and greatest of everything drawn, with a little air."""
    every = np.concatenate([part for line in sweep.lines.values() for part in (line.values, line.low, line.high)])
    every = every[~np.isnan(every)]
    if every.size == 0:
        return 0.0, 1.0
    air = max(0.04 * np.ptp(every), 1e-3 * abs(every.mean()), 1e-6)
    return float(every.min() - air), float(every.max() + air)


def _runs(values: Array) -> list[slice]:
    """Slices of the stretches without a gap."""
    known = np.concatenate([[False], ~np.isnan(values), [False]])
    turns = np.flatnonzero(known[1:] != known[:-1])
    return [slice(start, end) for start, end in zip(turns[::2], turns[1::2], strict=True)]


def _band(sweep: Sweep, name: str, line: Line, look: Look) -> list[Figure]:
    """The spread of one option as a filled band."""
    red, green, blue = channels(look.option[name])
    bands = []
    for run in _runs(line.low + line.high):
        x = np.concatenate([sweep.x[run], sweep.x[run][::-1]])
        y = np.concatenate([line.low[run], line.high[run][::-1]])
        bands.append(area((x, y), "", f"rgba({red},{green},{blue},{BAND_OPACITY})"))
    return bands


def _words(sweep: Sweep, look: Look, measure: Named) -> list[Figure]:
    """Title, unit, name of the input, and where the plan is."""
    paper = {"xref": "paper", "yref": "paper"}
    by = {"xanchor": "left", "yanchor": "bottom", "xshift": -MARGIN_PX[0] + 6}
    field = fields()[sweep.field]
    spread = any(not np.isnan(line.low).all() for line in sweep.lines.values())
    note = f"{measure.unit}; figures: this plan" if sweep.x[0] <= sweep.plan <= sweep.x[-1] else measure.unit
    note += "; bands: 95 % under the errors of measurement and cutting" if spread else ""
    title = f"{measure.label} against {input_words(sweep.field)}"
    notes = [
        words(title, 0.0, 1.0, 17, look.ink, serif=True, weight=600, yshift=24, **by, **paper),
        words(note, 0.0, 1.0, 12, look.ink2, yshift=5, **by, **paper),
        words(field.heading, 0.5, 0.0, 12, look.ink, yshift=-42, yanchor="bottom", **paper),
    ]
    if sweep.x[0] <= sweep.plan <= sweep.x[-1]:
        at = {"yref": "paper", "yanchor": "bottom", "xanchor": "left", "xshift": 4}
        notes.append(words("this plan", sweep.plan, 0.0, 11.5, look.ink2, bgcolor=look.page, **at))
    return notes


def why_empty(sweep: Sweep) -> str:
    """Why no option has a figure anywhere, in words; empty where one has.

    >>> from types import SimpleNamespace as Part
    >>> nothing = Part(values=np.array([np.nan, np.nan]), why=np.array(["", "there is nothing to treat"]))
    >>> why_empty(Part(lines={"flap": nothing}))
    'No figure: there is nothing to treat.'
    """
    if any((~np.isnan(line.values)).any() for line in sweep.lines.values()):
        return ""
    reasons = dict.fromkeys(str(why) for line in sweep.lines.values() for why in np.ravel(line.why) if why)
    return f"No figure: {'; '.join(reasons) or NO_CURVE}."


def _end_words(sweep: Sweep, look: Look, low: float, high: float) -> list[Figure]:
    """The names at the right ends, pushed apart where they would touch."""
    ends = [(name, line.values[~np.isnan(line.values)]) for name, line in sweep.lines.items()]
    ends = sorted(((name, known[-1]) for name, known in ends if known.size), key=lambda pair: -pair[1])
    per_px = (high - low) / (SIZE_PX[1] - MARGIN_PX[2] - MARGIN_PX[3])
    notes, above = [], np.inf
    for name, value in ends:
        y = min(value, above - LABEL_PX * per_px)
        above = y
        notes.append(words(SHORT_HEADS[name], 1.0, y, 12.5, look.ink, xref="paper", xanchor="left", xshift=8))
    return notes


def _figures(
    sweep: Sweep, look: Look, measure: Named, planned: dict[str, float], ends: tuple[float, float]
) -> list[Figure]:
    """The plan's figures at its rule; one that is written the same as its neighbour stands once."""
    (low, high), first, last = ends, sweep.x[0], sweep.x[-1]

    def px(x: Any, y: Any) -> tuple[Any, Any]:
        return (x - first) / (last - first) * PLOT.wide_px, (high - y) / (high - low) * PLOT.high_px

    curves = [px(np.asarray(sweep.x), line.values) for line in sweep.lines.values()]
    known = sorted((value for value in planned.values() if not np.isnan(value)), reverse=True)
    taken = [Box(px(sweep.plan, low)[0], PLOT.high_px - LABEL_PX, px(sweep.plan, low)[0] + PLAN_PX, PLOT.high_px)]
    notes: list[Figure] = []
    for value in known:
        text = rounded(value, measure.decimals)
        if notes and notes[-1]["text"] == text:
            continue
        place = place_figure(text, px(sweep.plan, value), curves, taken, PLOT)
        taken.append(place.box)
        notes.append(words(text, sweep.plan, value, FIGURE_PX, look.ink, bgcolor=look.page, **place.held))
    return notes


def describe_sweep(sweep: Sweep, measure: Named) -> str:
    """The sweep in words: first, plan's and last figure of every option with its spread."""
    field = fields()[sweep.field]
    span = f"{sweep.x[0]:.4g} to {sweep.x[-1]:.4g} {field.unit}"
    said = [f"{measure.label}, {measure.unit}, against {input_words(sweep.field)}, {span}."]
    for name, line in sweep.lines.items():
        known = np.flatnonzero(~np.isnan(line.values))
        if known.size == 0:
            said.append(f"{HEADS[name]}: no figure.")
            continue
        parts = []
        for i in (known[0], known[-1]):
            text = f"{rounded(line.values[i], measure.decimals)} at {sweep.x[i]:.4g}"
            if not np.isnan(line.low[i]):
                text += f" ({rounded(line.low[i], measure.decimals)} to {rounded(line.high[i], measure.decimals)})"
            parts.append(text)
        said.append(f"{HEADS[name]}: {', '.join(parts)}.")
    return " ".join(said)


def variance_bars(
    shares: dict[str, Any], look: Look, figures: tuple[str, str] = ("residual bed", "relative strength")
) -> Figure:
    """Which error matters: the share of the variance that each brings, one column for each option.

    Args:
        shares: {option: (first, second)}, each {error: percent}; NaN where there is none.
        look: Look.
        figures: what the first (filled) and the second (outlined) are shares of.
    """
    rows = [*ERROR_WORDS, TOGETHER]
    frame = layout(look, None, BARS_TOP_PX + BARS_BOTTOM_PX + ROW_PX * len(rows), (0, 30, BARS_TOP_PX, BARS_BOTTOM_PX))
    data, notes, columns = [], [], _bar_columns(len(shares))
    for place, (name, pair) in enumerate(shares.items()):
        axes = "" if place == 0 else str(place + 1)
        frame[f"xaxis{axes}"] = axis(columns[place], (0.0, 100.0), f"y{axes}", tickvals=[0, 50, 100],
                                     showticklabels=True, tickfont={"size": 11, "color": look.ink2})  # fmt: skip
        frame[f"yaxis{axes}"] = axis((0.0, 1.0), (len(rows) - 0.5, -0.5), f"x{axes}")
        data += [
            _bars(_with_rest(one), rows, axes, filled, look.option[name])
            for one, filled in zip(pair, (True, False), strict=True)
        ]
        notes += _bar_words(name, pair, rows, axes, columns[place][0], look)
    left = {"xref": "paper", "xanchor": "left"}
    notes += [words(ERROR_WORDS.get(row, row), 0.0, i, 12.5, look.ink, yref="y", **left) for i, row in enumerate(rows)]
    key = f"filled: {figures[0]}; outlined: {figures[1]}; share of the variance, %"
    notes.append(words(key, 0.0, 1.0, 11.5, look.ink2, yref="paper", yanchor="bottom", yshift=40, **left))
    return {"data": data, "layout": frame | {"annotations": notes, "barmode": "overlay"}}


def _bar_columns(count: int) -> list[tuple[float, float]]:
    """Where each of so many columns of bars begins and ends, as shares of the width."""
    low, high = BAR_ENDS
    wide = (high - low - (count - 1) * BAR_GAP) / count
    starts = [low + i * (wide + BAR_GAP) for i in range(count)]
    return [(round(start, 6), round(start + wide, 6)) for start in starts]


def _with_rest(shares: dict[str, float]) -> dict[str, float]:
    """The shares with what no error explains by itself."""
    return shares | {TOGETHER: np.maximum(0.0, 100.0 - sum(shares.values()))}


def _bars(shares: dict[str, float], rows: Sequence[str], axes: str, filled: bool, colour: str) -> Figure:
    """The bars of one figure, in the upper or the lower half of their rows."""
    values = [shares.get(row, np.nan) for row in rows]
    fill = colour if filled else "rgba(0,0,0,0)"
    return {
        "type": "bar", "orientation": "h", "x": [None if np.isnan(v) else round(float(v), 4) for v in values],
        "y": [i + (-0.19 if filled else 0.19) for i in range(len(rows))], "width": 0.3, "xaxis": f"x{axes}",
        "yaxis": f"y{axes}", "marker": {"color": fill, "line": {"color": colour, "width": 1.2}},
        "hoverinfo": "skip", "showlegend": False,
    }  # fmt: skip


def _bar_words(
    name: str, pair: tuple[dict[str, float], dict[str, float]], rows: Sequence[str], axes: str, left: float, look: Look
) -> list[Figure]:
    """Head of a column and the number at the end of each bar."""
    place = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "bottom", "yshift": 8}
    notes = [words(SHORT_HEADS[name], left, 1.0, 14, look.ink, serif=True, weight=600, **place)]
    for one, shift in zip(map(_with_rest, pair), (-0.19, 0.19), strict=True):
        for i, row in enumerate(rows):
            value = one.get(row, np.nan)
            if not np.isnan(value):
                place = {"xref": f"x{axes}", "yref": f"y{axes}", "xanchor": "left", "xshift": 3}
                notes.append(words(rounded(value), value, i + shift, 11, look.ink2, **place))
    return notes


def describe_variance(
    shares: dict[str, tuple[dict[str, float], dict[str, float]]],
    figures: tuple[str, str] = ("residual bed", "relative strength"),
) -> str:
    """The bars in words, with their numbers; arguments as in `variance_bars`."""
    said = ["Share of the variance that each error brings, in percent."]
    for name, pair in shares.items():
        for figure, one in zip(figures, pair, strict=True):
            parts = ", ".join(f"{ERROR_WORDS.get(e, e)} {rounded(v)}" for e, v in _with_rest(one).items())
            said.append(f"{HEADS[name]}, {figure}: {parts}.")
    return " ".join(said)


class Trade(NamedTuple):
    """Arrays over cap thickness [µm]: reserve of the bed over the line, room beyond what a thin flap needs.

    cap_now_um: cap of the plan. cap_needed_um: thinnest cap in which the thin flap has room.
    """

    cap_um: Array
    reserve_um: Array
    room_um: Array
    cap_now_um: float
    cap_needed_um: float


def cap_lines(trade: Trade, look: Look, width_px: float) -> Figure:
    """Both lines against the cap, with the plan's cap, the cap a thin flap needs, and one centre's caps.

    Args:
        trade: Trade.
        look: Look.
        width_px: width of the figure [px].
    """
    caps = trade.cap_um
    low, high = _trade_range(trade)
    frame = layout(look, None, TRADE_HEIGHT_PX, TRADE_MARGIN_PX)
    ticks = {
        "ticks": "outside",
        "ticklen": 6,
        "tickcolor": look.page,
        "showticklabels": True,
        "tickfont": {"size": 11, "color": look.ink2},
        "showgrid": True,
    }
    frame["xaxis"] = axis((0.0, 1.0), (caps[0], caps[-1]), "y", gridcolor=look.rule, dtick=10, **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (low, high), "x", gridcolor=look.rule, dtick=STEP_UM, **ticks)
    thick = data("ways_out")["enhancement"]["thick_caps"]
    x = np.array([thick["low_um"], thick["high_um"], thick["high_um"], thick["low_um"]])
    traces = [area((x, np.array([low, low, high, high])), "", mix(look.page, look.ink, TINT))]
    traces.append(lines([((caps[0], caps[-1]), (0.0, 0.0))], "", look.ink, 1))
    traces.append(lines([(caps, trade.reserve_um)], "", look.option[first_name("keeps_cap")], 2.2))
    traces.append(lines([(caps, trade.room_um)], "", look.option[first_name("lifts_flap")], 2.2, "dash"))
    upright, points, notes = _cap_places(trade, look, low, high)
    if upright:
        traces.append(lines(upright, "", look.ink, 0.9, "dot"))
        traces.append(marks(points, "", look.ink))
    return {
        "data": traces,
        "layout": frame | {"annotations": notes + _cap_names(trade, thick, look, low, high, width_px)},
    }


def _trade_range(trade: Trade) -> tuple[float, float]:
    """Ends of the axis [µm], in whole steps, 0 within."""
    both = np.concatenate([trade.reserve_um, trade.room_um, [0.0]])
    both = both[np.isfinite(both)]
    low, high = STEP_UM * np.floor(both.min() / STEP_UM), STEP_UM * np.ceil((both.max() + PAD_UM) / STEP_UM)
    return float(low) - PAD_UM, float(high)


def _cap_places(
    trade: Trade, look: Look, low: float, high: float
) -> tuple[
    list[tuple[tuple[float, float], tuple[float, float]]], list[tuple[float, float, str, int, int]], list[Figure]
]:
    """The plan's cap with both figures; the cap at which the room begins: upright lines, points, words."""
    caps, upright, points, notes = trade.cap_um, [], [], []
    marks = (trade.cap_now_um, "this plan", whole), (trade.cap_needed_um, "a thin flap fits from", least_written)
    for at, name, write in marks:
        if not caps[0] <= at <= caps[-1]:  # NaN too, where it is not known
            continue
        upright.append(((at, at), (low, high)))
        notes.append(words(f"{name} <b>{write(at)}</b>", at, high, 12, look.ink, yanchor="bottom"))
        if name == "this plan":
            for values, shift in ((trade.reserve_um, 9), (trade.room_um, -10)):
                value = float(np.interp(at, caps, values))
                if np.isfinite(value):
                    points.append((at, value, "circle", 7, 0))
                    notes.append(
                        words(
                            f"<b>{whole(value)}</b>", at, value, 12.5, look.ink, xshift=7, yshift=shift, xanchor="left"
                        )
                    )
    return upright, points or [(trade.cap_needed_um, 0.0, "circle", 7, 0)], notes


def _cap_names(trade: Trade, thick: Figure, look: Look, low: float, high: float, width_px: float) -> list[Figure]:
    """Names at the right ends of the lines, of the axes, and of the shaded caps."""
    ends = [float(values[-1]) for values in (trade.reserve_um, trade.room_um)]
    per_um = (TRADE_HEIGHT_PX - TRADE_MARGIN_PX[2] - TRADE_MARGIN_PX[3]) / (high - low)
    gap = abs(ends[0] - ends[1]) * per_um if np.isfinite(ends).all() else APART_PX
    shift = max(0.0, (APART_PX / 2.0 - gap) / 2.0)
    notes = []
    for i, (name, end) in enumerate(zip((BED, ROOM), ends, strict=True)):
        if np.isfinite(end):
            upper = end > ends[1 - i] or (end == ends[1 - i] and i == 0) or not np.isfinite(ends[1 - i])
            place = {"xanchor": "left", "xshift": 8, "yshift": shift if upper else -shift}
            notes.append(words(f"{name} <b>{whole(end)}</b>", trade.cap_um[-1], end, 12.5, look.ink, **place))
    corner = {"xref": "paper", "yref": "paper", "xanchor": "left"}
    notes.append(words("µm", 0.0, 1.0, 11.5, look.ink2, yanchor="bottom", xshift=-40, yshift=4, **corner))
    notes.append(words("cap thickness, µm", 0.0, 0.0, 11.5, look.ink2, yanchor="top", yshift=-22, **corner))
    middle = 0.5 * (thick["low_um"] + thick["high_um"])
    per_cap = (width_px - TRADE_MARGIN_PX[0] - TRADE_MARGIN_PX[1]) / float(trade.cap_um[-1] - trade.cap_um[0])
    said = f"one centre’s caps<br>{thick['low_um']} to {thick['high_um']}"
    if text_width("one centre’s caps", 11.5) < 2.4 * per_cap * (thick["high_um"] - thick["low_um"]):
        tint = mix(look.page, look.ink, TINT)
        notes.append(words(said, middle, high, 11.5, look.ink2, yanchor="top", yshift=-3, bgcolor=tint))
    return notes


def describe_cap_lines(trade: Trade) -> str:
    """The picture in words, with its numbers."""
    parts = [
        f"cap {cap:.0f}: bed {whole(trade.reserve_um[i])} over the line, {ROOM} {whole(trade.room_um[i])}"
        for i, cap in enumerate(trade.cap_um)
        if cap % 10 == 0
    ]
    now = f"The plan's cap is {whole(trade.cap_now_um)}"
    needed = f"; a thin flap has room from {least_written(trade.cap_needed_um)}" if trade.cap_needed_um > 0 else ""
    return f"In µm; under 0 there is none. {'; '.join(parts)}. {now}{needed}."
