"""The shape of the eye in a section, and the setting in which it is loaded."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tissue.eye.cornea import sag_mm
from tissue.ground.errors import EyeError
from tissue.ground.limits import RANGES as LIMITS
from tissue.ground.limits import finite, one_word
from tissue.ground.sources import data
from tissue.ground.vocabulary import Floats

NUMBERS = data("mechanics")
RANGES: dict[str, tuple[Floats, Floats]] = {
    "size_mm": (0.02, 5.0),
    "pressure_kPa": (0.01, 10_000.0),
    "poisson": (0.0, 0.4999),
    "modulus_kPa": (0.001, 1e9),
    "sclera_modulus_ratio": (0.001, 1e5),
    "sclera_radius_mm": (4.0, 30.0),
    "sclera_thickness_mm": (0.05, 5.0),
    "sclera_blend_mm": (0.0, 20.0),
    "limbus_mm": (2.0, 12.0),
}  # wider than any eye; values outside are refused
BOUNDARIES = ("sclera", "fixed limbus", "free roller")


@dataclass(frozen=True, eq=False)
class Setting:
    """How the section is loaded, held and divided; the defaults stand in data/mechanics.toml.

    Args:
        size_mm: element size [mm].
        boundary: `sclera` (a shell down to a roller at the equator), `fixed limbus` or `free roller` (no sclera).
        pressure_kPa: on the back surface [kPa].
        poisson: Poisson's ratio [–].
        modulus_kPa: mean modulus of the stroma [kPa].
        sclera_modulus_ratio: modulus of the sclera over it [–].
        sclera_radius_mm, sclera_thickness_mm, sclera_blend_mm, limbus_mm: the shell and where it begins [mm].

    Raises:
        EyeError: an unknown boundary; a value outside its range.
    """

    size_mm: float = NUMBERS["picture_size_mm"]
    boundary: str = "sclera"
    pressure_kPa: float = NUMBERS["pressure_kPa"]
    poisson: float = NUMBERS["poisson"]
    modulus_kPa: float = NUMBERS["modulus_kPa"]
    sclera_modulus_ratio: float = NUMBERS["sclera_modulus_ratio"]
    sclera_radius_mm: float = NUMBERS["sclera_radius_mm"]
    sclera_thickness_mm: float = NUMBERS["sclera_thickness_mm"]
    sclera_blend_mm: float = NUMBERS["sclera_blend_mm"]
    limbus_mm: float = NUMBERS["limbus_mm"]

    def __post_init__(self) -> None:
        one_word(self.boundary, "boundary", BOUNDARIES)
        finite(self, RANGES)


PICTURE = Setting()
SLIDER = Setting(size_mm=NUMBERS["slider_size_mm"])


@dataclass(frozen=True, eq=False)
class EyeShape:
    """Front surface, thickness and epithelium of an eye, the same all round its axis.

    Args:
        radius_mm, asphericity: front conic [mm, –].
        epithelium_mm: epithelium [mm]; it carries nothing and is left out of the solid.
        thickness_mm: function of the distance from the axis [mm] to the thickness along the axis [mm].

    Raises:
        EyeError: a value outside its range.
    """

    radius_mm: float
    asphericity: float
    epithelium_mm: float
    thickness_mm: Callable[[Floats], Floats]

    def __post_init__(self) -> None:
        ranges = {name: LIMITS[name] for name in ("radius_mm", "asphericity")}
        finite(self, ranges | {"epithelium_mm": (0.0, LIMITS["epithelium_um"][1] / 1000.0)})

    @property
    def central_thickness_mm(self) -> float:
        """Thickness on the axis [mm]."""
        return float(self.thickness_mm(0.0))

    def front_mm(self, r_mm: Floats) -> Floats:
        """Sag of the front surface [mm] at a distance from the axis [mm]."""
        return conic_mm(r_mm, self.radius_mm, self.asphericity)

    def slope(self, r_mm: Floats) -> Floats:
        """Slope dz/dr of the front surface [–]: r/√(R² − (1 + Q)·r²)."""
        return r_mm / np.sqrt(self.radius_mm**2 - (1.0 + self.asphericity) * r_mm**2)


def conic_mm(r_mm: Floats, radius_mm: Floats, asphericity: Floats) -> Floats:
    """Sag [mm] of a conic surface at a distance from its axis [mm].

    >>> round(float(conic_mm(3.0, 7.8, -0.2)), 4)
    0.5951
    """
    square = r_mm**2 / radius_mm**2
    return sag_mm(radius_mm * square, (1.0 + asphericity) * square)


def thickness_law(central_mm: float, growth_per_mm2: float) -> Callable[[Floats], Floats]:
    """Thickness T0·(1 + k·r²) [mm] as a function of the distance from the axis [mm].

    >>> round(float(thickness_law(0.55, 0.0088)(3.0)), 5)
    0.59356
    """
    return lambda r_mm: central_mm * (1.0 + growth_per_mm2 * np.square(r_mm))


def thickness_between(
    front: tuple[float, float], back: tuple[float, float], central_mm: float
) -> Callable[[Floats], Floats]:
    """Thickness [mm] between two conics, each (radius [mm], asphericity), as a function of the distance [mm].

    >>> round(float(thickness_between((7.8, -0.2), (6.5, -0.3), 0.55)(3.0)), 4)
    0.6752
    """
    return lambda r_mm: conic_mm(r_mm, *back) + central_mm - conic_mm(r_mm, *front)


def require_limbus(shape: "EyeShape", setting: Setting) -> None:
    """Raise EyeError where the front surface ends before it reaches the limbus."""
    most = (shape.radius_mm / setting.limbus_mm) ** 2 - 1.0
    if shape.asphericity >= most:
        limit = f"below {most:.2f} with this radius, so that the front surface reaches {setting.limbus_mm:g} mm"
        raise EyeError("asphericity", f"{shape.asphericity:g}", limit)
