"""Where the labels of a flattened section stand, so that none covers another or leaves the section."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tissue.drawing.fonts import text_size
from tissue.drawing.palette import ABOVE
from tissue.drawing.words import whole

BESIDE_PX = 8.0  # label right of the dimension line
ASIDE_PX = 36.0  # label at the end of a leader
IN_LAYER_PX = 3.0  # a layer holds its label where it is this much higher than the type
BELOW_PX = 15.0  # first label under the layers, centre of the text
NEXT_PX = 20.0  # from one label to the next
CLEAR_PX = 17.0  # from the user's line to the centre of the bed's label
UNDER_BACK_PX = 18.0  # least bed, under its triangle
USER_PLACES = (-0.66, -0.72, -0.6, -0.54, -0.78, 0.6, 0.66, 0.72, 0.78, -0.48, 0.5)  # of the half width


class Box(NamedTuple):
    """Edges of a label [px]: x to the right of the treatment centre, y down from the front surface."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other, gap=0.0):
        """Whether two boxes come nearer than `gap` [px]."""
        across = self.left < other.right + gap and other.left < self.right + gap
        return across and self.top < other.bottom + gap and other.top < self.bottom + gap


@dataclass(frozen=True)
class Label:
    """Words in a section: centre [px], type size [px], the tissue they stand on (`` for none).

    keeps: what holds its place when the picture is drawn wider than planned: `line` the distance from the
    dimension line, `left` its left edge, `centre` its centre.
    """

    text: str
    x_px: float
    y_px: float
    size_px: float
    ground: str = ""
    keeps: str = "centre"

    @property
    def box(self):
        """Edges, one pixel of padding included."""
        return box(self.text, self.x_px, self.y_px, self.size_px)


@dataclass(frozen=True)
class Leader:
    """A line from a dot in a layer to its label: points (x, y) [px]."""

    points: tuple


class Scale(NamedTuple):
    """From mm and µm to px: px per mm of width, px per µm of depth, half the width [px], depth shown [px]."""

    per_mm: float
    per_um: float
    half_px: float
    depth_px: float


def box(text, x_px, y_px, size_px):
    """Box of a text about its centre."""
    width, height = text_size(text, size_px)
    return Box(x_px - width / 2 - 1, y_px - height / 2, x_px + width / 2 + 1, y_px + height / 2)


def depth_at(curve, x_px, scale):
    """Depth of a curve [px] at places across the section [px]; 0 beyond its ends."""
    position = np.asarray(x_px) / scale.per_mm
    return np.interp(position, curve.position_mm, curve.depth_um, left=0.0, right=0.0) * scale.per_um


def span(left_px, right_px):
    """A few places from left to right [px]."""
    return np.linspace(left_px, right_px, 7)


def wrapped(text, width_px, size_px):
    """A text broken into lines no wider than `width_px`, parted by <br>."""
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_size(longer, size_px)[0] > width_px:
            lines.append(word)
        else:
            lines[-1] = longer
    return "<br>".join(lines)


