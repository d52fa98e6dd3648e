"""Where the labels of a second way stand: names of its layers, its clearance, its bed."""

from typing import NamedTuple

import numpy as np

from tissue.drawing.base.labels import Leader, label
from tissue.drawing.base.placing import BESIDE_PX, IN_LAYER_PX, Placer
from tissue.drawing.base.words import whole
from tissue.drawing.routes.clearance_mark import place_mark
from tissue.drawing.routes.way_frame import NO_FIGURES, put_free

ASIDE_PX = 24.0  # left edge of a name under the layers
UNDER_PX, NEXT_PX, CLEAR_PX = 13.0, 20.0, 14.0


class Layer(NamedTuple):
    """A named layer on the dimension line: words, upper and lower end [µm], the tissue it is."""

    text: str
    top_um: float
    bottom_um: float
    ground: str


def place_labels(one, scale, size_px, names):
    """Labels and leaders of one section.

    Args:
        one: Drawn of `second_ways`.
        scale: Scale.
        size_px: type size [px].
        names: names of the user's line, the longest first.
    """
    placer = Placer(one.base, scale, size_px)

    def floor_px(left, right):
        across = np.linspace(left, right, 33) / scale.per_mm
        depths = [np.interp(across, *one.floor, left=0.0, right=0.0).max()]
        depths += [_bottom(one.new, across).max()] if one.new is not None else []
        return float(max(depths)) * scale.per_um

    if one.mark:
        inside = [(bottom - top) * scale.per_um >= size_px + IN_LAYER_PX for _, top, bottom, _ in one.layers]
        put, leader = place_mark(one.mark, scale, size_px, floor_px, all(inside))
        placer.labels.append(put)
        placer.leaders.append(leader)
    low = _name_layers(one, placer, scale, floor_px)
    if one.route.available:
        low = max(float(one.route.cut_um), *(layer.bottom_um for layer in one.layers)) * scale.per_um, low
        _name_bed(one, placer, *low)
    else:
        middle = 0.5 * (floor_px(-placer.room, placer.room) + placer.back) + NEXT_PX / 2.0
        placer.labels.append(put_free(placer, NO_FIGURES, middle))
    placer.user_line(names)
    return placer.labels, placer.leaders


def _bottom(polygon, position_mm):
    """Lower face of a removal at positions along the meridian [µm]; 0 beside it."""
    half = len(polygon.position_mm) // 2
    return np.interp(position_mm, polygon.position_mm[:half], polygon.depth_um[:half], left=0.0, right=0.0)


def _middle(polygon, position_mm):
    """Middle of a removal at a position along the meridian [µm]."""
    half = len(polygon.position_mm) // 2
    ends = (polygon.position_mm[:half], polygon.depth_um[:half]), (polygon.position_mm[half:], polygon.depth_um[half:])
    return 0.5 * sum(
        float(np.interp(position_mm, *(part[:: 1 if i == 0 else -1] for part in end))) for i, end in enumerate(ends)
    )


def _name_layers(one, placer, scale, floor_px):
    """Names of the layers, in them or under all cuts with an upright leader; returns the lowest one's middle [px]."""
    low, thin = 0.0, 0
    for text, top, bottom, ground in one.layers:
        top, bottom = top * scale.per_um, bottom * scale.per_um
        if bottom - top >= placer.size + IN_LAYER_PX:
            placer.labels.append(label(text, BESIDE_PX, 0.5 * (top + bottom), placer.size, ground, left=True))
            continue
        put = label(text, 0.0, 0.0, placer.size, "stroma", left=True)
        left = min(ASIDE_PX, placer.room - put.width_px - 2.0)
        put = label(text, left, 0.0, placer.size, "stroma", left=True)
        y = floor_px(0.0, put.box.right) + UNDER_PX + thin * NEXT_PX
        at = put.x_px - (12.0 if thin == 0 else put.width_px / 2.0 + 12.0)
        put = label(text, left, y, placer.size, "stroma", left=True)
        end = (at, put.box.top - 1.0) if thin == 0 else (put.box.left - 2.0, y)
        placer.labels.append(put)
        begin = _middle(one.new, at / scale.per_mm) * scale.per_um if ground == "removed" else 0.5 * (top + bottom)
        placer.leaders.append(Leader(((at, begin), (at, end[1]), end)))
        low, thin = y, thin + 1
    return low


def _name_bed(one, placer, floor_px, low_px):
    """The bed beside the dimension line, clear of the user's line and of the names over it."""
    text = f"bed <b>{whole(one.route.bed_central_um)}</b>"
    half = label(text, 0.0, 0.0, placer.size).height_px / 2.0
    top, bottom = max(floor_px + half + 2.0, low_px + NEXT_PX), placer.back - half - 3.0
    y = max(0.5 * (floor_px + placer.back), top)
    if one.base.user_line is not None:
        line = float(placer.scale.depth(one.base.user_line, BESIDE_PX + 25.0))
        if abs(y - line) < CLEAR_PX:
            y = line + CLEAR_PX if line + CLEAR_PX <= bottom else max(line - CLEAR_PX, top)
    placer.labels.append(label(text, BESIDE_PX, min(y, bottom), placer.size, "stroma", left=True))
