"""Labels in a picture [px]: their boxes, their leaders, and where two of them would touch."""

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from tissue.drawing.base.curve import Curve
from tissue.drawing.base.fonts import text_size
from tissue.ground.vocabulary import Floats

PAD_PX = 1.0
ALONG = np.linspace(0.0, 1.0, 41)
ACROSS = np.linspace(0.0, 1.0, 9)


class Box(NamedTuple):
    """Edges of a label [px], y downwards."""

    left: float
    top: float
    right: float
    bottom: float

    def overlaps(self, other: "Box", gap: float = 0.0) -> bool:
        """Whether two boxes come nearer than `gap` [px]."""
        across = self.left < other.right + gap and other.left < self.right + gap
        return across and self.top < other.bottom + gap and other.top < self.bottom + gap


@dataclass(frozen=True)
class Label:
    """Words in a section: centre [px], type size [px], width and height [px].

    ground: the tissue they stand on; empty outside the tissue. left: whether the left edge is held in place,
    not the centre. pad_px: padding on all sides.
    """

    text: str
    x_px: float
    y_px: float
    size_px: float
    width_px: float
    height_px: float
    ground: str = ""
    left: bool = False
    pad_px: float = PAD_PX

    @property
    def box(self) -> Box:
        """Edges, padding included."""
        across, down = self.width_px / 2.0 + self.pad_px, self.height_px / 2.0 + self.pad_px
        return Box(self.x_px - across, self.y_px - down, self.x_px + across, self.y_px + down)


class Leader(NamedTuple):
    """A line from a dot in the tissue to a label: points (x, y) [px]."""

    points: tuple[tuple[float, float], ...]

    def meets(self, box: Box, gap: float = 1.0) -> bool:
        """Whether the line comes nearer than `gap` [px] to a box."""
        for (x0, y0), (x1, y1) in zip(self.points[:-1], self.points[1:], strict=True):
            beside = max(x0, x1) <= box.left - gap or min(x0, x1) >= box.right + gap
            if beside or max(y0, y1) <= box.top - gap or min(y0, y1) >= box.bottom + gap:
                continue
            x, y = x0 + ALONG * (x1 - x0), y0 + ALONG * (y1 - y0)
            inside = (x > box.left - gap) & (x < box.right + gap) & (y > box.top - gap) & (y < box.bottom + gap)
            if inside.any():
                return True
        return False


Placed = tuple[list[Label], list[Leader]]  # the labels and leaders of one section


class Scale(NamedTuple):
    """A section on the screen: px per mm of width, px per µm of depth, half the width [px], depth shown [px]."""

    per_mm: float
    per_um: float
    half_px: float
    depth_px: float

    def depth(self, curve: Curve, x_px: Floats) -> Any:
        """Depth [px] of a Curve at places across the section [px]; beyond its ends, that of the end."""
        position = np.asarray(x_px, dtype=float) / self.per_mm
        return np.interp(position, curve.position_mm, curve.depth_um) * self.per_um

    def deepest(self, curve: Curve, left_px: float, right_px: float) -> float:
        """Greatest depth [px] of a Curve between two places [px]."""
        return float(self.depth(curve, left_px + (right_px - left_px) * ACROSS).max())

    def highest(self, curve: Curve, left_px: float, right_px: float) -> float:
        """Least depth [px] of a Curve between two places [px]."""
        return float(self.depth(curve, left_px + (right_px - left_px) * ACROSS).min())


def label(
    text: str, x_px: float, y_px: float, size_px: float, ground: str = "", *, left: bool = False, pad_px: float = PAD_PX
) -> Label:
    """A Label about its centre, or from its left edge.

    Args:
        text: lines separated by <br>, bold between <b> and </b>.
        x_px: centre, or left edge where `left` [px].
        y_px: centre [px].
        size_px: type size [px].
        ground: name of a tissue.
        left: whether x_px is the left edge.
        pad_px: padding on all sides [px].
    """
    width, height = text_size(text, size_px)
    middle = x_px + width / 2.0 if left else x_px
    return Label(text, float(middle), float(y_px), size_px, width, height, ground, left, pad_px)


def below_curve(curve: Curve, scale: Scale, text: str, x_px: float, size_px: float) -> float:
    """Least height [px] at which every line of a text about `x_px` stays under a Curve that falls outwards."""
    lines = text.split("<br>")
    step = text_size(lines[0], size_px)[1]
    needed = []
    for i, line in enumerate(lines):
        half = text_size(line, size_px)[0] / 2.0
        needed.append(scale.deepest(curve, x_px - half, x_px + half) + 3.0 - step * (i - len(lines) / 2.0))
    return max(needed)


def wrapped(text: str, width_px: float, size_px: float) -> str:
    """A text broken into lines no wider than `width_px`, separated by <br>.

    >>> wrapped("Not drawn: there is nothing to treat.", 120.0, 12.0)
    'Not drawn: there is<br>nothing to treat.'
    """
    lines = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and text_size(longer, size_px)[0] > width_px:
            lines.append(word)
        else:
            lines[-1] = longer
    return "<br>".join(lines)
