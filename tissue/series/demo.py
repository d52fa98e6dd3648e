"""An invented series: no real eyes, drawn from published marginals with a seed."""

from pathlib import Path

import numpy as np

from tissue.series.wrong import TableError
from tissue.sources import data

MOST = 5_000_000
CHUNK = 50_000
HEADER = (
    "patient,side,sphere_D,cylinder_D,axis_deg,central_thickness_um,thinnest_um,thinnest_x_mm,thinnest_y_mm,"
    "mean_K_D,zone_mm,surgeon"
)


def demo_rows(number, seed=2013):
    """Lines of an invented series of so many eyes, two to a patient, header first.

    The marginals and their sources stand in data/demo_series.toml.

    >>> rows = list(demo_rows(2))
    >>> len(rows), rows[1].split(",")[:2]
    (3, ['harbour-0000001', 'OD'])
    """
    yield HEADER
    rng = np.random.default_rng(seed)
    drawn = data("demo_series")
    for start in range(0, number, CHUNK):
        count = min(CHUNK, number - start)
        yield from _chunk(rng, drawn, start, count)


def _normal(rng, row, size):
    """Normal draws of a marginal, held to its ends."""
    return np.clip(rng.normal(row["mean"], row["sd"], size), row["low"], row["high"])


def _chunk(rng, drawn, start, count):
    """Lines of some eyes; fellow eyes share half of what they vary in."""
    patients = (count + 1) // 2
    shared = {name: _normal(rng, row, patients).repeat(2)[:count] for name, row in drawn["marginals"].items()}
    own = {name: _normal(rng, row, count) for name, row in drawn["marginals"].items()}
    mixed = {name: (shared[name] + own[name]) / 2.0 for name in shared}
    sphere = np.round(mixed["sphere_D"] * 4.0) / 4.0
    cylinder = -np.round(rng.exponential(drawn["cylinder_mean_D"], count).clip(0.0, 5.0) * 4.0) / 4.0
    axis = np.round(rng.normal(0.0, 25.0, count)).astype(int) % 180 + 1
    thinner = np.round(rng.gamma(2.0, 2.0, count).clip(0.0, 25.0))
    right = (np.arange(start, start + count) % 2) == 0
    temporal = np.abs(rng.normal(0.5, 0.25, count)) * np.where(right, -1.0, 1.0)
    below = -np.abs(rng.normal(0.35, 0.25, count))
    centre = np.round(mixed["central_thickness_um"])
    zone = rng.choice([6.2, 6.4, 6.5, 6.6, 6.8], count)
    surgeon = rng.choice(["A", "B", "C"], count)
    for i in range(count):
        where = f"{temporal[i].clip(-3, 3):.2f},{below[i].clip(-3, 3):.2f}" if thinner[i] else ","
        least = f"{centre[i] - thinner[i]:.0f}" if thinner[i] else ""
        power = f"{sphere[i]:+.2f},{cylinder[i]:+.2f},{axis[i] if cylinder[i] else ''}"
        eye = f"{power},{centre[i]:.0f},{least},{where},{mixed['mean_K_D'][i]:.2f},{zone[i]:.1f},{surgeon[i]}"
        yield f"harbour-{(start + i) // 2 + 1:07d},{'OD' if right[i] else 'OS'},{eye}"


def write_demo(number, target, seed=2013):
    """Write an invented series as CSV, whole or not at all.

    Raises:
        TableError: a number outside 1 to 5,000,000, or a place that cannot be written to.
    """
    from tissue.series.run import whole_file

    if not 1 <= number <= MOST:
        raise TableError(f"N: read {number}, accepted 1 to {MOST} eyes")
    if Path(target).suffix.casefold() != ".csv":
        raise TableError(f"{target}: read that ending, accepted .csv")
    with whole_file(Path(target)) as file:
        lines = []
        for line in demo_rows(number, seed):
            lines.append(line)
            if len(lines) == CHUNK:
                file.write(("\n".join(lines) + "\n").encode())
                lines = []
        if lines:
            file.write(("\n".join(lines) + "\n").encode())
