"""Every statistic that a study prints, with another way to it: what the other way is, ours, theirs."""

import numpy as np
import pandas as pd
from scipy import integrate, optimize, stats
from statsmodels.formula.api import ols
from statsmodels.stats.anova import anova_lm
from statsmodels.stats.proportion import proportion_confint
from statsmodels.stats.weightstats import DescrStatsW
from study_cohorts import grouped, happened, paired
from study_dense import Mixed, interval, robust, share

from tissue.series.statistics import describe
from tissue.series.study import outcomes
from tissue.series.study.agreement import LIMITS_Z, agreement
from tissue.series.study.comparison import adjusted, between, within

DENSE = "dense matrices from the definitions"


def described(rng):
    """Figures of a column: ties and missing values, one or two eyes a patient."""
    values, _, owner = grouped(rng, 25, 0.6)
    values = np.round(300.0 + 30.0 * values, 1)
    values[rng.random(len(values)) < 0.1] = np.nan
    found, theirs = describe(values, owner), pd.Series(values)
    known = np.isfinite(values)
    error, df = robust(values[known], np.ones((known.sum(), 1)), np.ones(1), owner[known])
    yield "eyes, patients, missing", "pandas", found[:2] + found[9:10], (
        theirs.count(), pd.Series(owner)[known].nunique(), theirs.isna().sum())  # fmt: skip
    yield "mean, SD", "pandas", (found.mean, found.sd), (theirs.mean(), theirs.std())
    yield "median, quartiles", "pandas", (found.median, found.quartile_lower, found.quartile_upper), (
        theirs.median(), theirs.quantile(0.25), theirs.quantile(0.75))  # fmt: skip
    yield "least, greatest", "pandas", (found.least, found.greatest), (theirs.min(), theirs.max())
    yield "interval of a mean", f"{DENSE} (CR2)", found[7:9], interval(np.mean(values[known]), error, df)
    alone = describe(values[known])
    usual = DescrStatsW(values[known]).tconfint_mean()
    yield "interval of a mean, an eye a patient", "statsmodels, interval by t", (alone.mean_low, alone.mean_high), usual


def shares(rng):
    """A share of eyes."""
    values, owner = happened(rng, 30, 0.6)
    found, alone = outcomes.share(values, owner), outcomes.share(values)
    yield "share", "NumPy", found[:1], (100.0 * np.mean(values),)
    yield "interval of a share", f"statsmodels (beta) and {DENSE}", found[1:], share(values, owner)
    exact = proportion_confint(int(values.sum()), len(values), method="beta")
    yield "interval of a share, an eye a patient", "statsmodels (beta)", alone[1:], tuple(100.0 * end for end in exact)


def agreed(rng):
    """Agreement of two columns."""
    planned, measured, owner = paired(rng, 20, 0.5)
    found, d, middle = agreement(planned, measured, owner), measured - planned, (planned + measured) / 2.0
    ones = np.ones((len(d), 1))
    held, free = Mixed(d, ones, owner), Mixed(d, ones, owner, free=True)
    bias, sd = held.beta[0], np.sqrt(held.total)
    yield "bias", f"{DENSE} (REML)", (found.bias,), (bias,)
    yield "interval of the bias", f"{DENSE} (Kenward and Roger)", (found.bias_low, found.bias_high), interval(
        bias, free.error[0], free.df[0])  # fmt: skip
    yield "SD between, within", f"{DENSE} (REML)", (found.sd_between_patients, found.sd_within_patients), (
        np.sqrt(held.between), np.sqrt(held.within))  # fmt: skip
    yield "limits of agreement", f"{DENSE} (REML)", (found.limit_lower, found.limit_upper), (
        bias - LIMITS_Z * sd, bias + LIMITS_Z * sd)  # fmt: skip
    c = free.error[0] / np.sqrt(free.total)
    near, far = (c * noncentral(chance, free.total_df, LIMITS_Z / c) for chance in (0.025, 0.975))
    mine = found.limit_lower_low, found.limit_lower_high, found.limit_upper_low, found.limit_upper_high
    yield "intervals of the limits", f"{DENSE}, noncentral t by integration", mine, (
        bias - far * sd, bias - near * sd, bias + near * sd, bias + far * sd)  # fmt: skip
    columns = np.stack([np.ones(len(d)), middle - middle.mean()], axis=1)
    held, free = Mixed(d, columns, owner), Mixed(d, columns, owner, free=True)
    yield "slope", f"{DENSE} (REML)", (found.slope,), (held.beta[1],)
    yield "interval of the slope", f"{DENSE} (Kenward and Roger)", (found.slope_low, found.slope_high), interval(
        held.beta[1], free.error[1], free.df[1])  # fmt: skip


def noncentral(chance, df, shift):
    """Quantile of the noncentral t by its definition: Φ(t·√(x/df) − shift) over the chi-squared x."""

    def below(t):
        density = lambda x: stats.norm.cdf(t * np.sqrt(x / df) - shift) * stats.chi2.pdf(x, df)  # noqa: E731
        last = stats.chi2.isf(1e-14, df)
        return integrate.quad(density, 0.0, last, epsabs=1e-13, epsrel=1e-12, limit=200, points=[df])[0] - chance

    return optimize.brentq(below, 0.0, 10.0 * shift + 10.0, xtol=1e-12, rtol=1e-12)


