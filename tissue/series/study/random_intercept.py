"""A straight line with one random intercept per patient, by restricted maximum likelihood."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

SHARES = np.concatenate([[0.0], 1.0 - np.geomspace(0.999, 1e-9, 60)])  # of the variance that is between patients
BELOW = np.linspace(-0.999, 0.0, 30, endpoint=False)  # of the least ratio of the variances, where it may be below 0


@dataclass(frozen=True, eq=False)
class Clustered:
    """Sums over the patients with the same number of eyes, which are all that the fit needs of the data.

    Attributes:
        eyes: of each such patient, shape (sizes,).
        patients: how many there are of each size, shape (sizes,).
        sums: Σ z·z', z the sums of the columns and the outcome of a patient, shape (sizes, columns + 1, columns + 1).
        products: of the columns and the outcome over all eyes, shape (columns + 1, columns + 1).
    """

    eyes: NDArray
    patients: NDArray
    sums: NDArray
    products: NDArray

    @property
    def df(self) -> float:
        """Number of eyes minus number of columns."""
        return float(self.eyes @ self.patients) - len(self.products) + 1

    def weighed(self, weights: NDArray) -> NDArray:
        """Σ w·z·z' over the patients, w by number of eyes, shape (..., sizes)."""
        return np.tensordot(weights, self.sums, 1)


@dataclass(frozen=True, eq=False)
class Fit:
    """Coefficients with their covariance, and the two variances.

    Attributes:
        coefficients: shape (columns,).
        covariance: of them, shape (columns, columns).
        between, within: variance between patients and within a patient [unit of the outcome, squared]; NaN where
            every patient has one eye and they cannot be told apart.
        total: their sum.
        total_df: degrees of freedom of the sum.
        df: degrees of freedom of each coefficient, shape (columns,); never more than patients less columns.
    """

    coefficients: NDArray
    covariance: NDArray
    between: float
    within: float
    total: float
    total_df: float
    df: NDArray


def fit(outcome: NDArray, columns: NDArray, patients: NDArray, free: bool = False) -> Fit:
    """y = X·β + b(patient) + e, b and e normal and independent, by restricted maximum likelihood.

    The covariance of β is widened, and its degrees of freedom found, after Kenward and Roger.

    Args:
        outcome: numbers without gaps, shape (eyes,).
        columns: shape (eyes, columns), ones in the first, the intercept.
        patients: who each eye belongs to, shape (eyes,).
        free: whether eyes of a patient may be less alike than those of strangers, the variance between below 0: for
            intervals, which are too wide where it is held at 0.

    Source: laird1982, kenward1997

    >>> found = fit(np.array([1.0, 2.0, 4.0, 5.0]), np.ones((4, 1)), np.array([0, 0, 1, 1]))
    >>> [round(float(x), 6) for x in (found.coefficients[0], found.between, found.within, found.df[0])]
    [3.0, 4.25, 0.5, 1.0]
    """
    middle = float(np.mean(outcome))  # measured from its mean, which keeps the digits of large numbers
    found = _fitted(_clustered(outcome - middle, columns, patients), free)
    found.coefficients[0] += middle
    return found


def _fitted(data: Clustered, free: bool) -> Fit:
    """The Fit of sums."""
    if data.eyes.max() == 1:
        return _plain(data)
    ratio = _ratio(data, free)
    weighted, coefficients, rest = _at(ratio, data)
    within = rest / data.df
    if within <= 0.0:
        return _without_rest(data, coefficients)
    covariance = within * np.linalg.inv(weighted)
    information, slopes, widened = _information(data, covariance, ratio * within, within)
    spread = np.linalg.inv(information)
    wider = covariance + 2.0 * np.einsum("jk,jkab->ab", spread, widened)
    total = within * (1.0 + ratio)
    return Fit(
        coefficients,
        wider if np.all(np.diag(wider) > 0.0) else covariance,
        float(ratio * within),
        float(within),
        float(total),
        float(2.0 * total**2 / spread.sum()),
        np.array([_freedom(data, covariance[j, j], slopes[:, j], spread) for j in range(len(coefficients))]),
    )


def _freedom(data: Clustered, variance: float, slope: NDArray, spread: NDArray) -> float:
    """Degrees of freedom of a variance whose slope on the two variances is known.

    With few patients they come out too many: a slope of 10 patients covered 93 of 100. Patients less columns are the
    most there can be (common practice).
    """
    most = data.patients.sum() - len(data.products) + 1
    return float(min(2.0 * variance**2 / (slope @ spread @ slope), most))


def _clustered(outcome: NDArray, columns: NDArray, patients: NDArray) -> Clustered:
    """The sums."""
    z = np.column_stack([columns, outcome])
    _, owner, eyes = np.unique(patients, return_inverse=True, return_counts=True)
    sums = np.stack([np.bincount(owner, column) for column in z.T], axis=1)
    sizes, of = np.unique(eyes, return_inverse=True)
    by_size = np.stack([sums[of == i].T @ sums[of == i] for i in range(len(sizes))])
    return Clustered(sizes.astype(float), np.bincount(of).astype(float), by_size, z.T @ z)


