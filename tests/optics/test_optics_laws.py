"""Planned is achieved over all eyes and plans; a column is its rows; a left eye is the mirror of a right one."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from optics_cases import PROFILES, apart, heights_of, random_plans, refraction_of_heights, traced

from tissue.budget.comparison import compare
from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.optics.figures import Optics, apex_shift_D, apex_shift_interval_D, optics, optics_by_option
from tissue.optics.paraxial import achieved
from tissue.removal.options import Errors
from tissue.removal.removal import Treatment, removal

NAMES = [field.name for field in dataclasses.fields(Optics)]


# --- planned = achieved ---


def test_planned_is_achieved_over_ten_thousand_plans():
    """All axes, both signs of the cylinder, any centre and target asphericity, within 1e-6 D of the plan."""
    eye, plan, _ = random_plans(10_000, seed=6)
    found = achieved(removal(eye, plan, plan.ablation_blend_mm))
    assert apart(found, plan.refraction.at_cornea()).max() < 1e-6


def test_height_maps_give_the_plans_back():
    """The same plans from t on a 0.1 mm grid within 0.02 D (every 10,000 of them)."""
    eye, plan, _ = random_plans(10_000, seed=6)
    found = refraction_of_heights(heights_of(removal(eye, plan, plan.lenticule_blend_mm)), 0.1)
    assert apart(found, plan.refraction.at_cornea()).max() < 0.02


def test_height_maps_traced_by_rays_give_the_plans_back():
    """Source: the tests' own vector trace through a spline of the grid, within 0.02 D."""
    eye, plan, _ = random_plans(60, seed=7)
    for i in range(60):
        eye_i = Cornea(550.0, radius_mm=eye.radius_mm[i], asphericity=eye.asphericity[i])
        r = plan.refraction
        one = Treatment(
            Refraction(r.sphere_D[i], r.cylinder_D[i], r.axis_deg[i], r.vertex_mm[i]),
            plan.zone_mm[i],
            plan.profile[i],
            target_asphericity=plan.target_asphericity[i],
        )
        sphere, cylinder, axis = traced(eye_i, removal(eye_i, one, 0.5))
        assert apart(Refraction(sphere, cylinder, axis, 0.0), one.refraction.at_cornea()) < 0.02


spheres, cylinders, axes = st.floats(-12, 5), st.floats(-5, 4), st.floats(0, 180)
plans = st.builds(Refraction, spheres, cylinders, axes, st.floats(0, 15))


@given(plans, st.sampled_from(list(PROFILES)), st.floats(4.5, 7.0), st.floats(-0.9, 0.8), st.floats(-1, 1))
def test_planned_is_achieved(refraction, profile, zone, target, centre):
    eye = Cornea(550.0)
    plan = Treatment(refraction, zone, profile, target_asphericity=target, centre_x_mm=centre, centre_y_mm=-centre / 2)
    assert apart(achieved(removal(eye, plan, 0.3)), refraction.at_cornea()) < 1e-6


def test_a_reported_depth_leaves_the_optics_alone():
    eye, plan = Cornea(550.0), Treatment(Refraction(-5.0, -1.0, 20.0))
    free, scaled = removal(eye, plan, 0.5, 15.0), removal(eye, plan, 0.5, 15.0, 140.0)
    assert scaled.scale != 1.0
    for name in NAMES:
        assert getattr(optics(eye, plan, scaled), name) == getattr(optics(eye, plan, free), name)


def test_no_axis_without_a_cylinder():
    eye, plan = Cornea(550.0), Treatment(Refraction(-4.0, 0.0, 33.0))
    found = optics(eye, plan, removal(eye, plan, 0.5))
    assert found.refraction_cylinder_D == 0.0 and np.isnan(found.refraction_axis_deg)


