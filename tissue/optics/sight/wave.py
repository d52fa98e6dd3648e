"""Wavefront error of an eye with the planned front surface, sharp or as the epithelium smooths it."""

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

import numpy as np
from scipy.fft import dctn, idctn
from scipy.ndimage import map_coordinates

from tissue.eye.cornea import INDEX, Cornea, Pupil
from tissue.ground.errors import require
from tissue.ground.sources import data
from tissue.ground.vocabulary import Array, Floats
from tissue.removal.profile import Profile
from tissue.removal.removal import POWER_PER_CURVATURE, Removal

Tissue = Callable[[Array, Array], Array]  # µm at places in the treated axes [mm]


def fourth_order_um_per_mm4(c40_um: float) -> float:
    """K of an eye whose own spherical aberration over 6 mm is c40_um: W = K·ρ⁴, C40·6√5/a⁴ [µm/mm⁴].

    >>> round(fourth_order_um_per_mm4(0.128), 6)
    0.021201
    """
    radius = data("sight")["eye"]["c40_pupil_mm"] / 2.0
    return float(c40_um * 6.0 * np.sqrt(5.0) / radius**4)


def path_mm(height2_mm2: Floats, sag_mm: Floats, focus_mm: float, vergence_D: float) -> Floats:
    """Optical path [mm] from the far point to a surface and on to the focus, relative to that on the axis.

    air + n·(√(ρ² + (f − S)²) − f); air = S from far away, else −sgn(a)·(√(ρ² + (S − a)²) − |a|), a = 1000/P. Both
    are written so that nothing large is subtracted from its like.

    Args:
        height2_mm2: squared height ρ² [mm²]; sag_mm: of the surface S [mm].
        focus_mm: f [mm]; vergence_D: P of the light that comes in [D].
    """
    S, rho2, p = sag_mm, height2_mm2, vergence_D / 1000.0
    within = INDEX * (rho2 + S * S - 2.0 * focus_mm * S) / (np.sqrt(rho2 + np.square(focus_mm - S)) + focus_mm)
    if p == 0.0:
        return S + within
    air = (2.0 * S - p * (rho2 + S * S)) / (np.sqrt(p * p * rho2 + np.square(1.0 - p * S)) + 1.0)
    return air + within


@dataclass(frozen=True, eq=False)
class Wave:
    """Wavefront error W [µm] of a planned front surface; numbers, not arrays.

    cornea: Cornea; taken: Removal, without its base and as computed, never scaled to a reported depth; eye_c40_um: the
    eye's own spherical aberration before, over 6 mm; tissue: t in the treated axes, that of the profile where None.
    """

    cornea: Cornea
    taken: Removal
    eye_c40_um: float
    tissue: Tissue | None = None

    @cached_property
    def powers_D(self) -> tuple[float, float]:
        """Treated corneal powers along the treated axis and across it [D]."""
        p = self.taken.profile
        along, across = (POWER_PER_CURVATURE * float(c - p.before_per_mm) for c in (p.along_per_mm, p.across_per_mm))
        return along, across

    @property
    def mean_power_D(self) -> float:
        """Mean of the two treated powers [D]."""
        return sum(self.powers_D) / 2.0

    @cached_property
    def focus_mm(self) -> float:
        """Distance of the focus behind the vertex [mm]: 1000·n/(V + P)."""
        return 1000.0 * INDEX / (POWER_PER_CURVATURE / float(self.cornea.radius_mm) + self.mean_power_D)

    def t_um(self, u_mm: Floats, v_mm: Floats) -> Array:
        """Tissue [µm] at places in the treated axes."""
        u, v = np.asarray(u_mm), np.asarray(v_mm)
        if self.tissue is not None:
            return self.tissue(u, v)
        return planned_um(self.taken.profile, float(self.taken.central_unscaled_um), u, v)

    @cached_property
    def central_t_um(self) -> float:
        """Tissue at the treatment centre [µm]."""
        return float(self.t_um(np.zeros(1), np.zeros(1))[0])

    def __call__(self, x_mm: Array, y_mm: Array) -> Array:
        """W [µm] at places from the vertex [mm], shape (places,).

        −1000·(A(s1 + (t − t(θ))/1000, 0) − A(s1, P)) − 500·(n − 1)·((c_u − c_m)·u² + (c_v − c_m)·v²) + K·ρ⁴
        """
        u, v = self.taken.axes(x_mm, y_mm)
        rho2 = x_mm * x_mm + y_mm * y_mm
        before = self.cornea.front_mm(x_mm, y_mm)
        after = before + (self.t_um(u, v) - self.central_t_um) / 1000.0
        path = path_mm(rho2, after, self.focus_mm, 0.0) - path_mm(rho2, before, self.focus_mm, self.mean_power_D)
        p = self.taken.profile
        toric = float(p.along_per_mm - p.across_per_mm) / 2.0 * (u * u - v * v)
        own = fourth_order_um_per_mm4(self.eye_c40_um) * rho2 * rho2
        return np.asarray(own - 1000.0 * path - 500.0 * (INDEX - 1.0) * toric)

    def region(self, x_mm: Array, y_mm: Array) -> np.ndarray:
        """0 in the zone, 1 in the blend, 2 beyond it; places from the vertex [mm]."""
        away = np.hypot(x_mm - float(self.taken.centre_x_mm), y_mm - float(self.taken.centre_y_mm))
        zone, rim = float(self.taken.profile.zone_radius_mm), float(self.taken.radius_mm)
        return (away > zone).astype(int) + (away > rim)


