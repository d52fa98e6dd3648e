"""Areas, lines, marks and words as the plain dictionaries a figure is made of."""

from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from tissue.drawing.base.palette import SANS, SERIF, Hatch, Look
from tissue.ground.vocabulary import Array, Figure, Floats

GAP = (np.nan,)
Item = tuple[str, float, float, float, str, str]  # words: text, x, y, size [px], position, style
Points = Sequence[ArrayLike] | Array  # (x, y) of a line or an area, each a number for every point or one for all


def listed(values: ArrayLike) -> list[float]:
    """Values as a list rounded to 4 decimals, so that equal pictures are equal dictionaries."""
    return np.asarray(values, dtype=float).round(4).tolist()


def in_one_stroke(strokes: Sequence[Points]) -> list[list[float | None]]:
    """Strokes (x, y) as one pair of lists with a gap (None) between them, and where a value is NaN."""
    both = []
    for part in zip(*strokes, strict=True):
        values = listed(np.concatenate([piece for stroke in part for piece in (stroke, GAP)])[:-1])
        both.append([None if value != value else value for value in values])
    return both


def _trace(x: Sequence[float | None], y: Sequence[float | None], axes: str, **more: Any) -> Figure:
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


def area(
    curve: Points | Sequence[Points],
    axes: str,
    fill: str,
    hatch: Hatch | None = None,
    hatch_colour: str | None = None,
    line: tuple[str, float, str] | None = None,
) -> Figure:
    """A filled polygon; a hatch is laid over its fill.

    Args:
        curve: points (x, y), or a list of such polygons that look alike.
        axes: suffix of the pair of axes.
        fill: colour.
        hatch: Hatch; none where None.
        hatch_colour: colour of its strokes.
        line: colour, width [px] and dash of a line along the points; it does not close the polygon.
    """
    x, y = in_one_stroke(curve) if isinstance(curve, list) else (listed(part) for part in curve)  # type: ignore[arg-type]
    style = {"width": 0} if line is None else dict(zip(("color", "width", "dash"), line, strict=True))
    more: Figure = {"mode": "lines", "line": {**style, "simplify": False}, "fill": "toself", "fillcolor": fill}
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


def lines(strokes: Sequence[Points], axes: str, colour: str, width: float, dash: str = "solid") -> Figure:
    """One or more strokes (x, y) in one style."""
    x, y = in_one_stroke(strokes)
    style = {"color": colour, "width": width, "dash": dash, "simplify": False}
    return _trace(x, y, axes, mode="lines", line=style, connectgaps=False)


def marks(points: Sequence[tuple[float, float, str, float, float]], axes: str, colour: str) -> Figure:
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


def texts(items: Sequence[Item], axes: str, look: Look) -> Figure:
    """Many words at once, in one trace; drawn faster than `words`, but without ground, shift or turn.

    Args:
        items: (text, x, y, size [px], position, style); position such as `middle center`, or `middle right`, which
            begins the text at x; style `ink` or `ink2`, in italics of the serif type `italic ink` or `italic`.
        axes: suffix of the pair of axes. Words beyond its range are not drawn.
        look: Look.
    """
    text, x, y, sizes, positions, styles = (list(part) for part in zip(*items, strict=True))
    slanted = [style.startswith("italic") for style in styles]
    font = {
        "family": [SERIF if one else SANS for one in slanted],
        "size": sizes,
        "color": [look.ink if style.endswith("ink") else look.ink2 for style in styles],
        "style": ["italic" if one else "normal" for one in slanted],
    }
    more = {"mode": "text", "text": text, "textposition": positions, "textfont": font, "cliponaxis": False}
    return _trace(listed(x), listed(y), axes, **more)


def literal(text: str) -> str:
    """A text from outside made safe for a chart, which would read a tag in it as its own markup; prints undo this.

    >>> literal('<a href="https://example.org">age</a> & more')
    '&lt;a href="https://example.org"&gt;age&lt;/a&gt; &amp; more'
    """
    return escape(text, quote=False)


def words(text: str, x: Floats, y: Floats, size: float, colour: str, **more: Any) -> Figure:
    """Words at a place on the first pair of axes, without arrow.

    Args:
        text: the words. x, y: the place. size: of the type [px].
        more: axes (`xref`, `yref`), shifts and anchors by their names in the figure's language; `italic`, `serif`.
    """
    italic = more.pop("italic", False)
    serif = more.pop("serif", italic)
    font: Figure = {"family": SERIF if serif else SANS, "size": size, "color": colour}
    if italic:
        font["style"] = "italic"
    if "weight" in more:
        font["weight"] = more.pop("weight")
    place = {"x": round(float(x), 4), "y": round(float(y), 4), "xref": "x", "yref": "y"}
    return {"text": text, "showarrow": False, "borderpad": 1, "borderwidth": 0, "font": font, **place, **more}


def axis(domain: tuple[float, float], span: tuple[float, float], anchor: str, **more: Any) -> Figure:
    """An axis without lines, ticks and numbers of its own."""
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


def layout(look: Look, width_px: float | None, height_px: float, margin: tuple[int, ...], **more: Any) -> Figure:
    """The frame of a figure: colours of the page, margins [px] as left, right, top, bottom; without hover texts."""
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
