"""The thickness of a cornea drawn from one point: it grows with the squared distance from there."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from tissue.ground.vocabulary import Floats

THICKNESS_GROWTH = 0.0088  # per mm²; source thickness_growth


class Thickness(Protocol):
    """Thickness over the cornea: one way to ask the paraboloid and an eye's own map."""

    @property
    def thinnest_um(self) -> Floats:
        """The least thickness [µm]."""

    @property
    def thinnest_x_mm(self) -> Floats:
        """Its place from the vertex, to the viewer's right [mm]."""

    @property
    def thinnest_y_mm(self) -> Floats:
        """Its place from the vertex, upwards [mm]."""

    @property
    def sd_um(self) -> float:
        """What a reading is out by, beside the error that is even over the eye [µm]."""

    @property
    def from_one_point(self) -> bool:
        """Whether all of it is drawn from the thinnest point: it need not pass through the measured centre."""

    def thickness_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Thickness [µm] at places from the vertex [mm]."""

    def covered_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Radius of the disc about a place from the vertex [mm] over which it is known."""


@dataclass(frozen=True, eq=False)
class Paraboloid:
    """T(x, y) = T_thin·(1 + k·((x − xt)² + (y − yt)²)), k from published corneas. Source thickness_growth."""

    thinnest_um: Floats
    thinnest_x_mm: Floats
    thinnest_y_mm: Floats
    sd_um: float = 0.0
    from_one_point: bool = True

    @property
    def per_mm2(self) -> Floats:
        """Rise with the squared distance from the thinnest point [µm/mm²]."""
        return self.thinnest_um * THICKNESS_GROWTH

    def thickness_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Thickness [µm] at places from the vertex [mm]."""
        distance2 = np.square(x_mm - self.thinnest_x_mm) + np.square(y_mm - self.thinnest_y_mm)
        return self.thinnest_um + self.per_mm2 * distance2

    def covered_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """It is drawn everywhere."""
        return np.full(np.broadcast(x_mm, y_mm).shape, np.inf)[()]
