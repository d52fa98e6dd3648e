"""Distributions of a figure over many eyes, and one figure against another, as plain figures."""

from typing import Any

import numpy as np

from tissue.drawing.base.palette import DASH, HEADS, SHORT, SYMBOL, Look
from tissue.drawing.base.traces import axis, layout, lines, listed, literal, marks, words
from tissue.ground.vocabulary import Array, Figure

BINS = 40
MOST_POINTS = 800  # most marks of a colour; more are drawn as counts
CELLS = (60, 40)  # of a grid of counts, across and up
NEAR, LINE_PX = 0.12, 13  # words closer than this share of an axis are moved up by a line
CELL_PX, POINT_PX = 7.0, 5
BESIDE_PX, BESIDE = 5.0, 0.3  # counts of several options: largest mark, how far beside each other, in cells
MARGIN_PX = (56, 12, 28, 44)
CLOUD_MARGIN_PX, CLOUD_HEIGHT_PX = (56, 12, 28, 60), 296  # with a line for what the marks count
NOTHING = ((0.0, 1.0), (0.0, 1.0))  # ranges of axes without values


def framed(
    look: Look,
    x_title: str,
    y_title: str,
    spans: tuple[tuple[float, float], tuple[float, float]],
    height_px: int = 280,
    margin: tuple[int, int, int, int] = MARGIN_PX,
) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """The frame of a small chart with both axes ticked; its titles are written as they stand."""
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "showgrid": True}
    frame = layout(look, None, height_px, margin)
    frame["xaxis"] = axis((0.0, 1.0), spans[0], "y", gridcolor=look.rule, **ticks)
    frame["yaxis"] = axis((0.0, 1.0), spans[1], "x", gridcolor=look.rule, **ticks)
    below = {"xanchor": "left", "yanchor": "top", "yshift": -22}
    above = {"xanchor": "left", "yanchor": "bottom", "yshift": 4}
    notes = [
        words(literal(x_title), 0.0, 0.0, 11.5, look.ink2, xref="paper", yref="paper", **below),
        words(literal(y_title), 0.0, 1.0, 11.5, look.ink2, xref="paper", yref="paper", **above),
    ]
    return frame, notes


def span_of(values: Array) -> tuple[float, float]:
    """Range of an axis with a little room; one unit where all are one value."""
    low, high = float(np.min(values)), float(np.max(values))
    room = 0.04 * (high - low) or 0.5
    return low - room, high + room


def histogram(columns: dict[str, Array], look: Look, title: str, patients: int | None = None) -> Figure:
    """A stepped histogram of a figure, one line for each option.

    Args:
        columns: {option: values}, NaN left out.
        look: Look.
        title: name and unit of the figure.
        patients: whose eyes they are; None where nobody says.
    """
    whose = "" if patients is None else f"; {patients:,} patients"
    known = {name: values[np.isfinite(values)] for name, values in columns.items()}
    known = {name: values for name, values in known.items() if len(values)}
    if not known:
        frame, notes = framed(look, title, "eyes", NOTHING)
        return {"data": [], "layout": frame | {"annotations": notes}}
    span = span_of(np.concatenate(list(known.values())))
    edges = np.linspace(span[0], span[1], BINS + 1)
    counts = {name: np.histogram(values, edges)[0] for name, values in known.items()}
    most = max(int(count.max()) for count in counts.values())
    frame, notes = framed(look, title, f"eyes, {_numbers(known)}{whose}", (span, (0.0, 1.25 * most)))
    data: list[dict] = []
    placed: list[tuple[float, int]] = []
    for name, count in counts.items():
        x, y = np.repeat(edges, 2), np.concatenate([[0], np.repeat(count, 2), [0]])
        data.append(lines([(x, y)], "", look.option[name], 2, DASH[name]))
        top = int(np.argmax(count))
        middle = 0.5 * (edges[top] + edges[top + 1])
        near = [one for one in placed if abs(one[0] - middle) < NEAR * (span[1] - span[0])]
        height = max(int(other[max(top - 3, 0) : top + 4].max()) for other in counts.values())
        placed.append((middle, height))
        said = SHORT[name]
        place = {"yanchor": "bottom", "yshift": 3 + LINE_PX * len(near)}
        notes.append(words(said, middle, height, 11.5, look.option[name], **place))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _numbers(known: dict[str, Array]) -> str:
    """The number of values of each option, given once where all are equal."""
    numbers = {name: len(values) for name, values in known.items()}
    if len(set(numbers.values())) == 1:
        return f"{max(numbers.values()):,} of each option" if len(numbers) > 1 else f"{max(numbers.values()):,}"
    return ", ".join(f"{SHORT[name]} {number:,}" for name, number in numbers.items())


