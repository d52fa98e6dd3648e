"""How a measured column agrees with a planned one, where patients may have both eyes in the table."""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tissue.series.statistics import FEWEST, SHARE, half_interval
from tissue.series.study.random_intercept import Fit, fit

LIMITS_Z = 1.96  # limits of agreement; source bland1986


class Agreement(NamedTuple):
    """Differences, measured less planned [unit of the columns]; NaN where a figure cannot be given.

    Attributes:
        eyes, patients, missing: pairs, patients of the pairs, eyes without one of the two values.
        bias: mean difference, with its 95 % interval.
        sd_between_patients, sd_within_patients: of the differences; NaN where every patient has one eye.
        limit_lower, limit_upper: 95 % limits of agreement, each with its 95 % interval.
        slope: of the difference on the mean of the two values, with its 95 % interval.
        icc: intraclass correlation, two-way, absolute agreement, one value, with its 95 % interval.
        ccc: concordance correlation.
    """

    eyes: int
    patients: int
    missing: int
    bias: float = np.nan
    bias_low: float = np.nan
    bias_high: float = np.nan
    sd_between_patients: float = np.nan
    sd_within_patients: float = np.nan
    limit_lower: float = np.nan
    limit_lower_low: float = np.nan
    limit_lower_high: float = np.nan
    limit_upper: float = np.nan
    limit_upper_low: float = np.nan
    limit_upper_high: float = np.nan
    slope: float = np.nan
    slope_low: float = np.nan
    slope_high: float = np.nan
    icc: float = np.nan
    icc_low: float = np.nan
    icc_high: float = np.nan
    ccc: float = np.nan


def agreement(planned: ArrayLike, measured: ArrayLike, patients: ArrayLike | None = None) -> Agreement:
    """The Agreement of two columns of the same eyes.

    d = measured − planned = bias + b(patient) + e, by restricted maximum likelihood; limits bias ± 1.96·√(σb² + σw²).

    Args:
        planned, measured: numbers, NaN where missing, shape (eyes,).
        patients: who each eye belongs to, shape (eyes,); every eye its own where None.

    Intervals: bias and slope by t after Kenward and Roger; limits by a noncentral t (Carkeet), its degrees of freedom
    those of the variances; see `_likeness`.

    Source: bland1986, bland2007, carkeet2015, lin1989, mcgraw1996

    >>> found = agreement([300.0, 310.0, 290.0, 305.0, 320.0], [304.0, 317.0, 291.0, 308.0, 325.0])
    >>> found.eyes, found.bias, round(found.limit_lower, 3), round(found.limit_lower_low, 3)
    (5, 4.0, -0.383, -9.361)
    """
    first, second = np.asarray(planned, dtype=float), np.asarray(measured, dtype=float)
    owners = np.arange(len(first)) if patients is None else np.asarray(patients)
    kept = np.isfinite(first) & np.isfinite(second)
    first, second, owners = first[kept], second[kept], np.unique(owners[kept], return_inverse=True)[1]
    counted = Agreement(len(first), int(owners.max(initial=-1)) + 1, int(np.sum(~kept)))
    if counted.patients < 2:
        return counted._replace(bias=float(np.mean(second - first)) if counted.eyes else np.nan)
    known = counted.patients >= FEWEST
    found: dict[str, Any] = _limits(second - first, owners, known) | _slope(first, second, owners, known)
    return counted._replace(**found, **_likeness(first, second, owners, known))


def _limits(difference: NDArray, owners: NDArray, known: bool) -> dict[str, float]:
    """Bias, the two SDs and the limits; intervals where known."""
    line = _mean(difference, owners)
    bias, sd = float(line.coefficients[0]), float(np.sqrt(line.total))
    found = {
        "bias": bias,
        "sd_between_patients": float(np.sqrt(line.between)),
        "sd_within_patients": float(np.sqrt(line.within)),
        "limit_lower": bias - LIMITS_Z * sd,
        "limit_upper": bias + LIMITS_Z * sd,
    }
    if not known:
        return found
    free = _mean(difference, owners, free=True)
    half = _half(free, 0)
    near, far = _of_limit(free)
    return found | {
        "bias_low": bias - half,
        "bias_high": bias + half,
        "limit_lower_low": bias - far * sd,
        "limit_lower_high": bias - near * sd,
        "limit_upper_low": bias + near * sd,
        "limit_upper_high": bias + far * sd,
    }


