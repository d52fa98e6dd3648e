"""Own errors against the formulas written out plainly, a library's mixed model, and cohorts whose truth is known."""

import numpy as np
import pytest
from own_cohorts import LARGE, SMALL, cohort, coverage
from scipy.stats import t

from tissue.followup.own import error_kinds, gain_beyond_um, gross, own_error, values_for_plan

WITH_BIAS = [id for id, kind in error_kinds().items() if kind.has_bias]


def plainly(d, who, prior):
    """The same estimate, patient by patient in plain Python."""
    eyes = {}
    for value, patient in zip(d, who, strict=True):
        eyes.setdefault(patient, []).append(float(value))
    m, means = len(eyes), [sum(values) / len(values) for values in eyes.values()]
    b = sum(means) / m
    S2 = sum((mean - b) ** 2 for mean in means) / (m - 1)
    pairs = [values for values in eyes.values() if len(values) == 2]
    w = sum((one - other) ** 2 / 2 for one, other in pairs) / len(pairs) if pairs else 0.0
    s2 = S2 + w * (1 - sum(1 / len(values) for values in eyes.values()) / m)
    sigma2 = (5 * prior.eye_sd**2 + (m - 1) * s2) / (m + 4)
    v = S2 / s2 * sigma2 / m
    se2 = 1 / (1 / v + 1 / prior.between_sd**2)
    bias, reach = (b / v + prior.bias / prior.between_sd**2) * se2, t.ppf(0.975, m + 4)
    inside = 0
    for values in eyes.values():
        without = (m * b - sum(values) / len(values)) / (m - 1)
        v_ = v * m / (m - 1)
        se2_ = 1 / (1 / v_ + 1 / prior.between_sd**2)
        centre = (without / v_ + prior.bias / prior.between_sd**2) * se2_
        inside += sum(abs(x - centre) <= reach * (sigma2 + se2_) ** 0.5 for x in values)
    se = se2**0.5
    correlation = min(1.0, max(0.0, 1 - w / s2))
    spreads = sigma2**0.5, (sigma2 + se2) ** 0.5
    return b, v**0.5, bias, se, bias - reach * se, bias + reach * se, *spreads, correlation, inside


@pytest.mark.parametrize("id", WITH_BIAS)
@pytest.mark.parametrize("seed", range(5))
def test_the_estimate_is_that_of_the_formulas(id, seed):
    _, d, who = cohort(np.random.default_rng(seed), error_kinds()[id].prior, LARGE, 0.0)
    found = own_error(d, who, error_kinds()[id])
    kept = ~found.left_out
    theirs = plainly(d[kept], who[kept], error_kinds()[id].prior)
    ours = (found.own_bias, found.own_bias_se, found.bias, found.bias_se, found.bias_low, found.bias_high,
            found.eye_sd, found.sd, found.fellow_correlation, found.inside)  # fmt: skip
    assert ours == pytest.approx(theirs, abs=1e-9)