def alike(rng):
    """The two correlations."""
    planned, measured, owner = paired(rng, 20, 0.5)
    found, n = agreement(planned, measured, owner), len(planned)
    long = pd.DataFrame({"value": np.concatenate([planned, measured]), "way": np.repeat([0, 1], n)})
    long["eye"] = np.tile(np.arange(n), 2)
    square = anova_lm(ols("value ~ C(eye) + C(way)", long).fit())["mean_sq"]
    eyes, ways, rest = square["C(eye)"], square["C(way)"], square["Residual"]
    icc = (eyes - rest) / (eyes + rest + 2.0 * (ways - rest) / n)
    yield "ICC(A,1)", "statsmodels, analysis of variance (McGraw and Wong)", (found.icc,), (icc,)
    moments = np.cov(planned, measured, ddof=0)
    ccc = 2.0 * moments[0, 1] / (np.trace(moments) + (planned.mean() - measured.mean()) ** 2)
    yield "CCC", "NumPy, moments (Lin)", (found.ccc,), (ccc,)
    d, whole = measured - planned, planned + measured
    lines = [Mixed(values, np.ones((n, 1)), owner, free=True) for values in (whole, d)]
    own = [np.var(values, ddof=1) for values in (whole, d)]
    more, error = d.mean() ** 2 - own[1] / n, lines[1].error[0] ** 2
    of_bias = 4.0 * d.mean() ** 2 * error + 2.0 * error**2
    df = [2.0 * (v + more) ** 2 / (2.0 * v**2 / line.total_df + of_bias) for v, line in zip(own, lines, strict=True)]
    ends = (own[0] + more) / (own[1] + more) / stats.f.ppf([0.975, 0.025], *df)
    yield "interval of the ICC", f"{DENSE}, F of SciPy", (found.icc_low, found.icc_high), (ends - 1.0) / (ends + 1.0)


def compared(rng):
    """Two groups beside each other."""
    values, second, owner = grouped(rng, 16, 0.5)
    found, columns = between(values, second, owner), np.stack([~second, second], axis=1)
    difference = values[second].mean() - values[~second].mean()
    error, df = robust(values, columns, np.array([-1.0, 1.0]), owner)
    yield "difference of groups", "NumPy", found[3:4], (difference,)
    yield "its interval, df, P (CR2)", DENSE, (found.low, found.high, found.df, found.p), (
        *interval(difference, error, df), df, 2.0 * stats.t.sf(abs(difference) / error, df))  # fmt: skip
    alone = between(values, second)
    welch = stats.ttest_ind(values[second], values[~second], equal_var=False)
    half = (alone.high - alone.low) / 2.0 / stats.t.ppf(0.975, alone.df)
    yield "t, an eye a patient", "SciPy (Welch)", (alone.difference / half,), (welch.statistic,)
    pooled = ols("value ~ group", pd.DataFrame({"value": values, "group": second.astype(float)})).fit()
    g = pooled.params["group"] / np.sqrt(pooled.mse_resid) * (1.0 - 3.0 / (4.0 * pooled.df_resid - 1.0))
    yield "Hedges' g", "statsmodels, pooled SD", (found.effect_size,), (g,)


def fellows(rng):
    """Fellow eyes."""
    values, _, owner = grouped(rng, 16, 0.5, two=1.0)
    found, pairs = within(values, np.tile([False, True], 16), owner), values.reshape(16, 2)
    theirs = stats.ttest_rel(pairs[:, 1], pairs[:, 0])
    ends = theirs.confidence_interval()
    d = np.diff(pairs, axis=1)
    mine = found.difference, found.low, found.high, found.df, found.p
    yield "difference of fellow eyes", "SciPy (paired t)", mine, (
        d.mean(), ends.low, ends.high, theirs.df, theirs.pvalue)  # fmt: skip
    g = d.mean() / d.std(ddof=1) * (1.0 - 3.0 / (4.0 * 15.0 - 1.0))
    yield "g of fellow eyes", "NumPy", (found.effect_size,), (g,)


def beside(rng):
    """Two groups at the same value of a covariate."""
    values, second, owner = grouped(rng, 16, 0.5)
    age = rng.normal(30.0, 5.0, 16)[owner]
    found = adjusted(values, second, owner, age, "age")
    columns = np.stack([np.ones(len(age)), second, age - age.mean()], axis=1)
    held, free = Mixed(values, columns, owner), Mixed(values, columns, owner, free=True)
    t = abs(held.beta[1]) / free.error[1]
    yield "difference, adjusted", f"{DENSE} (REML)", (found.difference,), (held.beta[1],)
    yield "its interval, df, P (Kenward and Roger)", DENSE, (found.low, found.high, found.df, found.p), (
        *interval(held.beta[1], free.error[1], free.df[1]), free.df[1], 2.0 * stats.t.sf(t, free.df[1]))  # fmt: skip


ROUTES = (described, shares, agreed, alike, compared, fellows, beside)


def apart(ours, theirs):
    """Largest relative difference of some figures."""
    ours, theirs = np.asarray(ours, dtype=float), np.asarray(theirs, dtype=float)
    return float(np.max(np.abs(ours - theirs) / np.maximum(np.abs(theirs), 1e-300), where=ours != theirs, initial=0.0))
