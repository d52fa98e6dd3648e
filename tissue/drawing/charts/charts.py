"""The same eye under every relationship, as a dot plot; the strength profiles stand beside it."""

from functools import cache

import numpy as np

from tissue.drawing.base.palette import HEADS, SYMBOL
from tissue.drawing.base.traces import axis, layout, lines, marks, words
from tissue.drawing.charts.profiles import credited, describe_profiles, strength_profiles
from tissue.drawing.section.section import column_shares
from tissue.sources import source
from tissue.strength.relationship import relationships

__all__ = ["credited", "describe_dots", "describe_profiles", "dot_plot", "strength_profiles"]

ROW_PX, TOP_PX, BOTTOM_PX = 34, 58, 40
NUDGE, NEAR_POINTS = 0.22, 0.9
END_ROWS = 0.09  # half the height of the end of a bar, in rows
USUAL_EYE = (550.0, 53.0)  # orders the rows, so that they never change places
FRONT_SHARE = 0.4
DIFFERENCES_AT = (0.915, 1.0)  # right edges of the two columns of differences [share of the width]
SHORT = {"surface": "surface", "flap": "flap", "lenticule": "lenticule"}


@cache
def _flat_to_steep():
    """Relationships in the order of how much of them lies in front."""
    E, CCT = USUAL_EYE[1], USUAL_EYE[0]
    depth = E + FRONT_SHARE * (CCT - E)
    return tuple(sorted(relationships().values(), key=lambda one: float(one.share(depth, CCT, E))))


def rows(comparison):
    """The relationships from top to bottom, the chosen one first."""
    chosen = relationships()[comparison.judgement.relationship]
    return [chosen, *(one for one in _flat_to_steep() if one is not chosen)]


def row_words(relationship):
    """Name of a relationship in a row: first author, year and property.

    >>> row_words(relationships()["nambiar2023"])
    'Nambiar 2023, in-plane tension'
    """
    if relationship.plane == "none":
        return relationship.label
    found = source(relationship.source)
    return f"{found.authors.split(',')[0]} {found.year}, {relationship.short.replace('2013 model', 'rebuilt')}"


def _values(comparison, relationship):
    """Strength of every option by a relationship [%], by name."""
    return {n: float(r.strength.strength_percent[relationship.id]) for n, r in comparison.results.items()}


def dot_plot(comparison, look, narrow=False, drawn=None):
    """Relative strength of the options under every relationship, with its interval and the differences beside it.

    Args:
        comparison: Comparison of one eye.
        look: Look.
        narrow: whether the narrow columns hold.
        drawn: {relationship: {option: 95 % interval of the strength [%]}}; None before it is known.
    """
    start = column_shares(narrow)[0]
    found = [(one, _values(comparison, one)) for one in rows(comparison)]
    ends = [end for mine in (drawn or {}).values() for pair in mine.values() for end in pair]
    known = [v for v in [*ends, *(v for _, values in found for v in values.values())] if not np.isnan(v)]
    low, high = (10.0 * np.floor(min(known) / 10.0), 10.0 * np.ceil(max(known) / 10.0)) if known else (0.0, 100.0)
    height = TOP_PX + BOTTOM_PX + ROW_PX * len(found)
    frame = layout(look, None, height, (0, 0, TOP_PX, BOTTOM_PX))
    frame["xaxis"] = axis(
        (start, 0.80), (low - 1.0, high + 1.0), "y", showgrid=True, gridcolor=look.rule, dtick=10,
        showticklabels=True, tickfont={"size": 11, "color": look.ink2},
    )  # fmt: skip
    frame["yaxis"] = axis((0.0, 1.0), (len(found) - 0.5, -0.5), "x")
    data, notes = [], _heads(start, look, drawn is not None)
    for i, (one, values) in enumerate(found):
        data += _row(values, i, i == 0, look, None if drawn is None else drawn[one.id])
        notes += _row_words(one, values, i, look)
    data.append(lines([((low - 1.0, high + 1.0), (0.5, 0.5))], "", look.rule2, 1))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _row(values, at, chosen, look, drawn):
    """Line from least to greatest, the marks of the options and their intervals."""
    known = {name: value for name, value in values.items() if not np.isnan(value)}
    if not known:
        return []
    span = (min(known.values()), max(known.values()))
    data = [lines([(span, (at, at))], "", look.rule2, 1.2)]
    for name, value in known.items():
        near = [other for other in known if other != name and _near(known, drawn, name, other)]
        order = list(known)
        nudge = 0.0 if not near else NUDGE * (1.0 if order.index(name) > order.index(near[0]) else -1.0)
        symbol = SYMBOL[name] if chosen else f"{SYMBOL[name]}-open"
        if drawn is not None:
            data.append(_interval(drawn[name], at + nudge, look.option[name]))
        data.append(marks([(value, at + nudge, symbol, 13 if chosen else 10, 1.8)], "", look.option[name]))
    return data


