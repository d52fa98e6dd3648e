"""Agreement of two columns and comparison of groups, as plain figures."""

from collections.abc import Sequence
from typing import Any

import numpy as np

from tissue.drawing.base.palette import Look
from tissue.drawing.base.traces import area, lines, literal, marks, words
from tissue.drawing.charts.distributions import CLOUD_HEIGHT_PX, NOTHING, cloud, counted, framed, span_of
from tissue.ground.vocabulary import Array, Figure, rounded

MARGIN_PX = (56, 96, 28, 76)  # room at the right for the words of the lines
HEIGHT_PX = CLOUD_HEIGHT_PX + 16  # with a line for how many eyes there are
ROWS_PX = (8, 12, 28, 44)  # margin of a chart in rows, the words of each over its line
ROW_PX = 34
OVER, RULE = 0.42, 0.2  # how far the words of a row stand over its line, and the rule of no difference reaches, in rows
LETTERS = 46  # longest name of a row that leaves room for its eyes in a figure of 110 mm


def agreement_chart(planned: Array, measured: Array, found: Any, look: Look, titles: tuple[str, ...]) -> Figure:
    """Difference against the mean of the two, with bias, limits and their intervals.

    Args:
        planned, measured: values, NaN where missing, shape (eyes,).
        found: Agreement of them.
        look: Look.
        titles: names of the two columns.
    """
    kept = np.isfinite(planned) & np.isfinite(measured)
    x, y = 0.5 * (planned + measured)[kept], (measured - planned)[kept]
    heads = f"Mean of {titles[1]} and {titles[0]}", f"{titles[1]} less {titles[0]}"
    if not len(x):
        frame, notes = framed(look, *heads, NOTHING, margin=MARGIN_PX)
        return {"data": [], "layout": frame | {"annotations": notes}}
    ends = [found.limit_lower_low, found.limit_upper_high, found.limit_lower, found.limit_upper, found.bias]
    spans = span_of(x), span_of(np.concatenate([y, [end for end in ends if np.isfinite(end)]]))
    frame, notes = framed(look, *heads, spans, HEIGHT_PX, MARGIN_PX)
    trace, most = cloud(x, y, spans, "circle-open", look.ink2)
    data, notes = [trace], notes + ([counted(look, most)] if most > 1 else []) + [_eyes(found, look, most > 1)]
    for name, label, dash in (
        ("limit_upper", "upper limit", "dash"),
        ("bias", "bias", "solid"),
        ("limit_lower", "lower limit", "dash"),
    ):
        value, low, high = (getattr(found, f"{name}{end}") for end in ("", "_low", "_high"))
        if not np.isfinite(value):
            continue
        if np.isfinite(low):
            data.insert(0, _band(spans[0], low, high, look))
        data.append(lines([(np.array(spans[0]), np.array([value, value]))], "", look.ink, 1.2, dash))
        said = f"{label} {rounded(value, 2)}"
        place = {"xref": "paper", "xanchor": "left", "yanchor": "middle", "xshift": 4}
        notes.append(words(said, 1.0, value, 11, look.ink, **place))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _eyes(found: Any, look: Look, below: bool) -> Figure:
    """The words for how many eyes there are, and what the bands are; below those of the counts."""
    said = f"{found.eyes:,} eyes of {found.patients:,} patients"
    said += "; bands: 95 % intervals" if np.isfinite(found.bias_low) else ""
    place = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "top", "yshift": -54 if below else -38}
    return words(said, 0.0, 0.0, 11, look.ink2, **place)


def _band(span: tuple[float, float], low: float, high: float, look: Look) -> Figure:
    """The interval of a line."""
    (left, right) = span
    return area((np.array([left, right, right, left]), np.array([low, low, high, high])), "", look.rule)


def describe_agreement(found: Any, titles: tuple[str, ...]) -> str:
    """The figures of an Agreement in words."""
    if not found.eyes:
        return f"{titles[1]} less {titles[0]}. No eye has both values."
    said = f"{titles[1]} less {titles[0]}. {found.eyes} eyes of {found.patients} patients: bias {found.bias:.2f}"
    if np.isfinite(found.limit_lower):
        said += f", limits of agreement {found.limit_lower:.2f} to {found.limit_upper:.2f}"
    return f"{said}."


def comparison_chart(rows: list[tuple[str, Any]], look: Look, title: str) -> Figure:
    """Mean differences of pairs of groups with their intervals: one row for each pair and test, below its words.

    Args:
        rows: (words, Difference) each, from top to bottom.
        look: Look.
        title: name of the column, with its unit.
    """
    known = [(words_, one) for words_, one in rows if np.isfinite(one.difference)]
    ends = [end for _, one in known for end in (one.low, one.difference, one.high) if np.isfinite(end)]
    spans = span_of(np.array([*ends, 0.0])), (0.7 - len(known), 0.8)
    height = ROWS_PX[2] + ROWS_PX[3] + ROW_PX * max(1, len(known))
    frame, notes = framed(look, f"{title}: difference, 95 % interval", "", spans, height, ROWS_PX)
    frame["yaxis"] |= {"tickvals": [], "showticklabels": False, "showgrid": False}
    data: list[dict[str, Any]] = []
    notes = [notes[0], _beside("eyes of patients", 1.0, look, yref="paper", yanchor="bottom", yshift=4)]
    for i, (words_, one) in enumerate(known):
        place = -float(i)
        data.append(lines([(np.zeros(2), place + np.array([-RULE, RULE]))], "", look.rule2, 1.0))
        if np.isfinite(one.low):
            data.append(lines([(np.array([one.low, one.high]), np.array([place, place]))], "", look.ink, 1.6))
        data.append(marks([(one.difference, place, "circle", 7, 1.0)], "", look.ink))
        over = {"xref": "paper", "xanchor": "left", "yanchor": "middle"}
        name = words_ if len(words_) <= LETTERS else f"{words_[: LETTERS - 1]}…"  # the table has the whole name
        notes.append(words(literal(name), 0.0, place + OVER, 11, look.ink, **over))
        said = f"{one.eyes_b:,}, {one.eyes_a:,} of {one.patients:,}"
        notes.append(_beside(said, place + OVER, look, yanchor="middle"))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _beside(said: str, place: float, look: Look, **where: Any) -> dict[str, Any]:
    """Words at the right end of a row."""
    return words(said, 1.0, place, 11, look.ink2, xref="paper", xanchor="right", **where)


def describe_comparison(rows: Sequence[tuple[str, Any]], title: str) -> str:
    """The differences in words."""
    said = [
        f"{words_}: {one.difference:.2f}" + (f" ({one.low:.2f} to {one.high:.2f})" if np.isfinite(one.low) else "")
        for words_, one in rows
        if np.isfinite(one.difference)
    ]
    return f"Difference of {title}. {'; '.join(said) if said else 'None'}."
