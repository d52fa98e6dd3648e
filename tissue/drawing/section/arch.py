"""What surrounds a curved section: label columns, widths under the arch, bars, words at its ends [px]."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from tissue.drawing.base import palette
from tissue.drawing.base.labels import Label, Leader, Scale, below_curve, label, text_size, wrapped
from tissue.drawing.base.outline import Outline
from tissue.drawing.base.words import length, whole

COLUMN = 0.73  # inner edge of a label column, of the half chord
USER_COLUMN, USER_DOT = 0.86, 0.76  # of the half chord
DOTS = {"above": (-0.22, -0.36), "below": (0.17, 0.29)}  # where leaders begin, of the half chord; the upper one nearer
FIRST_ROW_PX, ROW_PX = -18.0, 22.0
RUN_PX, GAP_PX = 28.0, 10.0
DOTS_APART_PX, DOT_CLEAR_PX = 12.0, 2.0
OPENINGS = ("hinge", "incision")
USER_RISE_PX = 40.0  # height of the user's line's name above the arch
BESIDE_PX, RISE_PX = 10.0, 14.0  # hinge and incision beside a section: outwards, above the end of its front
WIDTH_STEP_PX, WIDTH_UNDER_PX, TICK_PX = 30.0, 24.0, 4.0
RUN_OUT_MM, RUN_OUT_FALL = 0.55, 0.6  # beyond the limbus: length, and slope of the front there times this


@dataclass
class Arch:
    """Labels, leaders and extra lines of one section; x from the chord's middle is `middle_px` away from 0.

    widths, uprights, dotted: strokes [px] of the width lines, of the fine lines up to the tissue, of the run-outs.
    bars: strokes of the scale bars. bottom_px: lowest thing drawn.
    """

    outline: Outline
    scale: Scale
    size_px: float
    labels: list[Label] = field(default_factory=list)
    leaders: list[Leader] = field(default_factory=list)
    small: list[Label] = field(default_factory=list)
    ends: list[tuple[str, float, float, int]] = field(default_factory=list)
    widths: list[Any] = field(default_factory=list)
    uprights: list[Any] = field(default_factory=list)
    dotted: list[Any] = field(default_factory=list)
    bars: list[Any] = field(default_factory=list)
    bottom_px: float = 0.0

    @property
    def middle_px(self) -> float:
        """Middle of the chord [px]."""
        return (self.outline.low_mm + self.outline.high_mm) / 2.0 * self.scale.per_mm

    @property
    def half_px(self) -> float:
        """Half of the chord [px]."""
        return (self.outline.high_mm - self.outline.low_mm) / 2.0 * self.scale.per_mm

    def put(self, text: str, x_px: float, y_px: float, left: bool = True, ground: str = "") -> Label:
        """Put a label with its left edge (or its centre) at x."""
        self.labels.append(label(text, x_px, y_px, self.size_px, ground, left=left))
        return self.labels[-1]


def columns(arch: Arch, limit_px: float) -> None:
    """Epithelium, flap or cap on the left; removal and bed on the right; hinge or incision on its side.

    Each has a leader to a dot in its tissue. `limit_px` is how far from the middle the figure reaches.
    """
    o, per = arch.outline, arch.scale.per_um
    left = [(f"epithelium <b>{whole(o.epithelium_um)}</b>", DOTS["above"][0], lambda x: o.epithelium_um * per / 2.0)]
    if o.available and o.above is not None:
        name = f"{palette.ABOVE[o.name]} <b>{whole(o.cut_um)}</b>"
        left.append((name, DOTS["above"][1], lambda x: (o.epithelium_um + o.cut_um) * per / 2.0))
    right = _right(arch) if o.available else []
    for name, place in zip(OPENINGS, (o.hinge_mm, o.incision_mm), strict=True):
        if place is not None:
            share = place * arch.scale.per_mm / arch.half_px
            (right if place > 0 else left).append((name, share, lambda x: o.cut_um * per / 2.0))
    _column(arch, left, -1.0, limit_px)
    _column(arch, right, 1.0, limit_px)


def _right(arch: Arch) -> list[tuple[str, float, Callable[[float], float]]]:
    """Removal and bed: text, and depth of the dot below the front surface [px]."""
    o, scale = arch.outline, arch.scale
    removed = f"removed <b>{whole(o.removed_um)}</b>"
    if o.deepest is not None:
        removed += f", at most <b>{whole(o.deepest.removed_um)}</b>"

    def floor(x: float) -> float:
        drop = float(o.drop_um(x / scale.per_mm)) * scale.per_um
        return max(float(scale.depth(o.floor, x)) - drop, o.cut_um * scale.per_um)

    def in_bed(x: float) -> float:
        drop = float(o.drop_um(x / scale.per_mm)) * scale.per_um
        return (floor(x) + float(scale.depth(o.back, x)) - drop) / 2.0

    near, far = DOTS["below"]
    if o.deepest is not None:
        last = COLUMN + arch.middle_px / arch.half_px  # not beyond the column
        near = min(abs(o.deepest.position_mm) * scale.per_mm / arch.half_px, last - 0.2)
        far = near + 0.12
    return [
        (removed, near, lambda x: (o.cut_um * scale.per_um + floor(x)) / 2.0),
        (o.bed_words, far, in_bed),
    ]


def _column(arch: Arch, rows: list[tuple[str, float, Callable[[float], float]]], sign: float, limit_px: float) -> None:
    """One column of labels; the upper label's dot lies nearer the centre, so leaders never cross.

    A dot that may stand anywhere in its tissue stays on the inner side of its column; an opening beyond the column
    has its leader from below.
    """
    o, scale = arch.outline, arch.scale
    for i, (text, share, depth) in enumerate(sorted(rows, key=lambda row: abs(row[1]))):
        y = FIRST_ROW_PX + ROW_PX * i
        width = label(text, 0.0, y, arch.size_px).width_px
        edge = arch.middle_px + sign * min(COLUMN * arch.half_px, limit_px - width)
        put = arch.put(text, edge if sign > 0 else edge - width, y)
        inner = edge - sign * GAP_PX
        elbow = inner - sign * RUN_PX
        x = share * arch.half_px
        if text not in OPENINGS:
            x = sign * min(sign * x, sign * elbow - DOTS_APART_PX * (len(rows) - 1 - i))
        dot = (x, float(o.drop_um(x / scale.per_mm)) * scale.per_um + depth(x))
        to: tuple = ((elbow, y), (inner, y))
        if sign * x > sign * inner and dot[1] > put.box.bottom:
            to = ((min(max(x, put.box.left), put.box.right), put.box.bottom + 1.0),)
        arch.leaders.append(Leader((dot, *to)))


def user_line(arch: Arch, text: str, limit_px: float) -> None:
    """The user's line by its name, above the arch on the side where no hinge or incision is named."""
    o, scale = arch.outline, arch.scale
    if o.user_line is None:
        return
    named = [place for place in (o.hinge_mm, o.incision_mm) if place is not None]
    sign = -1.0 if named and named[0] > 0 else 1.0
    put = label(text, 0.0, 0.0, arch.size_px)
    edge = arch.middle_px + sign * min(USER_COLUMN * arch.half_px + 14.0, limit_px - put.width_px)
    y = max(float(o.drop_um(edge / scale.per_mm)) * scale.per_um - USER_RISE_PX, FIRST_ROW_PX + 2.6 * ROW_PX)
    arch.put(text, edge if sign > 0 else edge - put.width_px, y)
    x = arch.middle_px + sign * USER_DOT * arch.half_px
    inner = edge - sign * 6.0
    arch.leaders.append(Leader(((x, float(scale.depth(o.user_line, x))), (inner - sign * 15.0, y), (inner, y))))