def _plain(data: Clustered) -> Fit:
    """Ordinary least squares, where every patient has one eye."""
    _, coefficients, rest = _at(0.0, data)
    variance, count = rest / data.df, len(coefficients)
    covariance = variance * np.linalg.inv(data.products[:-1, :-1])
    return Fit(coefficients, covariance, np.nan, np.nan, variance, data.df, np.full(count, data.df))


def _without_rest(data: Clustered, coefficients: NDArray) -> Fit:
    """The Fit where the columns explain the outcome completely."""
    count = len(coefficients)
    df = data.patients.sum() - count
    return Fit(coefficients, np.zeros((count, count)), 0.0, 0.0, 0.0, df, np.full(count, df))


def _at(ratio: float, data: Clustered) -> tuple[NDArray, NDArray, float]:
    """X'WX, β and the weighted rest for one ratio of the variances; W = I − ratio/(1 + eyes·ratio)·J by patient."""
    all_ = data.products - data.weighed(ratio / (1.0 + data.eyes * ratio))
    weighted, right = all_[:-1, :-1], all_[:-1, -1]
    coefficients = np.linalg.solve(weighted, right)
    return weighted, coefficients, max(float(all_[-1, -1] - right @ coefficients), 0.0)


def _likelihoods(ratios: NDArray, data: Clustered) -> NDArray:
    """The restricted log-likelihood but for a constant, for many ratios at once."""
    grown = 1.0 + data.eyes * ratios[:, None]
    all_ = data.products - data.weighed(ratios[:, None] / grown)
    weighted, right = all_[:, :-1, :-1], all_[:, :-1, -1]
    explained = np.sum(right * np.linalg.solve(weighted, right[:, :, None])[:, :, 0], axis=1)
    rest = np.maximum(all_[:, -1, -1] - explained, 0.0)
    with np.errstate(divide="ignore"):
        return -0.5 * (data.df * np.log(rest) + np.log(grown) @ data.patients + np.linalg.slogdet(weighted)[1])


def _score(ratio: float, data: Clustered) -> float:
    """Slope of the restricted log-likelihood with the ratio."""
    weighted, coefficients, rest = _at(ratio, data)
    grown = 1.0 + data.eyes * ratio
    squares, left = data.weighed(grown**-2.0), np.append(-coefficients, 1.0)
    fixed = np.trace(np.linalg.solve(weighted, squares[:-1, :-1]))
    return 0.5 * float(data.df * (left @ squares @ left) / rest - data.patients @ (data.eyes / grown) + fixed)


def _ratio(data: Clustered, free: bool) -> float:
    """Variance between patients over that within, where the restricted likelihood is greatest."""
    from scipy.optimize import brentq

    ratios = SHARES / (1.0 - SHARES)
    if free:
        ratios = np.concatenate([BELOW / data.eyes.max(), ratios])
    values = _likelihoods(ratios, data)
    best = int(np.argmax(values))
    low, high = ratios[max(best - 1, 0)], ratios[min(best + 1, len(ratios) - 1)]
    if not np.isfinite(values[best]) or _score(low, data) <= 0.0 or _score(high, data) >= 0.0:
        return float(ratios[best])
    return float(brentq(_score, low, high, (data,), xtol=1e-15, rtol=1e-14))


def _information(
    data: Clustered, covariance: NDArray, between: float, within: float
) -> tuple[NDArray, NDArray, NDArray]:
    """Expected information of (between, within), slopes of each coefficient's variance on them, and what widens it.

    I(j, k) = ½·tr(P·Vj·P·Vk), P = V⁻¹ − V⁻¹X(X'V⁻¹X)⁻¹X'V⁻¹; slope of cov β on a variance: C·X'V⁻¹VjV⁻¹X·C.
    Widening: 2·Σ W(j, k)·C·(X'V⁻¹VjV⁻¹VkV⁻¹X − X'V⁻¹VjV⁻¹X·C·X'V⁻¹VkV⁻¹X)·C, W the inverse of I.
    """
    n, one, own = data.eyes, 1.0 / within, 1.0 / (within + data.eyes * between)
    apart = (data.products - data.weighed(1.0 / n))[:-1, :-1]

    def sums(weights: NDArray) -> NDArray:
        return data.weighed(weights)[:-1, :-1]

    firsts = [sums(own**2), one**2 * apart + sums(own**2 / n)]
    seconds = {(0, 0): sums(n * own**3), (0, 1): sums(own**3), (1, 1): one**3 * apart + sums(own**3 / n)}
    plain = {(0, 0): n**2 * own**2, (0, 1): n * own**2, (1, 1): own**2 + (n - 1.0) * one**2}
    information, widened = np.empty((2, 2)), np.empty((2, 2, *covariance.shape))
    for (j, k), trace in plain.items():
        both = np.trace(covariance @ firsts[j] @ covariance @ firsts[k])
        rest = data.patients @ trace - 2.0 * np.trace(covariance @ seconds[j, k]) + both
        information[j, k] = information[k, j] = 0.5 * rest
        for a, b in ((j, k), (k, j)):
            widened[a, b] = covariance @ (seconds[j, k] - firsts[a] @ covariance @ firsts[b]) @ covariance
    return information, np.array([np.diag(covariance @ first @ covariance) for first in firsts]), widened
