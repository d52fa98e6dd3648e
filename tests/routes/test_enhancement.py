"""Ways to an enhancement: room, beds and strengths by hand, against brute force, and in the limit of none."""

import numpy as np
import pytest
from brute import Eye, Tissue
from hypothesis import given, settings
from hypothesis import strategies as st
from own_maps import map_of, nine

from tissue import CapCut, Cornea, Errors, FlapCut, Judgement, Refraction, Treatment, compare
from tissue.eye.measured.own_map import OwnMap
from tissue.followup.today import healed_thickness
from tissue.routes.enhancement import enhancement, second_removals
from tissue.routes.notices import enhancement_notices
from tissue.routes.reserve import epithelium_gain_um, later_ways, reserves

FIRST = Refraction(-6.0, vertex_mm=0.0)
LITTLE = Refraction(-1.0, vertex_mm=0.0)


def plan(refraction=FIRST, thickness=550.0, flap=None, cap=None, judgement=None, errors=None, **treatment):
    return compare(
        Cornea(thickness),
        Treatment(refraction, **treatment),
        flap=flap or FlapCut(),
        cap=cap or CapCut(),
        judgement=judgement or Judgement(),
        errors=errors or Errors(),
    )


def routes(comparison, residual=LITTLE, **more):
    return {route.way.id: route for route in enhancement(comparison, residual, **more).routes}


def sag(R, rho):
    return R - np.sqrt(R**2 - rho**2)


def depth_um(D, R1, zone, blend):
    """Central depth of a myopic ablation from two spheres, the blend's share as written in the model (C)."""
    R2, a = 1.0 / (1.0 / R1 + D / 376.0), zone / 2.0
    slope = 1000.0 * (a / np.sqrt(R1**2 - a**2) - a / np.sqrt(R2**2 - a**2))
    return 1000.0 * (sag(R1, a) - sag(R2, a)) + slope * blend / 2.0


def test_the_second_act_starts_from_the_curvature_that_the_first_leaves():
    """−6 D on 7.8 mm leaves 8.909 mm (C, model §4); Q and zone as planned, blend and base by the ramp of −1 D."""
    second = second_removals(plan(zone_mm=6.0), LITTLE)
    assert 1.0 / second.ablation.profile.before_per_mm == pytest.approx(8.909, abs=5e-4)
    assert second.ablation.central_um == pytest.approx(depth_um(-1.0, 8.909, 6.0, 0.5), abs=0.01)
    assert second.extracted.central_um == pytest.approx(depth_um(-1.0, 8.909, 6.0, 0.0) + 15.0, abs=0.01)


def test_blend_and_base_by_the_ramp_of_the_residual_or_as_given():
    """+1.5 D: blends 1.0 and 1.0, base 30 by the ramp; what the plan gives stays (model §10)."""
    ramp = second_removals(plan(), Refraction(1.5, vertex_mm=0.0))
    assert (ramp.ablation.blend_mm, ramp.extracted.blend_mm, ramp.extracted.base_um) == (1.0, 1.0, 30.0)
    fixed = second_removals(plan(), LITTLE, ablation_blend_mm=0.2, lenticule_blend_mm=0.3, base_um=10.0)
    assert (fixed.ablation.blend_mm, fixed.extracted.blend_mm, fixed.extracted.base_um) == (0.2, 0.3, 10.0)


def test_beds_and_altered_of_the_four_routes_by_hand():
    """Bed as it was, as it was, bed − t, bed − t − B; PTA with the first CCT (model §10, C)."""
    found = routes(plan())
    bed = 550.0 - 120.0 - depth_um(-6.0, 7.8, 6.5, 0.0) - 15.0
    t = depth_um(-1.0, 8.909, 6.5, 0.5)
    below = depth_um(-1.0, 8.909, 6.5, 0.0) + 15.0
    expected = {"surface": bed, "cap-to-flap": bed - t, "deeper-lenticule": bed - below}
    for name, value in expected.items():
        assert found[name].bed_central_um == pytest.approx(value, abs=0.01)
        assert found[name].altered_percent == pytest.approx(100.0 - 100.0 * value / 550.0, abs=0.01)
    assert found["deeper-lenticule"].cut_um == pytest.approx(550.0 - bed, abs=0.01)
    assert [found[name].cut_um for name in ("surface", "thin-flap", "cap-to-flap")] == [53.0, 90.0, 120.0]