def openings(arch: Arch) -> None:
    """Hinge and incision by name beside the section, where the meridian meets them."""
    o, scale = arch.outline, arch.scale
    for name, place in zip(OPENINGS, (o.hinge_mm, o.incision_mm), strict=True):
        if place is None:
            continue
        sign, end = (1.0, o.high_mm) if place > 0 else (-1.0, o.low_mm)
        x, y = end * scale.per_mm + sign * BESIDE_PX, float(o.drop_um(end)) * scale.per_um - RISE_PX
        width = label(name, 0.0, y, arch.size_px).width_px
        arch.put(name, x if sign > 0 else x - width, y)
        dot = (place * scale.per_mm, (float(o.drop_um(place)) + o.cut_um * 0.5) * scale.per_um)
        arch.leaders.append(Leader((dot, (x - sign * 4.0, y))))


def under_arch(arch: Arch, thickness_um: float) -> None:
    """Least bed left of the dimension line and the thickness right of it, or why there is nothing to draw."""
    o, scale = arch.outline, arch.scale
    if not o.available:
        text = wrapped(f"Not drawn: {o.why_not}.", 0.9 * arch.half_px, arch.size_px)
        y = below_curve(o.back, scale, text, 0.0, arch.size_px) + 10.0
        arch.bottom_px = max(arch.bottom_px, arch.put(text, 0.0, y, left=False).box.bottom)
        return
    least = f"least bed <b>{whole(o.least.bed_um)}</b>" if o.least is not None else "no least bed"
    if o.least is not None and not o.least.on_meridian:
        least += f",<br>{o.least.off_mm:.1f} mm off this meridian"
    thickness = f"thickness <b>{whole(thickness_um)}</b> µm"
    lowest = float(scale.depth(o.back, 0.0)) + 20.0
    dots = [leader.points[0] for leader in arch.leaders]
    places = []
    for text, sign in ((least, -1.0), (thickness, 1.0)):
        x = sign * (12.0 + text_size(text, arch.size_px)[0] / 2.0)
        box = label(text, x, 0.0, arch.size_px).box
        clear = [y + box.bottom + DOT_CLEAR_PX for dot_x, y in dots if box.left < dot_x < box.right]
        lowest = max(lowest, below_curve(o.back, scale, text, x, arch.size_px), *clear)
        places.append((text, x))
    for text, x in places:
        put = arch.put(text, x, lowest, left=False)
        arch.bottom_px = max(arch.bottom_px, put.box.bottom)


