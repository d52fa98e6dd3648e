"""The order of the cuts as a setting: the default leaves every byte, the cap first is worked out from what is cut then.

No published source says what is usual with the cap cut first: the checks are definitions and brute force over dense
grids with the model's formulas typed anew (`brute`).
"""

import json
import random

import numpy as np
import pytest
from brute import Eye, Tissue
from hypothesis import given, settings
from hypothesis import strategies as st
from own_maps import map_of, nine

from tissue import CapCut, Cornea, EyeError, FlapCut, Judgement, Refraction, Treatment, compare
from tissue.budget.strength.relationship import relationships
from tissue.entry.eye import build
from tissue.eye.measured.own_map import OwnMap
from tissue.ground.vocabulary import CUT_ORDERS, LENTICULE_FIRST, STAGES
from tissue.report.contract import eye_as_dict
from tissue.report.routes_json import rescue_report
from tissue.report.routes_terminal import rescue_table
from tissue.routes.cap_first import above_cap_counted
from tissue.routes.cutting import clock_of, cut_so_far
from tissue.routes.notices import rescue_notices
from tissue.routes.rescue import rescue
from tissue.screens.tables.routes import ways_table

CAP_FIRST = Judgement(cut_order="cap-first")


def plan(sphere=-6.0, judgement=CAP_FIRST, thickness=550.0, cap=None, flap=None, **more):
    return compare(
        Cornea(thickness), Treatment(Refraction(sphere), **more), cap=cap or CapCut(), flap=flap or FlapCut(),
        judgement=judgement,
    )  # fmt: skip


def routes(comparison, stage, done):
    return {route.way.id: route for route in rescue(comparison, stage, done).routes}


def invented(seed):
    """The values of an eye from a seed."""
    draw = random.Random(seed)
    return {
        "sphere_D": round(draw.uniform(-10.0, 3.0), 2), "cylinder_D": round(draw.uniform(-3.0, 0.0), 2),
        "axis_deg": draw.randint(0, 180), "central_thickness_um": float(draw.randint(470, 620)),
        "cap_um": float(draw.randint(100, 150)), "zone_mm": round(draw.uniform(5.5, 7.0), 1),
    }  # fmt: skip


@pytest.mark.parametrize("seed", range(100))
def test_the_default_said_or_not_gives_the_same_bytes(seed):
    """A hundred seeded eyes: the plan, and the rescue options at a moment of each stage (law of the setting)."""
    values, draw = invented(seed), random.Random(1000 + seed)
    said, not_said = (
        (inputs := build(values | more), inputs.compare()) for more in ({"cut_order": LENTICULE_FIRST}, {})
    )
    assert json.dumps(eye_as_dict(*said)) == json.dumps(eye_as_dict(*not_said))
    assert "cut_order" not in eye_as_dict(*said)["input"]
    stage, done = draw.choice(STAGES), round(draw.random(), 3)
    reports = [rescue_report(comparison, "OD", stage, done) for _, comparison in (said, not_said)]
    assert json.dumps(reports[0]) == json.dumps(reports[1]) and "cut_order" not in reports[0]


def test_the_other_order_changes_no_figure_of_the_plan():
    first, other = (eye_as_dict(inputs := build(invented(3) | {"cut_order": order}), inputs.compare())
                    for order in CUT_ORDERS)  # fmt: skip
    assert other["input"].pop("cut_order") == "cap-first"
    assert json.dumps(first) == json.dumps(other)


def test_the_clock_runs_in_the_order_that_is_set():
    """Shares of a cut stay, their places change (definition: a cut takes as long as its area is large)."""
    usual, other = (clock_of(plan(judgement=Judgement(cut_order=order))) for order in CUT_ORDERS)
    assert other.order == ("cap", "lenticule", "lenticule-side", "incision")
    shares = [dict(zip(one.order, one.shares, strict=True)) for one in (usual, other)]
    assert shares[0] == pytest.approx(shares[1])
    assert other.seconds("cap", 0.0) == 0.0 and other.seconds("incision", 1.0) == other.total_s
    stage, done = other.moment(other.seconds("lenticule", 0.25))
    assert other.order[int(stage)] == "lenticule" and done == pytest.approx(0.25)
    cut = cut_so_far(other, "lenticule", 0.36)
    assert cut.cap_radius_mm == other.cap_radius_mm and cut.lenticule_inner_mm == pytest.approx(
        0.8 * other.lenticule_radius_mm
    )
    cut = cut_so_far(other, "cap", 0.25)
    assert cut.cap_radius_mm == pytest.approx(other.cap_radius_mm / 2.0)
    assert cut.lenticule_inner_mm == cut.lenticule_outer_mm and cut.side_done == 0.0