def test_strengths_by_plain_thickness():
    """Under `uniform` each route keeps its loaded stroma over 497 µm: the layers added by hand (C)."""
    comparison = plan(cap=CapCut(cap_um=160.0), judgement=Judgement(cap_credit=0.8, flap_credit=0.3))
    found = {name: route.strength_percent["uniform"] for name, route in routes(comparison).items()}
    t = depth_um(-1.0, 8.909, 6.5, 0.5)
    below = depth_um(-1.0, 8.909, 6.5, 0.0) + 15.0
    bed = 550.0 - 160.0 - depth_um(-6.0, 7.8, 6.5, 0.0) - 15.0
    by_hand = {
        "surface": 0.8 * (160.0 - 53.0 - t) + bed,
        "thin-flap": 0.3 * (90.0 - 53.0) + 0.8 * (160.0 - 90.0 - t) + bed,
        "cap-to-flap": 0.3 * (160.0 - 53.0) + bed - t,
        "deeper-lenticule": 0.8 * (160.0 - 53.0) + bed - below,
    }
    assert found == pytest.approx({name: 100.0 * value / 497.0 for name, value in by_hand.items()}, abs=0.01)


def test_a_vanishing_residual_leaves_the_first_act():
    """−0.0001 D on the surface takes next to nothing: bed, PTA and strength of the plan (limit)."""
    comparison = plan()
    route, first = routes(comparison, Refraction(-1e-4))["surface"], comparison.results["lenticule"]
    assert route.bed_min_um == first.budget.bed_min_um
    assert route.altered_percent == pytest.approx(first.budget.altered_percent, abs=1e-9)
    assert route.strength_percent == pytest.approx(first.strength.strength_percent, abs=1e-2)
    flap = routes(comparison, Refraction(-1e-4), ablation_blend_mm=0.0)["cap-to-flap"]
    assert flap.bed_min_um == pytest.approx(first.budget.bed_min_um, abs=0.01)


def test_clearance_is_the_room_less_the_deepest_ablation():
    """C − E − max t and C − F2 − max t at the centre of a myopic ablation (model §10)."""
    found, t = routes(plan()), depth_um(-1.0, 8.909, 6.5, 0.5)
    assert found["surface"].clearance.value == pytest.approx(120.0 - 53.0 - t, abs=0.01)
    assert found["thin-flap"].clearance.value == pytest.approx(120.0 - 90.0 - t, abs=0.01)
    assert (found["surface"].clearance.x_mm, found["surface"].clearance.y_mm) == (0.0, 0.0)
    assert np.isnan(found["cap-to-flap"].clearance).all() and np.isnan(found["deeper-lenticule"].clearance).all()


@pytest.mark.parametrize("sphere", [-0.25, -0.75, 0.5, 1.0])
def test_a_default_cap_never_has_room_for_a_thin_flap(sphere):
    """90 + 30 + 0.7 + 8.6 is over 120 before any ablation (C)."""
    route = routes(plan(), Refraction(sphere))["thin-flap"]
    assert not route.available and "µm are missing" in route.why_not


def test_the_cap_that_a_thin_flap_needs():
    """F2 + t + margin + 0.7 + 1.96 · 4.4, to the tenth of a micron on both sides of the limit (model §10)."""
    needed = 90.0 + depth_um(-1.0, 8.909, 6.5, 0.5) + 30.0 + 0.7 + 1.96 * 4.4
    assert enhancement(plan(), LITTLE).cap_needed_um == pytest.approx(needed, abs=0.01)
    assert routes(plan(cap=CapCut(cap_um=needed + 0.1)))["thin-flap"].available
    short = routes(plan(cap=CapCut(cap_um=needed - 12.4)))["thin-flap"]
    assert f"a cap of {np.ceil(needed):.0f} µm: 13 µm are missing" in short.why_not


