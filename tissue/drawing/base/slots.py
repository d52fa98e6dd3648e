"""Room in a flattened section: what is taken, what is free, and the places under the back surface."""

import numpy as np

from tissue.drawing.base.fonts import text_size
from tissue.drawing.base.labels import PAD_PX, Leader, label

APART_PX = 4.0  # the name of the user's line, and words under the back surface, keep this from other labels
EDGE_PX = 3.0  # labels keep this from the sides of the section
OUTSIDE_PLACES = (0.36, 0.42, 0.5, 0.58, 0.66, 0.74, -0.42, -0.5, -0.58, -0.66, -0.74)  # of the half width
LAST_PLACES = tuple(np.linspace(-0.96, 0.96, 49))


class Slots:
    """The labels of one outline as they are put; `labels` and `leaders` are what it gives."""

    def __init__(self, outline, scale, size_px):
        self.outline, self.scale, self.size = outline, scale, size_px
        self.labels, self.leaders, self.waiting = [], [], []
        self.low = 0.0  # centre of the lowest label beside the dimension line [px]
        self.cut = outline.cut_um * scale.per_um
        self.floor = (outline.cut_um + outline.removed_um) * scale.per_um
        self.back = outline.thickness_um * scale.per_um
        self.room = scale.half_px - EDGE_PX

    def _put(self, text, x_px, y_px, ground, left=False):
        self.labels.append(label(text, x_px, y_px, self.size, ground, left))

    def _inside(self, text, x_px):
        """Centre moved so that the text stays within the section."""
        room = max(self.room - text_size(text, self.size)[0] / 2.0 - PAD_PX, 0.0)
        return float(np.clip(x_px, -room, room))

    def _free(self, put):
        """Whether a label touches no other label and no leader."""
        box = put.box
        if any(box.overlaps(other.box, APART_PX) for other in self.labels):
            return False
        return not any(leader.meets(box, 2.0) for leader in self.leaders)

    def _down_to_free(self, text, x_px, y_px):
        """A label moved down until it touches no other label or leader."""
        put = label(text, x_px, y_px, self.size)
        while not self._free(put):
            y_px += 4.0
            put = label(text, x_px, y_px, self.size)
        return put

    def _drop(self, x_px):
        """How far the drawn front falls from the dimension line to a place [px]."""
        return float(self.outline.drop_um(x_px / self.scale.per_mm)) * self.scale.per_um

    def _cut_ends(self):
        """Right end of the cut [px]."""
        return float(self.outline.cut.position_mm[-1]) * self.scale.per_mm

    def _ground(self, x_px, y_px):
        """The tissue at a place."""
        o = self.outline
        if y_px < o.epithelium_um * self.scale.per_um:
            return "epithelium"
        if y_px < self.cut:
            return "above" if o.above is not None and abs(x_px) < self._cut_ends() else "stroma"
        return "removed" if y_px < self.scale.depth(o.floor, x_px) else "stroma"

    def outside(self):
        """Labels for which there is no room in the tissue: under the back surface, each with an upright leader."""
        for text, from_px, at in self.waiting:
            for x in self._outside_places(at):
                put, leader = self._outside_at(text, from_px, x)
                if not any(leader.meets(other.box) for other in self.labels):
                    break
            self.labels.append(put)
            self.leaders.append(leader)

    def _outside_places(self, at):
        """Places for an upright leader [px], a wished one first."""
        places = [share * self.scale.half_px for share in (*OUTSIDE_PLACES, *LAST_PLACES)]
        return places if at is None else [at, *places]

    def _outside_at(self, text, from_px, x_px):
        """Label and leader at a place."""
        put = label(text, self._inside(text, x_px), 0.0, self.size)
        y = self.scale.deepest(self.outline.back, put.box.left, put.box.right) + put.height_px / 2.0 + 5.0
        put = self._down_to_free(text, put.x_px, y)
        return put, Leader(((x_px, self._same_layer(from_px, x_px)), (x_px, put.box.top - 1.0)))

    def _same_layer(self, from_px, x_px):
        """A depth in the layer that lies at `from_px` on the dimension line, at another place [px]."""
        floor = max(float(self.scale.depth(self.outline.floor, x_px)), self.cut)
        back = float(self.scale.depth(self.outline.back, x_px))
        if from_px > self.floor:
            return (floor + back) / 2.0
        return from_px if from_px < self.cut else (self.cut + floor) / 2.0
