"""Agreement against statsmodels, SciPy, an analysis of variance and a printed table; coverage of its intervals."""

import numpy as np
import pytest
from scipy import integrate, stats
from study_cohorts import BIAS, SD, TRUE_ICC, paired

from tissue.series.study.agreement import agreement
from tissue.series.study.random_intercept import fit

WRIGHT = [494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427]
MINI = [512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451]


def test_the_printed_example_of_bland_and_altman():
    """Lancet 1986;1:307: 17 subjects, Wright less mini meter −2.1, SD 38.8; printed table, read from memory (M).

    With the printed t of 2.12 the bias lies between −22.0 and 17.8. There the limits are two SD: −79.7 to 75.5.
    """
    found = agreement(MINI, WRIGHT)
    sd = (found.limit_upper - found.bias) / 1.96
    assert (round(found.bias, 1), round(sd, 1)) == (-2.1, 38.8)
    assert (round(found.bias - 2 * round(sd, 1), 1), round(found.bias + 2 * round(sd, 1), 1)) == (-79.7, 75.5)
    assert (found.bias_low, found.bias_high) == pytest.approx((-22.0, 17.8), abs=0.1)


@pytest.mark.parametrize("seed", range(8))
def test_components_against_statsmodels(seed):
    """statsmodels MixedLM by REML: clusters of one to three eyes, missing values, ties."""
    mixed = pytest.importorskip("statsmodels.regression.mixed_linear_model").MixedLM
    rng = np.random.default_rng(seed)
    planned, measured, owner = paired(rng, 60, 0.5)
    planned, measured = np.round(planned), np.round(measured)
    measured[rng.random(len(owner)) < 0.1] = np.nan
    found = agreement(planned, measured, owner)
    kept = np.isfinite(measured)
    d, m = (measured - planned)[kept], (0.5 * (planned + measured))[kept]
    theirs = mixed(d, np.ones(len(d)), owner[kept]).fit(reml=True, method=["bfgs", "powell"])
    total = theirs.cov_re[0, 0] + theirs.scale
    assert found.missing == np.sum(~kept) and found.eyes == kept.sum()
    assert found.bias == pytest.approx(theirs.fe_params[0], rel=1e-4)
    assert found.sd_within_patients**2 == pytest.approx(theirs.scale, rel=1e-3)
    assert found.limit_lower == pytest.approx(theirs.fe_params[0] - 1.96 * np.sqrt(total), rel=1e-4)
    line = mixed(d, np.stack([np.ones(len(d)), m - m.mean()], axis=1), owner[kept]).fit(method=["bfgs", "powell"])
    assert found.slope == pytest.approx(line.fe_params[1], rel=1e-3, abs=1e-6)
    # theirs stops at its own tolerance: by its own measure ours is at least as likely
    mine = fit(d, np.ones((len(d), 1)), owner[kept])
    ratio = theirs.model.loglike(_parameters(theirs, mine), profile_fe=True)
    assert ratio >= theirs.llf - 1e-9


def _parameters(theirs, mine):
    from statsmodels.regression.mixed_linear_model import MixedLMParams

    return MixedLMParams.from_components(np.zeros(1), cov_re=np.array([[mine.between / mine.within]]))


def test_balanced_pairs_have_the_closed_form():
    """Analysis of variance: within = Σ(d₁ − d₂)²/2m, between = (MSB − within)/2, bias by t with m − 1. At 1e-8."""
    rng = np.random.default_rng(3)
    planned, measured, owner = paired(rng, 25, 0.6, two=1.0)
    found, d = agreement(planned, measured, owner), (measured - planned).reshape(25, 2)
    within = np.sum((d[:, 0] - d[:, 1]) ** 2) / 50.0
    between = (2.0 * np.var(d.mean(axis=1), ddof=1) - within) / 2.0
    assert found.sd_within_patients == pytest.approx(np.sqrt(within), rel=1e-8)
    assert found.sd_between_patients == pytest.approx(np.sqrt(between), rel=1e-8)
    low, high = stats.ttest_1samp(d.mean(axis=1), 0.0).confidence_interval()
    assert (found.bias_low, found.bias_high) == pytest.approx((low, high), rel=1e-8)


def test_an_eye_a_patient_is_the_plain_method():
    """SciPy: mean ± 1.96 SD, t interval, straight line; nothing is said of what is within a patient. At 1e-8."""
    rng = np.random.default_rng(4)
    planned, measured, _ = paired(rng, 40, 0.0, two=0.0)
    found, d = agreement(planned, measured), measured - planned
    assert found.limit_upper == pytest.approx(d.mean() + 1.96 * d.std(ddof=1), rel=1e-8)
    assert (found.bias_low, found.bias_high) == pytest.approx(stats.ttest_1samp(d, 0.0).confidence_interval(), rel=1e-8)
    line = stats.linregress((planned + measured) / 2.0, d)
    half = stats.t.ppf(0.975, 38) * line.stderr
    assert found.slope == pytest.approx(line.slope, rel=1e-8)
    assert (found.slope_low, found.slope_high) == pytest.approx((line.slope - half, line.slope + half), rel=1e-8)
    assert np.isnan(found.sd_between_patients) and np.isnan(found.sd_within_patients)