def test_parts_of_the_variance_agree_with_a_mixed_model():
    """Random intercept by patient, REML, statsmodels: variance of one eye and correlation of fellows, 400 pairs."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    rng, who = np.random.default_rng(5), np.repeat(np.arange(400), 2)
    d = rng.normal(4.0, 3.0, 400)[who] + rng.normal(0, 4.0, 800)
    model = MixedLM(d, np.ones((800, 1)), groups=who).fit(reml=True)
    between, within = float(model.cov_re[0, 0]), float(model.scale)
    found = own_error(d, who, error_kinds()["cap"])
    assert found.eye_sd == pytest.approx(np.sqrt(between + within), rel=0.01)
    assert found.fellow_correlation == pytest.approx(between / (between + within), abs=0.01)
    assert found.own_bias_se == pytest.approx(float(model.bse[0]), rel=0.02)


def test_copied_fellows_change_nothing():
    """An eye counted twice says no more than once: bias, its interval and the spread stay."""
    d = np.random.default_rng(2).normal(-12, 7, 30)
    once = own_error(d, np.arange(30), error_kinds()["lenticule"])
    twice = own_error(np.repeat(d, 2), np.repeat(np.arange(30), 2), error_kinds()["lenticule"])
    for name in ("bias", "bias_se", "bias_low", "bias_high", "eye_sd", "sd", "ten_more_se"):
        assert getattr(twice, name) == pytest.approx(getattr(once, name), abs=1e-9)
    assert (twice.fellow_correlation, np.isnan(once.fellow_correlation)) == (1.0, True)
    assert (once.inside * 2, once.of * 2) == (twice.inside, twice.of)


@pytest.mark.parametrize("patients", [SMALL, LARGE])
@pytest.mark.parametrize("id", ["lenticule", "gain"])
def test_intervals_hold_the_truth(id, patients):
    """400 cohorts, fellows alike, 3 % gross errors: 95 ± 3 %. More cohorts: python tests/support/own_cohorts.py."""
    held, _, count = coverage(id, patients, 0.03, 400, 13)
    assert count > 350 and held == pytest.approx(95.0, abs=3.0)


def test_a_gross_error_is_left_out_and_counts_as_outside():
    rng = np.random.default_rng(6)
    d, who = rng.normal(0, 4.4, 40), np.arange(40)
    clean = own_error(d, who, error_kinds()["cap"])
    slipped = own_error(np.append(d, 300.0), np.append(who, 40), error_kinds()["cap"])
    assert slipped.left_out.tolist() == [False] * 40 + [True]
    assert slipped.bias == pytest.approx(clean.bias) and slipped.eyes == clean.eyes
    assert (slipped.inside, slipped.of) == (clean.inside, clean.of + 1)
    assert gross(np.array([5.0] * 20), 4.0).sum() == 0


@pytest.mark.parametrize(("eyes", "patients"), [(9, 9), (10, 4), (0, 0), (1, 1)])
def test_too_few_eyes_give_no_figure(eyes, patients):
    who = np.arange(eyes) % max(patients, 1)
    found = own_error(np.linspace(-3, 3, eyes), who, error_kinds()["cap"])
    assert found.why_not == f"read {eyes} eyes of {patients} patients, accepted 10 eyes of 5 patients"
    assert np.isnan(found.bias) and np.isnan(found.sd) and found.inside is None
    assert values_for_plan({"cap": found}) == {}


def test_ten_eyes_are_enough_and_equal_ones_are_taken():
    found = own_error(np.full(10, 2.0), np.repeat(np.arange(5), 2), error_kinds()["cap"])
    assert found.why_not == "" and -0.7 < found.bias < 2.0 and found.sd > 0


def test_few_eyes_stay_near_the_published_bias_and_many_leave_it():
    rng, prior = np.random.default_rng(8), error_kinds()["ablation"].prior
    few, many = (
        own_error(rng.normal(30, prior.eye_sd, n), np.arange(n), error_kinds()["ablation"]) for n in (10, 2000)
    )
    assert abs(many.bias - 30) < abs(few.bias - 30) and few.bias < 30 and many.bias_se < few.bias_se
    assert few.ten_more_se < few.bias_se
    assert many.bias == pytest.approx(30, abs=1.0)


def test_errors_without_a_bias_give_a_spread():
    """Repeated thickness: difference/√2 has the SD of one reading; own spread of the epithelium."""
    rng = np.random.default_rng(9)
    found = own_error(
        (rng.normal(550, 3, 500) - rng.normal(550, 3, 500)) / np.sqrt(2), np.arange(500), error_kinds()["thickness"]
    )
    assert found.sd == pytest.approx(3.0, abs=0.3) and np.isnan(found.bias) and found.inside is None
    assert values_for_plan({"thickness": found}) == {"thickness_sd_um": round(found.sd, 1)}


def test_gain_is_counted_beyond_its_dioptres():
    """ρ·0.94 µm a dioptre of myopia, as OCT sees it."""
    rho = 1 - np.exp(-45 / 19)
    assert gain_beyond_um(6.0, 45, -5.0) == pytest.approx(6.0 - rho * 0.94 * 5)


def test_values_have_the_names_of_the_plan():
    rng = np.random.default_rng(10)
    found = {id: own_error(rng.normal(2, 5, 20), np.arange(20), kind) for id, kind in error_kinds().items()}
    assert sorted(values_for_plan(found)) == sorted(
        "cap_bias_um cap_sd_um flap_bias_um flap_sd_um lenticule_bias_um lenticule_sd_um ablation_bias_um "
        "ablation_sd_um epithelium_gain_bias_um epithelium_gain_sd_um thickness_sd_um epithelium_sd_um".split()
    )
    assert all(round(value, 1) == value for value in values_for_plan(found).values())


def test_patients_whose_means_agree_still_have_a_bias():
    """Fellows that differ by chance to the same mean: the eyes count as independent ones."""
    found = own_error(np.tile([-1.0, 3.0], 10), np.repeat(np.arange(10), 2), error_kinds()["cap"])
    assert np.isfinite(found.bias) and found.bias_se > 0 and found.fellow_correlation == 0.0
