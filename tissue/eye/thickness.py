"""The common interface to the thickness over a cornea, whatever it is based on."""

from typing import Protocol

from tissue.ground.vocabulary import Floats


class Thickness(Protocol):
    """Thickness over the cornea; the paraboloid and an eye's own map both have this form."""

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
        """Error of a single reading, apart from the error that is the same over the whole eye [µm]."""

    @property
    def from_one_point(self) -> bool:
        """Whether all of it is drawn from the thinnest point: it need not pass through the measured centre."""

    def thickness_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Thickness [µm] at places from the vertex [mm]."""

    def covered_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Radius of the disc about a place from the vertex [mm] over which it is known."""
