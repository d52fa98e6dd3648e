"""The pictures of Plan: which view, along which meridian, of which eye."""

import streamlit as st

from tissue.drawing.front.front import front_view
from tissue.drawing.section import curved, describe, section
from tissue.screens.desk.state import SIDES
from tissue.screens.parts.chart.chart import chart, width_of
from tissue.screens.parts.piece.piece import piece
from tissue.screens.tables.options import heads

FLAT, STRETCHED, TRUE, FRONT = "flattened", "depth × 4", "true scale", "from the front"
STACKED_BELOW_PX = 600  # narrower, the sections stand one under another
VIEWS = (FLAT, STRETCHED, TRUE, FRONT)
DRAWN = {
    FLAT: (section.flattened, describe.describe_flattened),
    STRETCHED: (curved.depth_times_four, describe.describe_depth_times_four),
    TRUE: (curved.true_scale, describe.describe_true_scale),
}


def picture(on_desk, side, shown, colours, angle, strip="", columns=1, draw=True):
    """Draw one eye in the view chosen on the desk.

    Args:
        on_desk: Desk.
        side: OD or OS.
        shown: Shown of that eye.
        colours: Look.
        angle: meridian [degrees].
        strip: HTML above it; its place is always there, so that the picture below never moves to another node.
        columns: how many stand side by side.
        draw: whether it is drawn; else it is only worked out.
    """
    view, width = drawn_view(on_desk.view, columns), width_of(columns)
    kept = on_desk.kept.get(side)
    name = f"-{side}" if columns > 1 else ""
    above = st.container(key=f"above{name}") if draw else None
    chart(
        f"sections{name}",
        (shown, kept, colours.name, angle, view),
        lambda: _drawn(view, shown, kept, side, colours, angle, width),
        title=f"{view}, {SIDES[side]}",
        file=f"{on_desk.code}-{side}-{view.replace(' ', '-').replace('×', 'x')}.svg",
        zoom="" if view == FLAT else f"{view} {side}",
        tall=view != FLAT,
        columns=columns,
        first=True,
        draw=draw,
    )
    if not draw:
        return
    with above:
        piece(f"heads{name}", strip + (heads(width < section.NARROW_PX) if view == FLAT else ""))


def drawn_view(view, columns=1):
    """The view that is drawn: where there is no room for sections side by side, they stand one under another."""
    return STRETCHED if view == FLAT and width_of(columns) < STACKED_BELOW_PX else view


def _drawn(view, shown, kept, side, colours, angle, width):
    """The figure of a view and its alternative text."""
    comparison = shown.comparison
    if view == FRONT:
        return front_view(comparison, side, colours, width), describe.describe_front(comparison, side)
    draw, say = DRAWN[view]
    before = kept.comparison if kept is not None else None
    figure = draw(comparison, side, colours, angle, kept=before, spread=True, width_px=width)
    return figure, say(comparison, side, angle)
