"""Compares two groups of eyes: a mean difference whose interval allows for patients with two eyes."""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tissue.series.statistics import FEWEST, error_of_means, half_interval
from tissue.series.study.random_intercept import fit

BETWEEN = "two groups, CR2 by patient, t"
WITHIN = "fellow eyes, paired t"
ADJUSTED = "random intercept by patient (REML), t, adjusted for {}"
NO_INTERVAL = "no interval: {} patients, {} needed"
ALONE = "no interval: one patient alone makes a group"


class Difference(NamedTuple):
    """Mean of group b minus mean of group a [unit of the column]; NaN where a figure cannot be given.

    Attributes:
        eyes_a, eyes_b, patients: eyes of each group and patients of both.
        difference: b − a, with its 95 % interval.
        method: how interval and P were found, or why there is none.
        df, p: degrees of freedom and two-sided P of the t test that the method names.
        effect_size: difference over the SD within the groups (paired: of the differences), with Hedges' factor.
    """

    eyes_a: int
    eyes_b: int
    patients: int
    difference: float = np.nan
    low: float = np.nan
    high: float = np.nan
    method: str = BETWEEN
    df: float = np.nan
    p: float = np.nan
    effect_size: float = np.nan


def between(values: ArrayLike, second: ArrayLike, patients: ArrayLike | None = None) -> Difference:
    """Two groups of eyes; a patient may have eyes in both.

    Standard error after Bell and McCaffrey (CR2), degrees of freedom after Satterthwaite; with an eye a patient it is
    that of Welch's test.

    Args:
        values: numbers, NaN where missing, shape (eyes,).
        second: true for the eyes of group b.
        patients: who each eye belongs to; every eye its own where None.

    Source: bell2002, pustejovsky2018, hedges1981

    >>> found = between([1.0, 2.0, 3.0, 5.0, 6.0, 7.0], [False, False, False, True, True, True])
    >>> found.difference, round(found.df, 6), round(found.p, 4)
    (4.0, 4.0, 0.008)
    """
    numbers, late, owner = _known(values, second, patients)
    groups = [numbers[~late], numbers[late]]
    counted = Difference(len(groups[0]), len(groups[1]), int(owner.max(initial=-1)) + 1)
    if not all(map(len, groups)):
        return counted._replace(method="no difference: a group without a value")
    difference = float(np.mean(groups[1]) - np.mean(groups[0]))
    counted = counted._replace(difference=difference, effect_size=_effect(difference, groups))
    if counted.patients < FEWEST:
        return counted._replace(method=NO_INTERVAL.format(counted.patients, FEWEST))
    ends = error_of_means(numbers, [(~late, -1.0), (late, 1.0)], owner)
    return counted._replace(method=ALONE) if ends is None else _with_interval(counted, *ends)


def _known(
    values: ArrayLike, second: ArrayLike, patients: ArrayLike | None, also: ArrayLike = 0.0
) -> tuple[NDArray, NDArray, NDArray]:
    """Values, group and number of the patient of the eyes that have a value, and a number in `also`."""
    numbers, late = np.asarray(values, dtype=float), np.asarray(second, dtype=bool)
    owners = np.arange(len(numbers)) if patients is None else np.asarray(patients)
    kept = np.isfinite(numbers) & np.isfinite(np.asarray(also, dtype=float))
    return numbers[kept], late[kept], np.unique(owners[kept], return_inverse=True)[1]


def _effect(difference: float, groups: list[NDArray]) -> float:
    """Hedges' g: difference over the SD within the groups, times 1 − 3/(4·df − 1)."""
    df = sum(map(len, groups)) - 2
    if df < 2:
        return np.nan
    sd = np.sqrt(sum(np.sum((group - np.mean(group)) ** 2) for group in groups) / df)
    return float(difference / sd * (1.0 - 3.0 / (4.0 * df - 1.0))) if sd > 0 else np.nan


def within(values: ArrayLike, second: ArrayLike, patients: ArrayLike) -> Difference | None:
    """Fellow eyes: b minus a in each patient with exactly one value in each group; None without such patients.

    Args:
        values, second, patients: as in `between`.

    >>> found = within([1.0, 2.0, 3.0, 5.0], [False, True, False, True], ["a", "a", "b", "b"])
    >>> found.difference, found.patients, found.method
    (1.5, 2, 'no interval: 2 patients, 5 needed')
    """
    numbers, late, owner = _known(values, second, patients)
    count = int(owner.max(initial=-1)) + 1
    eyes = [np.bincount(owner, mine, count) for mine in (~late, late)]
    pair = (eyes[0] == 1) & (eyes[1] == 1)
    if not pair.any():
        return None
    d = np.bincount(owner, np.where(late, numbers, -numbers), count)[pair]
    number, difference = len(d), float(np.mean(d))
    found = Difference(number, number, number, difference, method=NO_INTERVAL.format(number, FEWEST))
    if number < FEWEST:
        return found
    sd = float(np.std(d, ddof=1))
    g = difference / sd * (1.0 - 3.0 / (4.0 * (number - 1) - 1.0)) if sd > 0 else np.nan
    found = found._replace(method=WITHIN, effect_size=g)
    return _with_interval(found, sd / float(np.sqrt(number)), float(number - 1))


def adjusted(values: ArrayLike, second: ArrayLike, patients: ArrayLike, covariate: ArrayLike, name: str) -> Difference:
    """Two groups at the same value of a covariate: a straight line with a random intercept per patient, see `fit`.

    Args:
        values, second, patients: as in `between`.
        covariate: numbers, NaN where missing, shape (eyes,).
        name: of the covariate, for the words.

    >>> age, late = [20.0, 22.0, 30.0, 32.0, 41.0, 50.0], [False, True] * 3
    >>> round(adjusted([2.0, 3.3, 3.0, 4.2, 4.1, 6.0], late, range(6), age, "age").difference, 3)
    1.042
    """
    numbers, late, owner = _known(values, second, patients, covariate)
    other = np.asarray(covariate, dtype=float)[np.isfinite(np.asarray(values, dtype=float)) & np.isfinite(covariate)]
    count = int(owner.max(initial=-1)) + 1
    found = Difference(int(np.sum(~late)), int(np.sum(late)), count, method=NO_INTERVAL.format(count, FEWEST))
    columns = np.stack([np.ones(len(other)), late, other - (np.mean(other) if len(other) else 0.0)], axis=1)
    if len(other) <= 3 or np.linalg.matrix_rank(columns) < 3:
        return found._replace(method=f"no difference: nothing to tell {name} and the groups apart")
    found = found._replace(difference=float(fit(numbers, columns, owner).coefficients[1]))
    if count < FEWEST:
        return found
    line = fit(numbers, columns, owner, free=True)
    error = float(np.sqrt(line.covariance[1, 1]))
    return _with_interval(found._replace(method=ADJUSTED.format(name)), error, float(line.df[1]))


def _with_interval(found: Difference, error: float, df: float) -> Difference:
    """The Difference with its interval, degrees of freedom and P."""
    from scipy.special import stdtr

    half = half_interval(error, df)
    p = 2.0 * float(stdtr(df, -abs(found.difference) / error)) if error > 0 else np.nan
    return found._replace(low=found.difference - half, high=found.difference + half, df=df, p=p)