class Placer:
    """Puts the labels of one outline in their order; `labels` and `leaders` are what it gives."""

    def __init__(self, outline, scale, size_px):
        self.outline, self.scale, self.size = outline, scale, size_px
        self.labels, self.leaders = [], []
        self.low = 0.0  # centre of the lowest label beside the dimension line [px]

    def layers(self):
        """What lies above the cut, and the removal: in their layer, or under the layers with a leader."""
        o, per = self.outline, self.scale.per_um
        named = [
            (ABOVE[o.name], o.cut_um, 0.0, "epithelium" if o.name == "surface" else "above"),
            ("removed", o.removed_um, o.cut_um, "removed"),
        ]
        thin = []
        for name, value, top, ground in named:
            text = f"{name} <b>{whole(value)}</b>"
            if not self._in_layer(text, top * per, value * per, ground):
                thin.append((text, (top + value / 2.0) * per))
        for text, from_px in thin:
            self._under_layers(text, from_px)

    def _in_layer(self, text, top_px, height_px, ground):
        """Put a label into its layer where that is high enough beside the centre too."""
        width = text_size(text, self.size)[0]
        left, right = BESIDE_PX, BESIDE_PX + width
        far = height_px
        if ground == "removed":
            far = depth_at(self.outline.floor, right, self.scale) - top_px
        elif ground == "above":
            far = height_px if right < self.outline.cut.position_mm[-1] * self.scale.per_mm else 0.0
        if height_px < self.size + IN_LAYER_PX or far <= 0.0:
            return False
        half = text_size(text, self.size)[1] / 2.0
        y = top_px + min(height_px / 2.0, max(far / 2.0, half + 1.5))
        self._put(text, (left + right) / 2.0, y, ground, "line")
        self.low = y
        return True

    def _under_layers(self, text, from_px):
        """Put a label into the bed under the layers, with an elbow leader from a dot in its layer."""
        width = text_size(text, self.size)[0]
        floor = float(depth_at(self.outline.floor, span(0.0, ASIDE_PX + width), self.scale).max())
        y = max(floor + BELOW_PX, self.outline.cut_um * self.scale.per_um + BELOW_PX, self.low + NEXT_PX)
        self._put(text, ASIDE_PX + width / 2.0, y, "stroma", "left")
        self.low = y
        elbow = max(6.0, min(18.0, ASIDE_PX - 18.0))
        self.leaders.append(Leader(((0.0, from_px), (elbow, y), (ASIDE_PX - 4.0, y))))

    def deepest(self):
        """The second reading, under the deepest removal off the centre."""
        found = self.outline.deepest
        if found is None:
            return
        text = f"removed <b>{whole(found.removed_um)}</b>"
        width = text_size(text, self.size)[0]
        x = max(found.position_mm * self.scale.per_mm, -self.scale.half_px + width / 2.0 + 3.0)
        x = min(x, -width / 2.0 - 6.0)
        floor = float(depth_at(self.outline.floor, span(x - width / 2, x + width / 2), self.scale).max())
        self._put(text, x, floor + BELOW_PX, "stroma")

    def bed(self):
        """The bed beside the dimension line, clear of the user's line; under the back surface if the bed is thin."""
        o, per = self.outline, self.scale.per_um
        text = f"bed <b>{whole(o.bed_um)}</b>"
        width, height = text_size(text, self.size)
        across = span(BESIDE_PX, BESIDE_PX + width)
        top = max(float(depth_at(o.floor, across, self.scale).max()), o.cut_um * per) + height / 2.0
        top = max(top, self.low + NEXT_PX)
        bottom = float(depth_at(o.back, across, self.scale).min()) - height / 2.0
        middle = (o.cut_um + o.removed_um + o.thickness_um) * per / 2.0
        y = self._clear_of_line(max(middle, top), top, bottom, across)
        if y is None:
            self._bed_outside(text, width)
        else:
            self._put(text, BESIDE_PX + width / 2.0, y, "stroma", "line")

    def _clear_of_line(self, wanted, top, bottom, across):
        """Height for the bed's label between top and bottom: as wanted, else under or over the user's line."""
        if bottom < top:
            return None
        wanted = min(wanted, bottom)
        if self.outline.user_line is None:
            return wanted
        line = depth_at(self.outline.user_line, across, self.scale)
        for clear in (CLEAR_PX, CLEAR_PX * 0.65):
            if wanted < line.min() - clear or wanted > line.max() + clear:
                return wanted
            for y in (float(line.max()) + clear, float(line.min()) - clear):
                if top <= y <= bottom:
                    return y
        return wanted

    def _bed_outside(self, text, width):
        """A bed too thin for its label: the label stands under the back surface, below the least bed."""
        o, per = self.outline, self.scale.per_um
        back = float(depth_at(o.back, span(0.0, ASIDE_PX + width), self.scale).max())
        below = max([label.box.bottom for label in self.labels] + [back])
        y = below + self.size
        self._put(text, ASIDE_PX + width / 2.0, y, "", "left")
        middle = (o.cut_um + o.removed_um + o.thickness_um) * per / 2.0
        self.leaders.append(Leader(((0.0, middle), (ASIDE_PX / 2.0, y), (ASIDE_PX - 4.0, y))))

    def least(self):
        """Least bed under its triangle, or in words where it lies off the meridian."""
        found = self.outline.least
        if found is None:
            return
        text = f"least bed <b>{whole(found.bed_um)}</b>"
        if found.on_meridian:
            x = found.position_mm * self.scale.per_mm
            y = found.depth_um * self.scale.per_um + UNDER_BACK_PX
        else:
            text += f",<br>{found.off_mm:.1f} mm off this meridian"
            back = self.outline.back
            x = float(back.position_mm[np.argmin(back.depth_um)]) * self.scale.per_mm
            y = 0.0
        x = self._inside(text, x)
        self._put(text, x, max(y, self._under_back(text, x)), "")

    def _under_back(self, text, x_px):
        """Least height [px] at which every line of a centred text stays under the back surface."""
        lines = text.split("<br>")
        step = text_size(lines[0], self.size)[1]
        needed = []
        for i, line in enumerate(lines):
            half = text_size(line, self.size)[0] / 2.0
            corner = depth_at(self.outline.back, np.array([x_px - half, x_px + half]), self.scale).max()
            needed.append(float(corner) + 3.0 - step * (i - len(lines) / 2.0))
        return max(needed)

    def _inside(self, text, x_px):
        """Centre moved so that the text stays within the section."""
        room = self.scale.half_px - text_size(text, self.size)[0] / 2.0 - 3.0
        return float(np.clip(x_px, -room, room)) if room > 0 else 0.0

    def user_line(self, texts):
        """The name of the user's line, standing in it where nothing else stands."""
        line = self.outline.user_line
        if line is None:
            return
        for strict in (True, False):
            for text in texts:
                for share in USER_PLACES:
                    if self._user_at(text, share * self.scale.half_px, strict):
                        return

    def _user_at(self, text, x_px, strict):
        """Put the name at a place if it is free; `strict` also keeps it out of the removed area."""
        x = self._inside(text, x_px)
        y = float(depth_at(self.outline.user_line, x, self.scale))
        put = Label(text, x, y, self.size - 0.5, "stroma")
        edges = put.box
        floor = (
            depth_at(self.outline.floor, span(edges.left, edges.right), self.scale).max() if self.outline.floor else 0.0
        )
        crosses = edges.left < BESIDE_PX and edges.right > -BESIDE_PX
        outside = (
            edges.bottom > self.scale.depth_px or edges.top < 0 or max(-edges.left, edges.right) > self.scale.half_px
        )
        taken = any(edges.overlaps(label.box, 2.0) for label in self.labels)
        if crosses or outside or taken or (strict and edges.top < floor + 2.0):
            return False
        self.labels.append(put if edges.top >= floor else Label(text, x, y, self.size - 0.5, self._ground(x, y)))
        return True

    def _ground(self, x_px, y_px):
        """The tissue at a place."""
        o, per = self.outline, self.scale.per_um
        if y_px < o.epithelium_um * per:
            return "epithelium"
        if y_px < o.cut_um * per:
            return "above" if o.above is not None else "stroma"
        return "removed" if y_px < depth_at(o.floor, x_px, self.scale) else "stroma"

    def sentence(self):
        """Why the option is not drawn, in the middle of the cornea."""
        o, per = self.outline, self.scale.per_um
        text = wrapped(f"Not drawn: {o.why_not}.", 2.0 * self.scale.half_px - 24.0, self.size)
        self._put(text, 0.0, 0.5 * o.thickness_um * per, "stroma")

    def _put(self, text, x_px, y_px, ground, keeps="centre"):
        self.labels.append(Label(text, float(x_px), float(y_px), self.size, ground, keeps))


def flat_labels(outline, scale, size_px, line_names):
    """Labels and leaders of one flattened section.

    Args:
        outline: Outline.
        scale: Scale of the section.
        size_px: type size [px].
        line_names: names of the user's line, the longest first.
    """
    placer = Placer(outline, scale, size_px)
    if not outline.available:
        placer.sentence()
        placer.user_line(line_names)
        return placer.labels, placer.leaders
    placer.layers()
    placer.deepest()
    placer.least()
    placer.bed()
    placer.user_line(line_names)
    return placer.labels, placer.leaders
