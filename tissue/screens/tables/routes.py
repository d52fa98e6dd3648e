"""The ways on side by side: heads above their sections, figures below them, and where each is described."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np
from markupsafe import Markup

from tissue.budget.comparison import Comparison
from tissue.drawing.base.words import place_words
from tissue.drawing.routes.way_frame import FEWEST, columns
from tissue.removal.options import Judgement
from tissue.report.measures import NO_FIGURE, NOT_STUDIED, measures, rounded, span
from tissue.routes.ways import PROTOCOL
from tissue.screens.html import (
    NOTHING,
    column_widths,
    hidden_caption,
    hidden_heads,
    notes,
    notice_list,
    paragraphs,
    scrolled,
    tag,
)
from tissue.screens.tables.options import line_key, name_cell, opening_name, value_cell

if TYPE_CHECKING:
    from tissue.budget.notices import Notice
    from tissue.routes.route import Route

WORDY = 3  # up to this many ways side by side leave room for words beside a figure
CLEARANCE = (
    "Clearance to the old cut",
    "Least distance between a new cut, or the floor of the new removal, and an old cut, over all that is cut.",
    "Negative where the new removal passes the old plane. The margin it is held against is an input of yours.",
)
ALTERED_LATER = (
    "Tissue altered, PTA, after both acts",
    "100 − 100 · bed / CCT, with the thickness before the primary treatment",
    "Published and tested for flaps of untouched corneas; nothing was published for a second act.",
)
NOT_DESCRIBED = {"Described in": "Where from"}  # of ways that nobody describes
SAID = (
    ("Described as", lambda way: f"{way.what}."),
    ("Described in", lambda way: way.source_said),
    ("It needs", lambda way: way.needs),
)


def rows_of(routes: Sequence[Route], most: int) -> list[Sequence[Route]]:
    """The routes in rows, as many in each as there is room for.

    >>> rows_of((1, 2, 3, 4), 2)
    [(1, 2), (3, 4)]
    """
    return [routes[i : i + most] for i in range(0, len(routes), most)]


def heads(routes: Sequence[Route], narrow: bool) -> Markup:
    """Names of the ways over their sections, each with the line key of the option that it becomes."""
    cells = (tag("th", line_key(route.option.name), route.way.name, scope="col") for route in routes)
    row = tag("tr", tag("td"), *cells, _rest(routes))
    return tag("table", _colgroup(routes, narrow), row, class_="heads ways")


def ways_table(
    routes: Sequence[Route], comparison: Comparison, side: str, narrow: bool, title: str, later: bool = False
) -> Markup:
    """Figures of the ways below their sections, then the description, source and needs of each, and why not.

    Args:
        routes: Routes, as many as stand side by side.
        comparison: Comparison.
        side: OD or OS.
        narrow: whether the narrow columns hold.
        title: what the table is, read out before it.
        later: whether it is a second operation, whose shares count both.
    """
    judgement, known = comparison.judgement, measures()
    rows = [
        _row(routes, name_cell(id, known[id].heading(judgement)), say)
        for id, say in _figures(judgement, narrow or len(routes) > WORDY)
    ]
    altered = _own_name(*ALTERED_LATER, "%") if later else name_cell("altered", known["altered"].heading(judgement))
    rows.insert(4, _row(routes, altered, lambda r: _altered(r, later)))
    rows.append(_row(routes, _own_name(*CLEARANCE, "µm"), lambda r: _clearance(r, side, narrow)))
    labels = NOT_DESCRIBED if routes[0].way.worked_out else {}
    rows += [_said_row(routes, labels.get(label, label), partial(_of_way, say)) for label, say in SAID]
    if any(route.why_not for route in routes):
        rows.append(_said_row(routes, "Why not", lambda r: r.why_not or NO_FIGURE))
    head = hidden_heads("Measure", (route.way.name for route in routes))
    inside = hidden_caption(title), _colgroup(routes, narrow), head, tag("tbody", *rows)
    return scrolled(tag("table", *inside, class_="figures ways", style=_middles(routes, narrow)))


def ways_notes(judgement: Judgement) -> Markup:
    """What stands under the last table."""
    spread = "Beside the strength: least and greatest over all published strength curves."
    margin = (
        f"Margin between an old and a new cut: {rounded(judgement.margin_um)} µm, from memory, not checked; an input."
    )
    return notes(PROTOCOL, f"{spread} {margin}", NOT_STUDIED)


def _figures(judgement: Judgement, short: bool) -> tuple[tuple[str, Callable[..., Any]], ...]:
    """Each measure with the functions for its value and the words beside it; the altered share has its own."""
    chosen = judgement.relationship

    def strength(route: Route) -> tuple[str, str, str]:
        values = [value for value in route.strength_percent.values() if not np.isnan(value)]
        range_ = span(min(values), max(values)) if values else ""
        over = "" if short or not values else f" over {len(values)} curves"
        return rounded(route.strength_percent[chosen], 1), range_ + over, ""

    return (
        ("cut", lambda r: (rounded(r.cut_um), "", "")),
        ("removed", lambda r: (rounded(r.removal_central_um), "", "")),
        ("bed", lambda r: (rounded(r.bed_central_um), "", "")),
        ("bed_least", lambda r: (rounded(r.bed_min_um), "", "")),
        ("strength", strength),
    )


def _altered(route: Route, later: bool) -> tuple[str, str, str]:
    """PTA, marked where it was not studied; it was never studied after two operations."""
    text = rounded(route.altered_percent, 1)
    studied = route.option.share_validated and not later
    return text, "", "" if studied or text == NO_FIGURE else "†"


def _clearance(route: Route, side: str, narrow: bool) -> tuple[str, str, str]:
    """Clearance and its place."""
    place = "" if narrow else place_words(route.clearance.x_mm, route.clearance.y_mm, side)
    return rounded(route.clearance.value), place, ""


def _row(routes: Sequence[Route], name: str, say: Callable[[Any], tuple[str, str, str]]) -> Markup:
    """One figure of every way: value, words beside it, mark."""
    cells = []
    for route in routes:
        value, words, mark = say(route)
        cells.append(value_cell(value, mark, words))
    return tag("tr", name, *cells, _rest(routes))


def _of_way(say: Callable[[Any], str], route: Route) -> str:
    """The description of the way that a route takes."""
    return say(route.way)


def _said_row(routes: Sequence[Route], label: str, say: Callable[[Any], str]) -> Markup:
    """One row of words."""
    cells = (tag("td", say(route)) for route in routes)
    return tag("tr", tag("th", label, scope="row"), *cells, _rest(routes), class_="said")


def _own_name(label: str, formula: str, limits: str, unit: str) -> Markup:
    """Name of a figure that only the ways have; it opens what it is."""
    return opening_name(label.partition(", after")[0], label, paragraphs(formula, limits), unit)


def _rest(routes: Sequence[Route]) -> Markup:
    """The empty cells beside a row of few ways."""
    return tag("td") if len(routes) < FEWEST else NOTHING


def _colgroup(routes: Sequence[Route], narrow: bool) -> Markup:
    """Widths of the columns, from the same shares as the sections."""
    c = columns(len(routes), narrow)
    widths = [c.measure] + [c.each + c.gap] * (len(routes) - 1) + [c.each]
    widths += [1.0 - sum(widths)] if len(routes) < FEWEST else []
    return column_widths(100.0 * width for width in widths)


def _middles(routes: Sequence[Route], narrow: bool) -> str:
    """Where the middle of a section lies in its column of the table [%], as style variables."""
    c = columns(len(routes), narrow)
    middle = 50.0 if len(routes) < FEWEST else 50.0 * c.each / (c.each + c.gap)
    return f"--middle:{middle:.3f}%;--last-middle:50%"


def notice_lines(found: Sequence[Notice]) -> Markup:
    """Notices as the Plan screen shows them."""
    return notice_list("Notices", (notice.text for notice in found)) if found else NOTHING