def test_a_cap_of_145_keeps_the_thin_flap_for_a_small_residual():
    """Caps of 135–145 µm leave this room in almost all cases (P, one centre): 145 does for −0.25 D."""
    assert routes(plan(cap=CapCut(cap_um=145.0)), Refraction(-0.25))["thin-flap"].available


def test_a_measured_cap_has_no_bias():
    """The need falls by the bias of 0.7 where the cap is measured (model §10)."""
    planned = enhancement(plan(), LITTLE).cap_needed_um
    measured = enhancement(plan(cap=CapCut(cap_measured_um=120.0)), LITTLE).cap_needed_um
    assert planned - measured == pytest.approx(0.7, abs=1e-9)


def test_a_flap_within_a_grown_epithelium():
    """E + 15 + 1.96 · 4.6 = 77.0 (15.0: J Refract Surg 2014;30:304, P): a flap of 70 is 8 short, 78 is deep enough."""
    assert epithelium_gain_um() == 15.0
    thin = routes(plan(cap=CapCut(cap_um=170.0), flap=FlapCut(enhancement_flap_um=70.0)))["thin-flap"]
    assert "needs a flap of 78 µm: 8 µm are missing" in thin.why_not and "cap of" not in thin.why_not
    assert routes(plan(cap=CapCut(cap_um=170.0), flap=FlapCut(enhancement_flap_um=78.0)))["thin-flap"].available


def test_a_surface_ablation_through_the_cap():
    """Epithelium 53 and the ablation reach through a cap of 100: the sentence names what is missing (C)."""
    t = depth_um(-3.0, 8.909, 6.5, 0.5)
    route = routes(plan(cap=CapCut(cap_um=100.0)), Refraction(-3.0, vertex_mm=0.0))["surface"]
    assert t > 47.0 and not route.available and np.isnan(route.bed_central_um)
    assert f"more than {53.0 + t - 100.0:.0f} µm are missing" in route.why_not


def test_nothing_left_to_treat_and_no_first_act():
    assert {route.why_not for route in routes(plan(), Refraction(0.0)).values()} == {"There is nothing to treat."}
    none = enhancement(plan(Refraction(0.0)), LITTLE)
    assert np.isnan(none.reserve_um)
    assert all("there is nothing to treat" in route.why_not for route in none.routes)


def test_strength_goes_where_either_act_is_deepest_off_its_centre():
    """A residual of +1.5 D, or a primary treatment of +3 D: the curves are central (model §10)."""
    for comparison, residual in ((plan(), Refraction(1.5)), (plan(Refraction(3.0)), LITTLE)):
        found = routes(comparison, residual)
        assert all(np.isnan(r.strength_percent["reinstein2013"]) for r in found.values())
        assert found["surface"].available and found["surface"].off_centre


@given(st.floats(-7.0, -2.0), st.floats(-3.0, 0.0), st.floats(0.0, 180.0), st.floats(-1.5, 1.5), st.floats(-0.8, 0.8))
@settings(max_examples=15)
def test_least_bed_of_both_acts_against_brute_force(sphere, cylinder, axis, residual, xt):
    """T − C − r − t on a dense grid over both discs, the model's formulas typed anew: within 0.05 µm."""
    residual = residual if abs(residual) > 0.1 else 0.25
    cornea = Cornea(560.0, 555.0, xt, -0.4)
    wide = CapCut(cap_diameter_mm=9.0)  # room for the blend of any residual
    comparison = compare(cornea, Treatment(Refraction(sphere, cylinder, axis)), cap=wide)
    found = routes(comparison, Refraction(residual))["cap-to-flap"]
    first = Eye({"sphere_D": sphere, "cylinder_D": cylinder, "axis_deg": axis})
    _, blend, base = first.default_blends()
    mean = first.c1 + (first.along + first.across) / 2.0 / 376.0
    second = Eye({"sphere_D": residual, "radius_mm": 1.0 / mean})
    r, t = Tissue(first, 6.5, blend, base), Tissue(second, 6.5, second.default_blends()[0])
    edges = sorted({0.0, r.a, r.a + r.w, t.a + t.w})
    rho = np.concatenate([np.linspace(low, high, 400) for low, high in zip(edges[:-1], edges[1:], strict=True)])[
        :, None
    ]
    theta = np.radians(np.arange(0.0, 360.0, 0.5))
    x, y = rho * np.cos(theta), rho * np.sin(theta)
    T = 555.0 * (1.0 + 0.0088 * ((x - xt) ** 2 + (y + 0.4) ** 2))
    first_um = r.t(rho, theta) + np.where(rho <= r.a + r.w + 1e-9, base, 0.0)
    on_the_map = (T - 120.0 - first_um - t.t(rho, theta)).min()
    assert found.bed_min_um == pytest.approx(min(on_the_map, found.bed_central_um), abs=0.05)


