"""One map as it is drawn: lines of equal thickness, known and continued, and strokes over what is not measured."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tissue.eye.measured.surface import Surface
from tissue.ground.vocabulary import Array

STEP_UM = {True: 10.0, False: 2.0}  # between lines: of a thickness, which grows outwards, and of an epithelium
REACH_MM = 5.5  # how far out a map is drawn; readings farther out are left unused
GRID_MM = 0.2
HATCH_MM, ALONG_MM = 0.45, 0.1  # between the strokes of the hatch; between the points of one
LEAST_POINTS = 2

Stroke = tuple[Array, Array]
Side = tuple[int, int, bool]  # of a cell: row, column, whether it lies across


class Layer(NamedTuple):
    """What is drawn of a map, from the vertex [mm].

    known, beyond: by level [µm], strokes where it is known and where it is only continued. hatch: strokes over what is
    not measured.
    """

    known: dict[float, list[Stroke]]
    beyond: dict[float, list[Stroke]]
    hatch: list[Stroke]


def layer_of(surface: Surface, reach_mm: float = REACH_MM) -> Layer:
    """The Layer of a map.

    Args:
        surface: Surface. reach_mm: radius of the disc about the vertex that is drawn [mm].
    """
    line = np.arange(-reach_mm - GRID_MM, reach_mm + 1.5 * GRID_MM, GRID_MM)
    values = np.asarray(surface.thickness_um(*np.meshgrid(line, line)))
    step = STEP_UM[surface.grows]
    known: dict[float, list[Stroke]] = {}
    beyond: dict[float, list[Stroke]] = {}
    for level in np.arange(np.ceil(values.min() / step), np.floor(values.max() / step) + 1.0) * step:
        for x, y in level_lines(line, line, values, level):
            inside, there = np.hypot(x, y) <= reach_mm, surface.is_known(x, y)
            known.setdefault(float(level), []).extend(stretches(x, y, inside & there))
            beyond.setdefault(float(level), []).extend(stretches(x, y, inside & ~there))
    return Layer(_drawn(known), _drawn(beyond), list(_hatch(surface, reach_mm)))


def _drawn(by_level: dict[float, list[Stroke]]) -> dict[float, list[Stroke]]:
    """The levels of which something is drawn."""
    return {level: strokes for level, strokes in by_level.items() if strokes}


def stretches(x: Array, y: Array, wanted: np.ndarray) -> list[Stroke]:
    """The stretches of a stroke where something holds."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], wanted, [False]]).astype(int)))
    return [(x[a:b], y[a:b]) for a, b in zip(ends[::2], ends[1::2], strict=True) if b - a >= LEAST_POINTS]


def _hatch(surface: Surface, reach_mm: float) -> list[Stroke]:
    """Strokes upwards to the right over the disc, where the map is not known."""
    along = np.arange(-reach_mm, reach_mm + ALONG_MM, ALONG_MM)
    across = np.arange(-reach_mm, reach_mm + HATCH_MM, HATCH_MM)[:, None]
    x, y = (along - across) / np.sqrt(2.0), (along + across) / np.sqrt(2.0)
    wanted = (np.hypot(x, y) <= reach_mm) & ~surface.is_known(x, y)
    return [part for row in zip(x, y, wanted, strict=True) for part in stretches(*row)]


def level_lines(x: Array, y: Array, values: Array, level: float) -> list[Stroke]:
    """The strokes (x, y) on which the quantity has the level; a closed line ends where it begins.

    Each side of a cell with the level between its two ends is crossed once, by linear interpolation; the crossings of
    a cell are joined, and cells are walked from crossing to crossing.

    Args:
        x, y: places of the columns and of the rows of the grid, in order.
        values: a row a y, without gaps.
        level: the value looked for.

    >>> line = np.linspace(-2.0, 2.0, 41)
    >>> [(u, v)] = level_lines(line, line, line[None, :] ** 2 + line[:, None] ** 2, 1.0)
    >>> bool(abs(np.hypot(u, v) - 1.0).max() < 0.01), bool(u[0] == u[-1] and v[0] == v[-1])
    (True, True)
    """
    above = values >= level
    sides = _crossed_sides(x, y, values, above, level)
    joined = _neighbours(values, above, level, sides)
    strokes: list[Stroke] = []
    while joined:
        start = next((side for side, others in joined.items() if len(others) == 1), next(iter(joined)))
        walked = _walk(joined, start)
        strokes.append(tuple(np.array([sides[side] for side in walked]).T))
    return strokes


def _crossed_sides(
    x: Array, y: Array, values: Array, above: NDArray[np.bool_], level: float
) -> dict[Side, tuple[float, float]]:
    """By side of a cell (row, column, whether it runs along x) the place where the level crosses it."""
    found = {}
    for along, (first, second) in {
        True: (np.s_[:, :-1], np.s_[:, 1:]),
        False: (np.s_[:-1, :], np.s_[1:, :]),
    }.items():
        low, high = values[first], values[second]
        for row, column in np.argwhere(above[first] != above[second]).tolist():
            part = (level - low[row, column]) / (high[row, column] - low[row, column])
            if along:
                found[row, column, True] = (x[column] + part * (x[column + 1] - x[column]), y[row])
            else:
                found[row, column, False] = (x[column], y[row] + part * (y[row + 1] - y[row]))
    return found


def _neighbours(
    values: Array, above: NDArray[np.bool_], level: float, sides: dict[Side, tuple[float, float]]
) -> dict[Side, list[Side]]:
    """By crossed side the one or two crossed sides that the line runs on to."""
    cells = {(row - back, column) if along else (row, column - back) for row, column, along in sides for back in (0, 1)}
    rows, columns = values.shape
    joined: dict = {side: [] for side in sides}
    for row, column in sorted(cells):
        if not (0 <= row < rows - 1 and 0 <= column < columns - 1):
            continue
        around = ((row, column, True), (row, column + 1, False), (row + 1, column, True), (row, column, False))
        crossed = [side for side in around if side in sides]
        middle_is_above = values[row : row + 2, column : column + 2].mean() >= level
        if len(crossed) == 4 and above[row, column] != middle_is_above:
            crossed = crossed[3:] + crossed[:3]  # a saddle whose first corner stands alone
        for one, other in zip(crossed[::2], crossed[1::2], strict=True):
            joined[one].append(other)
            joined[other].append(one)
    return joined


def _walk(joined: dict[Side, list[Side]], start: Side) -> list[Side]:
    """The sides from one on, each taken out of `joined`; a closed line comes back to its first."""
    is_closed = len(joined[start]) == 2
    walked, at = [start], start
    while onward := joined.pop(at):
        for side in onward:
            joined[side].remove(at)
        at = onward[0]
        walked.append(at)
    return [*walked, start] if is_closed else walked
