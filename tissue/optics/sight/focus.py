"""The wavefront over one pupil, seen from its middle, with piston, slope and sphere of the zone taken off."""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from tissue.eye.cornea import Pupil
from tissue.ground.vocabulary import Array
from tissue.optics.sight.cells import Cells, disc_share
from tissue.optics.sight.view import ARCMIN, Line, field
from tissue.optics.sight.wave import OwnWave, Wave
from tissue.optics.zernike import nodes, weights

CELLS = 128  # across the pupil, for what is fitted and for the rays
STEP_MM = 1e-5  # of a slope
BLOCK = 8192  # places worked out at a time: what stands between stays near the processor
LEAST_SHARE = 0.25  # of the pupil inside the zone, below which nothing is fitted
RINGS, SPOKES = 40, 64  # of the fit of C40: an edge within the pupil is met


@dataclass(frozen=True, eq=False)
class InPupil:
    """A wave over a pupil; places are from the pupil's centre.

    wave: Wave or OwnWave; pupil: Pupil. defocus_D: what is added to it afterwards, W −= defocus·r²/2 [D].
    """

    wave: Wave | OwnWave
    pupil: Pupil
    defocus_D: float = 0.0

    @property
    def radius_mm(self) -> float:
        """Radius of the pupil [mm]."""
        return float(self.pupil.pupil_mm) / 2.0

    @cached_property
    def cells(self) -> Cells:
        """The cells in which it is fitted."""
        return cells_over(self.radius_mm, CELLS)

    def _bare_um(self, x_mm: Array, y_mm: Array) -> Array:
        """W as it is [µm]."""
        return self.wave(x_mm + float(self.pupil.pupil_x_mm), y_mm + float(self.pupil.pupil_y_mm))

    def _region(self, x_mm: Array, y_mm: Array) -> np.ndarray:
        return self.wave.region(x_mm + float(self.pupil.pupil_x_mm), y_mm + float(self.pupil.pupil_y_mm))

    @cached_property
    def _bare(self) -> Array:
        return self._bare_um(self.cells.x_mm, self.cells.y_mm)

    @cached_property
    def _in_zone(self) -> Array:
        """Share of each cell that lies in the pupil and in the zone."""
        if isinstance(self.wave, OwnWave):
            return self.cells.share
        taken, pupil = self.wave.taken, self.pupil
        x = self.cells.x_mm + float(pupil.pupil_x_mm - taken.centre_x_mm)
        y = self.cells.y_mm + float(pupil.pupil_y_mm - taken.centre_y_mm)
        return self.cells.share * disc_share(x, y, float(taken.profile.zone_radius_mm), self.cells.step_mm)

    @property
    def can_be_fitted(self) -> bool:
        """Whether a quarter of the pupil at least lies inside the zone."""
        return bool(self._in_zone.sum() >= LEAST_SHARE * self.cells.share.sum())

    @cached_property
    def fitted(self) -> Array:
        """Piston [µm], slopes [µm/mm] and square [µm/mm²] of W over the pupil inside the zone, weighted by area."""
        x, y, weight = self.cells.x_mm, self.cells.y_mm, self._in_zone
        basis = np.stack([np.ones(x.shape), x, y, x * x + y * y])
        weighted = basis * weight  # summed by einsum: threads of so small a product would wait for each other
        square, seen = np.einsum("ik,jk->ij", weighted, basis), np.einsum("ik,k->i", weighted, self._bare)
        return np.asarray(np.linalg.solve(square, seen), dtype=float)

    @property
    def focus_D(self) -> float:
        """The sphere that was taken off [D]."""
        return float(-2.0 * self.fitted[3])

    def __call__(self, x_mm: Array, y_mm: Array) -> Array:
        """W [µm] with piston, slope and sphere taken off."""
        return self._focused(self._bare_um(x_mm, y_mm), x_mm, y_mm)

    def field(self, x_mm: Array, y_mm: Array, line: Line, stiles_crawford_per_mm2: float) -> np.ndarray:
        """Field of a line of light at places, complex, shape (places,)."""
        found = np.empty(x_mm.shape, dtype=np.complex64)
        for first in range(0, x_mm.size, BLOCK):
            part = slice(first, first + BLOCK)
            x, y = x_mm[part], y_mm[part]
            W = self(x, y) - line.defocus_D * (x * x + y * y) / 2.0
            found[part] = field(W, amplitude(x, y, stiles_crawford_per_mm2), line.wavelength_nm)
        return found

    def _focused(self, bare: Array, x_mm: Array, y_mm: Array) -> Array:
        piston, across, up, square = self.fitted
        return bare - piston - across * x_mm - up * y_mm - (square + self.defocus_D / 2.0) * (x_mm**2 + y_mm**2)

    @cached_property
    def wave_rms_um(self) -> float:
        """Standard deviation of W over the pupil by area [µm]."""
        weight = self.cells.share / self.cells.share.sum()
        found = self._focused(self._bare, self.cells.x_mm, self.cells.y_mm)
        return float(np.sqrt((weight * np.square(found - (weight * found).sum())).sum()))

    @cached_property
    def slopes_arcmin(self) -> Array:
        """How far a ray through each cell lands from the axis [′]; NaN where its two ends lie in different regions.

        By one step ahead: the curvature of the steepest blends leaves less than 0.01′.
        """
        x, y = self.cells.x_mm, self.cells.y_mm
        here, region = self._focused(self._bare, x, y), self._region(x, y)
        total = np.zeros(x.shape)
        for dx, dy in ((STEP_MM, 0.0), (0.0, STEP_MM)):
            ahead, whole = self(x + dx, y + dy), self._region(x + dx, y + dy) == region
            total = total + np.where(whole, np.square((ahead - here) / STEP_MM), np.nan)
        return np.asarray(np.sqrt(total) * 1e-3 / ARCMIN)

    def radius_95_arcmin(self, stiles_crawford_per_mm2: float) -> float:
        """Radius about the axis within which 95 % of the rays land [′], by area and by the light that they carry."""
        known = ~np.isnan(self.slopes_arcmin)
        weight = self.cells.share * amplitude(self.cells.x_mm, self.cells.y_mm, stiles_crawford_per_mm2) ** 2
        order = np.argsort(self.slopes_arcmin[known])
        reached = np.cumsum(weight[known][order])
        middle = reached - weight[known][order] / 2.0
        return float(np.interp(0.95 * reached[-1], middle, self.slopes_arcmin[known][order]))

    @cached_property
    def c40_change_um(self) -> float:
        """Least-squares C40 over the pupil of what was added to the eye's own W [µm]."""
        x, y, _ = nodes(RINGS, SPOKES)
        x, y = x * self.radius_mm, y * self.radius_mm
        own = OwnWave(self.wave.eye_c40_um)
        there = x + float(self.pupil.pupil_x_mm), y + float(self.pupil.pupil_y_mm)
        return float(weights(4, 0, RINGS, SPOKES) @ (self.wave(*there) - own(*there)))


@lru_cache(maxsize=16)  # the lines of a view; a server runs for weeks
def cells_over(radius_mm: float, count: int) -> Cells:
    """Cells of a pupil [mm] that `count` of them fill from side to side."""
    return Cells(radius_mm, count, 2.0 * radius_mm / count)


def amplitude(x_mm: Array, y_mm: Array, stiles_crawford_per_mm2: float) -> Array:
    """Amplitude that a place of the pupil counts for: 10^(−ρ·r²/2), r from the pupil's centre; source applegate1993."""
    if stiles_crawford_per_mm2 == 0.0:
        return np.ones(np.shape(x_mm))
    return np.asarray(10.0 ** (-stiles_crawford_per_mm2 / 2.0 * (x_mm**2 + y_mm**2)))
