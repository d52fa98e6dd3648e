"""Ways on side by side as a plain table, for lost suction and for a second correction."""

import numpy as np

from tissue.drawing.words import place_words
from tissue.measures import NO_FIGURE, NOT_STUDIED, number
from tissue.screens.plain_table import notes, part, plain_table
from tissue.ways import PROTOCOL


def routes_table(routes, comparison, side, title):
    """The routes, a column each.

    Args:
        routes: Routes.
        comparison: Comparison.
        side: OD or OS.
        title: heading of the table.
    """
    chosen = comparison.judgement.relationship
    rows = (
        ("Described as", lambda r: f"{r.way.what}."),
        ("Described in", lambda r: r.way.source),
        ("What it needs", lambda r: r.way.needs),
        ("New cut, µm", lambda r: number(r.cut_um)),
        ("Removed, centre, µm", lambda r: number(r.removal_central_um)),
        ("Bed, centre, µm", lambda r: number(r.bed_central_um)),
        ("Bed, least, µm", lambda r: number(r.bed_min_um)),
        ("Tissue altered, PTA, %", _altered),
        ("Relative strength, %", lambda r: number(r.strength_percent[chosen], 1)),
        ("Clearance to the old cut, µm", lambda r: _clearance(r, side)),
        ("Why not", lambda r: r.why_not or NO_FIGURE),
    )
    lines = [(label, *(say(route) for route in routes)) for label, say in rows]
    heads = ("", *(route.way.name for route in routes))
    return part(title) + plain_table(heads, lines, title) + notes(PROTOCOL, NOT_STUDIED)


def _altered(route):
    """PTA, with its mark where it was not studied."""
    text = number(route.altered_percent, 1)
    return text if text == NO_FIGURE or route.option.share_validated else f"{text}†"


def _clearance(route, side):
    """Clearance with its place."""
    if np.isnan(route.clearance.value):
        return NO_FIGURE
    return f"{number(route.clearance.value)}, {place_words(route.clearance.x_mm, route.clearance.y_mm, side)}"


def notice_lines(found):
    """Notices as the Plan shows them."""
    from html import escape

    if not found:
        return ""
    return part("Notices") + '<div class="notices">' + "".join(f"<p>{escape(n.text)}</p>" for n in found) + "</div>"
