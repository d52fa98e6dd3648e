"""Comparison of groups against dense matrices, statsmodels and SciPy; coverage of its intervals."""

import numpy as np
import pytest
from scipy import stats
from study_cohorts import grouped
from study_dense import robust

from tissue.series.study.comparison import adjusted, between, within


@pytest.mark.parametrize("seed", range(10))
def test_groups_against_the_definitions(seed):
    rng = np.random.default_rng(seed)
    values, second, owner = grouped(rng, 14, 0.5, 0.0, by_patient=seed % 2 == 0)
    columns = np.stack([~second, second], axis=1)
    found, (error, df) = between(values, second, owner), robust(values, columns, np.array([-1.0, 1.0]), owner)
    half = stats.t.ppf(0.975, df) * error
    assert found.df == pytest.approx(df, rel=1e-8)
    assert (found.low, found.high) == pytest.approx((found.difference - half, found.difference + half), rel=1e-8)
    assert found.p == pytest.approx(2.0 * stats.t.sf(abs(found.difference) / error, df), rel=1e-8)


def test_an_eye_a_patient_has_the_error_of_welch():
    """SciPy's Welch test and statsmodels' HC2 have this standard error. At 1e-8."""
    ols = pytest.importorskip("statsmodels.api").OLS
    rng = np.random.default_rng(1)
    values, second = rng.normal(size=30), np.arange(30) < 11
    found = between(values, second)
    error = (found.high - found.low) / 2.0 / stats.t.ppf(0.975, found.df)
    welch = stats.ttest_ind(values[second], values[~second], equal_var=False)
    assert found.difference / error == pytest.approx(welch.statistic, rel=1e-8)
    theirs = ols(values, np.stack([np.ones(30), second], axis=1)).fit(cov_type="HC2")
    assert error == pytest.approx(theirs.bse[1], rel=1e-8)


def test_fellow_eyes_are_a_paired_test():
    """SciPy's paired t; patients with one eye, or a missing value, are left out. At 1e-8."""
    rng = np.random.default_rng(2)
    values, second, owner = grouped(rng, 30, 0.5, 0.0, two=1.0)
    second = np.tile([False, True], 30)
    values[3] = np.nan
    found = within(values, second, owner)
    pairs = np.delete(values.reshape(30, 2), 1, axis=0)
    theirs = stats.ttest_rel(pairs[:, 1], pairs[:, 0])
    assert (found.difference, found.p) == pytest.approx(((pairs[:, 1] - pairs[:, 0]).mean(), theirs.pvalue), rel=1e-8)
    assert (found.low, found.high) == pytest.approx(theirs.confidence_interval(), rel=1e-8)
    assert (found.patients, found.df) == (29, 28)
    assert within(values, np.zeros(60, dtype=bool), owner) is None


def test_a_covariate_against_statsmodels():
    """statsmodels MixedLM by REML: the coefficient of the group beside the covariate."""
    mixed = pytest.importorskip("statsmodels.regression.mixed_linear_model").MixedLM
    rng = np.random.default_rng(3)
    values, second, owner = grouped(rng, 60, 0.5, shift=1.0)
    age = rng.normal(30.0, 5.0, 60)[owner]
    values = values + 0.2 * age
    found = adjusted(values, second, owner, age, "age")
    columns = np.stack([np.ones(len(values)), second, age - age.mean()], axis=1)
    theirs = mixed(values, columns, owner).fit(reml=True, method=["bfgs", "powell"])
    assert found.difference == pytest.approx(theirs.fe_params[1], rel=1e-3)
    error = (found.high - found.low) / 2.0 / stats.t.ppf(0.975, found.df)
    assert error == pytest.approx(theirs.bse_fe[1], rel=0.03)  # ours is widened for what is not known of the variances
    assert "adjusted for age" in found.method
    assert np.isnan(adjusted(values, second, owner, second, "the group").p)


def test_effect_size_is_that_of_hedges():
    """g = (b − a)/s·(1 − 3/(4·df − 1)): Hedges 1981."""
    a, b = np.array([1.0, 2.0, 3.0, 4.0, 5.0]), np.array([3.0, 4.0, 5.0, 6.0])
    s = np.sqrt((4 * a.var(ddof=1) + 3 * b.var(ddof=1)) / 7)
    found = between(np.concatenate([a, b]), np.arange(9) > 4)
    assert found.effect_size == pytest.approx((b.mean() - a.mean()) / s * (1 - 3 / 27), rel=1e-12)


@pytest.mark.parametrize("alike, by_patient", [(0.0, False), (0.5, True), (0.9, True)])
def test_intervals_cover(alike, by_patient):
    """95 of 100, by simulation: 1,500 cohorts of 12 patients, ± 1.5 and three standard errors (1.7) are allowed."""
    rng, hits, runs = np.random.default_rng(5), 0, 0
    while runs < 1500:
        values, second, owner = grouped(rng, 12, alike, shift=1.0, by_patient=by_patient)
        found = between(values, second, owner)
        if np.isfinite(found.low) and min(found.eyes_a, found.eyes_b) > 3:
            runs, hits = runs + 1, hits + (found.low <= 1.0 <= found.high)
    assert abs(100.0 * hits / runs - 95.0) <= 1.5 + 1.7


@pytest.mark.parametrize(
    "values, second, patients, words",
    [
        ([1.0, 2.0, 3.0, 4.0], [0, 1, 0, 1], None, "no interval: 4 patients, 5 needed"),
        ([1.0] * 3 + [2.0] * 8, [1] * 3 + [0] * 8, [0] * 3 + list(range(1, 9)), "one patient alone makes a group"),
        ([1.0] * 6, [0] * 6, None, "a group without a value"),
        ([], [], None, "a group without a value"),
    ],
)
def test_where_there_is_no_interval_the_reason_stands(values, second, patients, words):
    found = between(values, second, patients)
    assert words in found.method and all(np.isnan(value) for value in (found.low, found.high, found.p, found.df))


def test_a_refusal_of_the_old_way():
    """The same eyes twice, as if they were fellow eyes, tell nothing new: naive independence is not used."""
    rng = np.random.default_rng(7)
    values, second = rng.normal(size=40), np.arange(40) < 20
    once = between(values, second)
    twice = between(np.repeat(values, 2), np.repeat(second, 2), np.repeat(np.arange(40), 2))
    assert (twice.low, twice.high) == pytest.approx((once.low, once.high), rel=1e-8)
