"""Invented maps as tables that a person could paste or upload."""

import numpy as np

LINE = np.arange(-4.5, 4.6, 0.5)


def grid_table(formula, slip=None, reach_mm=4.6):
    """A grid with semicolons: x in the first row, y in the first column, whole µm, empty beyond a radius.

    Args:
        formula: thickness [µm] of x, y [mm].
        slip: (x, y, text) of one cell that holds something else.
        reach_mm: how far out there are readings.
    """
    rows = ["y;" + ";".join(f"{x:g}" for x in LINE)]
    for y in LINE[::-1]:
        cells = [f"{formula(x, y):.0f}" if np.hypot(x, y) < reach_mm else "" for x in LINE]
        if slip is not None and y == slip[1]:
            cells[int(np.argmin(np.abs(LINE - slip[0])))] = slip[2]
        rows.append(f"{y:g};" + ";".join(cells))
    return "\n".join(rows)
