"""Each published row predicted from the rows of all other sources: `python tests/support/held_out.py` prints the table.

Two intervals: of one reading of a new centre, as the strips draw it (1.96 SD, between centres and between eyes), and
of the mean of a new series (2 SD, with the row's own standard error). Where a single series is left nothing is known of
the disagreement; the root mean square of the other pools' is put in, and the table says so.
"""

from typing import NamedTuple

import numpy as np

from tissue.followup.expected import gain_error, method_eye_sd_um, removal_figure
from tissue.ground.published import PLAIN, SLOPE, WEIGHTED, pool_rows, pooled, pools

OF_DEPTH = ("stroma-lenticule", "stroma-ablation", "offset-oct", "offset-scheimpflug")


class Held(NamedTuple):
    """A row held out: value, what the others predict, and half widths of both intervals; NaN where they say nothing."""

    pool: str
    row: str
    value: float
    predicted: float
    series_left: int
    reading: float
    new_mean: float
    borrowed: bool

    @property
    def reading_inside(self):
        return abs(self.value - self.predicted) <= self.reading

    @property
    def mean_inside(self):
        return abs(self.value - self.predicted) <= self.new_mean


def held_out():
    """Every pooled row that the others say something of."""
    return [one for id in pools() for row in pool_rows(id) if (one := _one(id, row)) is not None]


def _one(id, row):
    left = tuple(other for other in pool_rows(id) if other.source != row.source)
    if id == SLOPE:
        return _of_slope(id, row, left)
    return _of_series(id, row, left) if id in (*WEIGHTED, *PLAIN) else _of_counts(id, row, left)


def _of_series(id, row, left):
    """Depths and refractions."""
    borrowed = len(left) == 1
    if borrowed and row.unit != "um":
        tau = pools()[id].tau if id in WEIGHTED else np.nan
    elif borrowed:
        tau = float(np.sqrt(np.mean([pools()[other].tau ** 2 for other in OF_DEPTH if other != id])))
    rest = None if borrowed else pooled(id, left)
    mean = left[0].mean if borrowed else rest.mean
    se = np.nan_to_num(left[0].sd / np.sqrt(left[0].n_eyes)) if borrowed else rest.se
    centre = np.hypot(se, tau if borrowed else rest.tau)
    own = np.nan_to_num(row.sd / np.sqrt(row.n_eyes))
    if np.isnan(centre):
        return None
    return Held(id, row.id, row.mean, float(mean), len(left), float(1.96 * np.hypot(centre, _eye_sd(id))),
                float(2.0 * np.hypot(centre, own)), borrowed)  # fmt: skip


def _eye_sd(id):
    known = {"stroma-ablation": removal_figure(True).eye_sd}
    return known.get(id, method_eye_sd_um() if id.startswith("offset") else pools()[id].eye_sd)


def _of_slope(id, row, left):
    rest, error = pooled(id, left), gain_error()
    tau = error.between_sd if np.isnan(rest.tau) else rest.tau
    predicted, own = rest.mean * -row.SE_D, error.eye_sd / np.sqrt(row.n_eyes)
    sources = len({one.source for one in left})
    return Held(id, row.id, row.mean, predicted, sources, float(1.96 * np.hypot(tau, error.eye_sd)),
                float(2.0 * np.hypot(tau, own)), bool(np.isnan(rest.tau)))  # fmt: skip


def _of_counts(id, row, left):
    """In log odds; a count is of many eyes, so that both intervals are those of a new series."""
    rest = pooled(id, left)
    value, predicted = np.log(row.count / (row.of - row.count)), np.log(rest.mean / (100.0 - rest.mean))
    sd = np.sqrt(rest.se**2 + rest.tau**2 + 1.0 / row.count + 1.0 / (row.of - row.count))
    return Held(id, row.id, float(value), float(predicted), len(left), float(1.96 * sd), float(2.0 * sd), False)


def _in(inside):
    return "yes" if inside else "NO"


def main():
    found = held_out()
    print("| pool | row | printed | predicted | series left | one reading ± | in | a new mean ± | in |")
    print("|---|---|---|---|---|---|---|---|---|")
    for one in found:
        left = f"{one.series_left}{', spread borrowed' if one.borrowed else ''}"
        first = f"| {one.pool} | {one.row} | {one.value:.2f} | {one.predicted:.2f} | {left}"
        print(
            f"{first} | {one.reading:.2f} | {_in(one.reading_inside)} | {one.new_mean:.2f} | {_in(one.mean_inside)} |"
        )
    readings, means = sum(one.reading_inside for one in found), sum(one.mean_inside for one in found)
    print(f"\none reading: {readings} of {len(found)}; a new mean: {means} of {len(found)}")


if __name__ == "__main__":
    main()
