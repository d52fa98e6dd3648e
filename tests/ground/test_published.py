"""Published rows and their pools, against a statistics library and figures worked out by hand."""

import numpy as np
import pytest
from held_out import held_out
from scipy.optimize import brentq
from scipy.stats import binomtest
from statsmodels.api import WLS
from statsmodels.stats.meta_analysis import combine_effects

from tissue.followup import expected
from tissue.ground.published import PLAIN, WEIGHTED, pool_rows, pools, random_effects, readings, row, share_interval

SHOWN = {  # mean, se, tau, low, high as worked out by hand from the rows; C
    "stroma-lenticule": (12.1, 3.9, 5.4, -1.3, 25.5),
    "thinning-lenticule": (18.5, 2.8, 4.7, 7.6, 29.4),
    "offset-oct": (9.8, 3.2, 5.6, -3.1, 22.7),
    "offset-scheimpflug": (-3.7, 5.5, 9.5, -25.6, 18.3),
}


@pytest.mark.parametrize("id", SHOWN)
def test_pools_give_the_figures_worked_out_by_hand(id):
    pool = pools()[id]
    assert (pool.mean, pool.se, pool.tau, pool.low, pool.high) == pytest.approx(SHOWN[id], abs=0.05)


@pytest.mark.parametrize("id", WEIGHTED)
def test_weighted_pools_agree_with_a_library(id):
    """combine_effects of statsmodels, method of DerSimonian and Laird."""
    mean, variance = (
        np.array(part) for part in zip(*((r.mean, r.sd**2 / r.n_eyes) for r in pool_rows(id)), strict=True)
    )
    theirs = combine_effects(mean, variance, method_re="dl")
    pool, frame = pools()[id], theirs.summary_frame()
    assert pool.mean == pytest.approx(frame["eff"]["random effect"], abs=1e-9)
    assert pool.se == pytest.approx(theirs.sd_eff_w_re, abs=1e-9)
    assert pool.tau == pytest.approx(np.sqrt(theirs.tau2), abs=1e-9)


def test_suction_agrees_with_a_library_in_log_odds():
    """Log odds with variances 1/k + 1/(n − k); pooled .50 %, a new centre .07 to 3.7 %, τ .94."""
    k, n = (np.array(part) for part in zip(*((r.count, r.of) for r in pool_rows("suction")), strict=True))
    theirs, pool = combine_effects(np.log(k / (n - k)), 1 / k + 1 / (n - k), method_re="dl"), pools()["suction"]
    odds = theirs.summary_frame()["eff"]["random effect"]
    assert pool.mean == pytest.approx(100 / (1 + np.exp(-odds)), abs=1e-9)
    assert (pool.mean, pool.tau) == pytest.approx((0.50, 0.94), abs=0.005)
    assert (pool.low, pool.high) == pytest.approx((0.07, 3.7), abs=0.05)


@pytest.mark.filterwarnings("ignore:invalid value encountered in sqrt:RuntimeWarning")
@pytest.mark.parametrize("seed", range(20))
def test_random_effects_of_any_series_agree_with_a_library(seed):
    rng = np.random.default_rng(seed)
    k = int(rng.integers(2, 12))
    means, variances = rng.normal(0, rng.uniform(0, 5), k), rng.uniform(0.1, 4, k)
    theirs = combine_effects(means, variances, method_re="dl")
    mean, _, tau = random_effects(means, variances)
    assert tau == pytest.approx(np.sqrt(max(0.0, theirs.tau2)), abs=1e-9)
    if theirs.tau2 > 0:
        assert mean == pytest.approx(theirs.summary_frame()["eff"]["random effect"], abs=1e-9)


@pytest.mark.parametrize("id", PLAIN)
def test_plain_pools_are_mean_and_sd_of_the_series(id):
    from statistics import mean, stdev

    values, pool = [r.mean for r in pool_rows(id)], pools()[id]
    assert (pool.mean, pool.tau) == pytest.approx((mean(values), stdev(values)))
    assert pool.high - pool.mean == pytest.approx(2 * stdev(values) * (1 + 1 / len(values)) ** 0.5)


def test_the_slope_of_the_gain_agrees_with_a_library():
    """Weighted least squares through 0 of statsmodels: OCT, extraction; .94 µm a dioptre."""
    entries = [r for r in pool_rows("gain") if r.procedure == "lenticule" and r.method == "oct"]
    gain, myopia, n = (np.array(part) for part in zip(*((r.mean, -r.SE_D, r.n_eyes) for r in entries), strict=True))
    assert pools()["gain"].mean == pytest.approx(WLS(gain, myopia, weights=n).fit().params[0], abs=1e-9)
    assert round(pools()["gain"].mean, 2) == 0.94


def test_the_days_of_the_gain_solve_the_printed_ratios():
    """2.5 of 3.0 and 3.4 of 4.4 µm at 30 and 90 days (J Refract Surg 2017;33:250, P)."""
    ratio = (2.5 / 3.0 + 3.4 / 4.4) / 2
    days = brentq(lambda d: (1 - np.exp(-30 / d)) / (1 - np.exp(-90 / d)) - ratio, 5, 60)
    assert expected.gain_days() == round(days) == 19


@pytest.mark.parametrize(("count", "of"), [(0, 17), (17, 17), (13, 20), (116, 2643), (1, 1), (0, 1)])
def test_shares_have_the_exact_interval(count, of):
    """binomtest of scipy; 0 of 17 reaches to 20 %."""
    theirs = binomtest(count, of).proportion_ci(method="exact")
    assert share_interval(count, of) == pytest.approx((100 * theirs.low, 100 * theirs.high), abs=1e-7)


def test_printed_rows_add_up():
    """r04 is 8.2 + 15.0, r05 is 16 + 3.4, r08 is 13.2 − 4.4; the SD of r04 from its parts is 10.8 (printed 10.9)."""
    assert row("r04").mean == pytest.approx(row("r01").mean + row("e10").mean)
    assert row("r05").mean == pytest.approx(row("r02").mean + row("e01").mean)
    assert row("r08").mean == pytest.approx(row("r06").mean - row("e04").mean)
    parts = np.sqrt(row("r01").sd ** 2 + row("e10").sd ** 2 + 5.0**2 + expected.noise_um("vhf") ** 2)
    assert parts == pytest.approx(row("r04").sd, abs=0.15)


def test_every_row_has_a_source_a_status_and_numbers_or_a_count():
    ids = [one.id for one in readings()]
    assert len(ids) == len(set(ids)) == 54
    for one in readings():
        assert one.source and one.status in "PCM" and one.unit
        assert np.isfinite(one.mean) != np.isfinite(one.count)
        assert np.isnan(one.count) or 0 <= one.count <= one.of


def test_rows_of_one_source_that_disagree_are_both_kept():
    """Both signs of the ablation's error, and 8 beside 16 µm, stand in the pools: one number would hide them."""
    assert {np.sign(r.mean) for r in pool_rows("stroma-ablation")} == {-1.0, 1.0}
    assert [r.mean for r in pool_rows("stroma-lenticule")] == [8.2, 16.0]


def test_rows_held_out_lie_where_the_others_predict_a_reading():
    """At least nine of ten pooled rows lie in the interval of a reading that the other sources give."""
    found = held_out()
    assert len(found) >= 25
    assert np.mean([one.reading_inside for one in found]) >= 0.9
