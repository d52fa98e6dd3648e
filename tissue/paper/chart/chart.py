"""A plain figure of one pair of axes, drawn with an ink: lines, areas, marks, words, grid and numbers.

What a figure may hold: traces of type scatter with lines, areas (`toself`) and marks, and annotations without arrow.
"""

from html import unescape
from typing import Any

import numpy as np

from tissue.ground.vocabulary import TRUE_MINUS
from tissue.paper.chart.inks import INKS, Ink, Points

WIDTH_MM = 110.0  # the smallest letters have 6 pt when it is reduced to a column of 85 mm
PX_MM = 25.4 / 96.0
TICKS = 5  # about
STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)
SIDES = 20  # of a circle
ANCHORS = {"left": 0.0, "center": 0.5, "right": 1.0, "auto": 0.5}
ABOVE = {"top": 1.0, "middle": 0.36, "bottom": 0.0, "auto": 0.36}  # base line below a place, in letter sizes
TICK_PX, GAP_PX = 10.5, 5.0


def printed(figure: dict[str, Any], kind: str, title: str, width_mm: float = WIDTH_MM) -> bytes:
    """A figure for print.

    Args:
        figure: plain figure {"data": [...], "layout": {...}}, drawn in the light look on white.
        kind: svg, pdf or png.
        title: of the document.
        width_mm: of the drawing.

    Raises:
        ValueError: it holds what paper cannot draw, named.
    """
    layout = figure["layout"]
    ink = INKS[kind](width_mm, layout["height"] * PX_MM, title)
    frame = _Frame(layout, ink)
    _grid(ink, frame, layout)
    for trace in figure["data"]:
        _trace(ink, frame, trace)
    for note in layout.get("annotations", ()):
        _note(ink, frame, note)
    return ink.finish()


class _Frame:
    """Where the axes lie on the paper [mm]."""

    def __init__(self, layout: dict[str, Any], ink: Ink) -> None:
        margin = layout["margin"]
        self.left, self.right = margin["l"] * PX_MM, ink.width_mm - margin["r"] * PX_MM
        self.top, self.bottom = margin["t"] * PX_MM, ink.height_mm - margin["b"] * PX_MM
        self.x_range, self.y_range = layout["xaxis"]["range"], layout["yaxis"]["range"]

    def x(self, value: float) -> float:
        low, high = self.x_range
        return self.left + (value - low) / (high - low) * (self.right - self.left)

    def y(self, value: float) -> float:
        low, high = self.y_range
        return self.bottom - (value - low) / (high - low) * (self.bottom - self.top)

    def points(self, x: list, y: list) -> list[Points]:
        """Strokes between the gaps."""
        found: list[list[tuple[float, float]]] = [[]]
        for one, other in zip(x, y, strict=True):
            if one is None or other is None:
                found.append([])
            else:
                found[-1].append((self.x(one), self.y(other)))
        return [stroke for stroke in found if stroke]


def ticks(low: float, high: float) -> list[float]:
    """Round numbers between two ends.

    >>> ticks(-0.3, 10.2), ticks(297.0, 303.0)
    ([0.0, 2.5, 5.0, 7.5, 10.0], [298.0, 300.0, 302.0])
    """
    rough = (high - low) / TICKS
    power = float(10.0 ** np.floor(np.log10(rough)))
    step = next(one * power for one in STEPS if one * power >= rough * 0.999)
    first, last = int(np.ceil(low / step - 1e-9)), int(np.floor(high / step + 1e-9))
    return [round(i * step, 10) + 0.0 for i in range(first, last + 1)]