def test_an_eye_a_patient_has_the_exact_limits():
    """Carkeet: the noncentral t, here by its definition, Φ(t·√(x/df) − nc) over the chi-squared x. At 1e-8."""
    planned, measured, _ = paired(np.random.default_rng(6), 14, 0.0, two=0.0)
    found, d = agreement(planned, measured), measured - planned

    def chance(end):
        t = (end - d.mean()) / d.std(ddof=1) * np.sqrt(14.0)
        below = lambda x: stats.norm.cdf(t * np.sqrt(x / 13.0) - 1.96 * np.sqrt(14.0)) * stats.chi2.pdf(x, 13)  # noqa: E731
        return integrate.quad(below, 0.0, 120.0, epsabs=1e-13, epsrel=1e-13, limit=400)[0]

    assert chance(found.limit_upper_low) == pytest.approx(0.025, rel=1e-8)
    assert chance(found.limit_upper_high) == pytest.approx(0.975, rel=1e-8)
    ends = found.limit_lower_low + found.limit_upper_high, found.limit_lower_high + found.limit_upper_low
    assert ends == pytest.approx((2.0 * d.mean(), 2.0 * d.mean()), rel=1e-12)


def test_correlations_from_their_definitions():
    """ICC from the mean squares of a two-way table (McGraw and Wong), CCC from moments (Lin). At 1e-8."""
    rng = np.random.default_rng(5)
    planned, measured, owner = paired(rng, 30, 0.4)
    found, table = agreement(planned, measured, owner), np.stack([planned, measured], axis=1)
    n, whole = len(table), table.mean()
    rows = 2.0 * np.sum((table.mean(axis=1) - whole) ** 2) / (n - 1)
    columns = n * np.sum((table.mean(axis=0) - whole) ** 2)
    rest = table - table.mean(axis=1)[:, None] - table.mean(axis=0) + whole
    error = np.sum(rest**2) / (n - 1)
    assert found.icc == pytest.approx((rows - error) / (rows + error + 2.0 * (columns - error) / n), rel=1e-8)
    moments = np.cov(planned, measured, ddof=0)
    by_lin = 2.0 * moments[0, 1] / (moments[0, 0] + moments[1, 1] + (planned.mean() - measured.mean()) ** 2)
    assert found.ccc == pytest.approx(by_lin, rel=1e-8)


@pytest.mark.parametrize("alike", [0.0, 0.5, 0.9])
def test_intervals_cover(alike):
    """95 of 100, by simulation: 500 cohorts of 10 patients, so ± 1.5 and three standard errors (2.9) are allowed."""
    rng, hits, runs = np.random.default_rng(11), np.zeros(5), 500
    for _ in range(runs):
        a = agreement(*paired(rng, 10, alike))
        hits += [
            a.bias_low <= BIAS <= a.bias_high,
            a.limit_lower_low <= BIAS - 1.96 * SD <= a.limit_lower_high,
            a.limit_upper_low <= BIAS + 1.96 * SD <= a.limit_upper_high,
            a.slope_low <= 0.0 <= a.slope_high,
            a.icc_low <= TRUE_ICC <= a.icc_high,
        ]
    assert np.all(np.abs(100.0 * hits / runs - 95.0) <= 1.5 + 2.9)


@pytest.mark.parametrize("patients, known", [(4, False), (5, True)])
def test_under_five_patients_there_is_no_interval(patients, known):
    found = agreement(*paired(np.random.default_rng(6), patients, 0.5, two=1.0))
    intervals = [value for name, value in found._asdict().items() if name.endswith(("_low", "_high"))]
    assert len(intervals) == 10 and all(np.isfinite(value) == known for value in intervals)
    assert np.isfinite(found.bias) and np.isfinite(found.limit_lower)


@pytest.mark.parametrize(
    "planned, measured, eyes, bias",
    [([], [], 0, None), ([1.0], [3.0], 1, 2.0), ([1.0, np.nan], [2.0, 2.0], 1, 1.0), ([1.0] * 9, [2.0] * 9, 9, 1.0)],
)
def test_what_is_too_little_gives_no_figure(planned, measured, eyes, bias):
    found = agreement(planned, measured)
    assert found.eyes == eyes and (np.isnan(found.bias) if bias is None else found.bias == bias)
    assert np.isnan(found.slope) and np.isnan(found.icc_low)


def test_order_and_names_of_patients_do_not_matter():
    rng = np.random.default_rng(8)
    planned, measured, owner = paired(rng, 30, 0.5)
    order = rng.permutation(len(owner))
    names = np.array([f"harbour-{i}" for i in owner])
    first, second = agreement(planned, measured, owner), agreement(planned[order], measured[order], names[order])
    assert second == pytest.approx(first, rel=1e-9, nan_ok=True)
    moved = agreement(planned + 1e6, measured + 1e6, owner)
    assert moved.limit_lower == pytest.approx(first.limit_lower, abs=1e-6)
