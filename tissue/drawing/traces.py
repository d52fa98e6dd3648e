"""Areas, lines, marks and words as the plain dictionaries a figure is made of."""

import numpy as np

from tissue.drawing.palette import SANS, SERIF

GAP = [None]  # parts two strokes of one line


def listed(values):
    """Values as a list rounded to 4 decimals, so that equal pictures are equal dictionaries."""
    return np.round(values, 4).tolist()


def joined(strokes):
    """Strokes (x, y) as one pair of lists with a gap between them."""
    x, y = [], []
    for across, down in strokes:
        x += listed(across) + GAP
        y += listed(down) + GAP
    return x[:-1], y[:-1]


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


def area(curve, axes, fill, hatch=None, hatch_colour=None):
    """A filled polygon without outline; a hatch is laid over its fill."""
    x, y = (listed(part) for part in curve)
    more = {"mode": "lines", "line": {"width": 0, "simplify": False}, "fill": "toself", "fillcolor": fill}
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
    x, y = joined(strokes)
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


def words(text, x, y, size, colour, xref="x", yref="y", **more):
    """Words at a place, without arrow; shifts and anchors by their names in the figure's language."""
    italic = more.pop("italic", False)
    serif = more.pop("serif", italic)
    font = {"family": SERIF if serif else SANS, "size": size, "color": colour}
    if italic:
        font["style"] = "italic"
    if "weight" in more:
        font["weight"] = more.pop("weight")
    place = {"x": round(float(x), 4), "y": round(float(y), 4), "xref": xref, "yref": yref}
    return {"text": text, "showarrow": False, "borderpad": 1, "font": font, **place, **more}


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
