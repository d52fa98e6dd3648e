"""The volume under errors: against a fine grid of places, against draws, and against plans moved by hand."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tissue import Cornea, Errors, FlapCut, Refraction, Treatment, compare
from tissue.budget.comparison import closed_interval
from tissue.budget.spread import CLOSED, volume_interval
from tissue.explore.sample import ERRORS, standard_normals
from tissue.removal.removal import removal
from tissue.removal.volume import moved_volume_mm3

EYE = Cornea(548.0, 543.0, -0.6, -0.5, radius_mm=337.5 / 43.25)
SHAPES = (
    # sphere, cylinder, blend, base
    (-6.0, -1.25, 0.5, 0.0),
    (-6.0, -1.25, 0.1, 15.0),
    (-1.0, 0.0, 0.5, 0.0),
    (-6.0, 0.0, 0.0, 0.0),
    (3.0, 0.0, 1.0, 0.0),
    (3.0, -2.0, 1.0, 30.0),
    (2.0, -4.0, 1.0, 0.0),
    (0.0, -4.0, 0.5, 0.0),
)
SHIFTS_UM = (-60.0, -22.0, -5.0, 0.0, 14.0)


def on_a_grid(taken, deeper_um, rings=1200, turns=720):
    """∬ max(0, r + e) by the midpoint rule on a polar grid, r asked place by place [mm³]."""
    step = float(taken.radius_mm) / rings
    rho = (np.arange(rings)[:, np.newaxis] + 0.5) * step
    psi = (np.arange(turns) + 0.5) * 2.0 * np.pi / turns
    r = taken.r_um(taken.centre_x_mm + rho * np.cos(psi), taken.centre_y_mm + rho * np.sin(psi))
    return float((np.maximum(0.0, r + deeper_um) * rho).sum() * step * 2.0 * np.pi / turns / 1000.0)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("deeper", SHIFTS_UM)
def test_against_a_fine_grid_of_places(shape, deeper):
    # Source: definition: the error moves r wherever something is removed, and nothing less than nothing is removed.
    sphere, cylinder, blend, base = shape
    plan = Treatment(Refraction(sphere, cylinder, 170.0), centre_x_mm=0.3, centre_y_mm=-0.2)
    taken = removal(EYE, plan, blend, base_um=base)
    assert abs(float(moved_volume_mm3(taken, deeper)) - on_a_grid(taken, deeper)) < 0.001


@pytest.mark.parametrize("option", ["surface", "flap", "lenticule"])
def test_end_points_against_the_quantiles_of_drawn_volumes(option):
    # Source: every draw's volume on a grid of places of its own, and the plain quantiles of 4,096 quasi-random draws.
    plan = compare(EYE, Treatment(Refraction(-2.0, -0.5, 170.0)))
    result = plan.results[option]
    error, z = result.option.removal_error, standard_normals()[:, ERRORS.index("removal")]
    drawn = [on_a_grid(result.option.removal, e, 60, 24) for e in error.bias_um + error.sd_um * z]
    np.testing.assert_allclose(
        closed_interval(plan, option, "removal_volume_mm3"), np.quantile(drawn, (0.025, 0.975)), atol=0.01
    )


def test_a_reported_depth_scales_the_removal_and_not_the_error():
    # Source: definition: r is what the laser's reported depth makes of it; the error is the same.
    plan = Treatment(Refraction(-6.0, -1.25, 170.0), reported_ablation_um=90.0)
    option = compare(EYE, plan).results["flap"].option
    wanted = [on_a_grid(option.removal, end) for end in (-1.96 * 11.2, 1.96 * 11.2)]
    np.testing.assert_allclose(volume_interval(option), wanted, atol=0.001)


@settings(max_examples=40)
@given(st.floats(-10.0, 5.0), st.floats(-4.0, 0.0), st.floats(-60.0, 60.0), st.floats(0.0, 30.0))
def test_it_never_falls_as_the_removal_deepens(sphere, cylinder, deeper, more):
    # Source: law: more removed everywhere is no less in all.
    taken = compare(EYE, Treatment(Refraction(sphere, cylinder, 20.0))).results["surface"].option.removal
    low, high = moved_volume_mm3(taken, deeper), moved_volume_mm3(taken, deeper + more)
    assert -1e-3 <= low <= high + 1e-3
    assert high - low <= np.pi * taken.radius_mm**2 * more / 1000.0 + 1e-3


def test_without_errors_the_ends_are_the_plan():
    # Source: definition.
    none = Errors(**{name: 0.0 for name in Errors.__dataclass_fields__})
    plan = compare(EYE, Treatment(Refraction(-6.0, -1.25, 170.0)), errors=none)
    for name, result in plan.results.items():
        for figure in CLOSED:
            planned = float(getattr(result.budget, figure))
            np.testing.assert_allclose(
                closed_interval(plan, name, figure), planned, rtol=1e-7
            )  # a root of rounding in the PTA


def test_columns_are_the_eyes_alone():
    # Source: each eye on its own.
    spheres = np.array([-2.0, 0.0, 3.0])
    many = compare(EYE, Treatment(Refraction(spheres, 0.0, 10.0)))
    found = np.array(closed_interval(many, "lenticule", "removal_volume_mm3"))
    for i, sphere in enumerate(spheres):
        one = compare(EYE, Treatment(Refraction(sphere, 0.0, 10.0)))
        np.testing.assert_allclose(found[:, i], closed_interval(one, "lenticule", "removal_volume_mm3"), rtol=1e-12)
    assert np.isnan(found[:, 1]).all() and np.isfinite(found[:, [0, 2]]).all()


def test_the_bed_with_the_planned_cut_has_the_planned_cuts_bias():
    # Source: the same plan without the measured flap: the bed it foresaw, with its interval.
    plan = Treatment(Refraction(-6.0, -1.25, 170.0))
    measured = compare(EYE, plan, flap=FlapCut(110.0, flap_measured_um=150.0))
    planned = compare(EYE, plan, flap=FlapCut(110.0))
    sure = planned.results["flap"].spread
    foreseen = sure.bed_low_um, sure.bed_high_um
    np.testing.assert_allclose(closed_interval(measured, "flap", "bed_planned_um"), foreseen, rtol=1e-12)
    assert closed_interval(planned, "flap", "bed_planned_um") == closed_interval(planned, "flap", "bed_central_um")