def _near(values, drawn, one, other):
    """Whether two marks, or the bars through them, would cover each other on one line."""
    if abs(values[one] - values[other]) < NEAR_POINTS:
        return True
    return drawn is not None and max(drawn[one][0], drawn[other][0]) < min(drawn[one][1], drawn[other][1])


def _interval(ends, at, colour):
    """A bar between the ends of an interval, closed at both."""
    strokes = [(ends, (at, at)), *(((end, end), (at - END_ROWS, at + END_ROWS)) for end in ends)]
    return lines(strokes, "", colour, 1.6)


def _row_words(relationship, values, at, look):
    """Name of the row and the two differences in points."""
    left = {"xref": "paper", "yref": "y", "xanchor": "left"}
    name = row_words(relationship)
    notes = [words(f"<b>{name}</b>" if at == 0 else name, 0.0, at, 12.5, look.ink, **left)]
    for right, other in zip(DIFFERENCES_AT, ("flap", "surface"), strict=True):
        points = values["lenticule"] - values[other]
        text = "–" if np.isnan(points) else f"{points:+.1f}".replace("-", "−").replace("+0.0", "0.0")
        notes.append(words(text, right, at, 12.5, look.ink, xref="paper", yref="y", xanchor="right"))
    return notes


def _heads(start, look, intervals):
    """What the marks, their bars and the two columns of differences are."""
    top = {"xref": "paper", "yref": "paper", "yanchor": "bottom"}
    keys = "     ".join(f"<span style='color:{look.option[n]}'>{_GLYPH[n]}</span> {SHORT[n]}" for n in HEADS)
    said = "; bars: 95 % under the errors of measurement and cutting" if intervals else ""
    axis_at = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "top", "yshift": -20}
    return [
        words(keys, start, 1.0, 12.5, look.ink, xanchor="left", yshift=22, **top),
        words("lenticule minus …, points", DIFFERENCES_AT[1], 1.0, 11.5, look.ink2, xanchor="right", yshift=22, **top),
        words("flap", DIFFERENCES_AT[0], 1.0, 11.5, look.ink2, xanchor="right", yshift=4, **top),
        words("surface", DIFFERENCES_AT[1], 1.0, 11.5, look.ink2, xanchor="right", yshift=4, **top),
        words("relative strength, % of this eye before surgery" + said, start, 0.0, 11.5, look.ink2, **axis_at),
    ]


_GLYPH = {"surface": "●", "flap": "■", "lenticule": "◆"}


def describe_dots(comparison, drawn=None):
    """The dot plot in words, with its numbers; arguments as in `dot_plot`."""
    parts = []
    for one in rows(comparison):
        ends = {} if drawn is None else drawn[one.id]
        said = ", ".join(_said(name, value, ends.get(name)) for name, value in _values(comparison, one).items())
        parts.append(f"{row_words(one)}: {said}.")
    head = "Relative strength in percent under every relationship"
    errors = "" if drawn is None else ", in brackets 95 % under the errors of measurement and cutting"
    return f"{head}{errors}. {' '.join(parts)}"


def _said(name, value, ends):
    """The strength of one option in words, with its interval where it is known."""
    if np.isnan(value):
        return f"{SHORT[name]} not given"
    return f"{SHORT[name]} {value:.1f}" + ("" if ends is None else f" ({ends[0]:.1f}–{ends[1]:.1f})")
