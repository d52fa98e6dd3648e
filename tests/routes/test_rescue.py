"""Rescue options when suction is lost: routes by stage, clearance to the old cuts, and the figures of the new plan."""

import numpy as np
import pytest
from brute import Eye, Tissue
from hypothesis import given, settings
from hypothesis import strategies as st

from tissue import CapCut, Cornea, EyeError, FlapCut, Judgement, Refraction, Treatment, compare
from tissue.routes.rescue import rescue

STANDARD = Refraction(
    -6.0, vertex_mm=0.0
)  # −6 D at the cornea: 95.4 µm without blend, 16.6 more with 0.5 mm (C, model)


def plan(refraction=STANDARD, thickness=550.0, flap=None, cap=None, judgement=None, **more):
    cornea = {
        key: more.pop(key) for key in ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm", "epithelium_um") if key in more
    }
    return compare(
        Cornea(thickness, **cornea),
        Treatment(refraction, **more),
        flap=flap or FlapCut(),
        cap=cap or CapCut(),
        judgement=judgement or Judgement(),
    )


def ids(comparison, stage, done):
    return [route.way.id for route in rescue(comparison, stage, done).routes]


def find(comparison, stage, done, name):
    return next(route for route in rescue(comparison, stage, done).routes if route.way.id == name)


RECUTS = ["flap", "thinner-cap", "thicker-cap"]


@pytest.mark.parametrize(
    ("stage", "done", "expected"),
    [
        ("lenticule", 0.0, ["restart"]),
        ("lenticule", 0.0999999, ["restart"]),
        ("lenticule", 0.1, RECUTS),
        ("lenticule", 1.0, RECUTS),
        ("lenticule-side", 0.0, ["repeat-side-cut"]),
        ("lenticule-side", 1.0, ["repeat-side-cut"]),
        ("cap", 0.0, ["repeat-cap", "cap-as-flap"]),
        ("cap", 1e-6, ["repeat-cap", "cap-as-flap", "flap"]),
        ("cap", 1.0, ["repeat-cap", "cap-as-flap", "flap"]),
        ("incision", 0.0, ["repeat-incision", "open-by-hand", "cap-as-flap", "flap"]),
        ("incision", 1.0, ["repeat-incision", "open-by-hand", "cap-as-flap", "flap"]),
    ],
)
def test_ways_by_stage(stage, done, expected):
    """Model §9; the limit of 10 % of the lenticule: J Refract Surg 2020;36(5):308-316 (P)."""
    assert ids(plan(), stage, done) == expected


@pytest.mark.parametrize("name", ["restart", "repeat-side-cut", "repeat-cap", "repeat-incision", "open-by-hand"])
def test_going_on_with_the_plan_has_its_figures_and_no_clearance(name):
    """The same cut again: what the plan gives (definition)."""
    comparison = plan()
    stage = {"restart": "lenticule", "repeat-side-cut": "lenticule-side", "repeat-cap": "cap"}.get(name, "incision")
    route, budget = find(comparison, stage, 0.05, name), comparison.results["lenticule"].budget
    assert (route.bed_central_um, route.bed_min_um) == (budget.bed_central_um, budget.bed_min_um)
    assert route.altered_percent == budget.altered_percent
    assert route.strength_percent == comparison.results["lenticule"].strength.strength_percent
    assert np.isnan(route.clearance).all()


def test_clearance_of_a_flap_by_hand():
    """Over the zone both profiles are parallel: C + B − F − 16.6 = 8.4 for a flap of 110 (C, extra depth 16.6)."""
    route = find(plan(flap=FlapCut(rescue_flap_um=110.0)), "lenticule", 0.5, "flap")
    assert route.clearance.value == pytest.approx(120.0 + 15.0 - 110.0 - 16.6, abs=0.1)
    assert rescue(plan(), "lenticule", 0.5).thickest_flap_um == pytest.approx(120.0 + 15.0 - 16.6 - 30.0, abs=0.1)