OTHERS = ["flap-at-cap", "flap", "surface", "thinner-cap", "thicker-cap"]


@pytest.mark.parametrize(
    ("stage", "done", "expected"),
    [
        ("cap", 0.0, ["restart"]),
        ("cap", 1e-6, ["repeat-cap", *OTHERS]),
        ("lenticule", 0.0999, ["repeat-lenticule", *OTHERS]),
        ("lenticule", 0.1, OTHERS),
        ("lenticule-side", 0.5, ["repeat-side-cut", "cap-as-flap", "flap"]),
        ("incision", 0.5, ["repeat-incision", "open-by-hand", "cap-as-flap", "flap"]),
    ],
)
def test_ways_by_stage_and_that_no_source_says_them(stage, done, expected):
    """The limit of 10 % of the lenticule: suction2020 (P), of the other order; the incision: the same tissue is cut."""
    found = rescue(plan(), stage, done)
    assert [route.way.id for route in found.routes] == expected
    unsaid = [route for route in found.routes if "no published source for this order" in route.way.source]
    notices = {notice.id: notice.text for notice in rescue_notices(plan(), found)}
    if stage == "incision":
        assert not unsaid and "cut-order" not in notices
        usual = plan(judgement=Judgement())
        same, other = (rescue_report(one, "OD", stage, done) for one in (usual, plan()))
        assert other.pop("cut_order") == "cap-first" and same == other
    else:
        assert unsaid == list(found.routes) and "this tool cannot tell" in notices["cut-order"]
    if stage == "lenticule-side":
        assert notices["side-cut"].startswith("Cap as a flap: 50 % of the lenticule's side cut is done")


EYES = st.fixed_dictionaries(
    {
        "sphere_D": st.floats(-3.0, 2.0), "cylinder_D": st.floats(-1.0, -0.25), "axis_deg": st.floats(0.0, 180.0),
        "zone_mm": st.floats(5.5, 6.5),
        "ablation_blend_mm": st.floats(0.0, 0.4).map(lambda w: round(w, 2)),
        "lenticule_blend_mm": st.floats(0.0, 0.4).map(lambda w: round(w, 2)),
    }
)  # fmt: skip


@given(EYES, st.sampled_from(["cap", "lenticule"]), st.floats(0.05, 1.0))
@settings(max_examples=25, deadline=None)
def test_clearances_against_brute_force(values, stage, done):
    """Every new plane over a dense grid of what is cut: within 0.5 µm; what is under 0 is not available."""
    C, F2, margin = 170.0, 100.0, 30.0
    more = {key: values[key] for key in ("zone_mm", "ablation_blend_mm", "lenticule_blend_mm")}
    refraction = Refraction(values["sphere_D"], values["cylinder_D"], values["axis_deg"])
    comparison = compare(
        Cornea(560.0), Treatment(refraction, base_um=25.0, **more), cap=CapCut(cap_um=C),
        flap=FlapCut(rescue_flap_um=F2), judgement=CAP_FIRST,
    )  # fmt: skip
    eye = Eye(values)
    lenticule = Tissue(eye, eye.Z, values["lenticule_blend_mm"], 25.0)
    ablation = Tissue(eye, eye.Z, values["ablation_blend_mm"])
    edge = eye.Z / 2.0 + values["lenticule_blend_mm"]
    reach = (edge + 0.5) * (np.sqrt(done) if stage == "cap" else 1.0)
    rho = np.unique([*np.linspace(0.0, edge + 0.5, 900), edge, reach, eye.Z / 2.0])[:, None]
    theta = np.radians(np.arange(0.0, 360.0, 1.0))
    t = np.where(rho <= eye.Z / 2.0 + values["ablation_blend_mm"] + 1e-9, ablation.t(rho, theta), 0.0)
    r = np.where(rho <= edge + 1e-9, 25.0 + lenticule.t(rho, theta), 0.0)
    disc = (rho <= reach) & (theta >= 0.0)
    low = edge * np.sqrt(1.0 - done)
    ring = (rho >= low) & (rho <= edge) & (theta >= 0.0) & (stage == "lenticule")

    def least(on_disc, on_ring):
        return min(np.min(one[where]) for one, where in ((on_disc, disc), (on_ring, ring)) if where.any())

    expected = {
        "flap": least(C - F2 - t, C + r - F2 - t),
        "surface": least(C - 53.0 - t, C + r - 53.0 - t),
        "thinner-cap": min(np.min((C - (C - margin + r))[disc & (rho <= edge)]), margin),
    }
    if ring.any():
        expected["flap-at-cap"] = np.min((r - t)[ring])
    found = routes(comparison, stage, done)
    for name, room in expected.items():
        assert found[name].clearance.value == pytest.approx(room, abs=0.5), name
        assert found[name].available == (found[name].clearance.value >= 0.0), name
    deepest = C + margin + (np.max(r[ring]) if ring.any() else 0.0)
    assert found["thicker-cap"].cut_um == pytest.approx(deepest, abs=0.5)
    assert np.isnan(found["flap-at-cap"].clearance.value) == (not ring.any())


