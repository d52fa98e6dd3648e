"""Optical figures of a plan against published and reference numbers, and the laws they keep."""

import dataclasses

import numpy as np
import pytest
from conftest import published
from hypothesis import given
from hypothesis import strategies as st
from ray_trace import path_coefficient, power_matrix_D, sphere_cylinder_axis

from tissue.comparison import compare
from tissue.cornea import Cornea, Pupil
from tissue.optics import Optics, apex_shift_D, asphericity_after, optics, optics_by_option
from tissue.optics_centre import coma_of_offset_um, defocus_of_offset_D
from tissue.optics_paraxial import achieved, refraction_of_heights
from tissue.optics_pupil import c40_change_um, least_squares, outside_percent, power_vector_of
from tissue.optics_trace import cornea_power_D, front_c40_um, path_um, ray_power_D
from tissue.refraction import Refraction
from tissue.removal import Treatment, removal
from tissue.rotation import rotation_residual
from tissue.zernike import index, nodes, weights

PROFILES = np.array(["munnerlyn", "conic", "parabolic"])
NAMES = [field.name for field in dataclasses.fields(Optics)]
FROM_TEXT = ("_D", "_deg", "_mm", "_um", "asphericity")


def numbers(row):
    return {n: float(row[n]) if row[n] else np.nan for n in row if n.endswith(FROM_TEXT)}


def taken_of(row):
    """Eye and Removal of a row at the corneal plane; zone 6.5 and no cylinder unless it says so."""
    v = {name: np.nan_to_num(value) for name, value in numbers(row).items()}
    eye = Cornea(550.0, radius_mm=v["radius_mm"] or 7.8, asphericity=v["asphericity"])
    refraction = Refraction(v["sphere_D"], v["cylinder_D"], v["axis_deg"], 0.0)
    plan = Treatment(refraction, v["zone_mm"] or 6.5, row["profile"] or "munnerlyn")
    return eye, removal(eye, plan, 0.0)


