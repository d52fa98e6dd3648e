"""Bed and uncut stroma are one quantity under one error; a removal is never less than nothing."""

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.stats import multivariate_normal, norm

from tissue import Cornea, Errors, Refraction, Treatment, compare
from tissue.budget.comparison import closed_interval
from tissue.budget.left import FAR, Left, Normal, chance_within
from tissue.explore.draws import sample
from tissue.screens.desk.drawn import interval, sampled

EYE = Cornea(548.0, 543.0, -0.6, -0.5)
SPHERES = (4.0, 2.0, -0.25, -1.0, -2.0, -6.0)
SUMS = ("bed_central_um", "bed_min_um", "uncut_stroma_um", "healed_thickness_um", "bed_percent", "altered_percent")


def plan_of(sphere, **more):
    return compare(EYE, Treatment(Refraction(sphere)), **more)


@pytest.mark.parametrize("sphere", SPHERES)
@pytest.mark.parametrize("option", ["surface", "flap"])
def test_uncut_stroma_is_the_bed_where_nothing_else_is_spared(sphere, option):
    # Source: a definition: under a flap, and without a cut, the stroma that is not cut is the bed.
    plan = plan_of(sphere)
    assert plan.results[option].budget.uncut_stroma_um == pytest.approx(plan.results[option].budget.bed_central_um)
    assert closed_interval(plan, option, "uncut_stroma_um") == pytest.approx(
        closed_interval(plan, option, "bed_central_um"), abs=1e-6
    )


def test_a_centre_that_loses_nothing_has_no_error_of_a_removal():
    # Source: a definition; 548 − 110 under a flap with bias 4, SDs 5 and 5: 434 ± 1.96·7.07.
    figures = plan_of(4.0).results["flap"]
    assert figures.budget.removal_central_um == 0.0
    ends = figures.spread.bed_low_um, figures.spread.bed_high_um
    assert ends == pytest.approx((434.0 - 1.96 * np.sqrt(50.0), 434.0 + 1.96 * np.sqrt(50.0)))


def test_on_the_screen_the_two_rows_print_one_interval():
    from tissue.report.measures import measures

    plan = plan_of(4.0)
    drawn = sampled(plan)
    for option in ("surface", "flap"):
        bed, uncut = (interval(plan, drawn, measures()[name], option) for name in ("bed", "uncut"))
        assert bed[0] == pytest.approx(uncut[0]) and bed[1] == uncut[1]


@pytest.mark.parametrize("sphere", SPHERES)
@pytest.mark.parametrize("figure", SUMS)
def test_closed_ends_are_those_of_the_draws(sphere, figure):
    # Source: 65,536 draws through the arithmetic itself, their plain quantiles.
    plan = plan_of(sphere)
    for option, drawn in sample(plan, [figure], number=2**16).items():
        found = closed_interval(plan, option, figure)
        np.testing.assert_allclose(found, np.quantile(drawn.figures[figure], (0.025, 0.975)), atol=0.15)


@pytest.mark.parametrize("sphere", SPHERES)
def test_mean_and_sd_and_chance_are_those_of_the_draws(sphere):
    for option, drawn in sample(plan_of(sphere), ["bed_central_um", "bed_min_um"], number=2**16).items():
        bed, least = (drawn.figures[name] for name in ("bed_central_um", "bed_min_um"))
        line = float(min(399.0, np.quantile(bed, 0.1)))
        from tissue import Judgement

        sure = plan_of(sphere, judgement=Judgement(line)).results[option].spread
        assert (sure.bed_mean_um, sure.bed_sd_um) == pytest.approx((bed.mean(), bed.std()), abs=0.02)
        assert sure.bed_below_line_percent == pytest.approx(100.0 * np.mean(bed < line), abs=0.15)
        assert sure.bed_min_below_line_percent == pytest.approx(100.0 * np.mean(least < line), abs=0.15)


@pytest.mark.parametrize("d", [-20.0, 0.0, 3.0, 40.0])
@pytest.mark.parametrize(("m", "s"), [(-5.0, 11.2), (0.0, 11.2), (9.5, 11.2), (30.0, 11.2), (30.0, 0.01)])
def test_within_is_a_normal_quadrant(d, m, s):
    # Source: scipy's bivariate normal distribution.
    rho = 7.0 / np.hypot(7.0, s)
    pair = multivariate_normal(cov=[[1.0, rho], [rho, 1.0]], allow_singular=True)
    wanted = pair.cdf([d / 7.0, (d - m) / np.hypot(7.0, s)])
    assert chance_within(Normal(np.array(d), 7.0), Normal(np.array(m), np.array(s))) == pytest.approx(wanted, abs=2e-5)


@pytest.mark.parametrize("start_sd", [1.0, 7.0, 60.0])
@pytest.mark.parametrize("taken", [0.5, 9.5, 40.0, 55.0])
def test_ends_solve_the_integral(start_sd, taken):
    # Source: the distribution written as an integral over the removal, by scipy's quadrature.
    left = Left(400.0 - taken, taken, 0.0, (start_sd,), Normal(-3.0, 11.2))
    for share, end in zip((norm.cdf(-1.96), norm.cdf(1.96)), left.interval(), strict=True):

        def part(z, end=end):
            return norm.pdf(z) * norm.cdf((end + max(0.0, taken - 3.0 + 11.2 * z) - 400.0) / start_sd)

        kink = (3.0 - taken) / 11.2
        assert quad(part, -9.0, 9.0, points=[kink], limit=200)[0] == pytest.approx(share, abs=2e-6)


def test_far_from_nothing_the_plain_sum_stays_as_it_was_and_no_step_shows():
    # Source: the normal sum; at the border of both forms they differ by less than any figure printed.
    for sd in (4.0, 11.2):
        ends = [Left(400.0, FAR * sd + more, 0.0, (5.0, 5.0), Normal(0.0, sd)).interval() for more in (-1e-9, 1e-9)]
        np.testing.assert_allclose(*ends, atol=1e-3)
    far = plan_of(-6.0).results["flap"]
    sd = np.sqrt(5.0**2 + 5.0**2 + 11.2**2)
    assert far.spread.bed_low_um == far.budget.bed_central_um + (0.0 - 4.0 - 0.0) - 1.96 * sd


def test_columns_are_the_eyes_alone():
    many = compare(
        EYE, Treatment(Refraction(np.array(SPHERES))), errors=Errors(lenticule_bias_um=np.array([-12.1] * 6))
    )
    for i, sphere in enumerate(SPHERES):
        one = plan_of(sphere)
        for option in one.results:
            for figure in SUMS:
                ends = [end[i] for end in closed_interval(many, option, figure)]
                assert ends == pytest.approx(closed_interval(one, option, figure), abs=1e-6)


def test_a_column_of_lines_on_one_eye_that_loses_little():
    from tissue import Judgement

    many = plan_of(-0.5, judgement=Judgement(np.array([390.0, 395.0])))
    for i, line in enumerate((390.0, 395.0)):
        one = plan_of(-0.5, judgement=Judgement(line)).results["flap"].spread
        found = many.results["flap"].spread
        assert found.bed_below_line_percent[i] == pytest.approx(one.bed_below_line_percent)
        assert found.bed_min_below_line_percent[i] == pytest.approx(one.bed_min_below_line_percent)