def test_a_flap_along_the_cap_is_that_flap_with_its_own_ablation():
    """A plan whose flap is as thick and as wide as the cap has the same bed and strength (definition)."""
    comparison = plan(-2.0, base_um=30.0)
    way = routes(comparison, "cap", 0.5)["flap-at-cap"]
    wide = float(comparison.under_cap.option.cut_diameter_mm)
    same = plan(-2.0, flap=FlapCut(flap_um=120.0, flap_diameter_mm=wide)).under_flap
    assert (way.bed_central_um, way.bed_min_um) == (same.budget.bed_central_um, same.budget.bed_min_um)
    assert way.strength_percent == same.strength.strength_percent
    narrow = routes(plan(-2.0, cap=CapCut(cap_diameter_mm=6.8)), "cap", 0.5)["flap-at-cap"]
    assert not narrow.available and "wider than the cap of 6.8 mm" in narrow.why_not


def test_a_surface_ablation_counts_the_cap_by_its_credit_and_says_what_a_flap_would_be():
    """100·(g·(F(C) − F(E + t)) + 1 − F(C)) typed anew (model §10); with credit 1 the untouched surface plan."""
    for credit in (1.0, 0.4, 0.0):
        judgement = Judgement(cut_order="cap-first", cap_credit=credit)
        comparison = plan(-2.0, judgement)
        found = rescue(comparison, "cap", 1.0)
        way = next(one for one in found.routes if one.way.id == "surface")
        floor = 53.0 + float(way.removal_central_um)
        for name, curve in relationships().items():
            F = [float(curve.share(depth, 550.0, 53.0)) for depth in (120.0, floor)]
            assert way.strength_percent[name] == pytest.approx(100 * (credit * (F[0] - F[1]) + 1 - F[0]), abs=1e-9)
        text = next(one.text for one in rescue_notices(comparison, found) if one.id == "cap-as-flap")
        F = [float(relationships()["reinstein2013"].share(depth, 550.0, 53.0)) for depth in (120.0, floor)]
        assert f"the strength would be {100 * (1 - F[0]):.1f} %" in text
    assert routes(plan(-2.0), "cap", 1.0)["surface"].strength_percent == pytest.approx(
        plan(-2.0).at_surface.strength.strength_percent
    )


def test_the_terminal_and_the_json_name_the_order():
    report = rescue_report(plan(), "OD", "lenticule", 0.05)
    assert report["cut_order"] == "cap-first"
    text = rescue_table(report, "lenticule", 0.05)
    assert "the cap is cut first" in text and "Lenticule cut again" in text and "Flap at the cap's depth" in text


def test_beds_that_lie_over_a_cut_say_what_of_them_lies_on_its_far_side():
    """550 µm, −3 D, its lenticule wholly cut: C − E − t, T − C and the least r − t typed anew (definitions)."""
    comparison = plan(-3.0)
    found = rescue(comparison, "lenticule", 1.0)
    ways = {route.way.id: route for route in found.routes}
    said = [one.text for one in rescue_notices(comparison, found) if one.id == "bed-over-cut"]
    left = 120.0 - 53.0 - float(ways["surface"].removal_central_um)
    taken = float(comparison.under_cap.option.removal.central_um)
    assert said == [
        f"Flap at the cap's depth: the bed of {ways['flap-at-cap'].bed_central_um:.0f} µm and the altered share count "
        f"what is left over the lower plane where that is cut, {ways['flap-at-cap'].clearance.value:.0f} µm at its "
        "thinnest.",
        f"Surface ablation: the bed of {430.0 + left:.0f} µm and the altered share count the {left:.0f} µm left over "
        f"the cap's plane; below that plane lie 430 µm, the {taken:.0f} µm of the lenticule among them.",
    ]
    while_cap = [one.text for one in rescue_notices(comparison, rescue(comparison, "cap", 0.5))]
    assert any(text.endswith("below that plane lie 430 µm.") for text in while_cap)
    assert any("the tissue beside and across the abandoned cuts as intact" in text for text in while_cap)
    usual = plan(-3.0, Judgement())
    of_usual = " ".join(one.text for one in rescue_notices(usual, rescue(usual, "lenticule", 1.0)))
    assert "the tissue beside the abandoned cut as intact" in of_usual and "across" not in of_usual