def heights_of(taken, step_mm=0.1, across=5):
    """t [µm] on a square grid about the treatment centre."""
    offsets = step_mm * (np.arange(across) - across // 2)
    lead = (1,) * np.ndim(taken.central_um)
    x, y = (part.reshape(part.shape + lead) for part in np.meshgrid(offsets, offsets))
    return taken.t_um(taken.centre_x_mm + x, taken.centre_y_mm + y) / taken.scale


def thumb_rule(row):
    """Curvature of a parabola as deep as the rule of Munnerlyn: D·Z²/3 µm at the centre, nothing at the edge."""
    x, y = np.meshgrid(*[0.1 * np.arange(-2, 3)] * 2)
    Z, D = 6.5, -float(row["sphere_D"])
    return refraction_of_heights(D * Z**2 / 3.0 * (1.0 - (x**2 + y**2) / (Z / 2.0) ** 2), 0.1).sphere_D


def traced_back(row):
    return traced(*taken_of(row))


def traced(eye, taken, radius=0.02):
    """Refraction by vector refraction of rays near the axis at the front surface, and at it moved in by t."""
    from scipy.interpolate import RectBivariateSpline

    offsets = 0.1 * np.arange(-6, 7)
    x, y = np.meshgrid(offsets, offsets, indexing="ij")
    front = eye.front_mm(x, y)
    t = taken.t_um(taken.centre_x_mm + x, taken.centre_y_mm + y) / taken.scale / 1000.0
    turn = np.linspace(0.0, 2.0 * np.pi, 17)[:-1]
    px, py = radius * np.cos(turn), radius * np.sin(turn)
    matrices = []
    for heights in (front, front + t):
        spline = RectBivariateSpline(offsets, offsets, heights, kx=5, ky=5)
        matrices.append(power_matrix_D(px, py, spline.ev(px, py, dx=1), spline.ev(px, py, dy=1)))
    return sphere_cylinder_axis(*(matrices[1] - matrices[0]))


def far_point_change(row):
    """Change of C40 of the front surface: object at the far point before, at infinity after (Fermat paths)."""
    eye, taken = taken_of(row)
    a, F, D = float(row["pupil_mm"]) / 2.0, 376.0 / float(row["radius_mm"]), float(row["sphere_D"])

    def after(h):
        return eye.front_mm(h, 0.0) + (taken.t_um(h, 0.0) - taken.central_um) / 1000.0

    before = path_coefficient(lambda h: eye.front_mm(h, 0.0), a, D, F)
    return path_coefficient(after, a, 0.0, F + D) - before


def residual(row):
    v = numbers(row)
    return rotation_residual(Refraction(0.0, v["cylinder_D"], v["axis_deg"], 0.0), v["rotation_deg"])


def one_wave(row, m):
    wave = np.zeros(28)
    wave[index(2, m)] = float(row["coefficient_um"])
    return power_vector_of(wave, float(row["pupil_mm"]))


def offset(row):
    return tuple(float(row[name]) for name in ("coefficient_um", "offset_mm", "pupil_mm"))


def conic(row):
    return tuple(float(row[name]) for name in ("radius_mm", "asphericity", "pupil_mm"))


def next_order(row):
    R, Q, pupil = conic(row)
    x, y, _ = nodes()
    return weights(6, 0) @ path_um(1.0 / R, 1.0 + Q, (x**2 + y**2) * pupil**2 / 4.0)


QUANTITIES = {
    "surface_power_D": lambda row: ray_power_D(1.0 / float(row["radius_mm"]), 0.5 / float(row["radius_mm"]), 0.0),
    "cornea_power_D": lambda row: cornea_power_D(row["radius_mm"], row["back_radius_mm"], row["thickness_mm"]),
    "c40_um": lambda row: front_c40_um(*conic(row)),
    "c40_closed_form_um": lambda row: front_c40_um(*conic(row)),
    "c60_um": next_order,
    "radius_after_mm": lambda row: 1.0 / taken_of(row)[1].profile.along_per_mm,
    "power_change_D": lambda row: (
        thumb_rule(row) if row["profile"] == "thumb rule" else achieved(taken_of(row)[1]).sphere_D
    ),
    "traced_sphere_D": lambda row: traced_back(row)[0],
    "traced_cylinder_D": lambda row: traced_back(row)[1],
    "traced_axis_deg": lambda row: traced_back(row)[2],
    "c40_change_um": lambda row: c40_change_um(taken_of(row)[1], Pupil(float(row["pupil_mm"]))),
    "far_point_c40_change_um": far_point_change,
    "apex_shift_D": lambda row: apex_shift_D(taken_of(row)[1]),
    "residual_sphere_D": lambda row: residual(row).sphere_D,
    "residual_cylinder_D": lambda row: -residual(row).cylinder_D,
    "residual_axis_deg": lambda row: residual(row).axis_deg,
    "coma_um": lambda row: coma_of_offset_um(*offset(row)),
    "defocus_D": lambda row: defocus_of_offset_D(*offset(row)),
    "M_of_c20_D": lambda row: one_wave(row, 0).SE_D,
    "J0_of_c22_D": lambda row: one_wave(row, 2).J0_D,
}


@pytest.mark.parametrize("row", list(published("optics")))
def test_published(row):
    assert QUANTITIES[row["quantity"]](row) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("row", [r for r in published("removal") if r.values[0]["quantity"] == "asphericity_after"])
def test_published_asphericity(row):
    """Source: the table's (Cano, Barbero, Marcos; formulas of Gatinel et al.)."""
    eye = Cornea(550.0, radius_mm=float(row["radius_mm"]), asphericity=float(row["asphericity"]))
    refraction = Refraction(float(row["sphere_D"]), vertex_mm=float(row["vertex_mm"]))
    plan = Treatment(refraction, float(row["zone_mm"]), row["profile"])
    after = asphericity_after(eye, plan, removal(eye, plan, 0.0))
    assert after == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("profile", PROFILES)
def test_thin_plate_against_a_trace(profile):
    """At −6 D over 6 mm the thin plate lies 0.02 to 0.04 µm below the trace with the far point, on every profile."""
    row = {"sphere_D": -6, "cylinder_D": "", "axis_deg": "", "zone_mm": "", "pupil_mm": 6, "profile": profile}
    row |= {"radius_mm": 7.8, "asphericity": -0.26}
    below = far_point_change(row) - c40_change_um(taken_of(row)[1], Pupil(6.0))
    assert 0.02 < below < 0.04


# --- planned = achieved ---


def random_plans(count, seed):
    """Eyes, plans and pupils of both sides over the whole range of the inputs that have surfaces in the zone."""
    u = np.random.default_rng(seed).uniform
    words = np.random.default_rng(seed + 1).choice(PROFILES, count)
    eye = Cornea(u(450, 650, count), radius_mm=u(6.8, 9.0, count), asphericity=u(-1.0, 0.8, count))
    plan = Treatment(
        Refraction(u(-14, 5, count), u(-6, 4, count), u(0, 180, count), u(0, 16, count)),
        u(4.5, 7.5, count),
        words,
        target_asphericity=np.where(u(0, 1, count) < 0.5, np.nan, u(-1.5, 1.0, count)),
        centre_x_mm=u(-1.5, 1.5, count),
        centre_y_mm=u(-1.5, 1.5, count),
    )
    return eye, plan, Pupil(u(2, 9, count), u(-0.8, 0.8, count), u(-0.8, 0.8, count))


def apart(found, wanted):
    """Greatest part of the difference of two power vectors [D]; NaN counts as infinitely far."""
    parts = [np.abs(a - b) for a, b in zip(found.power_vector(), wanted.power_vector(), strict=True)]
    return np.nan_to_num(np.maximum.reduce(parts), nan=np.inf)


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


# --- pupil figures ---


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


def test_least_squares_tends_to_the_plan_as_the_pupil_closes():
    """Both are the curvature at the centre in the limit (Thibos 2004); a wide pupil differs."""
    eye, plan = Cornea(550.0, asphericity=-0.26), Treatment(Refraction(-3.0, -1.5, 20.0, 0.0))
    taken = removal(eye, plan, 0.1)
    assert apart(least_squares(taken, Pupil(0.2)).refraction, plan.refraction) < 1e-3
    assert 0.1 < apart(least_squares(taken, Pupil(6.0)).refraction, plan.refraction) < 0.6


def test_fit_and_figure_agree_and_say_when_they_look_past_the_zone():
    eye, plan = Cornea(550.0), Treatment(Refraction(-5.0, -2.0, 70.0), 6.5, centre_x_mm=0.2)
    taken = removal(eye, plan, 0.5)
    within, past = (least_squares(taken, Pupil(d)) for d in (6.0, 6.2))
    assert within.c40_um == pytest.approx(c40_change_um(taken, Pupil(6.0)), abs=1e-6)
    assert (within.past_zone, past.past_zone, within.off_centre) == (False, True, True)
    assert not least_squares(taken, Pupil(6.0, 0.2, 0.0)).off_centre


def test_coma_of_an_offset_pupil_follows_the_shift():
    """Coma over a pupil beside the treatment centre is 2√10·C40·δ/a of the thin plate, within a tenth."""
    eye, plan = Cornea(550.0, asphericity=-0.26), Treatment(Refraction(-6.0, vertex_mm=0.0), 7.5)
    taken = removal(eye, plan, 0.0)
    fit = least_squares(taken, Pupil(6.0, 0.25, 0.0))
    assert fit.coma_x_um == pytest.approx(coma_of_offset_um(c40_change_um(taken, Pupil(6.0)), 0.25, 6.0), rel=0.1)
    assert fit.coma_y_um == pytest.approx(0.0, abs=1e-9)


class Zone:
    """A zone of a given radius and place, all that the overlap needs."""

    def __init__(self, radius, x=0.0, y=0.0):
        self.zone_radius_mm, self.centre_x_mm, self.centre_y_mm = radius, x, y
        self.profile = self


def test_overlap_of_circles():
    """Sources: geometry; two equal circles through each other's centres share 2π/3 − √3/2 of r²."""
    assert outside_percent(Pupil(6.0), Zone(3.25)) == 0.0
    assert outside_percent(Pupil(6.5), Zone(3.25)) == 0.0
    assert outside_percent(Pupil(2.0, 5.0), Zone(3.25)) == 100.0
    assert outside_percent(Pupil(8.0), Zone(3.0)) == pytest.approx(100 * (1 - 9 / 16), abs=1e-12)
    shared = 2 * np.pi / 3 - 3**0.5 / 2
    assert outside_percent(Pupil(6.0, 3.0), Zone(3.0)) == pytest.approx(100 * (1 - shared / np.pi), abs=1e-12)


@given(st.floats(1, 10), st.floats(4, 9), st.floats(-1.5, 1.5), st.floats(-1.5, 1.5))
def test_overlap_by_counting(pupil, zone, x, y):
    """Source: rings of the pupil, each with the angle of it that lies outside the zone (C)."""
    r = (np.arange(4000) + 0.5) / 4000 * pupil / 2
    a, d = zone / 2, max(np.hypot(x, y), 1e-12)
    inside = np.arccos(np.clip((r**2 + d**2 - a**2) / (2 * r * d), -1, 1)) / np.pi
    counted = 100 * np.sum((1 - inside) * r) / np.sum(r)
    assert outside_percent(Pupil(pupil, x, y), Zone(a)) == pytest.approx(counted, abs=0.05)


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
