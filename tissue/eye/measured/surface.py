"""A measured surface: the smooth surface that fits the readings best, and how it continues beyond them."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from tissue.eye.measured.cover import RAYS, Cover, cover_of
from tissue.eye.measured.disc import least_in_disc
from tissue.eye.measured.readings import Places, Readings, Sectors
from tissue.eye.measured.spline import SIZE, Spline, bending
from tissue.eye.paraboloid import THICKNESS_GROWTH
from tissue.ground.errors import EyeError
from tissue.ground.limits import of_kind
from tissue.ground.vocabulary import Array, Floats

THINNEST_WITHIN_MM = 3.0  # of the vertex
LEAST_COVER_MM = 2.0  # radius about the vertex; less is no map of a cornea
FOUR_OFF_MM = 2.5  # where the four values of a map are read
HELD_MM = 1.0  # the epithelium is kept constant this far beyond its readings
HALVED_MM = 1.2  # half of a ripple of this length is smoothed away
STIFFNESS_MM6 = (HALVED_MM / (2.0 * np.pi)) ** 6
LEAST_JUDGED = 50  # with fewer readings none is compared with the others
APART_UM, APART_SPREADS = 15.0, 8.0  # a reading is an outlier beyond the greater of both
SPREAD_OF_MEDIAN = 1.4826  # SD of a normal distribution over its median absolute deviation
AS_FAR = 0.8  # readings at least this share of the farthest are set aside together
MOST_APART, MOST_APART_SHARE = 3, 0.02  # more outliers than both of these are no mere slips


class Fit(NamedTuple):
    """A surface, the readings it was fitted to, the SD of their distances from it [µm], and those set aside.

    apart_um: distance of each reading from the fit without it [µm].
    """

    spline: Spline
    kept: np.ndarray
    residual_sd_um: float
    apart_um: Array

    @property
    def too_many_apart(self) -> bool:
        """Whether more readings lie apart than a few slips explain."""
        return is_too_many(int((~self.kept).sum()), self.kept.size)


def is_too_many(apart: int, readings: int) -> bool:
    """Whether this many outliers cannot be a few slips.

    >>> is_too_many(3, 20), is_too_many(5, 253), is_too_many(6, 253)
    (False, False, True)
    """
    return apart > MOST_APART and apart > MOST_APART_SHARE * readings


def fit_readings(readings: Readings) -> Fit:
    """The surface through the readings; outliers are set aside one after the other.

    Least Σ wᵢ·(S − dᵢ)² + λ·∬(S_xxx² + 3·S_xxy² + 3·S_xyy² + S_yyy²). A reading is apart where it lies over 15 µm, and
    over 8 spreads of all, from the fit without it; of several the one that lies farthest for what the fit follows it.

    Args:
        readings: Places or Sectors that are used.
    """
    kept = np.ones(readings.value_um.size, dtype=bool)
    while True:
        spline, left, far, pull = _one(readings, kept)
        apart = _are_apart(far, kept) if kept.size >= LEAST_JUDGED else np.zeros_like(kept)
        if not apart.any() or is_too_many(int((~kept).sum()), kept.size):
            return Fit(spline, kept, float(np.std(left[kept])), far)
        kept &= ~(apart & (pull >= AS_FAR * pull[apart].max()))


def _are_apart(far: Array, kept: np.ndarray) -> np.ndarray:
    """The outliers among the readings that are kept."""
    limit = max(APART_UM, APART_SPREADS * SPREAD_OF_MEDIAN * float(np.median(far[kept])))
    return kept & (far > limit)


def _one(readings: Readings, kept: np.ndarray) -> tuple[Spline, Array, Array, Array]:
    """One fit: the surface, and residuals of the readings: plain, from the fit without each [µm], studentised."""
    from scipy.linalg import cho_factor, cho_solve
    from scipy.linalg.lapack import dpotri

    fitted, weight, of_reading = readings.kept(kept).averaged()
    left_side, right_side = fitted.normal(weight)
    factor = cho_factor(left_side + STIFFNESS_MM6 * bending(), lower=True, overwrite_a=True, check_finite=False)
    spline = Spline(cho_solve(factor, right_side, check_finite=False).reshape(SIZE, SIZE))
    left = readings.value_um - readings.predicted_um(spline)
    if kept.size < LEAST_JUDGED:
        return spline, left, np.abs(left), np.abs(left)
    half = dpotri(factor[0], lower=1)[0]
    inverse = np.tril(half) + np.tril(half, -1).T
    share = np.zeros(kept.size)
    share[kept] = readings.kept(kept).weights_mm2() * fitted.reach(inverse)[of_reading]
    room = np.maximum(1.0 - share, 1e-6)
    return spline, left, np.abs(left) / room, np.abs(left) / np.sqrt(room)


@dataclass(frozen=True, eq=False)
class Surface:
    """A surface through readings, in the axes of the eye, from the vertex [mm, µm].

    spline: within the cover. cover: where it is known. fitted: how it was fitted. readings: what it was fitted to.
    sd_um: what a reading is out by [µm]. grows: whether it goes on growing beyond the cover as a cornea does; else it
    is held there. moved_um: what was added to it all. missing: how many readings had no value. left_out: readings that
    were set aside by hand, (x, y, read) [mm, µm].
    """

    spline: Spline
    cover: Cover
    fitted: Fit
    readings: Readings
    sd_um: float = 0.0
    grows: bool = True
    moved_um: Floats = 0.0
    from_one_point: bool = False
    missing: int = 0
    left_out: tuple[tuple[float, float, float], ...] = ()

    def moved(self, by_um: Floats) -> "Surface":
        """The same surface raised everywhere by this much [µm]."""
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
        if not np.any(rho > self._nearest_edge_mm):
            return self.spline.at(x, y) + self.moved_um
        edge = self.edge_mm(x, y)
        inward = np.minimum(1.0, edge / np.maximum(rho, 1e-9))
        found = self.spline.at(x * inward, y * inward) + self.moved_um
        beyond = np.maximum(0.0, rho**2 - edge**2) if self.grows else 0.0
        return found + THICKNESS_GROWTH * self.thinnest_um * beyond

    @cached_property
    def _nearest_edge_mm(self) -> float:
        """How far from the vertex it is known in every direction [mm]."""
        return float(self.cover.edge_mm.min())

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
    of_kind(readings=(readings, Places | Sectors))
    used = readings.used()
    known = cover_of(used) if has_outline(used) else None
    radius = float(known.radius_mm(0.0, 0.0)) if known else 0.0
    if known is None or radius < LEAST_COVER_MM:
        raise EyeError(
            f"{field}.values",
            f"readings that cover {2.0 * radius:.1f} mm about the vertex",
            f"readings that cover a disc of {2.0 * LEAST_COVER_MM:.1f} mm about the vertex, no gap wider than 1.5 mm",
        )
    try:
        found = fit_readings(used)
    except np.linalg.LinAlgError:
        raise EyeError(
            f"{field}.values", "readings that leave the surface open", "readings that determine it"
        ) from None
    return Surface(found.spline, known, found, used, sd_um, grows)


def has_outline(readings: Readings) -> bool:
    """Whether the readings lie about a centre and not in a line."""
    if isinstance(readings, Sectors):
        return bool(readings.value_um.size)
    places = np.column_stack([readings.x_mm, readings.y_mm])
    return len(places) > 2 and bool(np.linalg.matrix_rank(places - places.mean(axis=0), tol=1e-6) == 2)
