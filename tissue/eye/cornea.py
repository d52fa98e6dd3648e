"""Cornea: the thickness map, and the front surface."""

from dataclasses import dataclass, field

import numpy as np

from tissue.errors import given, number, require
from tissue.vocabulary import NOT_GIVEN, Flags, Floats

INDEX = 1.376  # refractive index of the stroma; convention
KERATOMETER = 337.5  # 1000 × (keratometric index − 1); convention
THICKNESS_GROWTH = 0.0088  # per mm²; source thickness_growth


def sag_mm(x2c: Floats, x2c2: Floats) -> Floats:
    """Sag of a surface of curvature c: x2c = Σ c·x² [mm], x2c2 = Σ K·c²·x² [–], K = 1 + Q.

    s = x2c / (1 + √(1 − x2c2))
    """
    return x2c / (1.0 + np.sqrt(1.0 - x2c2))


@dataclass(frozen=True, eq=False)
class Cornea:
    """What was measured of a cornea; numbers or arrays, NaN or None where not given.

    Args:
        central_thickness_um: thickness at the vertex, epithelium included [µm].
        thinnest_um: least thickness [µm]; the central one where not given.
        thinnest_x_mm, thinnest_y_mm: its place from the vertex [mm]; 0 where not given.
        radius_mm: front apical radius [mm].
        asphericity: front asphericity Q [–].
        epithelium_um: central epithelium [µm].
        white_to_white_mm: corneal diameter [mm].
    `place_missing` is true where a thinnest point was given without its place.

    Raises:
        EyeError: a thinnest point thicker than the centre.

    >>> c = Cornea(548.0, 543.0, -0.6, -0.5)
    >>> round(float(c.thickness_um(0.0, 0.0)), 2)
    545.91
    """

    central_thickness_um: Floats
    thinnest_um: Floats = NOT_GIVEN
    thinnest_x_mm: Floats = NOT_GIVEN
    thinnest_y_mm: Floats = NOT_GIVEN
    radius_mm: Floats = 7.8
    asphericity: Floats = -0.19
    epithelium_um: Floats = 53.0
    white_to_white_mm: Floats = 11.8
    place_missing: Flags = field(init=False)

    def __post_init__(self) -> None:
        measured = ~np.isnan(number(self.thinnest_um))
        unplaced = np.isnan(number(self.thinnest_x_mm)) | np.isnan(number(self.thinnest_y_mm))
        centre = number(self.central_thickness_um)[()]
        thinnest = given(self.thinnest_um, centre)
        require(
            ~(thinnest > centre),
            "thinnest_um",
            thinnest,
            "a thickness no greater than central_thickness_um",
        )
        values = {
            "central_thickness_um": centre,
            "thinnest_um": thinnest,
            "thinnest_x_mm": given(self.thinnest_x_mm, 0.0),
            "thinnest_y_mm": given(self.thinnest_y_mm, 0.0),
            "place_missing": (measured & unplaced)[()],
        }
        for name in ("radius_mm", "asphericity", "epithelium_um", "white_to_white_mm"):
            values[name] = number(getattr(self, name))[()]
        for name, value in values.items():
            object.__setattr__(self, name, value)

    @property
    def stroma_um(self) -> Floats:
        """Thickness of the central stroma [µm]: CCT − E."""
        return self.central_thickness_um - self.epithelium_um

    @property
    def mean_K_D(self) -> Floats:
        """Keratometric power [D]: 337.5/R1."""
        return KERATOMETER / self.radius_mm

    @property
    def thickness_per_mm2(self) -> Floats:
        """Rise of the thickness map with the squared distance from the thinnest point [µm/mm²]."""
        return self.thinnest_um * THICKNESS_GROWTH

    def thickness_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Thickness map [µm] at places from the vertex [mm].

        T(x, y) = T_thin·(1 + k·((x − xt)² + (y − yt)²))
        """
        distance2 = np.square(x_mm - self.thinnest_x_mm) + np.square(y_mm - self.thinnest_y_mm)
        return self.thinnest_um + self.thickness_per_mm2 * distance2

    def front_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Sag of the front surface [mm] at places from the vertex [mm]: the conic R1, Q1."""
        c = 1.0 / self.radius_mm
        r2 = np.square(x_mm) + np.square(y_mm)
        return sag_mm(c * r2, (1.0 + self.asphericity) * np.square(c) * r2)


@dataclass(frozen=True, eq=False)
class Pupil:
    """The pupil: diameter, and place of its centre from the vertex [mm]."""

    pupil_mm: Floats = 6.0
    pupil_x_mm: Floats = 0.0
    pupil_y_mm: Floats = 0.0