def test_bed_altered_and_strength_of_the_flap_by_hand():
    """Flap 90 over 95.4 + 16.6 = 112.0 µm on 550: bed 348, PTA 36.7; uniform (460 − 112)/497 (C)."""
    route = find(plan(), "lenticule", 0.5, "flap")
    assert route.cut_um == 90.0
    assert route.removal_central_um == pytest.approx(112.0, abs=0.15)
    assert route.bed_central_um == pytest.approx(348.0, abs=0.15)
    assert route.altered_percent == pytest.approx(100.0 * 202.0 / 550.0, abs=0.03)
    assert route.strength_percent["uniform"] == pytest.approx(100.0 * 348.0 / 497.0, abs=0.04)


def test_flap_credit_counts_in_the_new_plan():
    """Credit 1 adds the stroma of the flap, 90 − 53 of 497 (C)."""
    with_credit = find(plan(judgement=Judgement(flap_credit=1.0)), "lenticule", 0.5, "flap").strength_percent["uniform"]
    without = find(plan(), "lenticule", 0.5, "flap").strength_percent["uniform"]
    assert with_credit - without == pytest.approx(100.0 * 37.0 / 497.0, abs=1e-9)


def test_after_a_cap_cut_the_old_cap_plane_counts():
    """C − F − max t at the centre: 120 − 90 − 112.0 = −82.0, negative where the ablation passes the plane (C)."""
    route = find(plan(), "cap", 0.01, "flap")
    assert route.clearance.value == pytest.approx(-82.0, abs=0.15)
    assert not route.available and "by 82.0 µm, at the vertex" in route.why_not
    assert (route.clearance.x_mm, route.clearance.y_mm) == pytest.approx((0.0, 0.0), abs=1e-6)
    assert np.isnan(rescue(plan(), "cap", 0.01).thickest_flap_um)


def test_a_cap_completed_as_a_flap_by_hand():
    """Cap 120 as a flap over the lenticule of 110.4 µm on 550: bed 319.6, PTA 41.9; loaded is the bed alone (C)."""
    route = find(plan(), "cap", 0.5, "cap-as-flap")
    assert route.available and route.cut_um == 120.0 and np.isnan(route.clearance.value)
    assert route.bed_central_um == pytest.approx(319.6, abs=0.15)
    assert route.altered_percent == pytest.approx(100.0 * 230.4 / 550.0, abs=0.03)
    assert route.strength_percent["uniform"] == pytest.approx(100.0 * 319.6 / 497.0, abs=0.04)


def test_an_ablation_wider_than_the_flap_is_not_there():
    """Zone and blend 7.5 mm under a flap of 7.0 (definition)."""
    route = find(plan(flap=FlapCut(flap_diameter_mm=7.0)), "lenticule", 0.5, "flap")
    assert not route.available and "wider than the flap of 7.0 mm: 0.5 mm are missing" in route.why_not


def test_thinner_and_thicker_caps_by_rule():
    """C − margin; C + B + max t over the annulus + margin, t at 3.25·√0.5 from the spheres 7.8 and 8.909 (C)."""

    def sag(R, r):
        return R - np.sqrt(R**2 - r**2)

    rho = 3.25 * np.sqrt(0.5)
    R2 = 1.0 / (1.0 / 7.8 - 6.0 / 376.0)
    t = 1000.0 * (sag(7.8, 3.25) - sag(R2, 3.25) - sag(7.8, rho) + sag(R2, rho))
    thinner, thicker = (find(plan(), "lenticule", 0.5, name) for name in ("thinner-cap", "thicker-cap"))
    assert thinner.cut_um == 90.0 and thinner.clearance.value == pytest.approx(30.0, abs=1e-9)
    assert thicker.cut_um == pytest.approx(120.0 + 15.0 + t + 30.0, abs=1e-3)
    assert thicker.clearance.value == pytest.approx(30.0, abs=1e-9)
    assert np.hypot(thicker.clearance.x_mm, thicker.clearance.y_mm) == pytest.approx(rho, abs=1e-6)
    for route in (thinner, thicker):
        assert route.bed_central_um == pytest.approx(550.0 - route.cut_um - route.removal_central_um, abs=1e-9)
        assert route.removal_central_um == pytest.approx(95.4 + 15.0, abs=0.1)


