"""What is left, against printed figures and definitions (tests/published/budget.csv names each source)."""

from types import SimpleNamespace

import numpy as np
import pytest
from helpers import is_itself_only
from hypothesis import given, settings
from hypothesis import strategies as st
from printed import published

from tissue.budget.budget import deepest_off_centre, nothing_to_treat
from tissue.budget.comparison import compare
from tissue.eye.cornea import Cornea
from tissue.eye.refraction import Refraction
from tissue.ground.sources import rows
from tissue.removal.options import CapCut, FlapCut
from tissue.removal.removal import Treatment, largest_zone_mm

FEW = settings(max_examples=min(30, settings().max_examples))


def budget_of(row):
    """The budget of a row of the table: an eye, a cut and a depth, by the depth that a laser reports."""
    thickness, epithelium, cut, depth = (
        float(row[n]) for n in ("central_thickness_um", "epithelium_um", "cut_um", "removal_um")
    )
    plan = Treatment(Refraction(-5.0), reported_ablation_um=depth, reported_lenticule_um=depth)
    eye = Cornea(thickness, epithelium_um=epithelium)
    return compare(eye, plan, flap=FlapCut(cut), cap=CapCut(cut)).results[row["option"]].budget


def thickness_of(row):
    """The thickness that a bed and a percent altered of one eye imply: the bed share is what the PTA leaves."""
    plan = Treatment(Refraction(-5.0), reported_ablation_um=90.0)
    thickness = np.linspace(450.0, 650.0, 20_001)
    budget = (
        compare(Cornea(thickness), plan, flap=FlapCut(thickness - 90.0 - float(row["bed_um"]))).results["flap"].budget
    )
    assert np.allclose(budget.bed_central_um, float(row["bed_um"]))
    return thickness[np.argmin(np.abs(budget.altered_percent - float(row["altered_percent"])))]


def rise_for_base(row):
    """Rise of the removal for ten more of base; the refraction left must not change with it."""
    thin, thick = (compare(Cornea(550.0), Treatment(Refraction(-5.0), base_um=base)).results for base in (15.0, 25.0))
    thin, thick = thin[row["option"]].budget, thick[row["option"]].budget
    assert thin.K_after_D == thick.K_after_D and thin.um_per_D == pytest.approx(thick.um_per_D)
    return thick.removal_central_um - thin.removal_central_um


OTHER = {"central_thickness_um": thickness_of, "removal_rise_um": rise_for_base}


@pytest.mark.parametrize("row", list(published("budget")))
def test_published(row):
    value = OTHER[row["quantity"]](row) if row["quantity"] in OTHER else getattr(budget_of(row), row["quantity"])
    assert value == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize(
    "row", [p for p in published("eyes") if p.values[0]["quantity"].endswith(("central_um", "percent"))]
)
def test_a_published_eye_through_the_arithmetic(row):
    """Thickness, cut and depth of a published eye give its bed and shares; a cut that is not printed does not count."""
    (eye,) = (e for e in rows("published_eyes") if e["case_id"] == row["case_id"])
    numbers = {"central_thickness_um": eye["cct_um"], "epithelium_um": "40", "cut_um": eye["flap_or_cap_um"] or "53"}
    option = "lenticule" if eye["procedure"] == "lenticule" else "flap"
    figures = budget_of({**numbers, "removal_um": eye["depth_um"], "option": option})
    assert getattr(figures, row["quantity"]) == pytest.approx(
        float(row["expected"]), abs=float(row["tolerance"]) + 1e-9
    )


def of(option="flap", eye=Cornea(550.0), flap=FlapCut(), cap=CapCut(), **plan):
    """Budget of one option of a plan."""
    return (
        compare(eye, Treatment(**{"refraction": Refraction(-6.0), **plan}), flap=flap, cap=cap).results[option].budget
    )


def test_K_after():
    # C: −6 D at the cornea on 7.8 mm leaves 8.909 mm (removal table), 337.5/8.909 = 37.88 D
    after = of(refraction=Refraction(-6.0, vertex_mm=0.0))
    assert after.radius_after_mm == pytest.approx(8.909, abs=5e-4) and after.K_after_D == pytest.approx(
        37.88, abs=0.005
    )
    # SE at the cornea counts, not the sphere
    toric = of(refraction=Refraction(-4.0, -4.0, 30.0, 0.0))
    assert toric.K_after_D == pytest.approx(after.K_after_D)
    # C: 337.5·(1/7.8 − 4.25/376) = 39.454 D
    assert of(refraction=Refraction(-3.5, -1.5, 30.0, 0.0)).K_after_D == pytest.approx(39.454, abs=5e-4)


def test_depth_per_dioptre():
    # C: 14.046 µm a dioptre at 6.5 mm for a parabola (removal table); span of a mixed eye is both meridians
    for power in (-4.0, -0.5, 2.0):
        parabola = of(refraction=Refraction(power, vertex_mm=0.0), profile="parabolic", ablation_blend_mm=0.0)
        assert parabola.um_per_D == pytest.approx(14.046, abs=5e-4)
    mixed = of(refraction=Refraction(2.0, -4.0, 30.0, 0.0), ablation_blend_mm=0.0)
    assert mixed.um_per_D == pytest.approx(mixed.removal_max_um / 4.0)
    assert np.isnan(of(refraction=Refraction(0.0), profile="conic", target_asphericity=-1.0).um_per_D)
    lenticule = of("lenticule", base_um=40.0)
    assert lenticule.um_per_D == pytest.approx(of("lenticule", base_um=15.0).um_per_D)


