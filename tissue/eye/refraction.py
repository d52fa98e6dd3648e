"""Refraction: meridians, vertex distance, power vector and the two cylinder forms."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from tissue.ground.errors import number
from tissue.ground.limits import keep_reasons, taken_over, with_computed
from tissue.ground.vocabulary import Flags, Floats


class PowerVector(NamedTuple):
    """Spherical equivalent and the two crossed cylinders [D] (Thibos, Wheeler, Horner 1997)."""

    SE_D: Floats
    J0_D: Floats
    J45_D: Floats


@dataclass(frozen=True, eq=False)
class Refraction:
    """A sphere, a cylinder and its axis at a vertex distance; numbers or arrays.

    Args:
        sphere_D: sphere along the axis [D].
        cylinder_D: cylinder, either sign [D].
        axis_deg: axis, counter-clockwise from the viewer's right [degrees].
        vertex_mm: distance of the spectacle plane from the cornea [mm]; 0 is the cornea.
    `reasons`: why rows of columns are refused and have no figures.

    Raises:
        EyeError: a value outside its physical range.

    >>> Refraction(-6.0, -1.25, 170.0).plus().sphere_D
    np.float64(-7.25)
    """

    sphere_D: Floats
    cylinder_D: Floats = 0.0
    axis_deg: Floats = 0.0
    vertex_mm: Floats = 12.0
    reasons = ""  # why rows of columns have no figures: no input, and set when the values are taken over

    def __post_init__(self) -> None:
        keep_reasons(self, taken_over(self, ("sphere_D", "cylinder_D", "axis_deg", "vertex_mm")))
        for name in ("sphere_D", "cylinder_D", "axis_deg", "vertex_mm"):
            object.__setattr__(self, name, number(getattr(self, name))[()])

    def powers(self) -> tuple[Floats, Floats]:
        """Powers along the axis and across it [D].

        P = S along A, S + C along A + 90.

        >>> [float(p) for p in Refraction(-6.0, -1.25, 170.0).powers()]
        [-6.0, -7.25]
        """
        return self.sphere_D, self.sphere_D + self.cylinder_D

    def _turned(self, turn: Flags) -> "Refraction":
        """The other spelling where `turn` is true; axis in 1–180."""
        axis = np.where(turn, self.axis_deg + 90.0, self.axis_deg) % 180.0
        return with_computed(
            self,
            sphere_D=np.where(turn, self.sphere_D + self.cylinder_D, self.sphere_D)[()],
            cylinder_D=np.where(turn, -self.cylinder_D, self.cylinder_D)[()],
            axis_deg=np.where(axis == 0.0, 180.0, axis)[()],
        )

    def minus(self) -> "Refraction":
        """The same refraction with a minus cylinder, axis in 0–180 exclusive of 0."""
        return self._turned(self.cylinder_D > 0)

    def plus(self) -> "Refraction":
        """The same refraction with a plus cylinder, axis in 0–180 exclusive of 0."""
        return self._turned(self.cylinder_D < 0)

    def power_vector(self) -> PowerVector:
        """Power vector [D]; source thibos1997.

        SE = S + C/2, J0 = −(C/2)·cos 2A, J45 = −(C/2)·sin 2A

        >>> [round(float(v), 6) for v in Refraction(-3.0, -1.5, 20.0).power_vector()]
        [-3.75, 0.574533, 0.482091]
        """
        half = self.cylinder_D / 2.0
        angle = np.radians(2.0 * self.axis_deg)
        return PowerVector(self.sphere_D + half, -half * np.cos(angle), -half * np.sin(angle))

    def at_cornea(self) -> "Refraction":
        """The refraction at the corneal plane, each meridian alone.

        F_c = F / (1 − d·F/1000)

        >>> round(float(Refraction(-10.0).at_cornea().sphere_D), 3)
        -8.929
        """
        along, across = (F / (1.0 - self.vertex_mm * F / 1000.0) for F in self.powers())
        return with_computed(self, sphere_D=along, cylinder_D=across - along, vertex_mm=np.float64(0.0))

    def at_vertex(self, vertex_mm: Floats) -> "Refraction":
        """A corneal-plane refraction seen from a spectacle plane: the inverse of `at_cornea`.

        F = F_c / (1 + d·F_c/1000)
        """
        distance = number(vertex_mm)[()]
        along, across = (F / (1.0 + distance * F / 1000.0) for F in self.powers())
        return with_computed(self, sphere_D=along, cylinder_D=across - along, vertex_mm=distance)

    def less(self, target_D: Floats) -> "Refraction":
        """What is to be treated where `target_D` (spherical, same plane) [D] is wanted in the end.

        A treatment acts on the cornea: there, each meridian alone, the target is taken off; the rest is seen from the
        same spectacle plane again. Without a target nothing changes.

        F_c = F_c(measured) − F_c(target)

        >>> treated = Refraction(-9.0, vertex_mm=13.5).less(-1.5)
        >>> round(float(treated.at_cornea().sphere_D), 3), round(float(treated.sphere_D), 2)
        (-6.555, -7.19)
        """
        target = number(target_D)
        at_cornea, aim = self.at_cornea(), Refraction(target, vertex_mm=self.vertex_mm).at_cornea()
        rest = with_computed(at_cornea, sphere_D=at_cornea.sphere_D - aim.sphere_D)
        seen = rest.at_vertex(self.vertex_mm)
        aimed = target != 0
        return with_computed(
            self,
            sphere_D=np.where(aimed, seen.sphere_D, self.sphere_D)[()],
            cylinder_D=np.where(aimed, seen.cylinder_D, self.cylinder_D)[()],
        )


def from_power_vector(vector: Iterable[Floats], vertex_mm: Floats = 12.0) -> Refraction:
    """Refraction in minus form from a power vector [D]; axis 180 where there is no cylinder.

    C = −2·√(J0² + J45²), S = SE − C/2, A = ½·arctan(J45/J0)

    >>> r = from_power_vector(Refraction(-4.75, 1.5, 110.0).power_vector())
    >>> float(round(r.sphere_D, 9)), float(round(r.cylinder_D, 9)), float(round(r.axis_deg, 9))
    (-3.25, -1.5, 20.0)
    """
    SE, J0, J45 = (number(v) + 0.0 for v in vector)  # −0 becomes 0: arctan2 tells them apart
    C = -2.0 * np.hypot(J0, J45)
    axis = np.degrees(np.arctan2(J45, J0)) / 2.0 % 180.0
    return Refraction(SE - C / 2.0, C, np.where(axis == 0.0, 180.0, axis), vertex_mm)
