"""The handles of the sections: the plane of a flap or cap, and the edge of the zone."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.handles import DEEPER, WIDER, grip, handle, moving
from tissue.drawing.base.palette import ABOVE, DASH
from tissue.ground.vocabulary import Figure

if TYPE_CHECKING:
    from tissue.drawing.base.outline import Outline
    from tissue.drawing.base.sheet import Sheet

KNOB_SHARE = 0.5  # where a plane is grasped, left of its middle, of the zone's radius
EDGE_PX = 1.4


def section_handles(comparison: Comparison, sheet: Sheet, more: Sequence[Figure] = ()) -> list[Figure]:
    """Every handle of the sections of one Sheet.

    A plane that was measured is no handle: what was measured is not tried out.

    Args:
        comparison: Comparison of one eye.
        sheet: Sheet.
        more: `moving` of the zone elsewhere in the picture.
    """
    planes = [
        _plane(comparison, sheet, one)
        for one in sheet.available
        if comparison.results[one.name].option.cut_field and not comparison.results[one.name].option.cut_is_measured
    ]
    return planes + ([_zone(comparison, sheet, more)] if sheet.available else [])


def _plane(comparison: Comparison, sheet: Sheet, o: Outline) -> Figure:
    """The plane of a flap or cap: it is moved down and up."""
    name = comparison.results[o.name].option.cut_field
    ((x, y),) = sheet.moved(o, o.cut)
    share = (np.asarray(o.cut.depth_um) - o.drop_um(o.cut.position_mm)) / o.cut_um  # a side cut ends at the front
    lying = share > 0.5
    place = -KNOB_SHARE * float(comparison.treatment.zone_mm) / 2.0
    ((knob_x, knob_y),) = sheet.moved(o, ([place], [o.cut_um + float(o.drop_um(place))]))
    down = 0.0, 1.0 / sheet.unit_um
    return handle(
        (str(name),),
        f"Plane of the {ABOVE[o.name]}",
        (o.cut_um,),
        DEEPER,
        lines=[moving(sheet.axes, (x, y), (0.0, share / sheet.unit_um))],
        grips=[grip(sheet.axes, (knob_x[0], knob_y[0]), down, along=(x[lying], y[lying]))],
        line=(sheet.look.option[o.name], sheet.style.widths.cut, DASH[o.name]),
        value_left=True,
    )


def _zone(comparison: Comparison, sheet: Sheet, more: Sequence[Figure]) -> Figure:
    """The edge of the zone, in every section on both sides: it is moved outwards and inwards."""
    zone = float(comparison.treatment.zone_mm)
    edges = {sign: [_edge(sheet, o, sign, zone) for o in sheet.available] for sign in (1.0, -1.0)}
    lines = [*more, *(line for found in edges.values() for line, _ in found)]
    left = [{**one, "bare": True} for _, one in edges[-1.0]]  # grasped along its line alone
    return handle(
        ("zone_mm",),
        "Edge of the zone",
        (zone,),
        WIDER,
        lines=lines,
        grips=[*(one for _, one in edges[1.0]), *left],
        line=(sheet.look.ink, EDGE_PX, "dot"),
    )


def _edge(sheet: Sheet, o: Outline, sign: float, zone: float) -> tuple[Figure, Figure]:
    """The edge of the zone in one section, right (sign 1) or left (−1): its line, and where it is grasped."""
    at, out = sign * zone / 2.0, (sign / 2.0, 0.0)
    front, floor = (float(np.interp(at, *curve)) for curve in (o.front, o.floor))
    back = min(float(np.interp(at, *o.back)), sheet.deepest_um)
    edge, under, (x, y) = sheet.moved(o, ([at, at], [front, back]), ([at, at], [floor, back]), ([at], [floor]))
    return moving(sheet.axes, edge, out), grip(sheet.axes, (x[0], y[0]), out, along=under)
