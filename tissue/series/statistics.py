"""Plain statistics of a column: moments, quantiles, a bootstrap that resamples patients, agreement of two columns."""

from typing import NamedTuple

import numpy as np

RESAMPLES, SEED = 2000, 2013
LIMITS_Z = 1.96  # limits of agreement; source bland1986


class Described(NamedTuple):
    """Figures of one column; SD with n − 1, NaN for a single value."""

    eyes: int
    patients: int
    mean: float
    sd: float
    median: float
    least: float
    greatest: float
    mean_low: float
    mean_high: float


class Agreement(NamedTuple):
    """Bias and 95 % limits of agreement of the differences of two columns."""

    pairs: int
    bias: float
    sd: float
    low: float
    high: float


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
    values = np.asarray(values, dtype=float)
    kept = np.isfinite(values)
    owners = np.arange(len(values)) if patients is None else np.asarray(patients)
    values, owners = values[kept], owners[kept]
    if not len(values):
        return Described(0, 0, *[np.nan] * 7)
    low, high = bootstrap_mean(values, owners, resamples, seed)
    return Described(
        len(values),
        len(np.unique(owners)),
        mean(values),
        sd(values),
        float(np.median(values)),
        float(values.min()),
        float(values.max()),
        low,
        high,
    )


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


def bootstrap_mean(values, patients, resamples=RESAMPLES, seed=SEED):
    """2.5 and 97.5 % of the mean over resamples of patients, each with all its eyes.

    Args:
        values, patients: shape (eyes,).
        resamples, seed: number of resamples and the seed.
    """
    _, owner = np.unique(patients, return_inverse=True)
    number = owner.max() + 1
    if number < 2:
        return np.nan, np.nan
    sums, counts = np.bincount(owner, values), np.bincount(owner)
    rng = np.random.default_rng(seed)
    means = np.empty(resamples)
    step = max(1, int(4_000_000 // number))
    for start in range(0, resamples, step):
        stop = min(start + step, resamples)
        picked = rng.integers(0, number, (stop - start, number))
        means[start:stop] = sums[picked].sum(axis=1) / counts[picked].sum(axis=1)
    return tuple(float(end) for end in np.quantile(means, [0.025, 0.975]))


def agreement(first, second):
    """Agreement of two columns of the same eyes, such as planned and measured bed: first − second.

    Source: bland1986

    >>> agreement([300.0, 310.0, 290.0], [296.0, 303.0, 289.0]).bias
    4.0
    """
    d = np.asarray(first, dtype=float) - np.asarray(second, dtype=float)
    d = d[np.isfinite(d)]
    if len(d) < 2:
        return Agreement(len(d), float(d[0]) if len(d) else np.nan, np.nan, np.nan, np.nan)
    middle, spread = mean(d), sd(d)
    return Agreement(len(d), middle, spread, middle - LIMITS_Z * spread, middle + LIMITS_Z * spread)


def one_eye_each(patients, seed=SEED):
    """Which eyes are kept when one eye a patient is drawn at random with a seed; shape (eyes,), true or false."""
    order = np.random.default_rng(seed).permutation(len(patients))
    _, first = np.unique(np.asarray(patients)[order], return_index=True)
    kept = np.zeros(len(patients), dtype=bool)
    kept[order[first]] = True
    return kept


def fellow_differences(values, patients, sides):
    """Right eye less left eye of each patient who has exactly one of each.

    Args:
        values, patients, sides: shape (eyes,); sides OD and OS.
    """
    values, patients, sides = np.asarray(values, dtype=float), np.asarray(patients), np.asarray(sides)
    _, owner = np.unique(patients, return_inverse=True)
    number = owner.max() + 1 if len(owner) else 0
    totals = []
    for side in ("OD", "OS"):
        mine = sides == side
        total, count = np.bincount(owner[mine], values[mine], number), np.bincount(owner[mine], minlength=number)
        totals.append(np.where(count == 1, total, np.nan))
    d = totals[0] - totals[1]
    return d[np.isfinite(d)]
