"""Least beds and greatest shares of an eye with a map of its own: against brute force on a grid of 0.02 mm."""

from dataclasses import replace

import numpy as np
import pytest
from map_trials import errors_of
from own_maps import map_of, nine

from tissue import Cornea, Refraction, Treatment, compare
from tissue.budget.comparison import closed_interval
from tissue.budget.map_figures import map_figures
from tissue.budget.notices import notices
from tissue.explore.draws import sample

PLAN = Treatment(Refraction(-4.0, -0.5, 175.0))


def dipped(x, y):
    """Thinner below the centre: the map of the demo eye harbour-10."""
    return nine(x, y) - 28.0 * np.exp(-((x + 0.5) ** 2 + (y + 1.4) ** 2) / 1.62)


def layer(x, y):
    """Epithelium that is thin over the same place."""
    return 53.0 - 6.0 * np.exp(-((x + 0.5) ** 2 + (y + 1.4) ** 2) / 1.62)


def brute(eye, option, thickness, epithelium):
    """Least bed [µm] and greatest share [%] over the treated disc, both formulas on a grid of 0.02 mm."""
    taken = option.removal
    line = np.arange(-4.6, 4.61, 0.02)
    x, y = (part.ravel() for part in np.meshgrid(line, line))
    inside = np.hypot(x - taken.centre_x_mm, y - taken.centre_y_mm) <= taken.radius_mm
    x, y = x[inside], y[inside]
    cut = option.cut_um if option.cuts else epithelium(x, y)
    above = cut + taken.r_um(x, y)
    return (thickness(x, y) - above).min(), (100.0 * above / thickness(x, y)).max()


@pytest.mark.parametrize("centre", [(0.0, 0.0), (0.3, -0.2)])
@pytest.mark.parametrize("formula", [nine, dipped])
def test_against_brute_force(formula, centre):
    eye = Cornea(None, own_map=map_of(formula, layer), epithelium_um=float(layer(0.0, 0.0)))
    plan = compare(eye, Treatment(Refraction(-4.0, -0.5, 175.0), centre_x_mm=centre[0], centre_y_mm=centre[1]))
    for one in plan.results.values():
        bed, share = brute(eye, one.option, formula, layer)
        assert one.budget.bed_min_um == pytest.approx(bed, abs=0.4)
        assert one.budget.altered_max_percent == pytest.approx(share, abs=0.1)


def test_two_valleys_the_deeper_one_is_found():
    def two(x, y):
        one, other = ((x - s * 2.0) ** 2 + y**2 for s in (1.0, -1.0))
        return 560.0 + 2.0 * (x**2 + y**2) - 40.0 * np.exp(-one / 0.8) - 40.6 * np.exp(-other / 0.8)

    plan = compare(Cornea(None, own_map=map_of(two, step_mm=0.25)), Treatment(Refraction(-1.0)))
    assert plan.under_flap.budget.bed_min_x_mm == pytest.approx(-1.9, abs=0.2)


def test_a_map_that_is_the_paraboloid_gives_its_figures():
    """Within 0.2 µm and 0.05 points."""

    def paraboloid(x, y):
        return 543.0 * (1.0 + 0.0088 * ((x + 0.6) ** 2 + (y + 0.5) ** 2))

    plan = Treatment(Refraction(-6.0, -1.25, 170.0))
    usual = compare(Cornea(548.0, 543.0, -0.6, -0.5), plan)
    own = compare(Cornea(548.0, own_map=map_of(paraboloid)), plan)
    for name, one in own.results.items():
        assert one.budget.bed_min_um == pytest.approx(usual.results[name].budget.bed_min_um, abs=0.2)
        assert one.budget.altered_max_percent == pytest.approx(usual.results[name].budget.altered_max_percent, abs=0.05)
        assert one.budget.bed_central_um == usual.results[name].budget.bed_central_um