def test_a_second_removal_wider_than_the_cap_is_not_there():
    """Zone 6.5 with the blend of +1 D, 2 × 1.0, is 8.5 mm; the cap has 6.5 + 1.0 = 7.5 (definition): 1.0 is missing."""
    found = routes(plan(), Refraction(1.0, vertex_mm=0.0))
    for name in ("cap-to-flap", "deeper-lenticule"):
        assert not found[name].available and "wider than the cap of 7.5 mm: 1.0 mm are missing" in found[name].why_not
        assert np.isnan(found[name].bed_min_um) and np.isnan(found[name].altered_percent)
    room = routes(plan(cap=CapCut(cap_diameter_mm=8.5)), Refraction(1.0, vertex_mm=0.0))
    assert room["cap-to-flap"].available and room["deeper-lenticule"].available


def test_a_thin_flap_narrower_than_its_ablation_is_not_there():
    """A flap of 7 mm over zone and blend of 7.5 mm (definition)."""
    narrow = plan(cap=CapCut(cap_um=150.0), flap=FlapCut(flap_diameter_mm=7.0))
    assert "wider than the flap of 7.0 mm: 0.5 mm are missing" in routes(narrow, Refraction(-0.75))["thin-flap"].why_not


def test_reserve_in_microns_and_dioptres():
    """Parabolic, no blend: 14.046 µm a dioptre at 6.5 mm (C, model §4), back to the spectacle plane at 12 mm."""
    comparison = plan(Refraction(-4.0), profile="parabolic", ablation_blend_mm=0.0)
    for name, left in reserves(comparison, ablation_blend_mm=0.0).items():
        assert left.reserve_um == comparison.results[name].budget.bed_central_um - 250.0
        cornea_D = left.reserve_um / 14.046
        assert left.myopia_D == pytest.approx(cornea_D / (1.0 - 0.012 * cornea_D), abs=2e-3)
    assert enhancement(comparison, LITTLE).reserve_um == reserves(comparison)["lenticule"].reserve_um


def test_reserve_is_used_up_by_the_myopia_it_could_treat():
    """Ablating that myopia after the cap is a flap leaves the bed on the line (inverse)."""
    comparison = plan()
    myopia = reserves(comparison)["lenticule"].myopia_D
    assert routes(comparison, Refraction(-myopia, vertex_mm=0.0))["cap-to-flap"].bed_central_um == pytest.approx(
        250.0, abs=1e-3
    )


def test_no_reserve_and_no_option():
    thin = reserves(plan(thickness=430.0, refraction=Refraction(-8.0)))
    assert thin["lenticule"].reserve_um < 0 and thin["lenticule"].myopia_D == 0.0
    assert all(np.isnan(left.myopia_D) for left in reserves(plan(Refraction(0.0))).values())


def test_reserves_of_a_column_are_those_of_each_eye():
    """House rule: numbers and arrays in one path."""
    spheres = np.array([-1.5, -4.0, -8.0])
    column = reserves(plan(Refraction(spheres)))["flap"].myopia_D
    assert column == pytest.approx([reserves(plan(Refraction(s)))["flap"].myopia_D for s in spheres], abs=1e-9)