def test_a_cap_over_250_is_not_there_and_says_what_is_missing():
    """Model §9: over 250 not available. The whole lenticule cut: 120 + 110.4 + 30 = 260.4 (C)."""
    route = find(plan(), "lenticule", 1.0, "thicker-cap")
    assert not route.available and np.isnan(route.bed_central_um) and np.isnan(route.strength_percent["uniform"])
    assert route.cut_um == pytest.approx(260.4, abs=0.1)
    assert "250 µm" in route.why_not and "10 µm are missing" in route.why_not


def test_a_given_recut_cap_replaces_one_of_the_two():
    """Under C the thinner, over C the thicker, equal to C neither (model §9)."""

    def cuts(recut):
        comparison = plan(cap=CapCut(recut_cap_um=recut))
        return [find(comparison, "lenticule", 0.5, name).cut_um for name in ("thinner-cap", "thicker-cap")]

    by_rule = cuts(None)
    assert cuts(100.0) == [100.0, by_rule[1]]
    assert cuts(200.0) == [by_rule[0], 200.0]
    assert cuts(120.0) == by_rule


def test_measured_cuts_place_the_old_plane_but_not_the_new_cut():
    """A cap measured at 130 moves the old plane; a measured flap is no longer in question (definition)."""
    comparison = plan(cap=CapCut(cap_measured_um=130.0), flap=FlapCut(flap_measured_um=150.0))
    assert rescue(comparison, "lenticule", 0.5).thickest_flap_um == pytest.approx(98.4, abs=0.1)
    assert find(comparison, "lenticule", 0.5, "flap").cut_um == pytest.approx(98.4, abs=0.1)
    assert find(comparison, "lenticule", 0.5, "thinner-cap").cut_um == 100.0


@pytest.mark.parametrize(
    ("cap", "flap", "expected"),
    [
        (160.0, 110.0, 110.0),  # the planned flap keeps the margin: 160 + 15 − 16.6 − 30 = 128.4
        (140.0, 110.0, 108.4),  # the thickest that does
        (120.0, 110.0, 90.0),  # 88.4 would, but at least 90
        (110.0, 110.0, 90.0),  # a cap as thick as the flap
        (80.0, 110.0, 90.0),  # a cap thinner than any flap
    ],
)
def test_rescue_flap_by_rule(cap, flap, expected):
    """Planned where it keeps the margin, else the thickest that does, at least 90 (model §9; C with 16.6)."""
    comparison = plan(cap=CapCut(cap_um=cap), flap=FlapCut(flap_um=flap))
    assert find(comparison, "lenticule", 0.5, "flap").cut_um == pytest.approx(expected, abs=0.1)


def test_no_flap_stays_clear_of_a_thin_cap():
    """80 + 15 − 16.6 − 30 = 48.4 < 60: none; 80 + 15 − 90 − 16.6 = −11.6: it would go through the old cut (C)."""
    found = rescue(plan(cap=CapCut(cap_um=80.0)), "lenticule", 0.5)
    assert np.isnan(found.thickest_flap_um)
    (flap, *_) = found.routes
    assert flap.clearance.value == pytest.approx(-11.6, abs=0.1)
    assert not flap.available and "through a plane that is cut already, by 11.6 µm, at" in flap.why_not
    assert np.isnan([flap.bed_central_um, flap.bed_min_um, flap.altered_percent, *flap.strength_percent.values()]).all()


def test_cuts_that_do_not_lie_below_the_epithelium():
    """Epithelium 60, cap 85, margin 30: a cap of 55 would lie in it, 5 µm short (C)."""
    route = find(plan(cap=CapCut(cap_um=85.0), epithelium_um=60.0), "lenticule", 0.5, "thinner-cap")
    assert not route.available and "more than 5 µm are missing" in route.why_not


def test_no_bed_says_what_is_missing():
    """Re-cut at 250 on 350 µm with 110.4 removed: 10.4 µm short (C)."""
    route = find(plan(thickness=350.0, cap=CapCut(recut_cap_um=250.0)), "lenticule", 0.5, "thicker-cap")
    assert route.why_not == "No bed is left at the thinnest place: 10 µm are missing."


def test_nothing_to_treat():
    assert {route.why_not for route in rescue(plan(Refraction(0.0)), "cap", 0.5).routes} == {
        "There is nothing to treat."
    }


