"""The handles of the sections: the plane of a flap or cap, and the edge of the zone."""

import numpy as np

from tissue.drawing.base.handles import DEEPER, WIDER, grip, handle, moving
from tissue.drawing.base.palette import ABOVE, DASH

KNOB_SHARE = 0.5  # where a plane is grasped, left of its middle, of the zone's radius
EDGE_PX = 1.4


def section_handles(comparison, sheet, more=()):
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


def _plane(comparison, sheet, o):
    """The plane of a flap or cap: it is moved down and up."""
    name = comparison.results[o.name].option.cut_field
    ((x, y),) = sheet.moved(o, o.cut)
    share = (np.asarray(o.cut.depth_um) - o.drop_um(o.cut.position_mm)) / o.cut_um  # a side cut ends at the front
    lying = share > 0.5
    place = -KNOB_SHARE * float(comparison.treatment.zone_mm) / 2.0
    ((knob_x, knob_y),) = sheet.moved(o, ([place], [o.cut_um + float(o.drop_um(place))]))
    down = 0.0, 1.0 / sheet.unit_um
    return handle(
        (name,),
        f"Plane of the {ABOVE[o.name]}",
        (o.cut_um,),
        DEEPER,
        lines=[moving(sheet.axes, (x, y), (0.0, share / sheet.unit_um))],
        grips=[grip(sheet.axes, (knob_x[0], knob_y[0]), down, along=(x[lying], y[lying]))],
        line=(sheet.look.option[o.name], sheet.style.widths.cut, DASH[o.name]),
        value_left=True,
    )


def _zone(comparison, sheet, more):
    """The edge of the zone, in every section on both sides: it is moved outwards and inwards."""
    zone = float(comparison.treatment.zone_mm)
    lines, right, left = list(more), [], []
    for o in sheet.available:
        for sign, found in ((1.0, right), (-1.0, left)):
            at, out = sign * zone / 2.0, (sign / 2.0, 0.0)
            ends = [float(np.interp(at, *o.front)), min(float(np.interp(at, *o.back)), sheet.deepest_um)]
            floor = float(np.interp(at, *o.floor))
            (edge, under, (knob_x, knob_y)) = sheet.moved(
                o, ([at, at], ends), ([at, at], [floor, ends[1]]), ([at], [floor])
            )
            lines.append(moving(sheet.axes, edge, out))
            found.append(grip(sheet.axes, (knob_x[0], knob_y[0]), out, along=under))
    return handle(
        ("zone_mm",),
        "Edge of the zone",
        (zone,),
        WIDER,
        lines=lines,
        grips=[*right, *({**one, "bare": True} for one in left)],
        line=(sheet.look.ink, EDGE_PX, "dot"),
    )