def _grid(ink: Ink, frame: _Frame, layout: dict[str, Any]) -> None:
    """Grid lines and the numbers of both axes; words in their place where the axis has some."""
    size = TICK_PX * PX_MM
    for name, colour in (("xaxis", None), ("yaxis", None)):
        axis = layout[name]
        places = axis["tickvals"] if axis.get("tickvals") is not None else ticks(*axis["range"])
        words = [unescape(text) for text in axis.get("ticktext", ())] or [_number(value) for value in places]
        colour = axis.get("tickfont", {}).get("color", "#444444")
        for value, text in zip(places, words, strict=True):
            if name == "xaxis":
                x = frame.x(value)
                ink.line([(x, frame.top), (x, frame.bottom)], axis.get("gridcolor", "#dddddd"), 0.15)
                ink.text(x - ink.width_of(text, size) / 2.0, frame.bottom + 1.25 * size, text, size, colour)
            else:
                y, width = frame.y(value), ink.width_of(text, size)
                ink.line([(frame.left, y), (frame.right, y)], axis.get("gridcolor", "#dddddd"), 0.15)
                ink.text(frame.left - width - GAP_PX * PX_MM, y + 0.36 * size, text, size, colour)


def _number(value: float) -> str:
    """A number of an axis, with a true minus sign."""
    return f"{value:g}".translate(TRUE_MINUS)


def _trace(ink: Ink, frame: _Frame, trace: dict[str, Any]) -> None:
    """One trace."""
    if trace["type"] not in ("scatter", "scattergl") or trace["mode"] not in ("lines", "markers"):
        raise ValueError(f"paper draws lines and marks, read {trace['type']} {trace.get('mode', '')}")
    if trace["mode"] == "markers":
        return _marks(ink, frame, trace)
    line = trace.get("line", {})
    for stroke in frame.points(trace["x"], trace["y"]):
        if trace.get("fill") == "toself":
            ink.area(stroke, trace["fillcolor"])
        if line.get("width"):
            ink.line(stroke, line["color"], line["width"] * PX_MM, line.get("dash", "solid"))
    return None


def _marks(ink: Ink, frame: _Frame, trace: dict[str, Any]) -> None:
    """Marks: circles, squares and diamonds, open or filled."""
    style, count = trace["marker"], len(trace["x"])
    symbols, sizes = _each(style["symbol"], count), _each(style["size"], count)
    widths = _each(style["line"]["width"], count)
    for x, y, symbol, size, width in zip(trace["x"], trace["y"], symbols, sizes, widths, strict=True):
        shape = _shape(symbol, frame.x(x), frame.y(y), 0.5 * size * PX_MM)
        if not symbol.endswith("-open"):
            ink.area(shape, style["color"])
        elif width:
            ink.line([*shape, shape[0]], style["color"], width * PX_MM)


def _each(value: Any, count: int) -> list:
    """A style for each mark."""
    return list(value) if isinstance(value, list | tuple) else [value] * count


def _shape(symbol: str, x: float, y: float, half: float) -> list[tuple[float, float]]:
    """The outline of a mark."""
    if symbol.startswith("square"):
        half *= 0.9
        return [(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)]
    if symbol.startswith("diamond"):
        half *= 1.25
        return [(x, y - half), (x + half, y), (x, y + half), (x - half, y)]
    turn = 2.0 * np.pi * np.arange(SIDES) / SIDES
    return list(zip((x + half * np.cos(turn)).tolist(), (y + half * np.sin(turn)).tolist(), strict=True))


def _note(ink: Ink, frame: _Frame, note: dict[str, Any]) -> None:
    """One annotation."""
    size, text = note["font"]["size"] * PX_MM, unescape(note["text"])
    x = frame.left + note["x"] * (frame.right - frame.left) if note["xref"] == "paper" else frame.x(note["x"])
    y = frame.bottom - note["y"] * (frame.bottom - frame.top) if note["yref"] == "paper" else frame.y(note["y"])
    x += note.get("xshift", 0) * PX_MM - ANCHORS[note.get("xanchor", "auto")] * ink.width_of(text, size)
    y += ABOVE[note.get("yanchor", "auto")] * size - note.get("yshift", 0) * PX_MM
    ink.text(x, y, text, size, note["font"]["color"])
