"""The shape of the tissue a correction takes: two surfaces over the zone, and an eased blend.

Squares are np.square here: `**2` of a single number differs from that of a column in the last digit.
"""

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from tissue.eye.cornea import sag_mm
from tissue.ground.vocabulary import Array, Floats, Places

ANGLES = 6  # Gauss–Chebyshev nodes in cos 2θ: exact for harmonics up to 22θ of a smooth function


@dataclass(frozen=True, eq=False)
class Profile:
    """Surfaces before and after, in axes u along and v across the treated axis; numbers or arrays.

    s = (c_u·u² + c_v·v²)/(1 + √(1 − K·(c_u²u² + c_v²v²))), thickness t = t_c + s_after − s_before.
    K = 1 for `munnerlyn`, 0 for `parabolic`, 1 + Q for `conic`; source munnerlyn1988.

    Args:
        before_per_mm: curvature before [1/mm].
        along_per_mm, across_per_mm: curvatures after, along the axis and across it [1/mm].
        K_before, K_after: conic factors [–].
        zone_radius_mm, blend_mm: radius of the optical zone, width of the blend [mm].
    """

    before_per_mm: Floats
    along_per_mm: Floats
    across_per_mm: Floats
    K_before: Floats
    K_after: Floats
    zone_radius_mm: Floats
    blend_mm: Floats

    def __post_init__(self) -> None:
        names = [field.name for field in fields(self)]
        for name, column in zip(names, np.broadcast_arrays(*(getattr(self, name) for name in names)), strict=True):
            object.__setattr__(self, name, column[()])

    @cached_property
    def principal(self) -> Array:
        """Curvatures after along the two principal meridians, stacked [1/mm], shape (2, …)."""
        return np.stack([self.along_per_mm, self.across_per_mm])

    @property
    def largest_radius_mm(self) -> Floats:
        """Greatest zone radius over which both surfaces exist [mm]; infinite for a parabola."""
        steepest = np.maximum(
            self.K_before * np.square(self.before_per_mm), (self.K_after * np.square(self.principal)).max(axis=0)
        )
        with np.errstate(divide="ignore"):
            return 1.0 / np.sqrt(np.maximum(steepest, 0.0))

    def drop_um(self, u_mm: Floats, v_mm: Floats) -> Floats:
        """s_before − s_after [µm] at places in the treated axes [mm]."""
        cu, cv = self.along_per_mm, self.across_per_mm
        u2, v2 = np.square(u_mm), np.square(v_mm)
        c = self.before_per_mm
        before = sag_mm(c * (u2 + v2), self.K_before * np.square(c) * (u2 + v2))
        after = sag_mm(cu * u2 + cv * v2, self.K_after * (np.square(cu) * u2 + np.square(cv) * v2))
        return 1000.0 * (before - after)

    def _drop_on_meridians(self, radius2: Floats) -> Array:
        """s_before − s_after [µm] on both principal meridians, shape (2, …), at squared radii [mm²]."""
        c0, c = self.before_per_mm, self.principal
        before = sag_mm(c0 * radius2, self.K_before * np.square(c0) * radius2)
        after = sag_mm(c * radius2, self.K_after * np.square(c) * radius2)
        return np.asarray(1000.0 * (before - after))

    def edge_slope(self, cos2: Floats) -> Floats:
        """d(s_after − s_before)/dρ [µm/mm] at the zone edge, where cos² of the angle from the axis is given."""
        return self.slope(self.zone_radius_mm, cos2)

    def slope(self, radius_mm: Floats, cos2: Floats) -> Floats:
        """d(s_after − s_before)/dρ [µm/mm] at a radius within the zone, where cos² of the angle from the axis is given.

        ds/dρ = c(θ)·ρ/√(1 − K·g(θ)·ρ²), c and g the means of c_u, c_v and of their squares by cos²
        """
        a, c0 = radius_mm, self.before_per_mm
        c, g = self.mixed(cos2)
        after = c / np.sqrt(1.0 - self.K_after * g * np.square(a))
        return 1000.0 * a * (after - c0 / np.sqrt(1.0 - self.K_before * np.square(c0) * np.square(a)))

    def mixed(self, cos2: Floats) -> tuple[Floats, Floats]:
        """Curvature and squared curvature along a direction [1/mm, 1/mm²]."""
        cu, cv = self.along_per_mm, self.across_per_mm
        return cv + (cu - cv) * cos2, np.square(cv) + (np.square(cu) - np.square(cv)) * cos2

    @cached_property
    def _edge_drop(self) -> Array:
        """s_before − s_after [µm] at the zone edge on both principal meridians, shape (2, …)."""
        return self._drop_on_meridians(np.square(self.zone_radius_mm))

    @cached_property
    def _turning_drop(self) -> Array:
        """s_before − s_after [µm] at the turning point of both principal meridians, shape (2, …)."""
        return self._drop_on_meridians(self._turning_radius2)

    @cached_property
    def _turning_radius2(self) -> Array:
        """Squared radius [mm²] where the two conics are parallel on a principal meridian; 0 where nowhere."""
        c0, c = self.before_per_mm, self.principal
        with np.errstate(divide="ignore", invalid="ignore"):
            radius2 = (np.square(c0) - np.square(c)) / (np.square(c0) * np.square(c) * (self.K_after - self.K_before))
            inside = (radius2 > 0) & (radius2 < np.square(self.zone_radius_mm))
        return np.where(inside, radius2, 0.0)

    def central_um(self) -> tuple[Floats, Floats]:
        """Central removal [µm] as (what the refraction takes, what the blend adds).

        The first is max(s_before − s_after) over the closed zone, the sum also reaches
        max over θ of (s_before − s_after)(edge) + max(0, −t′(edge))·w/2. Both lie on principal meridians.
        """
        highest = np.maximum(self._edge_drop, self._turning_drop).max(axis=0)
        refraction = np.maximum(highest, 0.0)
        falling = np.maximum(-self._meridian_slopes, 0.0)
        eased = (self._edge_drop + falling * self.blend_mm / 2.0).max(axis=0)
        return refraction, np.maximum(eased - refraction, 0.0)

    @cached_property
    def _meridian_slopes(self) -> Array:
        """Edge slope of t on both principal meridians [µm/mm], shape (2, …)."""
        return np.stack([self.edge_slope(1.0), self.edge_slope(0.0)])

    def deepest(self, central_um: Floats) -> tuple[Floats, Floats, Places]:
        """Deepest removal: thickness [µm], radius [mm], and meridian (0 along, 1 across the axis)."""
        candidates, radii = self._stationary(central_um)
        first = np.argmax(candidates >= candidates.max(axis=0) - 1e-9, axis=0)
        pick = first[np.newaxis]
        return (
            np.take_along_axis(candidates, pick, axis=0)[0],
            np.take_along_axis(np.broadcast_to(radii, candidates.shape), pick, axis=0)[0],
            np.maximum(first - 1, 0) // 3,
        )

    def _stationary(self, central_um: Floats) -> tuple[Array, Array]:
        """Thickness [µm] and radius [mm] at the centre, then edge, turning point and blend of each meridian."""
        edge, turning = central_um - self._edge_drop, central_um - self._turning_drop
        rise = self._meridian_slopes * self.blend_mm
        B = 2.0 * edge + rise
        with np.errstate(divide="ignore", invalid="ignore"):
            s = np.where(rise > 0, rise / (3.0 * B), 0.0)
        crest = np.square(1.0 - s) * (edge + B * s)
        radius = np.broadcast_to(self.zone_radius_mm, edge.shape[1:])
        rows = [np.broadcast_to(central_um, radius.shape)]
        radii = [np.zeros(radius.shape)]
        for i in (0, 1):
            rows += [edge[i], turning[i], crest[i]]
            radii += [radius, np.sqrt(self._turning_radius2[i]), radius + s[i] * self.blend_mm]
        return np.stack(rows), np.stack(radii)

    def rim_um(self, central_um: Floats) -> Floats:
        """Greatest thickness at the zone edge [µm]."""
        return (central_um - self._edge_drop).max(axis=0)

    def ring_um(self, central_um: Floats) -> Floats:
        """What no thickness in the blend exceeds [µm]: t_e + 4/27·max(0, m·w), for (1 − s)²·s is at most 4/27."""
        rising = np.maximum(self._meridian_slopes.max(axis=0), 0.0)
        return self.rim_um(central_um) + 4.0 / 27.0 * rising * self.blend_mm

    def thickness_um(self, u_mm: Floats, v_mm: Floats, central_um: Floats) -> Floats:
        """Removal t [µm] at places in the treated axes [mm]: zone, blend, nothing beyond.

        In the blend t = (1 − s)²·(t_e + (2·t_e + m·w)·s), s from 0 at the edge to 1: cubic Hermite.
        """
        a, w = self.zone_radius_mm, self.blend_mm
        radius = np.hypot(u_mm, v_mm)
        inward = np.minimum(1.0, a / np.maximum(radius, 1e-12))
        ue, ve = u_mm * inward, v_mm * inward
        t = central_um - self.drop_um(ue, ve)
        cos2 = np.square(u_mm / np.maximum(radius, 1e-12))
        s = (radius - a) / np.maximum(w, 1e-12)
        eased = np.square(1.0 - s) * (t + (2.0 * t + self.edge_slope(cos2) * w) * s)
        return np.where(radius <= a * (1.0 + 1e-12), t, np.where(radius < a + w, eased, 0.0))[()]

    def volume_mm3(self, central_um: Floats) -> Floats:
        """Volume of t over zone and blend [mm³], t in µm.

        Along a meridian both integrals are closed (∫s·ρdρ = c·a⁴·(1 + 2y)/(6·(1 + y)²), y = √(1 − K·g·a²));
        around, Gauss–Chebyshev nodes in cos 2θ.
        """
        a, w = self.zone_radius_mm, self.blend_mm
        angle = (np.arange(ANGLES) + 0.5) * np.pi / (2.0 * ANGLES)
        cos2 = (np.cos(angle) ** 2).reshape((ANGLES,) + (1,) * np.ndim(central_um))
        c, g = self.mixed(cos2)
        c0 = self.before_per_mm
        sags = _sag_moment(c, self.K_after * g, a) - _sag_moment(c0, self.K_before * np.square(c0), a)
        a2 = np.square(a)
        zone = central_um * a2 / 2.0 + 1000.0 * sags
        drop = sag_mm(c0 * a2, self.K_before * np.square(c0) * a2) - sag_mm(c * a2, self.K_after * g * a2)
        edge = central_um - 1000.0 * drop
        B = 2.0 * edge + self.edge_slope(cos2) * w
        blend = w * (a * (edge / 3.0 + B / 12.0) + w * (edge / 12.0 + B / 30.0))
        return 2.0 * np.pi * (zone + blend).mean(axis=0) / 1000.0


def _sag_moment(c: Floats, Kg: Floats, a: Floats) -> Floats:
    """∫ s(ρ)·ρ dρ from 0 to a [mm³] along one direction."""
    y = np.sqrt(1.0 - Kg * np.square(a))
    return c * np.square(np.square(a)) * (1.0 + 2.0 * y) / (6.0 * np.square(1.0 + y))
