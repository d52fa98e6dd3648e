"""Plain statistics of a column: moments, quantiles, a mean whose interval knows that eyes belong to patients."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tissue.ground.vocabulary import EYES

SEED = 2013  # of the draw of one eye a patient
FEWEST = 5  # patients; under that no interval is given
SHARE = 0.975  # two-sided 95 %


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


def describe(values: ArrayLike, patients: ArrayLike | None = None) -> Described:
    """Described of a column; empty values are left out.

    Args:
        values: numbers, shape (eyes,).
        patients: who each eye belongs to; every eye its own where None.

    >>> d = describe([1.0, 2.0, 4.0])
    >>> d.eyes, round(d.mean, 4), round(d.sd, 4), d.median
    (3, 2.3333, 1.5275, 2.0)
    """
    values = np.asarray(values, dtype=float)
    return described(values, np.arange(len(values)) if patients is None else numbered(patients))


def numbered(patients: ArrayLike) -> NDArray[np.intp]:
    """Patients as numbers from 0, shape (eyes,)."""
    return np.unique(patients, return_inverse=True)[1]


def described(values: NDArray[Any], owners: NDArray[Any]) -> Described:
    """Described of a column of numbers.

    Args:
        values: NaN where missing, shape (eyes,).
        owners: who each eye belongs to, as numbers from 0, shape (eyes,).
    """
    kept = np.isfinite(values)
    x, mine = values[kept], owners[kept]
    counted = Described(len(x), int(np.count_nonzero(np.bincount(mine))), missing=len(values) - len(x))
    return counted._replace(**_of_one(x, *mean_interval(x, mine))) if len(x) else counted


def _of_one(x: NDArray[Any], low: float, high: float) -> dict[str, Any]:
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


def mean(values: NDArray[Any]) -> float:
    """Mean, by the exactly rounded sum of the residuals from a first mean.

    x̄ = x₀ + Σ(x − x₀)/n
    """
    first = float(np.mean(values))
    return first + float(np.mean(np.asarray(values) - first))


def sd(values: NDArray[Any]) -> float:
    """Standard deviation with n − 1, from the residuals; NaN for a single value.

    s² = (Σd² − (Σd)²/n)/(n − 1), d = x − x̄
    """
    n = len(values)
    if n < 2:
        return np.nan
    d = np.asarray(values, dtype=float) - mean(values)
    return float(np.sqrt((np.sum(d**2) - np.sum(d) ** 2 / n) / (n - 1)))


def mean_interval(values: NDArray[Any], owners: NDArray[Any]) -> tuple[float, float]:
    """95 % interval of a mean that allows for patients with two eyes; NaN under five patients.

    By t, see `error_of_means`; with one eye for each patient it is the usual interval.

    Args:
        values: numbers without gaps, shape (eyes,).
        owners: who each eye belongs to, as numbers from 0, shape (eyes,).
    """
    found = error_of_means(values, [(slice(None), 1.0)], owners)
    if np.count_nonzero(np.bincount(owners)) < FEWEST or found is None:
        return np.nan, np.nan
    half = half_interval(*found)
    return mean(values) - half, mean(values) + half


def half_interval(error: float, df: float) -> float:
    """Half of a 95 % interval by t."""
    from scipy.special import stdtrit

    return float(stdtrit(df, SHARE)) * error


def error_of_means(
    values: NDArray[Any], groups: Sequence[tuple[Any, float]], owners: NDArray[Any]
) -> tuple[float, float] | None:
    """Standard error, and its degrees of freedom, of a sum of signed means of groups; a patient may be in several.

    Error after Bell and McCaffrey (CR2), degrees of freedom after Satterthwaite, those of independent eyes of one
    variance. With a column a group the correction (I − H)^(−½) of a patient's rest is closed: his mean rest in a
    group of n is divided by √(1 − k/n), k his eyes in it.

    Args:
        values: numbers without gaps, shape (eyes,).
        groups: (which eyes, sign) each, `slice(None)` for all; no eye in two of them.
        owners: who each eye belongs to, as numbers from 0, shape (eyes,).

    Returns:
        None where one patient has all eyes of a group.

    Source: bell2002, pustejovsky2018
    """
    people = int(owners.max(initial=-1)) + 1
    scores, own, across = np.zeros(people), np.zeros(people), []
    for mine, sign in groups:
        eyes, count = np.bincount(owners[mine], minlength=people), len(owners[mine])
        if np.any(eyes == count):
            return None
        weight = sign / (count * np.sqrt(1.0 - eyes / count))
        scores += weight * np.bincount(owners[mine], values[mine] - mean(values[mine]), people)
        own += eyes * weight**2
        across.append(eyes * weight / np.sqrt(count))
    squares = sum(one**2 for one in across)
    spread = own @ own - 2.0 * (own @ squares) + sum((one @ other) ** 2 for one in across for other in across)
    return float(np.sqrt(scores @ scores)), float((np.sum(own) - np.sum(squares)) ** 2 / spread)


def one_eye_each(patients: NDArray[Any], among: bool | NDArray[np.bool_] = True, seed: int = SEED) -> NDArray[np.bool_]:
    """Which eyes are kept when one eye of each patient is drawn at random with a seed; shape (eyes,), true or false.

    Args:
        patients: shape (eyes,).
        among: true for the eyes that may be drawn.
        seed: of the draw.
    """
    order = np.random.default_rng(seed).permutation(len(patients))
    order = order[np.broadcast_to(among, len(patients))[order]]
    _, first = np.unique(np.asarray(patients)[order], return_index=True)
    kept = np.zeros(len(patients), dtype=np.bool_)
    kept[order[first]] = True
    return kept


def fellow_pairs(patients: ArrayLike, sides: ArrayLike) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
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
    right, left = places[:, (places >= 0).all(axis=0)]
    return right, left