def test_the_planned_bed_lies_under_the_planned_cut():
    # C: definition: bed = thickness − cut − removal, once with the cut as planned and once as measured
    found = of(flap=FlapCut(110.0, flap_measured_um=124.0))
    assert found.bed_planned_um + 110.0 + found.removal_central_um == pytest.approx(550.0)
    assert found.bed_central_um + 124.0 + found.removal_central_um == pytest.approx(550.0)
    assert is_itself_only(found)


def test_the_greatest_share_is_the_central_one_where_the_removal_is_deepest_over_the_thinnest_point():
    # Source: law: (cut + t)/T is greatest where t is deepest and T least
    for option in ("surface", "flap", "lenticule"):
        found = of(option)
        assert found.altered_max_percent == pytest.approx(found.altered_percent, abs=1e-9)


def option_of(**depths):
    """An option that is no more than depths of its removal [µm]."""
    return SimpleNamespace(removal=SimpleNamespace(**{name: np.array(column) for name, column in depths.items()}))


def test_words_about_a_removal():
    # Source: their own definitions: nothing taken beside the base; deepest removal over the central by more than 5 µm
    nothing = nothing_to_treat(option_of(t_max_um=[-0.5, 0.0, 0.5, np.nan]))
    assert nothing.tolist() == [True, True, False, False]
    off = deepest_off_centre(
        option_of(max_um=[5.0, 5.5, 105.5, 104.5, 100.0, np.nan], central_um=[0.0, 0.0, 100.0, 100.0, 100.0, 0.0])
    )
    assert off.tolist() == [False, True, True, False, False, False]


def test_cost_of_a_wider_zone():
    # C: definition: rise of the deepest removal for a zone wider by 0.1 mm, blend and scale held
    narrow, wide = of("lenticule"), of("lenticule", zone_mm=6.6)
    assert narrow.zone_cost_um == pytest.approx(wide.removal_max_um - narrow.removal_max_um)
    scaled = of("lenticule", reported_lenticule_um=143.0)
    part = (143.0 - 15.0) / (narrow.removal_max_um - 15.0)
    assert scaled.zone_cost_um == pytest.approx(part * narrow.zone_cost_um)


def test_cost_of_a_zone_whose_wider_neighbour_has_no_surface_is_not_given():
    eye, plan = Cornea(600.0, radius_mm=6.5, asphericity=2.0), {"refraction": Refraction(-2.0), "profile": "conic"}
    largest = largest_zone_mm(eye, Treatment(**plan))
    found = of(eye=eye, zone_mm=largest, ablation_blend_mm=0.0, **plan)
    assert np.isnan(found.zone_cost_um) and np.isfinite(found.removal_max_um)
    assert np.isfinite(of(eye=eye, zone_mm=largest - 0.1, ablation_blend_mm=0.0, **plan).zone_cost_um)


plans = st.fixed_dictionaries(
    {"thickness": st.floats(450.0, 650.0), "sphere": st.floats(-9.0, -0.5), "cylinder": st.floats(-3.0, 3.0),
     "zone": st.floats(5.0, 7.0), "epithelium": st.floats(45.0, 60.0), "cut": st.floats(90.0, 160.0)}
)  # fmt: skip


def made(p, **more):
    eye = Cornea(p["thickness"], epithelium_um=p["epithelium"])
    plan = Treatment(Refraction(p["sphere"], p["cylinder"], 30.0), p["zone"])
    return compare(eye, plan, flap=FlapCut(p["cut"]), cap=CapCut(p["cut"]), **more).results


@FEW
@given(plans)
def test_bed_share_and_percent_altered_make_100(p):
    for result in made(p).values():
        assert result.budget.bed_percent + result.budget.altered_percent == pytest.approx(100.0, abs=1e-9)


@FEW
@given(plans)
def test_thickness_is_the_sum_of_what_lies_over_another(p):
    for name, result in made(p).items():
        b = result.budget
        whole = b.cut_um + b.removal_central_um + b.bed_central_um
        assert whole == pytest.approx(p["thickness"])
        assert b.healed_thickness_um == pytest.approx(b.cut_um + b.bed_central_um)
        assert b.uncut_stroma_um == pytest.approx(
            b.bed_central_um + (p["cut"] - p["epithelium"] if name == "lenticule" else 0.0)
        )
        stroma = p["thickness"] - p["epithelium"]
        assert b.stromal_altered_percent == pytest.approx(100.0 * (1.0 - b.bed_central_um / stroma))


@FEW
@given(plans)
def test_the_least_bed_is_no_greater_and_the_greatest_share_no_smaller(p):
    for result in made(p).values():
        assert result.budget.bed_min_um <= result.budget.bed_central_um + 1e-9
        assert result.budget.altered_max_percent >= result.budget.altered_percent - 1e-9


@FEW
@given(plans)
def test_a_deeper_cut_leaves_so_much_less(p):
    deeper = made({**p, "cut": p["cut"] + 10.0})
    for name, result in made(p).items():
        taken = 0.0 if name == "surface" else 10.0
        for figure in ("bed_central_um", "bed_min_um"):
            less = getattr(result.budget, figure) - getattr(deeper[name].budget, figure)
            assert less == pytest.approx(taken, abs=1e-6)
