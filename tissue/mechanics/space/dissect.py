"""The order in which columns are eliminated: both halves first, then the columns between them, again and again."""

import numpy as np
from numpy.typing import NDArray

from tissue.ground.vocabulary import Array

SMALLEST = 12  # sets of so few columns are not divided further


def dissected(places: Array, cells: Array) -> Array:
    """Columns in the order of a nested dissection by their places.

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
