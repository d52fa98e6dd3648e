"""The pictures of Plan: which view, along which meridian, of which eye."""

from typing import Any

import numpy as np
import streamlit as st

from tissue.budget.comparison import Comparison
from tissue.drawing.base.meridian import angle_through
from tissue.drawing.base.palette import Look
from tissue.drawing.base.words import SIDES as EYES
from tissue.drawing.front.front import front_view
from tissue.drawing.section import curved, describe, section
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import SIDES
from tissue.screens.html import NOTHING
from tissue.screens.parts.chart.chart import ALONE_S, MOVED_S, Picture, chart, width_of
from tissue.screens.parts.piece.piece import piece
from tissue.screens.tables.options import heads

FLAT, STRETCHED, TRUE, FRONT = "flattened", "depth × 4", "true scale", "from the front"
HORIZONTAL, ANY = "horizontal", "any"  # of the meridians
STACKED_BELOW_PX = 600  # in a narrower column the sections stand one below the other
VIEWS = (FLAT, STRETCHED, TRUE, FRONT)
OF_BOTH = (STRETCHED, TRUE)  # the views that leave room for two eyes side by side
DRAWN = {
    FLAT: (section.flattened, describe.describe_flattened),
    STRETCHED: (curved.depth_times_four, describe.describe_depth_times_four),
    TRUE: (curved.true_scale, describe.describe_true_scale),
}


def picture(on_desk: Desk, shown: Shown, colours: Look, strip: str = "", columns: int = 1, draw: bool = True) -> None:
    """Draw one eye in the view chosen on the desk.

    Args:
        on_desk: Desk.
        shown: Shown of that eye.
        colours: Look.
        strip: HTML above it; its place is always kept, so that the picture below stays in the same node.
        columns: how many stand side by side.
        draw: whether it is drawn; else it is only worked out.
    """
    view, width, side = drawn_view(on_desk.view, columns), width_of(columns), shown.inputs.side
    kept, angle = on_desk.kept.get(side), angle_of(on_desk, shown.comparison)
    name = f"-{side}" if columns > 1 else ""
    above = st.container(key=f"above{name}") if draw else None
    shows = Picture(
        lambda: _figure(view, shown, kept, colours, angle, width),
        lambda: _said(view, shown.comparison, side, angle),
        f"{view}, {SIDES[side]}",
        file=f"{on_desk.code}-{side}-{view.replace(' ', '-').replace('×', 'x')}.svg",
        zoom="" if view == FLAT else f"{on_desk.id} {view} {side}",
        tall=view != FLAT,
        moves=(on_desk.id, side, EYES[side] if columns > 1 else ""),
    )
    depends = (shown, kept, colours.name, angle, view)
    alone_s = ALONE_S if on_desk.moves.now is None else MOVED_S
    chart(f"sections{name}", depends, shows, columns, alone_s, draw)
    if above is None:
        return
    with above:
        piece(f"heads{name}", strip + (heads(width < section.NARROW_PX) if view == FLAT else NOTHING))


def drawn_view(view: str, columns: int = 1) -> str:
    """The view that is drawn; where the chosen one has no room, sections one below the other."""
    if columns > 1:
        return view if view in OF_BOTH else STRETCHED
    return STRETCHED if view == FLAT and width_of(columns) < STACKED_BELOW_PX else view


def _figure(view: str, shown: Shown, kept: Any, colours: Look, angle: float, width: int) -> dict[str, Any]:
    """The figure of a view."""
    comparison, side = shown.comparison, shown.inputs.side
    if view == FRONT:
        return front_view(comparison, side, colours, width)
    before = kept.comparison if kept is not None else None
    return DRAWN[view][0](comparison, side, colours, angle, kept=before, spread=True, width_px=width)


def _said(view: str, comparison: Comparison, side: str, angle: float) -> str:
    """The alternative text of a view."""
    return describe.describe_front(comparison, side) if view == FRONT else DRAWN[view][1](comparison, side, angle)


def meridians(comparison: Comparison) -> dict[str, float]:
    """Angles on offer by name [degrees]: horizontal, along and across the treated axis, through the thinnest point."""
    treated, found = comparison.treatment.refraction.minus(), {HORIZONTAL: 0.0}
    if treated.cylinder_D != 0:
        axis = float(treated.axis_deg)
        found |= {"axis": axis, "across": (axis + 90.0) % 180.0}
    cornea = comparison.cornea
    if np.hypot(cornea.thinnest_x_mm, cornea.thinnest_y_mm) > 0:
        found["thinnest"] = angle_through(comparison, cornea.thinnest_x_mm, cornea.thinnest_y_mm)
    return found


def angle_of(on_desk: Desk, comparison: Comparison) -> float:
    """Angle of the chosen meridian in one eye [degrees]; horizontal where the eye has no such meridian."""
    if on_desk.meridian == ANY:
        return float(on_desk.angle)
    return meridians(comparison).get(on_desk.meridian, 0.0)