def test_no_least_figure_where_the_map_ends_inside_the_treated_disc():
    plan = compare(Cornea(None, own_map=map_of(nine, reach_mm=3.0)), PLAN)
    for one in plan.results.values():
        assert one.available and np.isfinite(one.budget.bed_central_um)
        for name in ("bed_min_um", "bed_min_x_mm", "altered_max_percent"):
            assert np.isnan(getattr(one.budget, name))
        assert np.isnan(one.spread.bed_min_below_line_percent)


def test_error_of_a_reading_adds_to_the_least_bed_alone():
    """σ² = ΣSD² + 4²; the draws agree with the closed form within their own 0.2 µm times a few."""
    plan = compare(Cornea(None, own_map=map_of(nine)), PLAN)
    plain = compare(plan.cornea.without_map(), PLAN)
    one, other = plan.under_flap, plain.under_flap
    assert one.spread.bed_sd_um == other.spread.bed_sd_um
    low, high = closed_interval(plan, "flap", "bed_min_um")
    assert high - low == pytest.approx(2.0 * 1.96 * np.hypot(one.spread.bed_sd_um, 4.0))
    drawn = sample(plan, ["bed_min_um"])["flap"].interval("bed_min_um")
    assert np.allclose(drawn, (low, high), atol=0.8)


def test_a_column_of_plans_is_the_plans_one_by_one():
    eye = Cornea(None, own_map=map_of(dipped, layer), epithelium_um=53.0)
    zones = np.array([5.5, 6.5, 7.0])
    column = compare(eye, Treatment(Refraction(-4.0), zone_mm=zones))
    for number, zone in enumerate(zones):
        alone = compare(eye, Treatment(Refraction(-4.0), zone_mm=zone))
        for name, one in column.results.items():
            assert one.budget.bed_min_um[number] == pytest.approx(alone.results[name].budget.bed_min_um, abs=1e-3)


def test_an_epithelium_map_alone_says_nothing_of_a_paraboloid_or_of_readings():
    """Both beds rest on the paraboloid then, and no reading has an error: it was said, and an area of 0 mm² given."""
    own = replace(map_of(nine, epithelium=lambda x, y: 53.0 + 2.0 * (x**2 + y**2)), thickness=None)
    eye = compare(Cornea(548.0, own_map=own), Treatment(Refraction(3.0)))
    assert "map-paraboloid" not in {one.id for one in notices(eye)}
    figures = [one for name, one in map_figures(eye).items() if eye.results[name].available]
    assert figures and all(np.isnan(one.bed_near_least_mm2) for one in figures)


def test_a_zone_that_cannot_be_is_not_advised():
    """Source: limits of the field: a zone is 4 mm or wider; a notice says what would end it and nothing else."""
    plan = compare(
        Cornea(None, own_map=map_of(nine, reach_mm=2.25, step_mm=0.25)), Treatment(Refraction(-3.0), zone_mm=6.5)
    )
    said = {one.option: one.text for one in notices(plan) if one.id == "map-short"}
    assert said["surface"].endswith("can be given. A wider map would end this.")
    assert said["lenticule"].endswith("A zone of 4.40 mm or a wider map would end this.")


def test_typed_thinnest_points_in_columns_are_compared_and_not_used():
    """A column of thinnest points beside a map was a TypeError."""
    own = replace(map_of(nine), typed_thinnest_um=np.array([530.0, 525.0]))
    beds = compare(Cornea(None, own_map=own), PLAN).under_flap.budget.bed_min_um
    assert np.ptp(beds) == 0.0 and np.all(np.asarray(Cornea(None, own_map=own).without_map().thinnest_um) == [530, 525])


@pytest.mark.parametrize("seed", range(4))
def test_against_the_written_model_and_the_formula_of_the_readings(seed):
    """Source: removal from the written model alone (`brute.py`), thickness by the formula."""
    form, found = errors_of(seed)
    assert form in ("grid", "points", "polar") and len(found) == 3
    for name, bed, share in found:
        assert abs(bed) <= 0.4 and abs(share) <= 0.1, name