def test_hyperopic_lenticule():
    """+3 D: base 30, both blends 1.0, so the profiles are equal and clearance is C + B − F everywhere (C)."""
    comparison = plan(Refraction(3.0), flap=FlapCut(rescue_flap_um=100.0))
    route = find(comparison, "lenticule", 0.3, "flap")
    assert route.clearance.value == pytest.approx(120.0 + 30.0 - 100.0, abs=1e-6)
    assert np.isnan(route.strength_percent["uniform"])
    assert route.removal_central_um == 0.0 and route.bed_central_um == 450.0


EYES = st.fixed_dictionaries(
    {
        "sphere_D": st.floats(-8.0, 4.0),
        "cylinder_D": st.floats(-4.0, -0.25),
        "axis_deg": st.floats(0.0, 180.0),
        "zone_mm": st.floats(5.5, 7.0),
        "profile": st.sampled_from(["munnerlyn", "conic", "parabolic"]),
        "ablation_blend_mm": st.floats(0.0, 1.5).map(lambda w: round(w, 2)),
        "lenticule_blend_mm": st.floats(0.0, 1.5).map(lambda w: round(w, 2)),
    }
)


@given(EYES, st.floats(0.1, 1.0))
@settings(max_examples=25)
def test_clearance_against_brute_force(values, done):
    """A dense grid over the closed annulus with the model's formulas typed anew: within 0.5 µm (required)."""
    refraction = Refraction(values["sphere_D"], values["cylinder_D"], values["axis_deg"])
    more = {key: value for key, value in values.items() if key.startswith(("zone", "prof", "abl", "lent"))}
    comparison = plan(refraction, flap=FlapCut(rescue_flap_um=100.0), **more)
    eye = Eye(values)
    base = eye.default_blends()[2]
    lenticule = Tissue(eye, eye.Z, values["lenticule_blend_mm"], base)
    ablation = Tissue(eye, eye.Z, values["ablation_blend_mm"])
    outer = eye.Z / 2.0 + values["lenticule_blend_mm"]
    edges = eye.Z / 2.0 + np.linspace(0.0, max(values["ablation_blend_mm"], values["lenticule_blend_mm"]), 400)
    rho = np.concatenate([np.linspace(0.0, outer, 600), edges])
    rho = np.unique(rho[(rho >= outer * np.sqrt(1.0 - done)) & (rho <= outer)])[:, None]
    theta = np.radians(np.arange(0.0, 360.0, 0.5))
    brute = (120.0 + base + lenticule.t(rho, theta) - 100.0 - ablation.t(rho, theta)).min()
    flap = find(comparison, "lenticule", done, "flap")
    assert flap.clearance.value == pytest.approx(brute, abs=0.5)
    thicker = find(comparison, "lenticule", done, "thicker-cap")
    assert thicker.cut_um == pytest.approx(150.0 + base + lenticule.t(rho, theta).max(), abs=0.5)


@given(st.floats(0.1, 0.95), st.floats(0.001, 0.05))
@settings(max_examples=15)
def test_cutting_further_never_adds_room(done, more):
    """A larger annulus holds the smaller one: the least over it is no greater (law)."""
    comparison = plan(Refraction(-4.0, -2.0, 25.0))
    first, later = (rescue(comparison, "lenticule", f).routes for f in (done, done + more))
    assert later[0].clearance.value <= first[0].clearance.value + 1e-4
    assert later[2].cut_um >= first[2].cut_um - 1e-4


def test_a_shifted_treatment_shifts_the_place():
    """The annulus is about the treatment centre (definition)."""
    still, moved = (
        find(plan(Refraction(-4.0, -2.0, 25.0), centre_x_mm=x, centre_y_mm=y), "lenticule", 0.4, "flap").clearance
        for x, y in ((0.0, 0.0), (-0.3, 0.2))
    )
    assert moved.value == pytest.approx(still.value, abs=1e-5)
    assert (moved.x_mm, moved.y_mm) == pytest.approx((still.x_mm - 0.3, still.y_mm + 0.2), abs=1e-3)


@pytest.mark.parametrize(
    ("stage", "done", "field"), [("flap", 0.5, "stage"), ("cap", 44, "done"), ("cap", -0.1, "done")]
)
def test_impossible_stage_or_share(stage, done, field):
    with pytest.raises(EyeError) as error:
        rescue(plan(), stage, done)
    assert error.value.field == field
