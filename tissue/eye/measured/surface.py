"""A measured surface: thickness or epithelium over the cornea as the readings have it, and beyond them."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from tissue.errors import EyeError
from tissue.eye.measured.cover import RAYS, Cover, cover_of
from tissue.eye.measured.disc import least_in_disc
from tissue.eye.measured.fit import Fit, fit_readings
from tissue.eye.measured.readings import Readings, Sectors
from tissue.eye.measured.spline import Spline
from tissue.eye.paraboloid import THICKNESS_GROWTH
from tissue.vocabulary import Array, Floats

THINNEST_WITHIN_MM = 3.0  # of the vertex
LEAST_COVER_MM = 2.0  # radius about the vertex; less is no map of a cornea
FOUR_OFF_MM = 2.5  # where the four values of a map are read
HELD_MM = 1.0  # so far beyond its readings the epithelium is held


@dataclass(frozen=True, eq=False)
class Surface:
    """A surface through readings, in the axes of the eye, from the vertex [mm, µm].

    spline: within the cover. cover: where it is known. fitted: how it was fitted. readings: what it was fitted to.
    sd_um: what a reading is out by [µm]. grows: whether it goes on growing beyond the cover as a cornea does; else it
    is held there. moved_um: what was added to it all.
    """

    spline: Spline
    cover: Cover
    fitted: Fit
    readings: Readings
    sd_um: float = 0.0
    grows: bool = True
    moved_um: Floats = 0.0
    from_one_point: bool = False

    def moved(self, by_um: Floats) -> "Surface":
        """The same surface everywhere higher by so much [µm]."""
        return replace(self, moved_um=self.moved_um + by_um)

    @cached_property
    def central_um(self) -> Floats:
        """The value at the vertex [µm]."""
        return self.spline.at(0.0, 0.0) + self.moved_um

    @cached_property
    def _least(self) -> tuple[Array, Array, Array]:
        """The least within 3 mm of the vertex and its place, as far as it is known."""
        within = min(THINNEST_WITHIN_MM, float(self.covered_mm(0.0, 0.0)))
        return least_in_disc(self.spline.at, (0.0, 0.0), within)

    @property
    def thinnest_um(self) -> Floats:
        """The least value within 3 mm of the vertex [µm]."""
        return self._least[0][()] + self.moved_um

    @property
    def thinnest_x_mm(self) -> Floats:
        """Its place from the vertex, to the viewer's right [mm]."""
        return self._least[1][()]

    @property
    def thinnest_y_mm(self) -> Floats:
        """Its place from the vertex, upwards [mm]."""
        return self._least[2][()]

    def covered_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """Radius of the largest disc about places from the vertex [mm] over which it is known."""
        return self.cover.radius_mm(x_mm, y_mm)

    def is_known(self, x_mm: Floats, y_mm: Floats) -> np.ndarray:
        """Whether it is known at places from the vertex [mm], any shape."""
        x, y = np.broadcast_arrays(np.asarray(x_mm, dtype=float), np.asarray(y_mm, dtype=float))
        return self.cover.holds(x.ravel(), y.ravel()).reshape(x.shape)

    def thickness_um(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """The surface [µm] at places from the vertex [mm].

        Beyond the cover, along the ray from the vertex: S_edge + k·S_thin·(ρ² − ρ_edge²), or S_edge where it is held.
        """
        x, y = np.broadcast_arrays(np.asarray(x_mm, dtype=float), np.asarray(y_mm, dtype=float))
        rho = np.hypot(x, y)
        if rho.size and np.nanmax(rho) <= self.cover.edge_mm.min():
            return self.spline.at(x, y) + self.moved_um
        edge = self.edge_mm(x, y)
        inward = np.minimum(1.0, edge / np.maximum(rho, 1e-9))
        found = self.spline.at(x * inward, y * inward) + self.moved_um
        beyond = np.maximum(0.0, rho**2 - edge**2) if self.grows else 0.0
        return found + THICKNESS_GROWTH * self.thinnest_um * beyond

    def edge_mm(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """How far from the vertex it is known in the direction of places [mm]."""
        turn = np.arctan2(y_mm, x_mm) / (2.0 * np.pi) % 1.0
        edge = self.cover.edge_mm
        return np.interp(turn, np.arange(RAYS + 1) / RAYS, np.append(edge, edge[0]))

    @cached_property
    def greatest_um(self) -> float:
        """The greatest value where it is known, on rings 0.25 mm apart [µm]."""
        x, y = ring_places(0.25, 5.5)
        known = self.cover.holds(x, y)
        return float(np.max(np.asarray(self.spline.at(x[known], y[known])))) + float(self.moved_um)

    def four_um(self) -> dict[str, float]:
        """The values 2.5 mm to the right, up, left and down [µm], NaN where it is not known."""
        places = {"right": (1.0, 0.0), "up": (0.0, 1.0), "left": (-1.0, 0.0), "down": (0.0, -1.0)}
        x, y = FOUR_OFF_MM * np.array(list(places.values())).T
        values = np.where(self.cover.holds(x, y), self.spline.at(x, y) + self.moved_um, np.nan)
        return dict(zip(places, map(float, values), strict=True))


def ring_places(step_mm: float, radius_mm: float) -> tuple[Array, Array]:
    """Places on rings about the vertex, rings and places on them so far apart [mm]."""
    rings = np.arange(0.0, radius_mm + step_mm / 2.0, step_mm)
    turns = [np.arange(max(1, int(np.ceil(2.0 * np.pi * ring / step_mm)))) for ring in rings]
    angle = [2.0 * np.pi * turn / turn.size for turn in turns]
    x = np.concatenate([ring * np.cos(part) for ring, part in zip(rings, angle, strict=True)])
    y = np.concatenate([ring * np.sin(part) for ring, part in zip(rings, angle, strict=True)])
    return x, y


def measured_surface(
    readings: Readings, sd_um: float = 0.0, grows: bool = True, field: str = "thickness_map"
) -> Surface:
    """The Surface through readings.

    Args:
        readings: Places or Sectors with a value each, in the axes of the eye.
        sd_um: what a reading is out by [µm].
        grows: whether it goes on growing beyond the readings, as thickness does; else it is held there.
        field: what an error calls it.

    Raises:
        EyeError: too few readings, or a disc of 4 mm about the vertex that they do not cover.
    """
    used = readings.used()
    known = cover_of(used) if has_outline(used) else None
    radius = float(known.radius_mm(0.0, 0.0)) if known else 0.0
    if known is None or radius < LEAST_COVER_MM:
        raise EyeError(
            f"{field}.values",
            f"readings that cover {2.0 * radius:.1f} mm about the vertex",
            f"readings that cover a disc of {2.0 * LEAST_COVER_MM:.1f} mm about the vertex, no gap wider than 1.5 mm",
        )
    found = fit_readings(used)
    return Surface(found.spline, known, found, used, sd_um, grows)


def has_outline(readings: Readings) -> bool:
    """Whether the readings lie about a centre and not in a line."""
    if isinstance(readings, Sectors):
        return bool(readings.value_um.size)
    places = np.column_stack([readings.x_mm, readings.y_mm])
    return len(places) > 2 and bool(np.linalg.matrix_rank(places - places.mean(axis=0), tol=1e-6) == 2)