def _mean(values: NDArray, owners: NDArray, free: bool = False) -> Fit:
    """The Fit of a mean alone."""
    return fit(values, np.ones((len(values), 1)), owners, free)


def _half(line: Fit, column: int) -> float:
    """Half the 95 % interval of a coefficient."""
    return half_interval(float(np.sqrt(line.covariance[column, column])), line.df[column])


def _of_limit(line: Fit) -> tuple[float, float]:
    """How many SDs from the bias the 95 % interval of a limit of agreement begins and ends.

    (limit − bias)/SD is √c times a noncentral t about 1.96/√c, c the squared error of the bias over the variance.
    """
    from scipy.stats import nct

    error = float(np.sqrt(line.covariance[0, 0] / line.total)) if line.total > 0.0 else 1.0
    near, far = error * nct.ppf([1.0 - SHARE, SHARE], line.total_df, LIMITS_Z / error)
    return float(near), float(far)


def _slope(planned: NDArray, measured: NDArray, owners: NDArray, known: bool) -> dict[str, float]:
    """Slope of the difference on the mean of the two, in the same model.

    NaN where one of the two is constant: the slope is then 2 or −2 and means nothing.
    """
    mean = 0.5 * (planned + measured)
    mean = mean - np.mean(mean)
    if len(np.unique(owners)) < 3 or _all_one(planned, measured):
        return {}
    columns = np.stack([np.ones(len(mean)), mean], axis=1)
    slope = float(fit(measured - planned, columns, owners).coefficients[1])
    if not known:
        return {"slope": slope}
    half = _half(fit(measured - planned, columns, owners, free=True), 1)
    return {"slope": slope, "slope_low": slope - half, "slope_high": slope + half}


def _all_one(planned: NDArray, measured: NDArray) -> bool:
    """Whether one of the two columns is constant."""
    return bool(np.ptp(planned) == 0.0 or np.ptp(measured) == 0.0)


def _likeness(planned: NDArray, measured: NDArray, owners: NDArray, known: bool) -> dict[str, Any]:
    """The two correlations and the interval of the first; nothing where one of the two is all one value.

    (1 + ICC)/(1 − ICC) is the ratio of two mean squares, (s²(sum) + B)/(s²(difference) + B), B the squared bias less
    its error: an F of as many degrees of freedom as their variances tell, those of s² from the eyes of a patient.
    """
    from scipy.special import fdtri

    if _all_one(planned, measured):
        return {}
    n, sums, differences = len(planned), planned + measured, measured - planned
    bias, of_sums, of_differences = float(np.mean(differences)), np.var(sums, ddof=1), np.var(differences, ddof=1)
    shared = bias**2 - of_differences / n
    above, below = of_sums + shared, of_differences + shared
    if not above + below > 0.0:
        return {}
    apart = (n - 1) / n * of_differences
    found = {
        "icc": float((above - below) / (above + below)),
        "ccc": float(((n - 1) / n * of_sums - apart) / ((n - 1) / n * of_sums + apart + 2.0 * bias**2)),
    }
    if not known or not below > 0.0 or not of_sums > 0.0:
        return found
    lines = [_mean(values, owners, free=True) for values in (sums, differences)]
    error = lines[1].covariance[0, 0]
    of_bias = 4.0 * bias**2 * error + 2.0 * error**2
    freedom = [
        2.0 * whole**2 / (2.0 * own**2 / line.total_df + of_bias)
        for whole, own, line in zip((above, below), (of_sums, of_differences), lines, strict=True)
    ]
    ratio = above / below
    low, high = ratio / fdtri(*freedom, SHARE), ratio * fdtri(*freedom[::-1], SHARE)
    return found | {"icc_low": float((low - 1.0) / (low + 1.0)), "icc_high": float((high - 1.0) / (high + 1.0))}
