"""Areas, lines, marks and words as the plain dictionaries a figure is made of."""

from html import escape
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.drawing.base.palette import SANS, SERIF

GAP = (np.nan,)


def listed(values: NDArray[Any] | list[float]) -> list[float]:
    """Values as a list rounded to 4 decimals, so that equal pictures are equal dictionaries."""
    return np.asarray(values, dtype=float).round(4).tolist()


def in_one_stroke(
    strokes: list[
        NDArray[Any]
        | tuple[NDArray[Any] | list[float] | tuple[float, ...], NDArray[Any] | list[float] | tuple[float, ...]]
    ]
    | tuple[
        tuple[NDArray[Any] | tuple[float, float], NDArray[Any] | tuple[float, float]],
        tuple[NDArray[Any] | tuple[float, float], NDArray[Any] | tuple[float, float]],
    ],
) -> list[list[float | None]]:
    """Strokes (x, y) as one pair of lists with a gap (None) between them, and where a value is NaN."""
    both = []
    for part in zip(*strokes, strict=True):
        values = listed(np.concatenate([piece for stroke in part for piece in (stroke, GAP)])[:-1])
        both.append([None if value != value else value for value in values])
    return both


def _trace(x, y, axes, **more):
    return {
        "type": "scatter",
        "x": x,
        "y": y,
        "xaxis": "x" + axes,
        "yaxis": "y" + axes,
        "hoverinfo": "skip",
        "showlegend": False,
        **more,
    }


def area(curve, axes, fill, hatch=None, hatch_colour=None, line=None):
    """A filled polygon; a hatch is laid over its fill.

    Args:
        curve: points (x, y), or a list of such polygons that look alike.
        axes: suffix of the pair of axes.
        fill: colour.
        hatch: Hatch; none where None.
        hatch_colour: colour of its strokes.
        line: colour, width [px] and dash of a line along the points; it does not close the polygon.
    """
    x, y = in_one_stroke(curve) if isinstance(curve, list) else (listed(part) for part in curve)
    style = {"width": 0} if line is None else dict(zip(("color", "width", "dash"), line, strict=True))
    more = {"mode": "lines", "line": {**style, "simplify": False}, "fill": "toself", "fillcolor": fill}
    if hatch is not None:
        more["fillpattern"] = {
            "shape": hatch.shape,
            "size": hatch.size,
            "solidity": hatch.solidity,
            "fillmode": "overlay",
            "bgcolor": fill,
            "fgcolor": hatch_colour,
            "fgopacity": 1,
        }
    return _trace(x, y, axes, **more)


def lines(strokes, axes, colour, width, dash="solid"):
    """One or more strokes (x, y) in one style."""
    x, y = in_one_stroke(strokes)
    style = {"color": colour, "width": width, "dash": dash, "simplify": False}
    return _trace(x, y, axes, mode="lines", line=style, connectgaps=False)


def marks(points, axes, colour):
    """Marks (x, y, symbol, size [px], line width [px]) in one colour."""
    x, y, symbols, sizes, widths = (list(part) for part in zip(*points, strict=True))
    style = {
        "symbol": symbols,
        "size": sizes,
        "color": colour,
        "opacity": 1,
        "line": {"color": colour, "width": widths},
    }
    return _trace(listed(x), listed(y), axes, mode="markers", marker=style, cliponaxis=False)


def texts(items, axes, look):
    """Many words at once, in one trace; drawn faster than `words`, but without ground, shift or turn.

    Args:
        items: (text, x, y, size [px], position, style); position such as `middle center`, or `middle right`, which
            begins the text at x; style `ink`, `ink2` or `italic` (serif, ink2).
        axes: suffix of the pair of axes. Words beyond its range are not drawn.
        look: Look.
    """
    text, x, y, sizes, positions, styles = (list(part) for part in zip(*items, strict=True))
    font = {
        "family": [SERIF if style == "italic" else SANS for style in styles],
        "size": sizes,
        "color": [look.ink if style == "ink" else look.ink2 for style in styles],
        "style": ["italic" if style == "italic" else "normal" for style in styles],
    }
    more = {"mode": "text", "text": text, "textposition": positions, "textfont": font, "cliponaxis": False}
    return _trace(listed(x), listed(y), axes, **more)


def literal(text):
    """A text from outside for a chart, which would take a tag in it for a link of its own; prints take it back.

    >>> literal('<a href="https://example.org">age</a> & more')
    '&lt;a href="https://example.org"&gt;age&lt;/a&gt; &amp; more'
    """
    return escape(text, quote=False)


def words(text, x, y, size, colour, *, xref="x", yref="y", **more):
    """Words at a place, without arrow; shifts and anchors by their names in the figure's language."""
    italic = more.pop("italic", False)
    serif = more.pop("serif", italic)
    font = {"family": SERIF if serif else SANS, "size": size, "color": colour}
    if italic:
        font["style"] = "italic"
    if "weight" in more:
        font["weight"] = more.pop("weight")
    place = {"x": round(float(x), 4), "y": round(float(y), 4), "xref": xref, "yref": yref}
    return {"text": text, "showarrow": False, "borderpad": 1, "borderwidth": 0, "font": font, **place, **more}


def axis(domain, span, anchor, **more):
    """An axis that draws nothing by itself."""
    return {
        "domain": [round(float(end), 6) for end in domain],
        "range": [round(float(end), 4) for end in span],
        "anchor": anchor,
        "showgrid": False,
        "zeroline": False,
        "showline": False,
        "showticklabels": False,
        "ticks": "",
        "fixedrange": True,
        **more,
    }


def layout(look, width_px, height_px, margin, **more):
    """The frame of a figure: colours of the page, margins [px] as left, right, top, bottom; nothing to hover."""
    left, right, top, bottom = margin
    sized = {"width": width_px} if width_px is not None else {}
    return {
        "height": height_px,
        "margin": {"l": left, "r": right, "t": top, "b": bottom, "pad": 0, "autoexpand": False},
        "paper_bgcolor": look.page,
        "plot_bgcolor": "rgba(0,0,0,0)",
        "font": {"family": SANS, "size": 12, "color": look.ink},
        "showlegend": False,
        "hovermode": False,
        "dragmode": False,
        **sized,
        **more,
    }