def width_lines(arch: Arch, zone_mm: float, treated_mm: float, cut_mm: float) -> None:
    """Zone, and flap, cap or blend, as lines under the arch with their figure in a gap of the line."""
    o, scale = arch.outline, arch.scale
    if not o.available:
        return
    rows = [("zone", zone_mm)]
    if o.above is not None:
        rows.append((palette.ABOVE[o.name], cut_mm))
    elif treated_mm > zone_mm:
        rows.append(("with blend", treated_mm))
    y = arch.bottom_px + 14.0
    for name, diameter in rows:
        half = min(diameter / 2.0 * scale.per_mm, arch.half_px - abs(arch.middle_px))
        y = max(y, scale.deepest(o.back, -half, half) + WIDTH_UNDER_PX)
        put = label(f"{name} {length(diameter)} mm", 0.0, y, 11.0)
        arch.small.append(put)
        gap = put.width_px / 2.0 + 4.0
        arch.widths += [((-half, -gap), (y, y)), ((gap, half), (y, y))]
        for end in (-half, half):
            arch.widths.append(((end, end), (y - TICK_PX, y + TICK_PX)))
            arch.uprights.append(((end, end), (float(scale.depth(o.back, end)) + 6.0, y - TICK_PX)))
        arch.bottom_px = y + 8.0
        y += WIDTH_STEP_PX


def scale_bars(arch: Arch, depth_um: float, text: str) -> None:
    """Two bars from one corner: 1 mm across, and a depth with its words."""
    across, down = arch.scale.per_mm, depth_um * arch.scale.per_um
    y = arch.bottom_px + 14.0 + down
    starts = {text: 7.0, "1 mm": across + 6.0}
    x = -max(start + text_size(said, 11.0)[0] for said, start in starts.items()) / 2.0  # all of it in the middle
    arch.bars += [((x, x, x + across), (y - down, y, y))]
    heights = (y - down * 0.55, y)
    arch.small += [
        label(said, x + start, at, 11.0, left=True) for (said, start), at in zip(starts.items(), heights, strict=True)
    ]
    arch.bottom_px = y + 6.0


def end_words(arch: Arch, side: str) -> None:
    """Words of both ends, under the tissue."""
    o, scale = arch.outline, arch.scale
    for word, at, i in zip(o.meridian.end_words(side), (o.low_mm, o.high_mm), (0, -1), strict=True):
        y = o.back.depth_um[i] * scale.per_um + 16.0
        arch.ends.append((word, at * scale.per_mm, y, i))
        arch.bottom_px = max(arch.bottom_px, y + 10.0)


def run_outs(arch: Arch) -> None:
    """A dotted half millimetre beyond the limbus, from the front and the back surface."""
    o, scale = arch.outline, arch.scale
    for i, before, sign in ((0, 1, -1.0), (-1, -2, 1.0)):
        x, y = o.front.position_mm, o.front.depth_um
        slope = (y[i] - y[before]) / (x[i] - x[before])
        to = x[i] + sign * RUN_OUT_MM
        fall = slope * sign * RUN_OUT_MM * RUN_OUT_FALL
        for start in (y[i], o.back.depth_um[i]):
            px = [x[i] * scale.per_mm, to * scale.per_mm], [start * scale.per_um, (start + fall) * scale.per_um]
            arch.dotted.append(px)
            arch.bottom_px = max(arch.bottom_px, px[1][1])


def edges(arch: Arch) -> list[tuple[list[float], list[float]]]:
    """Upright lines where the section ends."""
    o, scale = arch.outline, arch.scale
    return [
        ([x * scale.per_mm] * 2, [o.front.depth_um[i] * scale.per_um, o.back.depth_um[i] * scale.per_um])
        for x, i in ((o.low_mm, 0), (o.high_mm, -1))
    ]
