"""The statistics of a study a second time, from their definitions with dense matrices, SciPy and statsmodels."""

import numpy as np
from scipy import linalg, optimize, stats
from statsmodels.stats.proportion import proportion_confint


def robust(values, columns, line, owner):
    """CR2 error of a combination of coefficients and its degrees of freedom (Bell and McCaffrey)."""
    X, n = np.asarray(columns, dtype=float), len(values)
    C = np.linalg.inv(X.T @ X)
    H = X @ C @ X.T
    rest, variance, parts = values - H @ values, 0.0, []
    for patient in np.unique(owner):
        i = owner == patient
        A = linalg.fractional_matrix_power(np.eye(i.sum()) - H[np.ix_(i, i)], -0.5).real
        variance += float(line @ C @ X[i].T @ A @ rest[i]) ** 2
        parts.append((np.eye(n) - H)[:, i] @ A @ X[i] @ C @ line)
    B = np.array(parts) @ np.array(parts).T
    return np.sqrt(variance), np.trace(B) ** 2 / np.sum(B * B)


def interval(middle, error, df):
    """95 % by t."""
    half = stats.t.ppf(0.975, df) * error
    return middle - half, middle + half


def share(happened, owner):
    """Exact binomial interval [%] of as many independent eyes as these are worth (Korn and Graubard)."""
    n, part = len(happened), float(np.mean(happened))
    worth = float(n)
    if len(np.unique(owner)) < n:
        worth = float(len(np.unique(owner)))
        if 0.0 < part < 1.0:
            error, df = robust(happened, np.ones((n, 1)), np.ones(1), owner)
            with np.errstate(divide="ignore"):
                effect = error**2 / (part * (1.0 - part) / (n - 1))
                worth = min(n, n / effect * (stats.t.ppf(0.975, n - 1) / stats.t.ppf(0.975, df)) ** 2)
    return tuple(100.0 * end for end in proportion_confint(part * worth, worth, method="beta"))


class Mixed:
    """y = X·β + b(patient) + e by the restricted score of dense matrices; covariance and df after Kenward and Roger.

    Args:
        outcome, columns, owner: shapes (eyes,), (eyes, columns), (eyes,).
        free: whether the variance between patients may be below 0, else it is held at 0.
    """

    def __init__(self, outcome, columns, owner, free=False):
        self.y, self.X = np.asarray(outcome, dtype=float), np.asarray(columns, dtype=float)
        same = (owner[:, None] == np.unique(owner)).astype(float)
        self.parts, self.patients = [same @ same.T, np.eye(len(self.y))], same.shape[1]
        if self.patients == len(self.y):  # an eye a patient: ordinary least squares
            self._plain()
            return
        spread = float(np.var(self.y - self.X @ np.linalg.lstsq(self.X, self.y)[0]))
        found = max((self._root(spread * np.array(start)) for start in STARTS), key=self._likelihood)
        if found[0] < 0.0 and not free:
            found = np.array([0.0, self._rest()])
        self._set(*found)

    def _projected(self, between, within):
        V = between * self.parts[0] + within * self.parts[1]
        Vi = np.linalg.inv(V)
        C = np.linalg.inv(self.X.T @ Vi @ self.X)
        return V, Vi, C, Vi - Vi @ self.X @ C @ self.X.T @ Vi

    def _root(self, start):
        def score(variances):
            P = self._projected(*variances)[3]
            Py = P @ self.y
            return [float(Py @ part @ Py - np.trace(P @ part)) for part in self.parts]

        return optimize.root(score, start, tol=1e-14).x

    def _likelihood(self, variances):
        V, Vi, C, P = self._projected(*variances)
        if np.linalg.eigvalsh(V)[0] <= 0.0:
            return -np.inf
        return -np.linalg.slogdet(V)[1] + np.linalg.slogdet(C)[1] - float(self.y @ P @ self.y)

    def _rest(self):
        P = self._projected(0.0, 1.0)[3]
        return float(self.y @ P @ self.y) / (len(self.y) - self.X.shape[1])

    def _plain(self):
        self.total, self.df = self._rest(), np.full(self.X.shape[1], float(len(self.y) - self.X.shape[1]))
        self.between = self.within = np.nan
        self.total_df = self.df[0]
        C = np.linalg.inv(self.X.T @ self.X)
        self.beta, self.error = C @ self.X.T @ self.y, np.sqrt(self.total * np.diag(C))

    def _set(self, between, within):
        self.between, self.within, self.total = between, within, between + within
        V, Vi, C, P = self._projected(between, within)
        X, two = self.X, range(2)
        first = [-X.T @ Vi @ part @ Vi @ X for part in self.parts]
        both = [[X.T @ Vi @ a @ Vi @ b @ Vi @ X for b in self.parts] for a in self.parts]
        W = np.linalg.inv([[0.5 * np.trace(P @ a @ P @ b) for b in self.parts] for a in self.parts])
        middle = sum(W[j, k] * (both[j][k] - first[j] @ C @ first[k]) for j in two for k in two)
        wide = C + 2.0 * C @ middle @ C
        slopes = np.array([-np.diag(C @ one @ C) for one in first])
        most = self.patients - X.shape[1]
        self.df = np.minimum(2.0 * np.diag(C) ** 2 / np.einsum("ji,jk,ki->i", slopes, W, slopes), most)
        self.beta, self.error = C @ X.T @ Vi @ self.y, np.sqrt(np.diag(wide))
        self.total_df = 2.0 * self.total**2 / W.sum()


STARTS = ((0.5, 0.5), (0.1, 0.9), (0.9, 0.1), (-0.2, 1.1))