def test_mirror_of_a_right_eye_is_a_left_eye():
    eye, plan, pupil = random_plans(300, seed=8)
    r = plan.refraction
    other = Treatment(
        Refraction(r.sphere_D, r.cylinder_D, 180.0 - r.axis_deg, r.vertex_mm),
        plan.zone_mm,
        plan.profile,
        target_asphericity=plan.target_asphericity,
        centre_x_mm=-plan.centre_x_mm,
        centre_y_mm=plan.centre_y_mm,
    )
    left = optics(eye, other, removal(eye, other, 0.4), Pupil(pupil.pupil_mm, -pupil.pupil_x_mm, pupil.pupil_y_mm))
    right = optics(eye, plan, removal(eye, plan, 0.4), pupil)
    for name in NAMES:
        a, b = getattr(right, name), getattr(left, name)
        if name == "refraction_axis_deg":
            a = (180.0 - a) % 180.0
            b = b % 180.0
        assert np.allclose(a, b, rtol=0, atol=1e-9 if name != "refraction_axis_deg" else 1e-6), name


# --- one eye, a column, a gap ---


def test_a_row_is_the_same_alone_and_in_a_column_and_a_gap_stays_in_its_row():
    eye, plan, pupil = random_plans(600, seed=9)
    hole = np.where(np.arange(600) == 5, np.nan, eye.radius_mm)
    eye = dataclasses.replace(eye, radius_mm=hole)
    column = optics(eye, plan, removal(eye, plan, 0.5), pupil)
    r = plan.refraction
    for i in (0, 5, 599):
        eye_i = Cornea(550.0, radius_mm=eye.radius_mm[i], asphericity=eye.asphericity[i])
        plan_i = Treatment(
            Refraction(r.sphere_D[i], r.cylinder_D[i], r.axis_deg[i], r.vertex_mm[i]),
            plan.zone_mm[i],
            plan.profile[i],
            target_asphericity=plan.target_asphericity[i],
            centre_x_mm=plan.centre_x_mm[i],
            centre_y_mm=plan.centre_y_mm[i],
        )
        pupil_i = Pupil(pupil.pupil_mm[i], pupil.pupil_x_mm[i], pupil.pupil_y_mm[i])
        alone = optics(eye_i, plan_i, removal(eye_i, plan_i, 0.5), pupil_i)
        for name in NAMES:
            assert np.ndim(getattr(alone, name)) == 0
            assert getattr(alone, name) == pytest.approx(getattr(column, name)[i], abs=1e-9, nan_ok=True), name
    gaps = {name: np.flatnonzero(np.isnan(getattr(column, name))) for name in NAMES}
    assert list(gaps["refraction_sphere_D"]) == list(gaps["c40_change_um"]) == list(gaps["zone_kept_after_mm"]) == [5]
    assert (
        list(gaps["asphericity_after"]) == list(gaps["apex_shift_D"]) == [5]
        and not gaps["pupil_outside_zone_percent"].size
    )


def test_options_together_are_the_options_alone():
    plan = compare(Cornea(548.0, 543.0, -0.6, -0.5), Treatment(Refraction(-6.0, -1.25, 170.0), 6.0))
    options = [result.option for result in plan.results.values()]
    pupil = Pupil(6.5, 0.2, 0.1)
    for option, found in zip(options, optics_by_option(plan.cornea, plan.treatment, options, pupil), strict=True):
        alone = optics(plan.cornea, plan.treatment, option, pupil)
        assert [getattr(found, name) for name in NAMES] == [getattr(alone, name) for name in NAMES]
    lenticule = options[-1].removal
    assert apex_shift_D(lenticule) > apex_shift_D(dataclasses.replace(lenticule, base_um=0.0))


@pytest.mark.parametrize("option", ["surface", "flap", "lenticule"])
def test_the_interval_of_the_apex_shift_against_plain_draws(option):
    """Source: the vertex formula written here, of 10^6 independent normal errors of the removal; plain quantiles."""
    bias, sd = (-8.0, 8.0) if option == "lenticule" else (0.0, 11.2)
    errors = Errors(ablation_bias_um=0.0, ablation_sd_um=11.2, lenticule_bias_um=-8.0, lenticule_sd_um=8.0)
    plan = Treatment(Refraction(-4.0, vertex_mm=0.0))
    mine = compare(Cornea(550.0), plan, errors=errors).results[option].option
    taken = float(mine.removal.central_um) + bias + sd * np.random.default_rng(4).normal(size=10**6)
    V = 376.0 / 7.8 - 4.0
    shift = V / (1.0 - np.maximum(taken, 0.0) * 1e-6 * V / 1.376) - V
    np.testing.assert_allclose(apex_shift_interval_D(mine), np.quantile(shift, (0.025, 0.975)), atol=2e-4)
