"""Where a map is known: near a reading and inside the outline of all readings, or within a sector that has a value."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from tissue.eye.measured.readings import Places, Readings, Sectors
from tissue.ground.vocabulary import Array, Floats

NEAR_MM, BEYOND_MM = 0.75, 0.1  # of a reading, and of the outline of them all
FARTHEST_MM = 6.0
RAYS, STRIDE_MM, HALVINGS = 180, 0.1, 10


def cover_of(readings: Readings) -> "Cover":
    """The Cover of readings."""
    return AroundPlaces(readings) if isinstance(readings, Places) else InSectors(readings)


class Cover:
    """Where a map is known, for readings at places and for sectors alike."""

    def holds(self, x_mm: Array, y_mm: Array) -> np.ndarray:
        """Whether the map is known at places from the vertex [mm], one-dimensional."""
        raise NotImplementedError

    @cached_property
    def edge_mm(self) -> Array:
        """How far out the map is known along each of RAYS rays from the vertex [mm]."""
        return self._ends(0.0, 0.0)[1]

    @cached_property
    def _found(self) -> dict[tuple[float, float], tuple[Array, Array]]:
        """Ends of the rays found before, by centre [mm]."""
        return {}

    def radius_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Radius of the largest disc about a centre from the vertex [mm] over which the map is known; any shape."""
        centres = np.broadcast_arrays(np.asarray(x_mm, dtype=float), np.asarray(y_mm, dtype=float))
        found = np.array(
            [self._one_radius(float(x), float(y)) for x, y in zip(*(c.flat for c in centres), strict=True)]
        )
        return found.reshape(centres[0].shape)[()]

    def _one_radius(self, x: float, y: float) -> float:
        """The radius about one centre [mm]."""
        return float("nan") if np.isnan(x + y) else float(self._ends(x, y)[0].min())

    def _ends(self, x: float, y: float) -> tuple[Array, Array]:
        """The ends along the rays from a centre, looked for once."""
        if (x, y) not in self._found:
            self._found[x, y] = self._along(x, y)
        return self._found[x, y]

    def _along(self, x: float, y: float) -> tuple[Array, Array]:
        """Along rays from a centre: where the map first ends, and where it ends for good [mm]; 0 where unknown."""
        angle = np.arange(RAYS) * 2.0 * np.pi / RAYS
        cos, sin = np.cos(angle), np.sin(angle)
        rho = np.arange(0.0, FARTHEST_MM + STRIDE_MM, STRIDE_MM)[:, None]
        known = self.holds((x + rho * cos).ravel(), (y + rho * sin).ravel()).reshape(rho.size, RAYS)
        first = np.where(known.all(axis=0), rho.size, known.argmin(axis=0))
        last = np.where(known.any(axis=0), rho.size - known[::-1].argmax(axis=0), 0)
        return self._bisected(x, y, cos, sin, first), self._bisected(x, y, cos, sin, last)

    def _bisected(self, x: float, y: float, cos: Array, sin: Array, steps: np.ndarray) -> Array:
        """The end between two steps of each ray [mm]."""
        low, high = np.maximum(steps - 1, 0) * STRIDE_MM, steps * STRIDE_MM
        for _ in range(HALVINGS):
            middle = (low + high) / 2.0
            known = self.holds(x + middle * cos, y + middle * sin)
            low, high = np.where(known, middle, low), np.where(known, high, middle)
        return low


@dataclass(frozen=True, eq=False)
class AroundPlaces(Cover):
    """Known within 0.75 mm of a reading and 0.1 mm of the outline (convex hull) of them all."""

    readings: Places

    @cached_property
    def _places(self) -> Array:
        return np.column_stack([self.readings.x_mm, self.readings.y_mm])

    @cached_property
    def _near(self) -> Any:
        """The tree of SciPy that finds the nearest reading."""
        from scipy.spatial import cKDTree

        return cKDTree(self._places)

    @cached_property
    def _outline(self) -> Array:
        """Corners of the convex hull, counter-clockwise [mm]."""
        from scipy.spatial import ConvexHull

        return self._places[ConvexHull(self._places).vertices]

    def holds(self, x_mm: Array, y_mm: Array) -> np.ndarray:
        """Whether the map is known at places from the vertex [mm], one-dimensional."""
        places = np.column_stack([x_mm, y_mm])
        inside = _is_near_outline(places, self._outline)
        found = np.zeros(inside.size, dtype=bool)
        distance, _ = self._near.query(places[inside], distance_upper_bound=NEAR_MM * (1.0 + 1e-12))
        found[inside] = np.isfinite(distance)
        return found


def _is_near_outline(places: Array, corners: Array) -> np.ndarray:
    """Which places lie inside a convex outline (corners counter-clockwise) or BEYOND_MM about it."""
    sides = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(*sides.T)
    outwards = np.column_stack([sides[:, 1], -sides[:, 0]]) / length[:, None]
    out = (places @ outwards.T - (corners * outwards).sum(axis=1)).max(axis=1)  # no more than the distance
    found = out <= BEYOND_MM
    at_rim = np.flatnonzero(found & (out > 0.0))
    from_corner = places[at_rim, None, :] - corners
    along = np.clip((from_corner * sides).sum(axis=2) / length**2, 0.0, 1.0)
    away = from_corner - along[..., None] * sides
    found[at_rim] = np.hypot(away[..., 0], away[..., 1]).min(axis=1, initial=np.inf) <= BEYOND_MM
    return found


@dataclass(frozen=True, eq=False)
class InSectors(Cover):
    """Known within every sector that has a value, edges included."""

    readings: Sectors

    def holds(self, x_mm: Array, y_mm: Array) -> np.ndarray:
        """Whether the map is known at places from the vertex [mm], one-dimensional."""
        of, hair = self.readings, 1e-9
        rho, angle = np.hypot(x_mm, y_mm)[:, None], np.degrees(np.arctan2(y_mm, x_mm))[:, None]
        ring = (rho >= of.inner_mm - hair) & (rho <= of.outer_mm + hair)
        turned = np.abs((angle - of.middle_deg + 180.0) % 360.0 - 180.0)
        return np.asarray((ring & (turned <= of.width_deg / 2.0 + hair)).any(axis=1))
