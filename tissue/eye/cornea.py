"""Cornea: the thickness map, and the front surface."""

from dataclasses import dataclass, field

import numpy as np

from tissue.errors import EyeError, given, number
from tissue.limits import keep_reasons, taken_over
from tissue.vocabulary import NOT_GIVEN, Flags, Floats, Words

INDEX = 1.376  # refractive index of the stroma; convention
KERATOMETER = 337.5  # 1000 × (keratometric index − 1); convention
THICKNESS_GROWTH = 0.0088  # per mm²; source thickness_growth

MEASURES = (
    "central_thickness_um", "thinnest_um", "thinnest_x_mm", "thinnest_y_mm",
    "radius_mm", "asphericity", "epithelium_um", "white_to_white_mm",
)  # fmt: skip


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
    `place_missing` is true where a thinnest point was given without its place. `reasons`: why rows of columns are
    refused and have no figures.

    Raises:
        EyeError: a value outside its physical range; a thinnest point thicker than the centre.

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
    reasons = ""  # why rows of columns have no figures: no input, and set when the values are taken over

    def __post_init__(self) -> None:
        reasons = taken_over(self, MEASURES)
        measured = ~np.isnan(number(self.thinnest_um))
        unplaced = np.isnan(number(self.thinnest_x_mm)) | np.isnan(number(self.thinnest_y_mm))
        centre = number(self.central_thickness_um)[()]
        thinnest = given(self.thinnest_um, centre)
        keep_reasons(self, reasons, _thicker_than_centre(centre, thinnest))
        values = {
            "central_thickness_um": centre,
            "thinnest_um": thinnest,
            "thinnest_x_mm": given(self.thinnest_x_mm, 0.0),
            "thinnest_y_mm": given(self.thinnest_y_mm, 0.0),
            "place_missing": (measured & unplaced)[()],
        }
        for name in MEASURES[4:]:
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


def _thicker_than_centre(centre: Floats, thinnest: Floats) -> Words:
    """Why rows are refused whose thinnest point is thicker than the centre; one such eye is refused."""
    thicker = np.asarray(thinnest > centre)
    if not thicker.any():
        return ""
    limit = "a thickness no greater than central_thickness_um"
    if not thicker.ndim:
        raise EyeError("thinnest_um", f"{float(thinnest):g}", limit)
    read = np.broadcast_to(thinnest, thicker.shape)
    pairs = zip(read, thicker, strict=True)
    words = [f"thinnest_um: read {one:g}, accepted {limit}" if out else "" for one, out in pairs]
    return np.array(words)


@dataclass(frozen=True, eq=False)
class Pupil:
    """The pupil: diameter, and place of its centre from the vertex [mm].

    Raises:
        EyeError: a value outside its physical range.
    """

    pupil_mm: Floats = 6.0
    pupil_x_mm: Floats = 0.0
    pupil_y_mm: Floats = 0.0
    reasons = ""  # why rows of columns have no figures: no input, and set when the values are taken over

    def __post_init__(self) -> None:
        keep_reasons(self, taken_over(self, ("pupil_mm", "pupil_x_mm", "pupil_y_mm")))
