"""Distributions of a figure over many eyes, and one figure against another, as plain figures."""

import numpy as np

from tissue.drawing.base.palette import DASH, HEADS
from tissue.drawing.base.traces import axis, layout, lines, listed, marks, words

BINS = 40
MOST_POINTS = 4000  # of a scatter; more are drawn as a seeded sample of them
MARGIN_PX = (56, 12, 28, 44)
SYMBOLS = {"surface": "circle-open", "flap": "square-open", "lenticule": "diamond-open"}


def _framed(look, x_title, y_title, x_range, y_range):
    """The frame of a small chart with both axes ticked."""
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "showgrid": True}
    frame = layout(look, None, 280, MARGIN_PX)
    frame["xaxis"] = axis((0.0, 1.0), x_range, "y", gridcolor=look.rule, **ticks)
    frame["yaxis"] = axis((0.0, 1.0), y_range, "x", gridcolor=look.rule, **ticks)
    below = {"xanchor": "left", "yanchor": "top", "yshift": -22}
    notes = [
        words(x_title, 0.0, 0.0, 11.5, look.ink2, xref="paper", yref="paper", **below),
        words(
            y_title, 0.0, 1.0, 11.5, look.ink2, xref="paper", yref="paper", xanchor="left", yanchor="bottom", yshift=4
        ),
    ]
    return frame, notes


def _span(values):
    """Range of an axis with a little room; one unit where all are one value."""
    low, high = float(np.min(values)), float(np.max(values))
    room = 0.04 * (high - low) or 0.5
    return low - room, high + room


def histogram(columns, look, title):
    """Steps of how many eyes have which figure, an option a line.

    Args:
        columns: {option: values}, NaN left out.
        look: Look.
        title: name and unit of the figure.
    """
    known = {name: values[np.isfinite(values)] for name, values in columns.items()}
    known = {name: values for name, values in known.items() if len(values)}
    if not known:
        frame, notes = _framed(look, title, "eyes", (0.0, 1.0), (0.0, 1.0))
        return {"data": [], "layout": frame | {"annotations": notes}}
    span = _span(np.concatenate(list(known.values())))
    edges = np.linspace(span[0], span[1], BINS + 1)
    counts = {name: np.histogram(values, edges)[0] for name, values in known.items()}
    most = max(int(count.max()) for count in counts.values())
    frame, notes = _framed(look, title, "eyes", span, (0.0, 1.12 * most))
    data = []
    for name, count in counts.items():
        x, y = np.repeat(edges, 2), np.concatenate([[0], np.repeat(count, 2), [0]])
        data.append(
            lines([(x, y)], "", look.option[name], 2, DASH[name].replace("dotted", "dot").replace("dashed", "dash"))
        )
        top = int(np.argmax(count))
        middle = 0.5 * (edges[top] + edges[top + 1])
        notes.append(words(HEADS[name].split()[0].lower(), middle, count[top], 11.5, look.ink, yanchor="bottom"))
    return {"data": data, "layout": frame | {"annotations": notes}}


def scatter(x, columns, look, x_title, title):
    """A figure against a column, an option a symbol.

    Args:
        x: values of the column.
        columns: {option: values}.
        look: Look.
        x_title, title: names and units.
    """
    kept = np.isfinite(x)
    if kept.sum() > MOST_POINTS:
        chosen = np.random.default_rng(0).choice(np.flatnonzero(kept), MOST_POINTS, replace=False)
        kept = np.zeros(len(x), dtype=bool)
        kept[chosen] = True
    values = np.concatenate([column[kept] for column in columns.values()]) if kept.any() else np.array([])
    values = values[np.isfinite(values)]
    if not len(values):
        frame, notes = _framed(look, x_title, title, (0.0, 1.0), (0.0, 1.0))
        return {"data": [], "layout": frame | {"annotations": notes}}
    frame, notes = _framed(look, x_title, title, _span(x[kept]), _span(values))
    data = []
    for name, column in columns.items():
        there = kept & np.isfinite(column)
        if there.any():
            data.append(_points(x[there], column[there], SYMBOLS[name], look.option[name]))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _points(x, y, symbol, colour):
    """Many small marks in one style."""
    trace = marks([(0.0, 0.0, symbol, 5, 1.0)], "", colour)
    style = {"symbol": symbol, "size": 5, "color": colour, "line": {"color": colour, "width": 1.0}}
    return trace | {"type": "scattergl", "x": listed(x), "y": listed(y), "marker": style, "cliponaxis": True}


def describe_distributions(columns, title):
    """Median and ends of a figure for each option, in words."""
    parts = []
    for name, values in columns.items():
        known = values[np.isfinite(values)]
        if len(known):
            span = f"{known.min():.1f} to {known.max():.1f}"
            parts.append(f"{HEADS[name]}: {len(known)} eyes, median {np.median(known):.1f}, {span}")
    return f"{title}. {'; '.join(parts) if parts else 'No figures'}."
