"""The handles of the view from the front: the edge of the zone and the treatment centre."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tissue.drawing.base.handles import ACROSS_UP, WIDER, grip, handle, moving
from tissue.drawing.base.palette import Look
from tissue.drawing.base.traces import Points
from tissue.ground.vocabulary import Figure

if TYPE_CHECKING:
    from tissue.drawing.base.rings import Front

CENTRE_STEP_MM = 0.05
CROSS_MM = 0.22  # half length of the lines that mark a moving centre
EDGE_DEG = -45.0  # where the zone is grasped: away from the names of the rings
LINE_PX = 1.6


def zone_ring(seen: Front, axes: str = "", step_deg: float = 5.0) -> Figure:
    """The zone of a Front as a line that follows its diameter."""
    x, y = seen.zone.arc(step_deg=step_deg)
    across = 2.0 * seen.zone.radius_mm
    return moving(axes, (x, y), ((x - seen.zone.x_mm) / across, (y - seen.zone.y_mm) / across))


def zone_handle(seen: Front, look: Look) -> Figure:
    """The edge of the zone as a ring that is widened and narrowed."""
    ring = zone_ring(seen, step_deg=3.0)
    turn = np.radians(EDGE_DEG)
    middle = seen.zone.x_mm, seen.zone.y_mm
    edge = grip(
        "",
        seen.zone.point(EDGE_DEG),
        (np.cos(turn) / 2.0, np.sin(turn) / 2.0),
        along=(ring["x"], ring["y"]),
        about=middle,
    )
    line = look.ink, LINE_PX, "dot"
    return handle(
        ("zone_mm",), "Edge of the zone", (2.0 * seen.zone.radius_mm,), WIDER, lines=[ring], grips=[edge], line=line
    )


def centre_handle(seen: Front, side: str, look: Look) -> Figure:
    """The treatment centre: a cross with its zone, moved any way.

    Args:
        seen: Front. side: `OD` or `OS`. look: Look.
    """
    right, up = (1.0, 0.0), (0.0, 1.0)
    x, y = seen.centre
    left_and_right = ("temporal", "nasal") if side == "OD" else ("nasal", "temporal")
    strokes: list[Points] = [
        seen.zone.arc(step_deg=3.0),
        ((x - CROSS_MM, x + CROSS_MM), (y, y)),
        ((x, x), (y - CROSS_MM, y + CROSS_MM)),
    ]
    return handle(
        ("centre_x_mm", "centre_y_mm"),
        "Treatment centre",
        (x, y),
        ACROSS_UP,
        lines=[moving("", stroke, right, up) for stroke in strokes],
        grips=[grip("", (x, y), right, up)],
        line=(look.ink, LINE_PX, "solid"),
        step=CENTRE_STEP_MM,
        towards=[left_and_right, ("inferior", "superior")],
        nowhere="at the vertex",
    )
