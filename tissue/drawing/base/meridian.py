"""The line a section is cut along: through the treatment centre, at an angle."""

from dataclasses import dataclass

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.words import direction_word
from tissue.ground.vocabulary import Floats

TURN_DEG = 45.0  # up to this angle the viewer's right is drawn on the right; if steeper, superior is


@dataclass(frozen=True, eq=False)
class Meridian:
    """A line through the treatment centre; positions along it count from there [mm].

    x_mm, y_mm: treatment centre from the vertex. angle_deg: as asked, 0–180. direction_deg: the way positions grow,
    over −45 up to 135, so that a flat section keeps the viewer's right and a steep one has superior on the right.
    """

    x_mm: float
    y_mm: float
    angle_deg: float
    direction_deg: float

    @property
    def along(self) -> tuple[float, float]:
        """Unit vector (x, y) in which positions grow."""
        turn = np.radians(self.direction_deg)
        return float(np.cos(turn)), float(np.sin(turn))

    def place(self, position_mm: Floats) -> tuple[Floats, Floats]:
        """Place (x, y) from the vertex [mm] of positions along the line [mm]."""
        ux, uy = self.along
        return self.x_mm + position_mm * ux, self.y_mm + position_mm * uy

    def position_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Position along the line of the foot of a place [mm]."""
        ux, uy = self.along
        return (x_mm - self.x_mm) * ux + (y_mm - self.y_mm) * uy

    def off_mm(self, x_mm: float, y_mm: float) -> float:
        """Distance of a place from the line [mm]."""
        ux, uy = self.along
        return abs((y_mm - self.y_mm) * ux - (x_mm - self.x_mm) * uy)

    def crossings(self, radius_mm: float) -> tuple[float, float]:
        """Positions (low, high) where the line crosses a circle about the vertex [mm]."""
        ux, uy = self.along
        middle = -(self.x_mm * ux + self.y_mm * uy)
        half = np.sqrt(max(radius_mm**2 - self.x_mm**2 - self.y_mm**2 + middle**2, 0.0))
        return middle - half, middle + half

    def end_words(self, side: str) -> tuple[str, str]:
        """Words for the low and the high end: temporal and nasal, inferior and superior …"""
        ux, uy = self.along
        return direction_word(-ux, -uy, side), direction_word(ux, uy, side)


def meridian(comparison: Comparison, angle_deg: float = 0.0) -> Meridian:
    """The Meridian of a plan at an angle.

    Args:
        comparison: Comparison of one eye.
        angle_deg: counter-clockwise from the viewer's right [degrees].
    """
    angle = float(angle_deg) % 180.0
    direction = angle - 180.0 if angle > 90.0 + TURN_DEG else angle
    treatment = comparison.treatment
    return Meridian(float(treatment.centre_x_mm), float(treatment.centre_y_mm), angle, direction)


def angle_through(comparison: Comparison, x_mm: Floats, y_mm: Floats) -> float:
    """Angle [degrees, 0–180] of the line from the treatment centre through a place; 0 where the two are one.

    Args:
        comparison: Comparison of one eye.
        x_mm, y_mm: place from the vertex [mm], such as the thinnest point; 0, 0 is the vertex itself.
    """
    dx, dy = x_mm - comparison.treatment.centre_x_mm, y_mm - comparison.treatment.centre_y_mm
    return float(np.degrees(np.arctan2(dy, dx)) % 180.0) if np.hypot(dx, dy) > 1e-9 else 0.0
