"""The plane a patient's pictures lie in [mm]: width and front surface to scale, thickness multiplied by four.

x grows along the meridian, y downwards from the front surface at the treatment centre.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tissue.drawing.base.curve import Curve, clipped, dense, level, upright
from tissue.ground.vocabulary import Array, Floats
from tissue.removal.options import procedures

if TYPE_CHECKING:
    from tissue.drawing.base.outline import Outline

FACTOR = 4.0
STEP_MM = 0.16
EDGE_MM = 0.6  # width over which a settling front is eased at its rim


class Area(NamedTuple):
    """A filled polygon: tissue (`stroma`, `epithelium`, `above`, `removed`, `gap`) and points x, y [mm]."""

    tissue: str
    points: Array


class Stroke(NamedTuple):
    """A line: what it is (`front`, `back`, `side`, `cut`, `floor`, `before`, `measure`) and points x, y [mm]."""

    role: str
    points: Array


@dataclass(frozen=True, eq=False)
class Picture:
    """One step: areas and strokes from the lowest to the uppermost, and places of labels by name (x, y) [mm]."""

    areas: list[Area] = field(default_factory=list)
    strokes: list[Stroke] = field(default_factory=list)
    places: dict[str, tuple[float, float]] = field(default_factory=dict)

    @property
    def top_mm(self) -> float:
        """Height of the uppermost point [mm]; negative above the front surface."""
        parts: list[Area | Stroke] = [*self.areas, *self.strokes]
        return min(float(np.min(part.points[1])) for part in parts)

    @property
    def bottom_mm(self) -> float:
        """Depth of the lowest point [mm]."""
        return max(float(np.max(part.points[1])) for part in self.areas)


class Plane:
    """Brings an Outline drawn flat into the plane.

    outline: the Outline. cut_um, epithelium_um: depths of its layers [µm]. first_mm, last_mm: where the cut begins
    and ends; rim_mm: the same of the treated part.
    """

    def __init__(self, outline: Outline) -> None:
        self.outline, self.cut_um, self.epithelium_um = outline, outline.cut_um, outline.epithelium_um
        self.top = outline.cornea.front_mm(*outline.meridian.place(0.0))
        if outline.available:
            self.first_mm, self.last_mm = (float(end) for end in outline.cut.position_mm[[0, -1]])
            self.rim_mm = float(outline.floor.position_mm[0]), float(outline.floor.position_mm[-1])

    def at(self, curve: Curve, lift_mm: float = 0.0) -> Array:
        """Points [mm] of a Curve of depths below the front surface, lifted by as much."""
        position, depth = dense(curve, STEP_MM)
        fall = self.outline.cornea.front_mm(*self.outline.meridian.place(position)) - self.top
        return np.array([position, fall + depth * FACTOR / 1000.0 - lift_mm])

    def place(self, position_mm: float, depth_um: float) -> tuple[float, float]:
        """One place (x, y) [mm]."""
        x, y = self.at(Curve(np.array([position_mm]), np.array([depth_um])))[:, 0]
        return float(x), float(y)

    def between(self, upper: Curve, lower: Curve, lift_mm: float = 0.0) -> Array:
        """The area between two curves as a polygon."""
        return np.hstack([self.at(upper, lift_mm), self.at(lower, lift_mm)[:, ::-1]])

    def layer(self, low_mm: float, high_mm: float, upper_um: float, lower_um: float, lift_mm: float = 0.0) -> Array:
        """The layer between two depths as a polygon."""
        return self.between(level(low_mm, high_mm, upper_um), level(low_mm, high_mm, lower_um), lift_mm)

    def taken_um(self, position_mm: Floats) -> Floats:
        """What is taken at positions [µm]; nothing beyond the treated part."""
        position, depth = (part[1:-1] for part in self.outline.floor)
        return np.interp(position_mm, position, depth - self.cut_um, left=0.0, right=0.0)

    def settled_um(self, position_mm: Floats) -> Floats:
        """How far the front settles at positions [µm]: by what was taken below, eased at its rim."""
        low, high = self.rim_mm
        beyond = np.maximum(np.maximum(low - position_mm, position_mm - high), 0.0) / EDGE_MM
        return self.taken_um(np.clip(position_mm, low, high)) * (1.0 - eased(beyond))

    def grid(self, low_mm: float, high_mm: float) -> Array:
        """Positions from one end to the other, those of the floor and around its rim among them [mm]."""
        low, high = self.rim_mm
        rims = [end + EDGE_MM * np.linspace(0.0, sign, 9) for end, sign in ((low, -1.0), (high, 1.0))]
        inner = np.concatenate([[low_mm], *rims, self.outline.floor.position_mm, [high_mm]])
        return np.unique(np.clip(inner, low_mm, high_mm))

    def piece(self) -> Array:
        """What is taken, in its place, as a closed polygon; under a flap as far as it is open."""
        o = self.outline
        floor = clipped(o.floor, self.first_mm, self.last_mm) if procedures()[o.name].lifts_flap else o.floor
        return closed(self.at(Curve(*(np.append(part, part[0]) for part in floor))))

    def outer(self, *fronts: Curve) -> list[Stroke]:
        """Strokes of the sides where the section ends, of the front in one or more parts, and of the back surface."""
        o = self.outline
        ends = ((o.low_mm, 0), (o.high_mm, -1))
        sides = [Stroke("side", self.at(upright(x, 0.0, o.back.depth_um[i]))) for x, i in ends]
        return [*sides, *(Stroke("front", self.at(front)) for front in fronts), Stroke("back", self.at(o.back))]


def closed(points: Array) -> Array:
    """A polygon that ends where it begins."""
    return np.hstack([points, points[:, :1]])


def lifted(points: Array, lift_mm: float) -> Array:
    """Points moved straight up [mm]."""
    return points - np.array([[0.0], [lift_mm]])


def turned_about(points: Array, pivot: tuple[float, float], turn_deg: Floats) -> Array:
    """Points turned about a pivot (x, y); a positive turn lifts what lies left of it [degrees, one or each]."""
    a, (x, y) = np.radians(turn_deg), points - np.array(pivot)[:, np.newaxis]
    return np.array([pivot[0] + np.cos(a) * x - np.sin(a) * y, pivot[1] + np.sin(a) * x + np.cos(a) * y])


def eased(share: Floats) -> Floats:
    """A share [0–1, held there] that begins and ends without a bend.

    >>> float(eased(0.5)), float(eased(2.0))
    (0.5, 1.0)
    """
    s = np.clip(share, 0.0, 1.0)
    return s * s * (3.0 - 2.0 * s)
