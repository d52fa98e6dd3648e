"""Lines along which a quantity on a grid has one value, as strokes that any renderer can draw."""

import numpy as np

from tissue.vocabulary import Array

Stroke = tuple[Array, Array]


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
    strokes = []
    while joined:
        start = next((side for side, others in joined.items() if len(others) == 1), next(iter(joined)))
        walked = _walk(joined, start)
        strokes.append(tuple(np.array(part) for part in zip(*(sides[side] for side in walked), strict=True)))
    return strokes


def _crossed_sides(x, y, values, above, level):
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


def _neighbours(values, above, level, sides):
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


def _walk(joined, start):
    """The sides from one on, each taken out of `joined`; a closed line comes back to its first."""
    is_closed = len(joined[start]) == 2
    walked, at = [start], start
    while onward := joined.pop(at):
        for side in onward:
            joined[side].remove(at)
        at = onward[0]
        walked.append(at)
    return [*walked, start] if is_closed else walked
