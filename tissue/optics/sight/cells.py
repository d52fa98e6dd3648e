"""A pupil cut into square cells: where they lie, and which share of each the pupil holds."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tissue.ground.vocabulary import Array

NEAR = 0.75  # cells from the rim within which a share is worked out


@dataclass(frozen=True, eq=False)
class Cells:
    """Cells over a pupil of radius [mm] about its own centre, `count` along a side of `step_mm`.

    rows, columns: those that the pupil reaches; x_mm, y_mm: their middles from the pupil's centre; share: of each cell
    that lies within the pupil [0–1]; all of shape (cells,).
    """

    radius_mm: float
    count: int
    step_mm: float

    @cached_property
    def along_mm(self) -> Array:
        """Middles along a side [mm], shape (count,)."""
        return np.asarray((np.arange(self.count) - (self.count - 1) / 2.0) * self.step_mm)

    @cached_property
    def _square(self) -> Array:
        """Share of every cell of the square, shape (count, count): y down the rows."""
        return disc_share(self.along_mm[np.newaxis, :], self.along_mm[:, np.newaxis], self.radius_mm, self.step_mm)

    @cached_property
    def inside(self) -> np.ndarray:
        """Which cells the pupil reaches, shape (count, count)."""
        return np.asarray(self._square > 0.0)

    @cached_property
    def x_mm(self) -> Array:
        """Middles of the cells across [mm]."""
        return np.broadcast_to(self.along_mm[np.newaxis, :], self.inside.shape)[self.inside]

    @cached_property
    def y_mm(self) -> Array:
        """Middles of the cells upwards [mm]."""
        return np.broadcast_to(self.along_mm[:, np.newaxis], self.inside.shape)[self.inside]

    @cached_property
    def share(self) -> Array:
        """Share of each cell within the pupil."""
        return np.asarray(self._square[self.inside])

    def filled(self, values: Array) -> Array:
        """Values of the cells in their square, 0 outside the pupil, shape (count, count)."""
        square = np.zeros(self.inside.shape, dtype=values.dtype)
        square[self.inside] = values
        return square


def disc_share(x_mm: Array, y_mm: Array, radius_mm: float, step_mm: float) -> Array:
    """Share of cells about places that lies within a disc about the origin [0–1]; the rim taken as straight in a cell.

    A straight rim with a normal (p, q), p ≥ q, p + q = 1 in cells: its distance is spread over the cell as the sum of
    two uniform draws of widths p and q.

    >>> x = np.linspace(-2.0, 2.0, 401)
    >>> area = disc_share(x[None], x[:, None], 1.5, 0.01).sum() * 0.01**2
    >>> round(float(area / (np.pi * 1.5**2)), 5)
    1.0
    """
    distance = np.hypot(x_mm, y_mm)
    share = np.where(distance < radius_mm, 1.0, 0.0)
    near = np.abs(distance - radius_mm) < NEAR * step_mm
    x, y = (np.abs(np.broadcast_to(v, near.shape)[near]) for v in (x_mm, y_mm))
    away = distance[near]
    middle = (radius_mm - away - step_mm**2 / (24.0 * away)) / step_mm  # the rim is curved: less than its middle says
    p, q = np.maximum(x, y) / away, np.minimum(x, y) / away
    share[near] = _half_plane(middle, p, q)
    return np.asarray(share)


def _half_plane(middle: Array, p: Array, q: Array) -> Array:
    """Share of a unit square on the near side of a line at a signed distance from its middle; normal (p, q), p ≥ q."""
    q = np.maximum(q, 1e-12)
    corners = [(sign_p * p + sign_q * q) / 2.0 for sign_p in (1, -1) for sign_q in (1, -1)]
    signs = (1.0, -1.0, -1.0, 1.0)
    total = sum(sign * np.square(np.maximum(middle + corner, 0.0)) for sign, corner in zip(signs, corners, strict=True))
    return np.asarray(np.clip(total / (2.0 * p * q), 0.0, 1.0))
