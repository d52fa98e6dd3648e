"""Cost of landing beside the planned centre: coma, least bed by brute force, pupil within the zone."""

import numpy as np
import pytest

from tissue.budget.comparison import compare
from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.optics.centration import centred_at, decentration, moved
from tissue.optics.pupil import c40_change_um, least_squares
from tissue.removal.over_pupil import outside_percent
from tissue.removal.removal import Treatment

EYE = Cornea(548.0, 543.0, -0.6, -0.5, asphericity=-0.26)
PLAN = compare(EYE, Treatment(Refraction(-6.0, -1.25, 170.0), centre_x_mm=0.1))
OPTIONS = [result.option for result in PLAN.results.values()]


def bed_by_brute_force(option, x0, y0):
    """Least T − cut − r over a fine polar grid of the treated disc about a centre [µm]."""
    taken = option.removal
    rho = np.linspace(0.0, taken.radius_mm, 400)[:, None]
    turn = np.linspace(0.0, 2.0 * np.pi, 721)
    dx, dy = rho * np.cos(turn), rho * np.sin(turn)
    r = taken.r_um(taken.centre_x_mm + dx * (1 - 1e-12), taken.centre_y_mm + dy * (1 - 1e-12))
    return (EYE.thickness_um(x0 + dx, y0 + dy) - option.cut_um - r).min()


@pytest.mark.parametrize("option", OPTIONS, ids=lambda option: option.name)
@pytest.mark.parametrize("dx, dy", [(0.0, 0.0), (-0.5, -0.4), (0.6, 0.2)])
def test_least_bed_where_it_lands(option, dx, dy):
    """Source: the tests' own grid, coarser than 0.01 mm by 0.5°."""
    found = decentration(EYE, option, Pupil(), dx, dy)
    taken = option.removal
    on_the_map = bed_by_brute_force(option, taken.centre_x_mm + dx, taken.centre_y_mm + dy)
    at_the_centre = EYE.central_thickness_um - option.cut_um - taken.central_um
    assert found.bed_min_um == pytest.approx(min(on_the_map, at_the_centre), abs=0.02)
    assert found.bed_min_planned_um == pytest.approx(PLAN.results[option.name].budget.bed_min_um, abs=1e-6)


def test_no_error_costs_nothing_and_arrays_give_what_numbers_give():
    at = np.array([0.0, 0.2, 0.4])
    column = decentration(EYE, OPTIONS[1], Pupil(), at, 0.0)
    assert (column.coma_um[0], column.offset_mm[0], column.largest_pupil_mm[0]) == (0.0, 0.0, 6.5)
    assert column.bed_min_um[0] == pytest.approx(column.bed_min_planned_um[0], abs=1e-9)
    alone = decentration(EYE, OPTIONS[1], Pupil(), 0.4, 0.0)
    assert alone.coma_um == pytest.approx(column.coma_um[2], abs=1e-12) and column.coma_um[2] == 2 * column.coma_um[1]
    assert alone.bed_min_um == pytest.approx(column.bed_min_um[2], abs=1e-9)


@pytest.mark.parametrize("delta", [0.0, 0.3, 1.0])
def test_largest_pupil_touches_the_zone(delta):
    """Z − 2δ lies wholly inside, a hair more does not (the exact overlap of two circles)."""
    option = OPTIONS[0]
    pupil = decentration(EYE, option, Pupil(), delta * 0.6, delta * 0.8).largest_pupil_mm
    landed = moved(option.removal, delta * 0.6, delta * 0.8)
    where = option.removal.centre_x_mm, option.removal.centre_y_mm
    assert pupil == pytest.approx(6.5 - 2 * delta)
    assert outside_percent(Pupil(pupil - 1e-6, *where), landed) == 0.0
    assert outside_percent(Pupil(pupil + 0.01, *where), landed) > 0.0
    assert decentration(EYE, option, Pupil(), 4.0, 0.0).largest_pupil_mm == 0.0


def test_coma_against_the_fit_of_the_moved_tissue():
    """Good to a tenth: against the thin plate fitted over the pupil with the tissue moved (sphere, zone 8)."""
    plan = compare(Cornea(600.0, asphericity=-0.26), Treatment(Refraction(-6.0, vertex_mm=0.0), 8.0))
    option = plan.results["surface"].option
    fitted = least_squares(moved(option.removal, 0.15, 0.2), Pupil(6.0))
    coma = decentration(plan.cornea, option, Pupil(6.0), 0.15, 0.2).coma_um
    assert coma == pytest.approx(np.hypot(fitted.coma_x_um, fitted.coma_y_um), rel=0.1)
    assert fitted.c40_um == pytest.approx(c40_change_um(option.removal, Pupil(6.0)), rel=0.1)


@pytest.mark.parametrize("name", PLAN.results)
@pytest.mark.parametrize(("x", "y"), [(0.0, 0.0), (-0.4, 0.3)])
def test_treated_about_another_place_is_the_plan_with_that_centre(name, x, y):
    """Bed, pupil and share against a plan made with that centre; the same removal lies elsewhere."""
    pupil = Pupil(6.6, 0.2, 0.1)
    there = centred_at(EYE, PLAN.results[name].option, pupil, x, y)
    plan = compare(EYE, Treatment(Refraction(-6.0, -1.25, 170.0), centre_x_mm=x, centre_y_mm=y), pupil=pupil)
    made = plan.results[name]
    assert there.bed_min_um == pytest.approx(made.budget.bed_min_um, abs=1e-6)
    assert there.bed_central_um == pytest.approx(made.budget.bed_central_um, abs=1e-9)
    assert there.outside_percent == pytest.approx(outside_percent(pupil, made.option.removal), abs=1e-9)
    assert there.largest_pupil_mm == pytest.approx(6.5 - 2 * np.hypot(x - 0.2, y - 0.1))


def test_coma_about_another_place_against_the_fit_over_the_pupil_where_it_is():
    """Good to a tenth: the thin plate fitted over the pupil, the treatment beside it (sphere, zone 8)."""
    plan = compare(Cornea(600.0, asphericity=-0.26), Treatment(Refraction(-6.0, vertex_mm=0.0), 8.0))
    option, pupil = plan.results["surface"].option, Pupil(6.0, -0.15, 0.1)
    fitted = least_squares(moved(option.removal, 0.05, 0.25), pupil)
    coma = centred_at(plan.cornea, option, pupil, 0.05, 0.25).coma_um
    assert coma == pytest.approx(np.hypot(fitted.coma_x_um, fitted.coma_y_um), rel=0.1)
