"""Plain statistics of a column: moments, quantiles, a bootstrap that resamples patients."""

from itertools import chain, zip_longest
from typing import NamedTuple

import numpy as np

from tissue.ground.vocabulary import EYES

RESAMPLES, SEED = 2000, 2013
AT_ONCE = 4_000_000  # draws held at once
MOST_RESAMPLED = (
    10_000  # patients; of more the interval has a closed form, nearer to the limit than 2,000 resamples are
)
Z = 1.959963984540054  # two-sided 95 % of the normal distribution


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
        resamples, seed: of the bootstrap of the mean, 2.5 and 97.5 %; over 10,000 patients see `mean_interval`.

    >>> d = describe([1.0, 2.0, 4.0])
    >>> d.eyes, round(d.mean, 4), round(d.sd, 4), d.median
    (3, 2.3333, 1.5275, 2.0)
    """
    return describe_columns([np.asarray(values, dtype=float)], patients, resamples, seed)[0]


def describe_columns(columns, patients=None, resamples=RESAMPLES, seed=SEED):
    """Described of each of some columns; those that are empty in the same rows share their resamples.

    Args:
        columns: columns of numbers, each of shape (eyes,); of very many patients one is held at a time.
        patients, resamples, seed: as in `describe`.
    """
    columns = iter(columns)
    first = next(columns, None)
    if first is None:
        return []
    owners = np.arange(len(first)) if patients is None else np.unique(patients, return_inverse=True)[1]
    columns = chain([first], columns)
    if owners.max(initial=-1) >= MOST_RESAMPLED:
        return [_of_many(column, owners) for column in columns]
    return _resampled(list(columns), owners, resamples, seed)


def _of_many(column, owners):
    """Described of a column of very many patients."""
    kept = np.isfinite(column)
    x, mine = column[kept], owners[kept]
    counted = Described(len(x), int(np.count_nonzero(np.bincount(mine))), missing=len(column) - len(x))
    return counted._replace(**_of_one(x, *mean_interval(x, mine))) if len(x) else counted


def _resampled(columns, owners, resamples, seed):
    """Described of some columns, the intervals of their means by resampling."""
    known = [np.isfinite(column) for column in columns]
    found: list = [None] * len(columns)
    alike: dict[bytes, list[int]] = {}
    for i, there in enumerate(known):
        alike.setdefault(there.tobytes(), []).append(i)
    for same in alike.values():
        kept = known[same[0]]
        counted = Described(int(np.sum(kept)), len(np.unique(owners[kept])), missing=int(np.sum(~kept)))
        ends = _ends_of_means((columns[i][kept] for i in same), owners[kept], resamples, seed) if counted.eyes else []
        for i, end in zip_longest(same, ends):
            found[i] = counted if end is None else counted._replace(**_of_one(columns[i][kept], *end))
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


def mean_interval(values, patients):
    """95 % interval of a mean of very many eyes, the eyes of a patient together: what the resamples tend to.

    x̄ ± 1.96·SE, SE² = Σ over patients (Σ over its eyes (x − x̄))² / n²

    Args:
        values: numbers without gaps, shape (eyes,).
        patients: who each eye belongs to, as numbers from 0, shape (eyes,).
    """
    middle = mean(values)
    error = float(np.sqrt(np.sum(np.bincount(patients, values - middle) ** 2))) / len(values)
    return middle - Z * error, middle + Z * error


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


def fellow_pairs(patients, sides):
    """Rows of the right and of the left eye of each patient who has exactly one of each.

    Args:
        patients, sides: shape (eyes,); sides OD and OS.

    Returns:
        two columns of rows, shape (pairs,).

    >>> [rows.tolist() for rows in fellow_pairs(["a", "a", "b"], ["OS", "OD", "OD"])]
    [[1], [0]]
    """
    sides, owner = np.asarray(sides), np.unique(np.asarray(patients), return_inverse=True)[1]
    number = int(owner.max(initial=-1)) + 1
    places = np.full((len(EYES), number), -1)
    for row, side in zip(places, EYES, strict=True):
        mine = np.flatnonzero(sides == side)
        alone = np.bincount(owner[mine], minlength=number) == 1
        mine = mine[alone[owner[mine]]]
        row[owner[mine]] = mine
    return tuple(places[:, (places >= 0).all(axis=0)])


def fellow_differences(values, patients, sides):
    """Right eye less left eye of each patient who has exactly one of each; rows with a gap are left out.

    Args:
        values: shape (eyes,).
        patients, sides: shape (eyes,); sides OD and OS.
    """
    right, left = fellow_pairs(patients, sides)
    values = np.asarray(values, dtype=float)
    difference = values[right] - values[left]
    return difference[np.isfinite(difference)]
