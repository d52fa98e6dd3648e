"""Labels of a flattened section: what room is free in it, and where they stand so that none covers another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from tissue.drawing.base.curve import Curve
from tissue.drawing.base.fonts import text_size
from tissue.drawing.base.labels import PAD_PX, Label, Leader, Placed, Scale, below_curve, label, wrapped
from tissue.drawing.base.palette import ABOVE
from tissue.drawing.base.words import whole

if TYPE_CHECKING:
    from tissue.drawing.base.outline import Outline

APART_PX = 4.0  # distance of the user's line's name, and of words under the back surface, from other labels
EDGE_PX = 3.0  # distance of labels from the sides of the section
OUTSIDE_PLACES = (0.36, 0.42, 0.5, 0.58, 0.66, 0.74, -0.42, -0.5, -0.58, -0.66, -0.74)  # of the half width
LAST_PLACES = tuple(np.linspace(-0.96, 0.96, 49))
BESIDE_PX = 8.0  # label right of the dimension line
ASIDE_PX = 36.0  # label at the end of a leader, where there is room
OVER_PX = (33.0, -15.0)  # left edge and middle of a label above a curved front
IN_LAYER_PX = 3.0  # a layer higher than the type by this holds its label
BELOW_PX = 15.0  # first label under the layers, to the centre of the text
NEXT_PX = 20.0  # from one label to the next
CLEAR_PX = (17.0, 11.0)  # from the user's line to the centre of the bed's label; the second where room is short
UNDER_BACK_PX = 18.0  # least bed, under its triangle
USER_PLACES = (-0.66, -0.72, -0.6, -0.78, -0.54, 0.66, 0.72, 0.6, 0.78, 0.54, -0.48, 0.48)  # of the half width


class Slots:
    """The labels of one outline while they are placed; `labels` and `leaders` are the result."""

    def __init__(self, outline: Outline, scale: Scale, size_px: float) -> None:
        self.outline, self.scale, self.size = outline, scale, size_px
        self.labels: list[Label] = []
        self.leaders: list[Leader] = []
        self.waiting: list[tuple[str, float, float | None]] = []
        self.low = 0.0  # centre of the lowest label beside the dimension line [px]
        self.cut = outline.cut_um * scale.per_um
        self.floor = (outline.cut_um + outline.removed_um) * scale.per_um
        self.back = outline.thickness_um * scale.per_um
        self.room = scale.half_px - EDGE_PX

    def _put(self, text: str, x_px: float, y_px: float, ground: str, left: bool = False) -> None:
        self.labels.append(label(text, x_px, y_px, self.size, ground, left=left))

    def _inside(self, text: str, x_px: float) -> float:
        """Centre moved so that the text stays within the section."""
        room = max(self.room - text_size(text, self.size)[0] / 2.0 - PAD_PX, 0.0)
        return float(np.clip(x_px, -room, room))

    def _free(self, put: Label) -> bool:
        """Whether a label touches no other label and no leader."""
        box = put.box
        if any(box.overlaps(other.box, APART_PX) for other in self.labels):
            return False
        return not any(leader.meets(box, 2.0) for leader in self.leaders)

    def _down_to_free(self, text: str, x_px: float, y_px: float) -> Label:
        """A label moved down until it touches no other label or leader."""
        put = label(text, x_px, y_px, self.size)
        while not self._free(put):
            y_px += 4.0
            put = label(text, x_px, y_px, self.size)
        return put

    def _drop(self, x_px: float) -> float:
        """How far the drawn front falls from the dimension line to a place [px]."""
        return float(self.outline.drop_um(x_px / self.scale.per_mm)) * self.scale.per_um

    def _cut_ends(self) -> float:
        """Right end of the cut [px]."""
        return float(self.outline.cut.position_mm[-1]) * self.scale.per_mm

    def _ground(self, x_px: float, y_px: float) -> str:
        """The tissue at a place."""
        o = self.outline
        if y_px < o.epithelium_um * self.scale.per_um:
            return "epithelium"
        if y_px < self.cut:
            return "above" if o.above is not None and abs(x_px) < self._cut_ends() else "stroma"
        return "removed" if y_px < self.scale.depth(o.floor, x_px) else "stroma"

    def outside(self) -> None:
        """Put labels that have no room in the tissue under the back surface, each with an upright leader."""
        for text, from_px, at in self.waiting:
            for x in self._outside_places(at):
                put, leader = self._outside_at(text, from_px, x)
                if not any(leader.meets(other.box) for other in self.labels):
                    break
            self.labels.append(put)
            self.leaders.append(leader)

    def _outside_places(self, at: float | None) -> list[float]:
        """Places for an upright leader [px], a wished one first."""
        places = [share * self.scale.half_px for share in (*OUTSIDE_PLACES, *LAST_PLACES)]
        return places if at is None else [at, *places]

    def _outside_at(self, text: str, from_px: float, x_px: float) -> tuple[Label, Leader]:
        """Label and leader at a place."""
        put = label(text, self._inside(text, x_px), 0.0, self.size)
        y = self.scale.deepest(self.outline.back, put.box.left, put.box.right) + put.height_px / 2.0 + 5.0
        put = self._down_to_free(text, put.x_px, y)
        return put, Leader(((x_px, self._same_layer(from_px, x_px)), (x_px, put.box.top - 1.0)))

    def _same_layer(self, from_px: float, x_px: float) -> float:
        """A depth in the layer that lies at `from_px` on the dimension line, at another place [px]."""
        floor = max(float(self.scale.depth(self.outline.floor, x_px)), self.cut)
        back = float(self.scale.depth(self.outline.back, x_px))
        if from_px > self.floor:
            return (floor + back) / 2.0
        return from_px if from_px < self.cut else (self.cut + floor) / 2.0


def flat_labels(
    outline: Outline, scale: Scale, size_px: float, line_names: Sequence[str], taken: Placed | None = None
) -> Placed:
    """Labels and leaders of one flattened section.

    Args:
        outline: Outline.
        scale: Scale of the section.
        size_px: type size [px].
        line_names: names of the user's line, the longest first.
        taken: (labels, leaders) already placed; they are returned with the others.
    """
    placer = Placer(outline, scale, size_px)
    if taken is not None:
        placer.labels, placer.leaders = list(taken[0]), list(taken[1])
    if outline.available:
        placer.layers()
        placer.deepest()
        placer.bed()
        placer.outside()
        placer.least()
    else:
        placer.sentence()
    placer.user_line(line_names)
    return placer.labels, placer.leaders


class Placer(Slots):
    """Puts the labels of one outline in their order."""

    def layers(self) -> None:
        """Name what lies above the cut, and the removal: inside its layer, or below all layers with a leader to it."""
        o = self.outline
        first = label(f"{ABOVE[o.name]} <b>{whole(o.cut_um)}</b>", BESIDE_PX, 0.0, self.size, left=True)
        second = label(f"removed <b>{whole(o.removed_um)}</b>", BESIDE_PX, 0.0, self.size, left=True)
        ground = "above" if o.above is not None else "epithelium"
        first_in = self._in_layer(first, 0.0, self.cut, ground)
        second_in = self._in_layer(second, self.cut, self.floor, "removed")
        if not first_in and o.drop is not None:
            self._over_front(first)
        elif not first_in and second_in:
            self._under_removal(first)
        thin = [] if first_in or second_in or o.drop is not None else [(first, self.cut / 2.0)]
        thin += [] if second_in else [(second, (self.cut + self.floor) / 2.0)]
        left = min([ASIDE_PX, *(self.room - put.width_px - PAD_PX for put, _ in thin)])
        for put, from_px in thin:
            self._under_layers(put, from_px, left)

    def _in_layer(self, put: Label, top: float, bottom: float, ground: str) -> bool:
        """Put a label into its layer where that is high enough: right of the dimension line, else in a gap of it."""
        if bottom - top < self.size + IN_LAYER_PX:
            return False
        half = put.height_px / 2.0
        for x, left, far in ((BESIDE_PX, True, BESIDE_PX + put.width_px), (0.0, False, put.width_px / 2.0)):
            drop = self._drop(far)
            height = min(bottom + drop, self._lower(ground, far)) - top - drop
            if far + PAD_PX <= self.room and height >= (0.35 if left else 0.9) * put.height_px:
                y = top + 0.6 * max(drop, 0.0) + min((bottom - top) / 2.0, max(height / 2.0, half + 1.5))
                y = max(y, self.low + put.height_px + 2.5 * PAD_PX) if self.low else y
                pad = min(PAD_PX, max(0.0, (bottom - top - put.height_px) / 2.0))
                self.labels.append(label(put.text, x, y, self.size, ground, left=left, pad_px=pad))
                self.low = y
                return True
        return False

    def _lower(self, ground: str, x_px: float) -> float:
        """Lower side of a layer at a place [px]."""
        if ground == "removed":
            return float(self.scale.depth(self.outline.floor, x_px))
        beyond = ground == "above" and x_px > self.outline.cut.position_mm[-1] * self.scale.per_mm
        return 0.0 if beyond else self.cut + self._drop(x_px)

    def _over_front(self, put: Label) -> None:
        """Put the label of a thin first layer above a curved front, with an elbow leader."""
        x, y = OVER_PX
        self._put(put.text, x, y, "", True)
        self.leaders.append(Leader(((0.0, self.cut / 2.0), (x / 2.0, y), (x - 4.0, y))))

    def _under_layers(self, put: Label, from_px: float, x: float) -> None:
        """Put a label into the bed under the layers from a left edge, with an elbow leader from a dot in its layer."""
        right = x + put.width_px
        y = max(self.scale.deepest(self.outline.floor, 0.0, right) + BELOW_PX, self.low + NEXT_PX)
        if y + put.height_px > self.scale.highest(self.outline.back, 0.0, right):
            self.waiting.append((put.text, from_px, None))
            return
        self._put(put.text, x, y, "stroma", True)
        self.low = y
        self.leaders.append(Leader(((0.0, from_px), (x / 2.0, y), (x - 4.0, y))))

    def _under_removal(self, put: Label) -> None:
        """Put a thin first layer's label under the removal on the left, with an upright leader past the other label."""
        x = min(self.labels[-1].box.left - 8.0, -24.0)
        at = self._inside(put.text, x)
        left, right = at - put.width_px / 2.0, at + put.width_px / 2.0
        y = self.scale.deepest(self.outline.floor, left, right) + BELOW_PX
        if y + put.height_px > self.scale.highest(self.outline.back, left, right):
            self.waiting.append((put.text, self.cut / 2.0, None))
            return
        self._put(put.text, at, y, "stroma")
        self.leaders.append(Leader(((x, self.cut / 2.0 + self._drop(x)), (x, self.labels[-1].box.top - 1.0))))

    def deepest(self) -> None:
        """Put the second reading under the deepest removal off the centre."""
        found, o = self.outline.deepest, self.outline
        if found is None:
            return
        text = f"removed <b>{whole(found.removed_um)}</b>"
        half, height = (part / w for part, w in zip(text_size(text, self.size), (2.0, 1.0), strict=True))
        at = found.position_mm * self.scale.per_mm
        x = min(max(at, half + PAD_PX - self.room), -half - 6.0)
        y = self.scale.deepest(o.floor, x - half, x + half) + BELOW_PX
        put = self._down_to_free(text, x, y)
        if put.y_px + height <= self.scale.highest(o.back, x - half, x + half):
            self.labels.append(put)
        else:
            self.waiting.append((text, (self.cut + self.floor) / 2.0, at))

    def bed(self) -> None:
        """Put the bed's label beside the dimension line, or where the bed is wide enough, or outside."""
        put = label(self.outline.bed_words, BESIDE_PX, 0.0, self.size, left=True)
        middle = (self.floor + self.back) / 2.0
        y = self._height_in_bed(put, BESIDE_PX, max(middle, self.low + NEXT_PX))
        if y is not None and self._free(label(put.text, BESIDE_PX, y, self.size, left=True)):
            self._put(put.text, BESIDE_PX, y, "stroma", True)
        elif not self._bed_aside(put, middle):
            self.waiting.append((put.text, middle, None))

    def _bed_aside(self, put: Label, middle: float) -> bool:
        """Put the bed's label to the right, where the bed is wide enough, with a leader; false where it never is."""
        for x in np.arange(BESIDE_PX + 16.0, self.room - put.width_px, 8.0):
            y = self._height_in_bed(put, x, middle)
            if y is None:
                continue
            leader = Leader(((0.0, middle), (x - 4.0, y)))
            free = self._free(label(put.text, x, y, self.size, left=True))
            if free and not any(leader.meets(other.box) for other in self.labels):
                self._put(put.text, x, y, "stroma", True)
                self.leaders.append(leader)
                return True
        return False

    def _height_in_bed(self, put: Label, left: float, wanted: float) -> float | None:
        """Height for the bed's label from a left edge: as wanted, else under or over the user's line; None: no room."""
        o, half = self.outline, put.height_px / 2.0
        right = left + put.width_px
        top = self.scale.deepest(o.floor, left, right) + half + 1.0
        top = max(top, self.cut + half + 1.0) if left <= self._cut_ends() else top
        top = max(top, self.low + NEXT_PX) if left < ASIDE_PX + 70.0 else top
        bottom = self.scale.highest(o.back, left, right) - half - 2.0
        if bottom < top:
            return None
        wanted = min(max(wanted, top), bottom)
        return self._clear(wanted, top, bottom, left, right)

    def _clear(self, wanted: float, top: float, bottom: float, left: float, right: float) -> float:
        """A height between top and bottom that avoids the user's line; the wanted one where possible."""
        line = self.outline.user_line
        if line is None:
            return wanted
        upper, lower = self.scale.highest(line, left, right), self.scale.deepest(line, left, right)
        for clear in CLEAR_PX:
            choices = [wanted] if wanted < upper - clear or wanted > lower + clear else []
            for y in (*choices, lower + clear, upper - clear):
                if top <= y <= bottom:
                    return y
        return wanted

    def least(self) -> None:
        """Put the least bed under its triangle, or in words off the meridian; nothing where there is none."""
        if self.outline.least is None:
            return
        found, back = self.outline.least, self.outline.back
        text = f"least bed <b>{whole(found.bed_um)}</b>"
        if found.on_meridian:
            depth = found.depth_um + float(self.outline.drop_um(found.position_mm))
            x, y = found.position_mm * self.scale.per_mm, depth * self.scale.per_um + UNDER_BACK_PX
        else:
            text += f",<br>{found.off_mm:.1f} mm off this meridian"
            x, y = float(back.position_mm[np.argmin(back.depth_um)]) * self.scale.per_mm, 0.0
        x = self._inside(text, x)
        self.labels.append(self._down_to_free(text, x, max(y, below_curve(back, self.scale, text, x, self.size))))

    def user_line(self, texts: Sequence[str]) -> None:
        """Put the name of the user's line into the line, where nothing else is."""
        if self.outline.user_line is None:
            return
        for deep_only in (True, False):
            for text in texts:
                for share in USER_PLACES:
                    if self._user_at(self.outline.user_line, text, share * self.scale.half_px, deep_only):
                        return

    def _user_at(self, line: Curve, text: str, x_px: float, deep_only: bool) -> bool:
        """Put the name at a place if it is free; `deep_only` keeps it under the removed area."""
        x = self._inside(text, x_px)
        y = float(self.scale.depth(line, x))
        put = label(text, x, y, self.size - 0.5, "stroma")
        edges, floor = put.box, 0.0
        if self.outline.floor is not None:
            floor = self.scale.deepest(self.outline.floor, edges.left, edges.right)
        crosses = edges.left < BESIDE_PX and edges.right > -BESIDE_PX
        outside = edges.bottom > self.scale.depth_px or edges.top < 0.0
        if crosses or outside or not self._free(put) or (deep_only and edges.top < floor + 2.0):
            return False
        ground = "stroma" if edges.top >= floor else self._ground(x, y)
        self.labels.append(label(text, x, y, self.size - 0.5, ground))
        return True

    def sentence(self) -> None:
        """Put the reason why the option is not drawn into the upper part of the cornea."""
        text = wrapped(f"Not drawn: {self.outline.why_not}.", 2.0 * self.room - 20.0, self.size)
        self._put(text, 0.0, 0.3 * self.back, "stroma")
