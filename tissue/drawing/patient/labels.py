"""Words in a patient's picture [px]: large, each in or beside what it names, with a leader where it stands apart."""

import numpy as np

from tissue.drawing.base.labels import Leader, label
from tissue.sources import data

SIZE_PX = 19.0
OVER_PX = 18.0  # from the top of what floats to the middle of its label
RISE_PX, CLEAR_PX = 30.0, 12.0  # a label with a leader stands so far above its dot, and above the front surface
INWARD_PX, HINGE_PX = 14.0, 8.0  # how far it begins nearer the middle than its dot; beside the open flap, farther out
BESIDE_PX, END_PX = 12.0, 6.0


def placed(picture, story, step, scale, half_px):
    """Labels and leaders of one step; x from the treatment centre, y downwards from the front surface [px].

    Args:
        picture: Picture.
        story: Story.
        step: one of STEPS.
        scale: px a mm of the picture.
        half_px: half of the figure's width [px].
    """
    words = {name: text.format(layer=story.layer, **story.figures) for name, text in data("explain")["labels"].items()}
    put = _Putting(picture, scale, half_px)
    put.above("skin", words["skin"])
    put.above("before", words["before"])
    put.above("opening", words["way_out" if step == "out" else "opening"])
    put.above("hinge", words["hinge"], -HINGE_PX)
    put.centred("stays", words["stays"], "stroma")
    put.beside("middle", words["today"])
    put.above("layer", words["depth" if step == "cut" and story.way == "lenticule" else "layer"])
    taken = words["ring" if story.ring else "piece"]
    put.centred("under", taken, "")
    put.over("over", taken if step == "out" else words["layer"])
    return put.labels, put.leaders


class _Putting:
    """Puts labels at the places a Picture has; a place it has not is passed over."""

    def __init__(self, picture, scale, half_px):
        self.labels, self.leaders = [], []
        self.places = {name: (x * scale, y * scale) for name, (x, y) in picture.places.items()}
        self.half_px = half_px
        fronts = [stroke.points * scale for stroke in picture.strokes if stroke.role in ("front", "before")]
        self.fronts = [points for points in fronts if np.all(np.diff(points[0]) >= 0)]

    def centred(self, name, text, ground):
        """About its place."""
        if name in self.places:
            self.labels.append(label(text, *self.places[name], SIZE_PX, ground))

    def over(self, name, text):
        """Above its place, without a leader."""
        if name in self.places:
            x, y = self.places[name]
            self.labels.append(label(text, x, y - OVER_PX, SIZE_PX))

    def beside(self, name, text):
        """Right of its place."""
        if name in self.places:
            x, y = self.places[name]
            self.labels.append(label(text, x + BESIDE_PX, y, SIZE_PX, "stroma", left=True))

    def above(self, name, text, inward_px=INWARD_PX):
        """Above its place and the front surface, outwards, with a leader to a dot."""
        if name not in self.places:
            return
        x, y = self.places[name]
        sign = 1.0 if x > 0 else -1.0
        size = label(text, 0.0, 0.0, SIZE_PX)
        middle = x + sign * (size.width_px / 2.0 - inward_px)
        limit = self.half_px - END_PX - size.width_px / 2.0
        middle = float(np.clip(middle, -limit, limit))
        inner = middle - sign * size.width_px / 2.0
        front = min(float(np.interp(inner, *points)) for points in self.fronts)
        bottom = min(y - RISE_PX, front - CLEAR_PX)
        put = label(text, middle, bottom - size.height_px / 2.0, SIZE_PX)
        self.labels.append(put)
        to = float(np.clip(x, put.box.left + 10.0, put.box.right - 10.0))
        self.leaders.append(Leader(((x, y), (to, put.box.bottom + 1.0))))
