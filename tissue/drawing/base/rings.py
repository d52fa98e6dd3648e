"""The eye seen from the front, in mm: circles, arcs and places; every renderer draws from it."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.ground.vocabulary import Array, Figure
from tissue.removal.options import HINGE_INSIDE_MM, Option

HINGE_GAP_MM = 0.14  # between the two parallel lines of a hinge, in the drawing only
MARK_FROM, MARK_TO = 0.88, 1.0  # marks of the cylinder axis, as parts of the limbus radius


@lru_cache(256)
def unit_arc(from_deg: float, to_deg: float, step_deg: float) -> tuple[Array, Array]:
    """Points (x, y) of an arc of radius 1."""
    count = max(2, int(np.ceil(abs(to_deg - from_deg) / step_deg)) + 1)
    turn = np.radians(np.linspace(from_deg, to_deg, count))
    return np.cos(turn), np.sin(turn)


class Circle(NamedTuple):
    """A circle from the vertex [mm]."""

    x_mm: float
    y_mm: float
    radius_mm: float

    def arc(self, from_deg: float = 0.0, to_deg: float = 360.0, step_deg: float = 4.0) -> tuple[Array, Array]:
        """Points (x, y) of an arc [mm]."""
        cos, sin = unit_arc(from_deg, to_deg, step_deg)
        return self.x_mm + self.radius_mm * cos, self.y_mm + self.radius_mm * sin

    def point(self, deg: float) -> tuple[float, float]:
        """The point (x, y) at a direction [mm]."""
        turn = np.radians(deg)
        return self.x_mm + self.radius_mm * np.cos(turn), self.y_mm + self.radius_mm * np.sin(turn)


@dataclass(frozen=True, eq=False)
class Front:
    """What is seen from the front; None where an option is not available.

    zone: optical zone. treated: by option, the zone with its blend where no flap lies over it; bare: the option among
    them in which nothing is cut. flap: its circle; flap_arc_deg: the arc that is cut; hinge: two strokes. cap: its
    circle; incision_arc_deg: from, to. flap_name, cap_name: the options they belong to. axis_deg: axis of the minus
    cylinder, NaN without one; axis_marks: strokes at the limbus. thinnest, centre: places (x, y).
    """

    limbus: Circle
    pupil: Circle
    zone: Circle
    centre: tuple[float, float]
    thinnest: tuple[float, float]
    axis_deg: float
    axis_marks: tuple[Any, ...]
    treated: dict[str, Circle]
    flap: Circle | None = None
    flap_arc_deg: tuple[float, float] = (0.0, 360.0)
    hinge: tuple[tuple[Array, Array], ...] = ()
    hinge_deg: float = np.nan
    cap: Circle | None = None
    bare: str = ""
    flap_name: str = ""
    cap_name: str = ""
    incision_arc_deg: tuple[float, float] = (np.nan, np.nan)

    @property
    def cap_there(self) -> Circle:
        """The cap; only asked for in an eye that has one."""
        assert self.cap is not None
        return self.cap

    @property
    def centred(self) -> bool:
        """Whether the treatment centre is the vertex."""
        return bool(np.hypot(*self.centre) < 0.05)

    @property
    def any_available(self) -> bool:
        """Whether any option is available."""
        return bool(self.treated) or self.flap is not None


def front(comparison: Comparison) -> Front:
    """The Front of one eye.

    Args:
        comparison: Comparison of one eye.
    """
    cornea, plan, pupil = comparison.cornea, comparison.treatment, comparison.pupil
    x, y = float(plan.centre_x_mm), float(plan.centre_y_mm)
    limbus = Circle(0.0, 0.0, float(cornea.white_to_white_mm) / 2.0)
    there = {name: result.option for name, result in comparison.results.items() if result.available}
    minus = plan.refraction.minus()
    axis = float(minus.axis_deg) if minus.cylinder_D != 0 else np.nan
    more = _flap(comparison, there, x, y) | _cap(comparison, there, x, y)
    return Front(
        limbus=limbus,
        pupil=Circle(float(pupil.pupil_x_mm), float(pupil.pupil_y_mm), float(pupil.pupil_mm) / 2.0),
        zone=Circle(x, y, float(plan.zone_mm) / 2.0),
        centre=(x, y),
        thinnest=(float(cornea.thinnest_x_mm), float(cornea.thinnest_y_mm)),
        axis_deg=axis,
        axis_marks=_axis_marks(limbus, axis),
        treated={n: Circle(x, y, float(one.removal.radius_mm)) for n, one in there.items() if not one.lifts_flap},
        bare=next((name for name, one in there.items() if not one.cuts), ""),
        **more,
    )


def _axis_marks(limbus: Circle, axis_deg: float) -> tuple[Any, ...]:
    """Two strokes at the limbus on the axis; none without a cylinder."""
    if np.isnan(axis_deg):
        return ()
    ends = [Circle(0.0, 0.0, part * limbus.radius_mm) for part in (MARK_FROM, MARK_TO)]
    strokes = [[circle.point(axis_deg + turn) for circle in ends] for turn in (0.0, 180.0)]
    return tuple(tuple(zip(*stroke, strict=True)) for stroke in strokes)


def _flap(comparison: Comparison, there: dict[str, Option], x: float, y: float) -> Figure:
    """Circle, cut arc and hinge of the flap."""
    option = next((one for one in there.values() if one.lifts_flap), None)
    if option is None:
        return {}
    radius = float(option.cut_diameter_mm) / 2.0
    towards = float(comparison.flap.hinge_deg)
    chord = max(radius - HINGE_INSIDE_MM, 0.0)
    half = float(np.degrees(np.arccos(chord / radius)))
    reach = np.sqrt(radius**2 - chord**2)
    turn = np.radians(towards)
    ux, uy = np.cos(turn), np.sin(turn)
    across = np.array([-reach, reach])
    strokes = tuple((x + d * ux - across * uy, y + d * uy + across * ux) for d in (chord, chord + HINGE_GAP_MM))
    arc = (towards + half, towards + 360.0 - half)
    return dict(flap_name=option.name, flap=Circle(x, y, radius), flap_arc_deg=arc, hinge=strokes, hinge_deg=towards)


def _cap(comparison: Comparison, there: dict[str, Option], x: float, y: float) -> Figure:
    """Circle and incision of the cap."""
    option = next((one for one in there.values() if one.keeps_cap), None)
    if option is None:
        return {}
    radius = float(option.cut_diameter_mm) / 2.0
    half = min(float(np.degrees(float(comparison.cap.incision_mm) / 2.0 / radius)), 180.0)
    towards = float(comparison.cap.incision_deg)
    return {"cap_name": option.name, "cap": Circle(x, y, radius), "incision_arc_deg": (towards - half, towards + half)}
