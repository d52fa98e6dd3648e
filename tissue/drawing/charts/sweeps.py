"""A measure of all options over one input as lines with their spread; and which error matters, as bars."""

import numpy as np

from tissue.drawing.base.palette import DASH, HEADS, SHORT_HEADS, SYMBOL, channels
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.drawing.charts.maps import input_words
from tissue.entry.fields import fields
from tissue.report.measures import number

SIZE_PX = (640, 400)
MARGIN_PX = (64, 150, 56, 50)  # left, right, top, bottom
LABEL_PX = 17
BAND_OPACITY = 0.16
ERROR_WORDS = {"thickness": "thickness", "epithelium": "epithelium", "cut": "flap or cap", "removal": "removal"}
TOGETHER = "together only"
ROW_PX, BARS_TOP_PX, BARS_BOTTOM_PX = 32, 66, 36
BAR_COLUMNS = ((0.16, 0.40), (0.45, 0.69), (0.74, 0.98))


def sweep_lines(sweep, look, measure):
    """The lines of a Sweep, each with its name at its end, its spread as a band and the plan marked.

    Args:
        sweep: tradeoffs.Sweep.
        look: Look.
        measure: Measure of the sweep's figure.
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
    notes = _words(sweep, look, measure) + _end_words(sweep, look, measure, low, high)
    return {"data": data, "layout": frame | {"annotations": notes}}


def _range(sweep):
    """Least and greatest of everything drawn, with a little air."""
    every = np.concatenate([part for line in sweep.lines.values() for part in (line.values, line.low, line.high)])
    every = every[~np.isnan(every)]
    if every.size == 0:
        return 0.0, 1.0
    air = max(0.04 * np.ptp(every), 1e-3 * abs(every.mean()), 1e-6)
    return float(every.min() - air), float(every.max() + air)


def _runs(values):
    """Slices of the stretches without a gap."""
    known = np.concatenate([[False], ~np.isnan(values), [False]])
    turns = np.flatnonzero(known[1:] != known[:-1])
    return [slice(start, end) for start, end in zip(turns[::2], turns[1::2], strict=True)]


def _band(sweep, name, line, look):
    """The spread of one option as a filled band."""
    red, green, blue = channels(look.option[name])
    bands = []
    for run in _runs(line.low + line.high):
        x = np.concatenate([sweep.x[run], sweep.x[run][::-1]])
        y = np.concatenate([line.low[run], line.high[run][::-1]])
        bands.append(area((x, y), "", f"rgba({red},{green},{blue},{BAND_OPACITY})"))
    return bands


def _words(sweep, look, measure):
    """Title, unit, name of the input, and where the plan is."""
    paper = {"xref": "paper", "yref": "paper"}
    by = {"xanchor": "left", "yanchor": "bottom", "xshift": -MARGIN_PX[0] + 6}
    field = fields()[sweep.field]
    spread = any(not np.isnan(line.low).all() for line in sweep.lines.values())
    note = f"{measure.unit}; bands: 95 % under the errors of measurement and cutting" if spread else measure.unit
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


def _end_words(sweep, look, measure, low, high):
    """The names at the right ends, pushed apart where they would touch."""
    ends = [(name, line.values[~np.isnan(line.values)]) for name, line in sweep.lines.items()]
    ends = sorted(((name, known[-1]) for name, known in ends if known.size), key=lambda pair: -pair[1])
    per_px = (high - low) / (SIZE_PX[1] - MARGIN_PX[2] - MARGIN_PX[3])
    notes, above = [], np.inf
    for name, value in ends:
        y = min(value, above - LABEL_PX * per_px)
        above = y
        text = f"{SHORT_HEADS[name]} {number(value, measure.decimals)}"
        notes.append(words(text, 1.0, y, 12.5, look.ink, xref="paper", xanchor="left", xshift=8))
    return notes


def describe_sweep(sweep, measure):
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
            text = f"{number(line.values[i], measure.decimals)} at {sweep.x[i]:.4g}"
            if not np.isnan(line.low[i]):
                text += f" ({number(line.low[i], measure.decimals)} to {number(line.high[i], measure.decimals)})"
            parts.append(text)
        said.append(f"{HEADS[name]}: {', '.join(parts)}.")
    return " ".join(said)


def variance_bars(shares, look, figures=("residual bed", "relative strength")):
    """Which error matters: the share of the variance each brings, one column an option.

    Args:
        shares: {option: (first, second)}, each {error: percent}; NaN where there is none.
        look: Look.
        figures: what the first (filled) and the second (outlined) are shares of.
    """
    rows = [*ERROR_WORDS, TOGETHER]
    frame = layout(look, None, BARS_TOP_PX + BARS_BOTTOM_PX + ROW_PX * len(rows), (0, 30, BARS_TOP_PX, BARS_BOTTOM_PX))
    data, notes = [], []
    for place, (name, pair) in enumerate(shares.items()):
        axes = "" if place == 0 else str(place + 1)
        frame[f"xaxis{axes}"] = axis(BAR_COLUMNS[place], (0.0, 100.0), f"y{axes}", tickvals=[0, 50, 100],
                                     showticklabels=True, tickfont={"size": 11, "color": look.ink2})  # fmt: skip
        frame[f"yaxis{axes}"] = axis((0.0, 1.0), (len(rows) - 0.5, -0.5), f"x{axes}")
        data += [
            _bars(_with_rest(one), rows, axes, filled, look.option[name])
            for one, filled in zip(pair, (True, False), strict=True)
        ]
        notes += _bar_words(name, pair, rows, axes, BAR_COLUMNS[place][0], look)
    left = {"xref": "paper", "xanchor": "left"}
    notes += [words(ERROR_WORDS.get(row, row), 0.0, i, 12.5, look.ink, yref="y", **left) for i, row in enumerate(rows)]
    key = f"filled: {figures[0]}; outlined: {figures[1]}; share of the variance, %"
    notes.append(words(key, 0.0, 1.0, 11.5, look.ink2, yref="paper", yanchor="bottom", yshift=40, **left))
    return {"data": data, "layout": frame | {"annotations": notes, "barmode": "overlay"}}


def _with_rest(shares):
    """The shares with what no error explains by itself."""
    return shares | {TOGETHER: np.maximum(0.0, 100.0 - sum(shares.values()))}


def _bars(shares, rows, axes, filled, colour):
    """The bars of one figure, in the upper or the lower half of their rows."""
    values = [shares.get(row, np.nan) for row in rows]
    fill = colour if filled else "rgba(0,0,0,0)"
    return {
        "type": "bar", "orientation": "h", "x": [None if np.isnan(v) else round(float(v), 4) for v in values],
        "y": [i + (-0.19 if filled else 0.19) for i in range(len(rows))], "width": 0.3, "xaxis": f"x{axes}",
        "yaxis": f"y{axes}", "marker": {"color": fill, "line": {"color": colour, "width": 1.2}},
        "hoverinfo": "skip", "showlegend": False,
    }  # fmt: skip


def _bar_words(name, pair, rows, axes, left, look):
    """Head of a column and the number at the end of each bar."""
    notes = [words(SHORT_HEADS[name], left, 1.0, 14, look.ink, "paper", "paper", serif=True, weight=600, xanchor="left",
                   yanchor="bottom", yshift=8)]  # fmt: skip
    for one, shift in zip(map(_with_rest, pair), (-0.19, 0.19), strict=True):
        for i, row in enumerate(rows):
            value = one.get(row, np.nan)
            if not np.isnan(value):
                place = {"xref": f"x{axes}", "yref": f"y{axes}", "xanchor": "left", "xshift": 3}
                notes.append(words(number(value), value, i + shift, 11, look.ink2, **place))
    return notes


def describe_variance(shares, figures=("residual bed", "relative strength")):
    """The bars in words, with their numbers; arguments as in `variance_bars`."""
    said = ["Share of the variance that each error brings, in percent."]
    for name, pair in shares.items():
        for figure, one in zip(figures, pair, strict=True):
            parts = ", ".join(f"{ERROR_WORDS.get(e, e)} {number(v)}" for e, v in _with_rest(one).items())
            said.append(f"{HEADS[name]}, {figure}: {parts}.")
    return " ".join(said)
