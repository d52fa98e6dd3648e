"""Results of a solved plan in space: ratios at places, and maps over the cornea."""

from dataclasses import dataclass

import numpy as np

from tissue.ground.vocabulary import Array

REACH_MM, STEP_MM = 4.0, 0.25
GRID_MM = np.arange(-REACH_MM, REACH_MM + STEP_MM / 2.0, STEP_MM)


@dataclass(frozen=True, eq=False)
class Place:
    """Stress and strain behind the cut near one place, over those of the intact eye."""

    bed_stress_ratio: float
    bed_strain_ratio: float


@dataclass(frozen=True, eq=False)
class Worst:
    """The greatest ratios of a map within the treated disc, and where they lie [mm]."""

    bed_stress_ratio: float
    x_mm: float
    y_mm: float
    bed_strain_ratio: float
    strain_x_mm: float
    strain_y_mm: float


@dataclass(frozen=True, eq=False)
class BedMap:
    """Column means behind the cut over those of the intact eye, on a grid about the vertex; rows y, NaN beyond 4 mm."""

    x_mm: np.ndarray
    y_mm: np.ndarray
    bed_stress_ratio: np.ndarray
    bed_strain_ratio: np.ndarray

    def worst(self, centre: tuple[float, float], radius_mm: float) -> Worst:
        """The greatest ratios within a disc.

        Args:
            centre: of the disc, from the vertex [mm].
            radius_mm: its radius [mm].
        """
        x, y = np.meshgrid(self.x_mm, self.y_mm)
        within = np.hypot(x - centre[0], y - centre[1]) <= radius_mm
        found: list[float] = []
        for values in (self.bed_stress_ratio, self.bed_strain_ratio):
            at = np.unravel_index(np.nanargmax(np.where(within, values, np.nan)), values.shape)
            found += [float(values[at]), float(x[at]), float(y[at])]
        return Worst(*found)


def bed_map(x_mm: Array, y_mm: Array, stress_ratio: Array, strain_ratio: Array) -> BedMap:
    """BedMap of values at the middle of every cell, interpolated between them by radial functions.

    Triangles between the cells would favour one diagonal, and a mirrored eye would not have the mirrored map.

    Args:
        x_mm, y_mm: middles of the cells from the vertex [mm].
        stress_ratio, strain_ratio: their values.
    """
    from scipy.interpolate import RBFInterpolator

    x, y = np.meshgrid(GRID_MM, GRID_MM)
    places, values = np.stack([x_mm, y_mm], axis=1), np.stack([stress_ratio, strain_ratio], axis=1)
    grid = np.stack([x.ravel(), y.ravel()], axis=1)
    both = RBFInterpolator(places, values, kernel="linear")(grid).reshape(*x.shape, 2)
    both[np.hypot(x, y) > REACH_MM + 1e-9] = np.nan
    return BedMap(GRID_MM, GRID_MM, both[..., 0], both[..., 1])
