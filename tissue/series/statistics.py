"""Plain statistics of a column: moments, quantiles, a bootstrap that resamples patients."""

from itertools import zip_longest
from typing import NamedTuple

import numpy as np

from tissue.vocabulary import EYES

RESAMPLES, SEED = 2000, 2013
AT_ONCE = 4_000_000  # draws held at once


class Described(NamedTuple):
    """Figures of one column; SD with n − 1, NaN for a single value."""

    eyes: int
    patients: int
    mean: float = np.nan
    sd: float = np.nan
    median: float = np.nan
    least: float = np.nan
    greatest: float = np.nan
    mean_low: float = np.nan
    mean_high: float = np.nan
    missing: int = 0
    quartile_lower: float = np.nan
    quartile_upper: float = np.nan


def describe(values, patients=None, resamples=RESAMPLES, seed=SEED):
    """Described of a column; empty values are left out.

    Args:
        values: numbers, shape (eyes,).
        patients: who each eye belongs to; every eye its own where None.
        resamples, seed: of the bootstrap of the mean, 2.5 and 97.5 %.

    >>> d = describe([1.0, 2.0, 4.0])
    >>> d.eyes, round(d.mean, 4), round(d.sd, 4), d.median
    (3, 2.3333, 1.5275, 2.0)
    """
    return describe_columns(np.asarray(values, dtype=float)[:, None], patients, resamples, seed)[0]


def describe_columns(values, patients=None, resamples=RESAMPLES, seed=SEED):
    """Described of each column of a table; columns that are empty in the same rows share their resamples.

    Args:
        values: numbers, shape (eyes, columns).
        patients, resamples, seed: as in `describe`.
    """
    known = np.isfinite(values)
    owners = np.arange(len(values)) if patients is None else np.unique(patients, return_inverse=True)[1]
    found: list = [None] * values.shape[1]
    alike: dict[bytes, list[int]] = {}
    for i in range(values.shape[1]):
        alike.setdefault(known[:, i].tobytes(), []).append(i)
    for same in alike.values():
        kept = known[:, same[0]]
        counted = Described(int(np.sum(kept)), len(np.unique(owners[kept])), missing=int(np.sum(~kept)))
        if not counted.eyes:
            ends = []
        else:  # a column at a time: a copy of all of them would be as large as the table
            ends = _ends_of_means((values[kept, i] for i in same), owners[kept], resamples, seed)
        for i, end in zip_longest(same, ends):
            found[i] = counted if end is None else counted._replace(**_of_one(values[kept, i], *end))
    return found


def _of_one(x, low, high):
    """Figures of one column and the interval of its mean."""
    quarters = np.quantile(x, [0.25, 0.75])
    return {
        "mean": mean(x),
        "sd": sd(x),
        "median": float(np.median(x)),
        "least": float(x.min()),
        "greatest": float(x.max()),
        "mean_low": low,
        "mean_high": high,
        "quartile_lower": float(quarters[0]),
        "quartile_upper": float(quarters[1]),
    }


def mean(values):
    """Mean, by the exactly rounded sum of the residuals from a first mean.

    x̄ = x₀ + Σ(x − x₀)/n
    """
    first = float(np.mean(values))
    return first + float(np.mean(np.asarray(values) - first))


def sd(values):
    """Standard deviation with n − 1, from the residuals; NaN for a single value.

    s² = (Σd² − (Σd)²/n)/(n − 1), d = x − x̄
    """
    n = len(values)
    if n < 2:
        return np.nan
    d = np.asarray(values, dtype=float) - mean(values)
    return float(np.sqrt((np.sum(d**2) - np.sum(d) ** 2 / n) / (n - 1)))


def bootstrap_means(values, patients, resamples=RESAMPLES, seed=SEED):
    """2.5 and 97.5 % of the mean of each column over resamples of patients, each with all its eyes.

    Args:
        values: numbers without gaps, shape (eyes, columns).
        patients: shape (eyes,).
        resamples, seed: number of resamples and the seed.

    Returns:
        a pair for each column; NaN where there is one patient.
    """
    return _ends_of_means(values.T, patients, resamples, seed)


def _ends_of_means(columns, patients, resamples, seed):
    """2.5 and 97.5 % of the mean of each of some columns, see `bootstrap_means`."""
    _, owner, eyes = np.unique(patients, return_inverse=True, return_counts=True)
    number = len(eyes)
    sums = np.stack([*(np.bincount(owner, column) for column in columns), eyes.astype(float)], axis=1)
    if number < 2:
        return [(np.nan, np.nan)] * (sums.shape[1] - 1)
    rng = np.random.default_rng(seed)
    totals = np.empty((resamples, sums.shape[1]))
    step = max(1, AT_ONCE // number)
    for start in range(0, resamples, step):
        picked = [rng.integers(0, number, number) for _ in range(start, min(start + step, resamples))]
        times = np.array([np.bincount(one, minlength=number) for one in picked], dtype=float)
        totals[start : start + len(picked)] = times @ sums
    means = totals[:, :-1] / totals[:, -1:]
    return [tuple(float(end) for end in ends) for ends in np.quantile(means, [0.025, 0.975], axis=0).T]


def one_eye_each(patients, among=True, seed=SEED):
    """Which eyes are kept when one eye a patient is drawn at random with a seed; shape (eyes,), true or false.

    Args:
        patients: shape (eyes,).
        among: true for the eyes that may be drawn.
        seed: of the draw.
    """
    order = np.random.default_rng(seed).permutation(len(patients))
    order = order[np.broadcast_to(among, len(patients))[order]]
    _, first = np.unique(np.asarray(patients)[order], return_index=True)
    kept = np.zeros(len(patients), dtype=bool)
    kept[order[first]] = True
    return kept


def fellow_differences(values, patients, sides):
    """Right eye less left eye of each patient who has exactly one of each; rows with a gap in all columns are left out.

    Args:
        values: shape (eyes,) or (eyes, columns).
        patients, sides: shape (eyes,); sides OD and OS.
    """
    values, patients, sides = np.asarray(values, dtype=float), np.asarray(patients), np.asarray(sides)
    columns = values.reshape(len(values), -1)
    _, owner = np.unique(patients, return_inverse=True)
    number = owner.max() + 1 if len(owner) else 0
    eyes = []
    for side in EYES:
        mine = np.flatnonzero(sides == side)
        alone = np.bincount(owner[mine], minlength=number) == 1
        mine = mine[alone[owner[mine]]]
        found = np.full((number, columns.shape[1]), np.nan)
        found[owner[mine]] = columns[mine]
        eyes.append(found)
    difference = eyes[0] - eyes[1]
    difference = difference[np.isfinite(difference).any(axis=1)]
    return difference[:, 0] if values.ndim == 1 else difference
