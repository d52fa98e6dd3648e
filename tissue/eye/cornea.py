"""Cornea: the thickness map, and the front surface."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from tissue.eye.paraboloid import Paraboloid
from tissue.ground.errors import given, number
from tissue.ground.limits import keep_reasons, of_kind, refused_rows, taken_over, with_computed
from tissue.ground.vocabulary import NOT_GIVEN, Flags, Floats, Words

if TYPE_CHECKING:
    from tissue.eye.measured.own_map import OwnMap
    from tissue.eye.measured.surface import Surface
    from tissue.eye.thickness import Thickness

INDEX = 1.376  # refractive index of the stroma; convention
KERATOMETER = 337.5  # 1000 × (keratometric index − 1); convention

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
        own_map: OwnMap of one eye. With a thickness in it the thinnest point is that of the map, whatever is given
            here, and the centre that of the map where it is not given.
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
    own_map: "OwnMap | None" = None
    place_missing: Flags = field(init=False)
    reasons = ""  # why rows of columns have no figures: no input, and set when the values are taken over

    def __post_init__(self) -> None:
        if self.own_map is not None:
            from tissue.eye.measured.own_map import OwnMap  # imported here: most eyes have no map

            of_kind(own_map=(self.own_map, OwnMap | None))
        reasons = taken_over(self, MEASURES)
        if self.own_map is not None and self.own_map.thickness is not None:
            _take_from_map(self, self.own_map.thickness)
        measured = ~np.isnan(number(self.thinnest_um))
        unplaced = np.isnan(number(self.thinnest_x_mm)) | np.isnan(number(self.thinnest_y_mm))
        centre = number(self.central_thickness_um)[()]
        thinnest = given(self.thinnest_um, centre)
        keep_reasons(self, reasons, _thicker_than_centre(centre, thinnest) if self.thickness.from_one_point else "")
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
    def thickness(self) -> "Thickness":
        """The thickness over the cornea: the eye's own map, or the paraboloid from the thinnest point."""
        if self.own_map is not None and self.own_map.thickness is not None:
            return self.own_map.thickness
        return self.paraboloid

    @property
    def paraboloid(self) -> Paraboloid:
        """The thickness as it is drawn from the thinnest point alone."""
        return Paraboloid(self.thinnest_um, self.thinnest_x_mm, self.thinnest_y_mm)

    def thickness_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Thickness [µm] at places from the vertex [mm], see `thickness`."""
        return self.thickness.thickness_um(x_mm, y_mm)

    @property
    def epithelium_map(self) -> "Surface | None":
        """The eye's own map of the epithelium; None where one number stands for it everywhere."""
        return None if self.own_map is None else self.own_map.epithelium

    def epithelium_over_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """How much thicker the epithelium is at places [mm] from the vertex than at the centre [µm]; 0 without map."""
        layer = self.epithelium_map
        return 0.0 if layer is None else layer.thickness_um(x_mm, y_mm) - self.epithelium_um

    def without_map(self) -> "Cornea":
        """The same eye with the paraboloid: its thinnest point as typed, otherwise that of the map."""
        own = self.own_map
        if own is None:
            return self
        values = {
            "thinnest_um": own.typed_thinnest_um,
            "thinnest_x_mm": own.typed_x_mm,
            "thinnest_y_mm": own.typed_y_mm,
        }
        if own.thickness is None or np.isnan(number(own.typed_thinnest_um)).any():
            values = {name: getattr(self, name) for name in values}
        values = {name: given(value, 0.0) for name, value in values.items()}
        return with_computed(self, own_map=None, **values)

    def front_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Sag of the front surface [mm] at places from the vertex [mm]: the conic R1, Q1."""
        c = 1.0 / self.radius_mm
        r2 = np.square(x_mm) + np.square(y_mm)
        return sag_mm(c * r2, (1.0 + self.asphericity) * np.square(c) * r2)


def _take_from_map(cornea: Cornea, thickness: "Thickness") -> None:
    """Take the thinnest point over from a map, and the centre where it is not given."""
    values = {name: getattr(thickness, name) for name in ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm")}
    values["central_thickness_um"] = given(cornea.central_thickness_um, thickness.thickness_um(0.0, 0.0))
    for name, value in values.items():
        object.__setattr__(cornea, name, value)


def _thicker_than_centre(centre: Floats, thinnest: Floats) -> Words:
    """The reasons for rows whose thinnest point is thicker than the centre; a single such eye is refused."""
    limit = "a thickness no greater than central_thickness_um"
    return refused_rows(np.logical_not(thinnest > centre), "thinnest_um", thinnest, limit)


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
