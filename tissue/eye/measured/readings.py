"""Readings of a map in the axes of the eye: at places, or the means over sectors."""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from tissue.eye.measured.spline import SIZE, Spline, design_rows
from tissue.ground.errors import EyeError, number
from tissue.ground.vocabulary import Array

USED_WITHIN_MM = 5.5  # readings farther out are left unused
CELL_MM = 0.5  # cells of this size have equal weight, however many readings lie in each
AVERAGED_OVER, AVERAGE_CELL_MM = 4000, 0.15  # more readings than this are first averaged in cells of this size


def _cells(x_mm: Array, y_mm: Array, size_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """The number of the cell of each reading, from 0, and how many readings each cell has."""
    across = np.floor(x_mm / size_mm).astype(int) * 1000 + np.floor(y_mm / size_mm).astype(int)
    _, cell, count = np.unique(across, return_inverse=True, return_counts=True)
    return cell.ravel(), count


def _take_columns(owner: Any) -> None:
    """Convert the columns of readings to numbers; all must have one value for each reading."""
    names = [one.name for one in fields(owner)]
    size = np.size(number(getattr(owner, names[0]), names[0]))
    for name in names:
        found = np.atleast_1d(number(getattr(owner, name), name))
        if found.shape != (size,):
            raise EyeError(name, " × ".join(map(str, found.shape)) + " values", "a column, one value for each reading")
        if not np.isfinite(found).all():
            raise EyeError(name, "a value that is not given", "a number for each reading")
        object.__setattr__(owner, name, found)


@dataclass(frozen=True, eq=False)
class Places:
    """Readings at places: x to the viewer's right, y up, from the vertex [mm]; values [µm].

    Raises:
        EyeError: no numbers, or not a value for each place.
    """

    x_mm: Array
    y_mm: Array
    value_um: Array

    def __post_init__(self) -> None:
        _take_columns(self)

    def used(self) -> "Places":
        """The readings near enough to be used."""
        return self.kept(self.is_used())

    def is_used(self) -> np.ndarray:
        """Which lie near enough to be used."""
        return np.asarray(np.hypot(self.x_mm, self.y_mm) <= USED_WITHIN_MM)

    def kept(self, mask: np.ndarray) -> "Places":
        """Those where a mask is true."""
        return Places(self.x_mm[mask], self.y_mm[mask], self.value_um[mask])

    def weights_mm2(self) -> Array:
        """Weight of each reading [mm²]: the area of its cell over the readings in it."""
        cell, count = _cells(self.x_mm, self.y_mm, CELL_MM)
        return CELL_MM**2 / count[cell]

    def averaged(self) -> tuple["Places", Array, np.ndarray]:
        """The readings that are fitted, their weights [mm²], and which of them each reading went into.

        Few readings stay as they are; of many the weighted means of small cells are taken.
        """
        weight = self.weights_mm2()
        if self.x_mm.size <= AVERAGED_OVER:
            return self, weight, np.arange(self.x_mm.size)
        cell, count = _cells(self.x_mm, self.y_mm, AVERAGE_CELL_MM)
        whole = np.asarray(np.bincount(cell, weight), dtype=float)
        means = (np.bincount(cell, weight * part) / whole for part in (self.x_mm, self.y_mm, self.value_um))
        return Places(*means), whole, cell

    def normal(self, weight: Array) -> tuple[Array, Array]:
        """Left and right side of the normal equations: Σ w·b·bᵀ and Σ w·b·d, b the row of each reading."""
        index, b = design_rows(self.x_mm, self.y_mm)
        weighted = weight[:, None] * b
        pairs = (index[:, :, None] * SIZE**2 + index[:, None, :]).ravel()
        left = np.bincount(pairs, (weighted[:, :, None] * b[:, None, :]).ravel(), SIZE**4)
        right = np.bincount(index.ravel(), (weighted * self.value_um[:, None]).ravel(), SIZE**2)
        return np.asarray(left, dtype=float).reshape(SIZE**2, SIZE**2), np.asarray(right, dtype=float)

    def predicted_um(self, spline: Spline) -> Array:
        """What a surface says at each reading [µm]."""
        return np.asarray(spline.at(self.x_mm, self.y_mm))

    def reach(self, inverse: Array) -> Array:
        """bᵀ·A⁻¹·b of each reading: how much the fit follows it, for a weight of 1 mm²."""
        index, b = design_rows(self.x_mm, self.y_mm)
        near = inverse.ravel()[index[:, :, None] * SIZE**2 + index[:, None, :]]
        return np.einsum("ni,nij,nj->n", b, near, b)


@dataclass(frozen=True, eq=False)
class Sectors:
    """Readings as means over sectors: radii [mm], the angle in the middle and the width [degrees]; values [µm].

    The angle counts from +x, to the viewer's right, as everywhere; a whole disc or ring is 360 degrees wide.
    """

    inner_mm: Array
    outer_mm: Array
    middle_deg: Array
    width_deg: Array
    value_um: Array

    def __post_init__(self) -> None:
        _take_columns(self)

    def used(self) -> "Sectors":
        """Those that lie near enough to be used."""
        return self.kept(self.is_used())

    def is_used(self) -> np.ndarray:
        """Which lie near enough to be used."""
        return np.asarray(self.outer_mm <= USED_WITHIN_MM)

    def kept(self, mask: np.ndarray) -> "Sectors":
        """Those where a mask is true."""
        parts = (self.inner_mm, self.outer_mm, self.middle_deg, self.width_deg, self.value_um)
        return Sectors(*(part[mask] for part in parts))

    def weights_mm2(self) -> Array:
        """Weight of each reading: its area [mm²]."""
        return np.radians(self.width_deg) * (self.outer_mm**2 - self.inner_mm**2) / 2.0

    def averaged(self) -> tuple["Sectors", Array, np.ndarray]:
        """The readings, their weights [mm²], and their numbers: sectors are fitted as they are."""
        return self, self.weights_mm2(), np.arange(self.value_um.size)

    def points(self) -> Iterator[tuple[Array, Array, Array]]:
        """Of each sector the places [mm] and shares of a quadrature over its area."""
        u, share = np.polynomial.legendre.leggauss(8)
        turns, part = np.polynomial.legendre.leggauss(16)
        for inner, outer, middle, width in zip(
            self.inner_mm, self.outer_mm, self.middle_deg, self.width_deg, strict=True
        ):
            radius = np.sqrt((inner**2 + outer**2) / 2.0 + u * (outer**2 - inner**2) / 2.0)
            angle = np.radians(middle + turns * width / 2.0)
            x, y = (np.outer(radius, of).ravel() for of in (np.cos(angle), np.sin(angle)))
            yield x, y, np.outer(share, part).ravel() / 4.0

    def _means(self) -> Array:
        """The row of each sector, shape (sectors, SIZE²)."""
        found = np.zeros((self.value_um.size, SIZE**2))
        for row, (x, y, share) in zip(found, self.points(), strict=True):
            index, b = design_rows(x, y)
            np.add.at(row, index.ravel(), (share[:, None] * b).ravel())
        return found

    def normal(self, weight: Array) -> tuple[Array, Array]:
        """Left and right side of the normal equations, as those of Places."""
        b = self._means()
        return (b.T * weight) @ b, (b.T * weight) @ self.value_um

    def predicted_um(self, spline: Spline) -> Array:
        """The mean of a surface over each sector [µm]."""
        return self._means() @ spline.coefficients.ravel()

    def reach(self, inverse: Array) -> Array:
        """bᵀ·A⁻¹·b of each sector, as of Places."""
        b = self._means()
        return np.einsum("ni,ij,nj->n", b, inverse, b)


Readings = Places | Sectors
