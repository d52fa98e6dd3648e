"""The stress of one state as grids for a picture."""

from dataclasses import dataclass

import numpy as np

from tissue.mechanics.body import Loaded
from tissue.vocabulary import Array


@dataclass(frozen=True, eq=False)
class StressMap:
    """In-plane stress of the cornea on two grids, in front of and behind the cut.

    r_mm, z_mm, stress_kPa: a pair of arrays each, shape (rows + 1, columns + 1), rows from front to back and columns
    from the axis to the limbus; z from the front of the intact apex backwards. The two grids meet at the cut, where
    the stress may jump. Tissue that carries nothing has stress 0.
    """

    r_mm: tuple[Array, ...]
    z_mm: tuple[Array, ...]
    stress_kPa: tuple[Array, ...]


def stress_map(loaded: Loaded, name: str) -> StressMap:
    """StressMap of one state.

    Args:
        loaded: Loaded.
        name: of the state.
    """
    piece = loaded.bodies.pieces[name]
    part = piece.section
    corners = np.zeros((part.quads.shape[1], 4))
    corners[piece.present] = _at_corners(loaded.field, piece.elements)
    kept = ~part.sclera
    columns = int(part.column[kept].max()) + 2
    grids = [grid[:, :columns] for grid in part.grids]
    stress = []
    for number, grid in enumerate(grids):
        chosen = kept & (part.layer == number)
        means = _node_means(part.quads[:, chosen].T, corners[chosen], piece.present[chosen], part.points_mm.shape[1])
        stress.append(means[grid])
    r, z = part.points_mm
    return StressMap(tuple(r[grid] for grid in grids), tuple(z[grid] for grid in grids), tuple(stress))


def _at_corners(field, elements):
    """In-plane stress at the corners of elements [kPa]: the bilinear function nearest to the quadrature points."""
    x, y = field.solid.displacement.X
    at_points = np.stack([np.ones_like(x), x, y, x * y], axis=1)
    at_corners = np.array([[1, 0, 0, 0], [1, 1, 0, 0], [1, 1, 1, 1], [1, 0, 1, 0]], float)
    return field.stress_kPa[elements] @ (at_corners @ np.linalg.pinv(at_points)).T


def _node_means(quads, corners, present, size):
    """Mean over the elements of one layer that are there and meet at a node; 0 where none is."""
    total, count = np.zeros(size), np.zeros(size)
    np.add.at(total, quads[present], corners[present])
    np.add.at(count, quads[present], 1.0)
    return total / np.maximum(count, 1.0)