def test_later_ways_after_the_other_two():
    """Lifting the flap: bed − t; on the flap: F − E − max t; surface again: bed − t (model §10)."""
    comparison = plan()
    t = depth_um(-1.0, 8.909, 6.5, 0.5)
    first = depth_um(-6.0, 7.8, 6.5, 0.5)
    lift, on_flap, again = later_ways(comparison, second_removals(comparison, LITTLE).ablation)
    assert lift.bed_um == pytest.approx(550.0 - 110.0 - first - t, abs=0.02)
    assert on_flap.clearance_um == pytest.approx(110.0 - 53.0 - t, abs=0.01)
    assert on_flap.bed_um == pytest.approx(550.0 - 110.0 - first, abs=0.02)
    assert again.bed_um == pytest.approx(550.0 - 53.0 - first - t, abs=0.02)


def test_healed_thickness_counts_what_is_truly_taken_and_the_gain_of_the_epithelium():
    """T − r + g: bias −12.1 µm, 0.94 µm a dioptre as OCT sees it; SD √(5² + 9.8² + 3.3²). C, from published rows."""
    healed = healed_thickness(plan())
    taken = depth_um(-6.0, 7.8, 6.5, 0.0) + 15.0 - 12.1
    assert healed.mean_um == pytest.approx(550.0 - taken + 0.94 * 6.0, abs=0.01)
    assert healed.sd_um == pytest.approx((5.0**2 + 9.8**2 + 3.3**2) ** 0.5)


def test_healed_thickness_lies_within_what_was_published():
    """18.5 µm over the plan, a new centre 8 to 29 (J Refract Surg 2014;30:304, 2020;36:597, Curr Eye Res 2021)."""
    healed = healed_thickness(plan())
    over = healed.mean_um - (550.0 - depth_um(-6.0, 7.8, 6.5, 0.0) - 15.0)
    assert 7.6 < over < 29.4


def test_no_clearance_is_given_beyond_a_map_of_the_epithelium():
    """Source: rule of maps: held 1 mm beyond its readings, further there is no figure (it was given all the same)."""
    wide, small = (
        map_of(nine, epithelium=lambda x, y: 53.0 + 0.0 * x).epithelium,
        map_of(nine, epithelium=lambda x, y: 53.0 + 0.0 * x, reach_mm=2.25, step_mm=0.25).epithelium,
    )
    found = [
        routes(compare(Cornea(550.0, own_map=OwnMap(None, layer)), Treatment(FIRST, zone_mm=7.0)))["surface"].clearance
        for layer in (wide, small)
    ]
    assert np.isfinite(found[0].value) and np.isnan(found[1].value)


@pytest.mark.parametrize(("residual_D", "there"), [(-1.0, True), (-6.0, False)])
def test_a_room_that_a_small_map_leaves_open_is_named_and_one_that_is_gone_is_said(residual_D, there):
    """Definition: room is C − E − t; −6 D takes more than 67 µm at the centre, which the map holds."""
    layer = map_of(nine, epithelium=lambda x, y: 53.0 + 0.0 * x, reach_mm=2.25, step_mm=0.25).epithelium
    eye = compare(Cornea(550.0, own_map=OwnMap(None, layer)), Treatment(FIRST, zone_mm=7.0))
    found = enhancement(eye, Refraction(residual_D, vertex_mm=0.0))
    way = next(one for one in found.routes if one.way.id == "surface")
    assert (way.available, np.isnan(way.clearance.value)) == (there, there)
    assert there == ("reach through the cap" not in way.why_not)
    said = [one for one in enhancement_notices(eye, found) if one.id == "map-short"]
    assert [(one.option, one.field) for one in said] == [("surface", "epithelium_map")] * there
    assert all(" mm short of the treated disc, over the 1 mm" in one.text for one in said)
    assert all(one.text.endswith("a wider map would end this.") for one in said)
