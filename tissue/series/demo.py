"""An invented series: no real eyes, drawn from published marginals with a seed."""

from collections.abc import Iterator
from math import erfc, sqrt
from pathlib import Path

import numpy as np
from numpy.random import Generator

from tissue.entry.notation import shown
from tissue.ground.sources import data
from tissue.ground.vocabulary import Array
from tissue.series.wrong import TableError

MOST = 5_000_000
CHUNK = 50_000
FELLOWS = 0.9  # correlation of fellow eyes; common practice, no source
HEADER = (
    "patient,side,sphere_D,cylinder_D,axis_deg,central_thickness_um,thinnest_um,thinnest_x_mm,thinnest_y_mm,"
    "mean_K_D,zone_mm,surgeon"
)


def demo_rows(number: int, seed: int = 2013) -> Iterator[str]:
    """Lines of an invented series with this many eyes, two for each patient, header first.

    The marginals and their sources are in data/demo_series.toml.

    >>> rows = list(demo_rows(2))
    >>> len(rows), rows[1].split(",")[:2]
    (3, ['harbour-0000001', 'OD'])
    """
    yield HEADER
    rng = np.random.default_rng(seed)
    for start in range(0, number, CHUNK):
        yield from _chunk(rng, start, min(CHUNK, number - start))


def _paired(rng: Generator, count: int) -> Array:
    """Standard normal draws for eyes in order; fellow eyes are correlated by FELLOWS."""
    shared = rng.standard_normal((count + 1) // 2).repeat(2)[:count]
    return np.sqrt(FELLOWS) * shared + np.sqrt(1.0 - FELLOWS) * rng.standard_normal(count)


def _drawn(rng: Generator, name: str, count: int, step: float) -> Array:
    """Values of a marginal distribution, limited to its ends and rounded to a step."""
    row, z = data("demo_series")[name], _paired(rng, count)
    if name == "cylinder_D":
        values = row["mean"] * -np.log(_above(z))
    else:
        values = row["mean"] + row["sd"] * z
    return np.round(np.clip(values, row["low"], row["high"]) / step) * step


def _above(z: Array) -> Array:
    """Share of the normal distribution above each draw."""
    return np.array([0.5 * erfc(one / sqrt(2.0)) for one in z])


def _chunk(rng: Generator, start: int, count: int) -> Iterator[str]:
    """Lines of some eyes. Most axes are with the rule, thinnest points low and temporal: common practice, no source."""
    sphere, cylinder = _drawn(rng, "sphere_D", count, 0.25), _drawn(rng, "cylinder_D", count, 0.25)
    centre, K = _drawn(rng, "central_thickness_um", count, 1.0), _drawn(rng, "mean_K_D", count, 0.01)
    axis = np.round(rng.normal(0.0, 25.0, count)).astype(int) % 180 + 1
    thinner = np.round(rng.gamma(2.0, 2.0, count).clip(0.0, 25.0))
    right = (np.arange(start, start + count) % 2) == 0
    temporal = (np.abs(rng.normal(0.5, 0.25, count)) * np.where(right, -1.0, 1.0)).clip(-3.0, 3.0)
    below = -np.abs(rng.normal(0.35, 0.25, count)).clip(0.0, 3.0)
    zone, surgeon = rng.choice([6.2, 6.4, 6.5, 6.6, 6.8], count), rng.choice(["A", "B", "C"], count)
    for i in range(count):
        where = f"{temporal[i]:.2f},{below[i]:.2f}" if thinner[i] else ","
        least = f"{centre[i] - thinner[i]:.0f}" if thinner[i] else ""
        power = f"{sphere[i] + 0.0:+.2f},{cylinder[i] + 0.0:+.2f},{axis[i] if cylinder[i] else ''}"
        eye = f"{power},{centre[i]:.0f},{least},{where},{K[i]:.2f},{zone[i]:.1f},{surgeon[i]}"
        yield f"harbour-{(start + i) // 2 + 1:07d},{'OD' if right[i] else 'OS'},{eye}"


def write_demo(number: int, target: str | Path, seed: int = 2013) -> None:
    """Write an invented series as CSV, whole or not at all.

    Raises:
        TableError: a number outside 1 to 5,000,000, a seed below 0, or a place that cannot be written to.
    """
    from tissue.series.working import whole_table

    if not 1 <= number <= MOST:
        raise TableError(f"N: read {shown(number)}, accepted 1 to {MOST} eyes")
    if seed < 0:
        raise TableError(f"--seed: read {shown(seed)}, accepted 0 or more")
    if Path(target).suffix.casefold() != ".csv":
        raise TableError(f"{target}: read that ending, accepted .csv")
    with whole_table(target) as file:
        lines = []
        for line in demo_rows(number, seed):
            lines.append(line)
            if len(lines) == CHUNK:
                file.write(("\n".join(lines) + "\n").encode())
                lines = []
        if lines:
            file.write(("\n".join(lines) + "\n").encode())