@dataclass(frozen=True, eq=False)
class OwnWave:
    """Wavefront error before surgery [µm]: W = K·ρ⁴, the same call as a Wave."""

    eye_c40_um: float

    def __call__(self, x_mm: Array, y_mm: Array) -> Array:
        """W [µm] at places from the vertex [mm]."""
        return np.asarray(fourth_order_um_per_mm4(self.eye_c40_um) * np.square(x_mm * x_mm + y_mm * y_mm))

    def region(self, x_mm: Array, y_mm: Array) -> np.ndarray:
        """0 everywhere: nothing is treated."""
        return np.zeros(np.shape(x_mm), dtype=int)


def planned_um(profile: Profile, central_um: float, u_mm: Array, v_mm: Array) -> Array:
    """t [µm] at places in the treated axes, shape (places,); the blend is worked out only where it lies.

    The same as `profile.thickness_um`, in a third of the time.
    """
    away2 = u_mm * u_mm + v_mm * v_mm
    t = np.zeros(away2.shape)
    zone = away2 <= float(profile.zone_radius_mm * (1.0 + 1e-12)) ** 2
    t[zone] = central_um - profile.drop_um(u_mm[zone], v_mm[zone])
    blend = ~zone & (away2 < float(profile.zone_radius_mm + profile.blend_mm) ** 2)
    t[blend] = profile.thickness_um(u_mm[blend], v_mm[blend], central_um)
    return t


@dataclass(frozen=True, eq=False)
class Smoothed:
    """Smoothed tissue [µm] as a function of places in the treated axes [mm]: a cubic spline through a grid.

    The tissue is the same in the four quadrants of its axes, so that one quadrant is transformed: cosines alone.
    weights: of the spline, shape (steps, steps), v down the rows; step_mm: of the grid.
    """

    weights: Array
    step_mm: float

    def __call__(self, u_mm: Array, v_mm: Array) -> Array:
        """Smoothed tissue [µm]."""
        places = [np.abs(v_mm) / self.step_mm - 0.5, np.abs(u_mm) / self.step_mm - 0.5]
        return np.asarray(map_coordinates(self.weights, places, order=3, mode="reflect", prefilter=False))


def smoothed(taken: Removal, length_mm: float | None = None) -> Smoothed:
    """The Smoothed tissue of a Removal, without its base and as computed.

    Args:
        taken: Removal of one eye (numbers).
        length_mm: s, the length over which the epithelium smooths [mm]; the published one where None.
    """
    known = data("sight")["smoothing"]
    s, steps = (known["length_mm"] if length_mm is None else length_mm), known["steps"]
    step = known["reach_mm"] / steps
    at = (np.arange(steps) + 0.5) * step
    u, v = np.meshgrid(at, at)
    t = taken.profile.thickness_um(u, v, taken.central_unscaled_um)
    wave = np.pi * np.arange(steps) / known["reach_mm"]
    damped = 1.0 / (1.0 + s**2 * (wave[np.newaxis, :] ** 2 + wave[:, np.newaxis] ** 2))
    between = (2.0 + np.cos(wave * step)) / 3.0  # how a cubic spline weights its neighbours
    spectrum = dctn(t, norm="ortho") * damped / np.outer(between, between)
    return Smoothed(np.asarray(idctn(spectrum, norm="ortho")), step)


def require_surface(cornea: Cornea, pupil: Pupil) -> None:
    """Raise EyeError where the front surface ends within the pupil."""
    farthest = float(np.hypot(pupil.pupil_x_mm, pupil.pupil_y_mm)) + float(pupil.pupil_mm) / 2.0
    ends = (1.0 + float(cornea.asphericity)) * (farthest / float(cornea.radius_mm)) ** 2 >= 1.0
    require(not ends, "asphericity", cornea.asphericity, "a front surface that reaches past the pupil")


def removal_at(taken: Removal, index: int) -> Removal:
    """One row of a Removal of columns, as numbers; a value that every row shares is that of each."""
    profile = Profile(**{f.name: _one(getattr(taken.profile, f.name), index) for f in fields(Profile)})
    kept = [field.name for field in fields(Removal) if field.name not in ("profile", "reasons")]
    rest: dict[str, Any] = {name: _one(getattr(taken, name), index) for name in kept}
    return Removal(profile=profile, **rest)


def _one(value: Floats, index: int) -> float:
    """The value of one row."""
    return float(np.asarray(value).flat[index] if np.ndim(value) else value)