def scatter(x: Array, columns: dict[str, Array], look: Look, x_title: str, title: str) -> Figure:
    """A figure against a column, one symbol for each option; counts where more than 800 eyes would overlap.

    Args:
        x: values of the column.
        columns: {option: values}.
        look: Look.
        x_title, title: names and units.
    """
    kept = np.isfinite(x)
    values = np.concatenate([column[kept] for column in columns.values()]) if kept.any() else np.array([])
    values = values[np.isfinite(values)]
    if not len(values):
        frame, notes = framed(look, x_title, title, NOTHING)
        return {"data": [], "layout": frame | {"annotations": notes}}
    spans = span_of(x[kept]), span_of(values)
    frame, notes = framed(look, x_title, title, spans, CLOUD_HEIGHT_PX, CLOUD_MARGIN_PX)
    there = {name: kept & np.isfinite(column) for name, column in columns.items()}
    drawn, clouds = [name for name in columns if there[name].any()], []
    for i, name in enumerate(drawn):
        mine, symbol = there[name], f"{SYMBOL[name]}-open"
        beside = BESIDE * (i - 0.5 * (len(drawn) - 1))
        clouds.append(cloud(x[mine], columns[name][mine], spans, symbol, look.option[name], beside=beside))
    most = max(most for _, most in clouds)
    notes += [counted(look, most)] if most > 1 else []
    return {"data": [trace for trace, _ in clouds], "layout": frame | {"annotations": notes}}


def cloud(
    x: Array,
    y: Array,
    spans: tuple[tuple[float, float], tuple[float, float]],
    symbol: str,
    colour: str,
    *,
    beside: float | None = None,
) -> tuple[Figure, int]:
    """Marks of points, and 1; of too many points the counts in the cells of a grid by area, and the greatest count.

    Args:
        x, y: values without gaps.
        spans: ranges of both axes.
        symbol, colour: of the marks.
        beside: how far the marks of counts lie beside the middle of their cells, in cells; None where no others are.
    """
    style: Figure = {"symbol": symbol, "size": POINT_PX, "color": colour, "line": {"color": colour, "width": 1.0}}
    if len(x) > MOST_POINTS:
        counts, x_edges, y_edges = np.histogram2d(x, y, CELLS, spans)
        i, j = np.nonzero(counts)
        across = x_edges[1] - x_edges[0]
        x, y = 0.5 * (x_edges[i] + x_edges[i + 1]) + (beside or 0.0) * across, 0.5 * (y_edges[j] + y_edges[j + 1])
        sizes = (CELL_PX if beside is None else BESIDE_PX) * np.sqrt(counts[i, j] / counts.max())
        style |= {"symbol": symbol.removesuffix("-open"), "size": np.maximum(sizes, 1.0).round(2).tolist()}
    trace = marks([(0.0, 0.0, symbol, POINT_PX, 1.0)], "", colour)
    most = 1 if len(style["symbol"]) == len(symbol) else int(counts.max())
    return trace | {"type": "scattergl", "x": listed(x), "y": listed(y), "marker": style, "cliponaxis": True}, most


def counted(look: Look, most: int) -> Figure:
    """The words beside a chart of counts."""
    said = f"area of a mark: eyes in its place, up to {most}"
    return words(said, 0.0, 0.0, 11, look.ink2, xref="paper", yref="paper", xanchor="left", yanchor="top", yshift=-38)


def describe_distributions(columns: dict[str, Array], title: str) -> str:
    """Median and ends of a figure for each option, in words."""
    parts = []
    for name, values in columns.items():
        known = values[np.isfinite(values)]
        if len(known):
            span = f"{known.min():.1f} to {known.max():.1f}"
            parts.append(f"{HEADS[name]}: {len(known)} eyes, median {np.median(known):.1f}, {span}")
    return f"{title}. {'; '.join(parts) if parts else 'No figures'}."
