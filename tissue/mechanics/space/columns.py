"""The columns of the mesh, seen from the front: a block in the disc of the cut, rings to the equator; their order."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tissue.ground.vocabulary import Array

SMALLEST = 12  # sets of so few columns are not divided further
ROUND = 0.5  # how far the inner block is rounded, between a square and a disc


@dataclass(frozen=True, eq=False)
class Fineness:
    """How finely the eye is divided.

    block: radius of the inner block over that of the cut. across: cells across the inner block. inside, outside: rings
    from the block to the cut, from the cut to the limbus. shell: size that the shell's columns begin with [mm].
    """

    block: float
    across: int
    inside: int
    outside: int
    shell_mm: float


FINENESS = {"coarse": Fineness(0.6, 8, 5, 4, 1.5), "fine": Fineness(0.5, 12, 6, 8, 0.5)}


@dataclass(frozen=True, eq=False)
class Columns:
    """Columns and the cells between them, seen from the front.

    x_mm, y_mm: of the corneal columns from the vertex. cells: corners of every cell, numbers of columns, (cells, 4),
    counter-clockwise; those of the shell after those of the cornea. spokes: columns on the limbus, in order.
    rim: columns on the edge of the cut, in order. inside: whether a cell lies within the cut. within: whether a
    column does, its edge not counted. shell_rings: of columns behind the limbus.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    cells: np.ndarray
    spokes: np.ndarray
    rim: np.ndarray
    inside: np.ndarray
    within: np.ndarray
    shell_rings: int

    @property
    def corneal(self) -> int:
        """Number of columns in the cornea."""
        return len(self.x_mm)

    @property
    def size(self) -> int:
        """Number of all columns."""
        return self.corneal + self.shell_rings * len(self.spokes)

    @property
    def wider(self) -> float:
        """Radius of a polygon with a corner at every spoke over that of the circle of the same area.

        >>> round(columns_of_eye((0.0, 0.0), 3.8, 5.8, FINENESS["coarse"], 2).wider, 4)
        1.0032
        """
        angle = 2.0 * np.pi / len(self.spokes)
        return float(np.sqrt(angle / np.sin(angle)))

    @property
    def sclera(self) -> NDArray[np.bool_]:
        """Whether each cell lies behind the limbus."""
        return np.any(self.cells >= self.corneal, axis=1)


def columns_of_eye(
    centre: tuple[float, float], radius_mm: float, limbus_mm: float, fine: Fineness, shell: int
) -> Columns:
    """Columns of an eye whose cut is a disc.

    Args:
        centre: of the cut, from the vertex [mm].
        radius_mm: of the cut [mm].
        limbus_mm: radius of the limbus [mm].
        fine: Fineness.
        shell: rings of columns behind the limbus.
    """
    block, around = _block(fine.across)
    angle = 2.0 * np.pi * (np.arange(len(around)) / len(around) - 3.0 / 8.0)  # the block begins at its lower left
    unit = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    inner, edge = fine.block * radius_mm * block, radius_mm * unit
    parts = [inner + centre]
    for step in np.arange(1, fine.inside + 1) / fine.inside:
        parts.append(inner[around] * (1.0 - step) + edge * step + centre)
    for step in np.arange(1, fine.outside + 1) / fine.outside:
        parts.append((edge + centre) * (1.0 - step) + limbus_mm * unit * step)
    xy = np.concatenate(parts)
    ring = len(around)
    rings = [around, *(len(block) + ring * k + np.arange(ring) for k in range(fine.inside + fine.outside + shell))]
    cells = [_square_cells(fine.across), *(_ring_cells(*pair) for pair in zip(rings[:-1], rings[1:], strict=True))]
    inside = fine.across**2 + ring * fine.inside
    number = np.arange(sum(map(len, cells)))
    return Columns(
        x_mm=xy[:, 0],
        y_mm=xy[:, 1],
        cells=np.concatenate(cells),
        spokes=rings[fine.inside + fine.outside],
        rim=rings[fine.inside],
        inside=number < inside,
        within=np.arange(len(xy)) < len(block) + ring * (fine.inside - 1),
        shell_rings=shell,
    )


def _block(across: int) -> tuple[Array, NDArray[np.intp]]:
    """Columns of a rounded block of radius about 1, and those on its edge, counter-clockwise from the lower left."""
    u, v = np.meshgrid(np.linspace(-1.0, 1.0, across + 1), np.linspace(-1.0, 1.0, across + 1))
    disc = np.stack([u * np.sqrt(1.0 - v**2 / 2.0), v * np.sqrt(1.0 - u**2 / 2.0)], axis=-1)
    square = np.stack([u, v], axis=-1) / np.sqrt(2.0)
    grid = np.arange((across + 1) ** 2).reshape(across + 1, across + 1)
    edge = np.concatenate([grid[0, :-1], grid[:-1, -1], grid[-1, :0:-1], grid[:0:-1, 0]])
    return (ROUND * disc + (1.0 - ROUND) * square).reshape(-1, 2), edge


def _square_cells(across: int) -> NDArray[np.intp]:
    """Corners of the cells of the block."""
    grid = np.arange((across + 1) ** 2).reshape(across + 1, across + 1)
    return np.stack([grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]], axis=-1).reshape(-1, 4)


def _ring_cells(inner: NDArray[np.intp], outer: NDArray[np.intp]) -> NDArray[np.intp]:
    """Corners of the cells between two rings of columns."""
    return np.stack([inner, outer, np.roll(outer, -1), np.roll(inner, -1)], axis=1)


def dissected(places: Array, cells: Array) -> Array:
    """Columns in the order of their elimination: a nested dissection by their places.

    Both halves come first, then the columns between them, again and again.

    Args:
        places: x and y of each column, the shell unrolled, shape (columns, 2).
        cells: corners of the cells, shape (cells, 4).
    """
    pairs = np.concatenate([cells[:, [i, j]] for i in range(4) for j in range(4) if i != j])
    order = np.argsort(pairs[:, 0], kind="stable")
    starts = np.searchsorted(pairs[order, 0], np.arange(len(places) + 1))
    return np.concatenate(_halved(np.arange(len(places)), places, pairs[order, 1], starts))


def _halved(
    mine: NDArray[np.intp], places: Array, neighbours: NDArray[np.intp], starts: NDArray[np.intp]
) -> list[NDArray[np.intp]]:
    """Parts of a set of columns, in order."""
    if len(mine) <= SMALLEST:
        return [mine]
    spread = np.ptp(places[mine], axis=0)
    along = places[mine, int(spread[1] > spread[0])]
    low = along <= np.median(along)
    if low.all():
        return [mine]
    other = np.zeros(len(places), bool)
    other[mine[~low]] = True
    touching = np.array([other[neighbours[starts[c] : starts[c + 1]]].any() for c in mine[low]])
    first, between = mine[low][~touching], mine[low][touching]
    rest = (places, neighbours, starts)
    return [*_halved(first, *rest), *_halved(mine[~low], *rest), between]