def test_a_surface_ablation_through_the_cut_cap_is_not_there_under_a_small_map_either():
    """−6 D, t over 67 µm: E + t > C at the centre, which the map of the epithelium holds (definition)."""
    small, large = (
        map_of(nine, epithelium=lambda x, y: 53.0 + 0.0 * x, **reach).epithelium
        for reach in ({"reach_mm": 2.25, "step_mm": 0.25}, {})
    )
    for D in (-6.0, -3.0):
        plans = [
            compare(
                Cornea(550.0, own_map=OwnMap(None, layer)), Treatment(Refraction(D), zone_mm=7.0), judgement=CAP_FIRST
            )
            for layer in (small, large)
        ]
        ways = [routes(one, "cap", 1.0)["surface"] for one in plans]
        said = [
            [one.option for one in rescue_notices(eye, rescue(eye, "cap", 1.0)) if one.id == "map-short"]
            for eye in plans
        ]
        assert said == [["surface"] * ways[0].available, []]
        through = 53.0 + float(ways[0].removal_central_um) > 120.0
        assert through == (D == -6.0)
        assert [way.available for way in ways] == [not through] * 2
        assert ("It goes through a plane that is cut already, by" in ways[0].why_not) == through
        assert np.isnan(ways[0].clearance.value) == (not through) and np.isfinite(ways[1].clearance.value)
    assert np.isnan(list(above_cap_counted(plan(-6.0), 1.0).values())).all()


def test_a_share_of_a_flap_along_a_cut_cap_is_marked_on_the_screen_as_in_the_terminal():
    """The percent altered was published for flaps of untouched corneas (measures.toml); a cap is cut here."""
    report = rescue_report(plan(-3.0), "OD", "lenticule", 1.0)
    row = next(line for line in rescue_table(report).splitlines() if line.startswith("Flap at the cap's depth"))
    way = routes(plan(-3.0), "lenticule", 1.0)["flap-at-cap"]
    assert f"{way.altered_percent:.1f}†" in row and not way.option.share_validated
    assert routes(plan(-3.0), "lenticule", 1.0)["flap"].option.share_validated


def test_what_a_way_needs_is_that_of_its_own_order():
    """The terminal gave the words of the other order: a finished lenticule, and a diameter that is not offered."""
    side = rescue_table(rescue_report(plan(), "OD", "lenticule-side", 0.5))
    text = " ".join(side.split())
    assert "A side cut with a hinge round the lenticule;" in text and "finished lenticule" not in text
    assert "full diameter" not in text and "Needs: A second docking, centred as the first. " in text
    assert "Described in: no" not in text and "Described in: worked" not in text
    assert "Worked out from the geometry; no published source for this order of cuts." in text
    usual = " ".join(rescue_table(rescue_report(plan(judgement=Judgement()), "OD", "lenticule-side", 0.5)).split())
    assert "full diameter" in usual and "Worked out" not in usual


def test_the_screen_says_where_from_of_ways_that_nobody_describes():
    for judgement, label in ((CAP_FIRST, "Where from"), (Judgement(), "Described in")):
        comparison = plan(-3.0, judgement)
        html = ways_table(rescue(comparison, "lenticule", 0.5).routes, comparison, "OD", False, "")
        assert [html.count(words) for words in ("Where from", "Described in")] == (
            [1, 0] if label == "Where from" else [0, 1]
        )


def test_how_the_cap_is_taken_to_be_cut_is_said():
    """A cap cut outside in would leave a ring, not a disc: other clearances, so the assumption stands there."""
    found = rescue(plan(), "cap", 0.5)
    (said,) = [one.text for one in rescue_notices(plan(), found) if one.id == "cut-order"]
    assert "The cap is taken to be cut inside out and the lenticule outside in, as in the other order." in said


@pytest.mark.parametrize("order", ["incision-first", "", 3, None])
def test_an_order_that_is_none_is_refused(order):
    with pytest.raises(EyeError) as error:
        Judgement(cut_order=order)
    assert error.value.field == "cut_order" and "lenticule-first, cap-first" in str(error.value)


def test_a_column_of_orders_has_no_clock():
    both = Judgement(cut_order=np.array(["cap-first", "lenticule-first"]))
    columns = compare(Cornea(np.array([550.0, 560.0])), Treatment(Refraction(-6.0)), judgement=both)
    with pytest.raises(EyeError, match="cut_order"):
        clock_of(columns)
