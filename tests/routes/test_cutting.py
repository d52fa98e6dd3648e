"""The laser's order of cuts: areas, time shares, radii reached, and what stands cut at any moment."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tissue import CapCut, Cornea, EyeError, Judgement, Refraction, Treatment, compare
from tissue.ground.vocabulary import STAGES
from tissue.routes.cutting import clock_of, cut_so_far


def clock(sphere=-6.0, cylinder=0.0, cap=None, judgement=None, **treatment):
    plan = Treatment(Refraction(sphere, cylinder, 30.0), **treatment)
    return clock_of(compare(Cornea(550.0), plan, cap=cap or CapCut(), judgement=judgement or Judgement()))


def test_the_order_of_the_cuts():
    """Lenticule outside in, its side cut, cap inside out, incision: common practice (T)."""
    assert STAGES == ("lenticule", "lenticule-side", "cap", "incision")


def test_time_shares_from_areas_by_hand():
    """6.5 mm lenticule with a base of 15 µm, 7.5 mm cap at 120 µm, 3 mm incision: areas worked by hand (C)."""
    swept = np.array([np.pi * 3.25**2, np.pi * 6.5 * 0.015, np.pi * 3.75**2, 3.0 * 0.120])
    assert clock().shares == pytest.approx(swept / swept.sum(), rel=1e-12)


def test_incision_height_is_the_cap_and_side_cut_height_the_base():
    """Doubling cap or base doubles only the area of its own upright cut (C)."""
    plain, deep = clock(base_um=15.0), clock(base_um=30.0, cap=CapCut(cap_um=240.0))
    ratios = [new / old for new, old in zip(deep.swept_mm2, plain.swept_mm2, strict=True)]
    assert ratios == pytest.approx([1.0, 2.0, 1.0, 2.0])


@given(st.floats(4.0, 8.0), st.floats(0.0, 60.0), st.floats(80.0, 250.0), st.floats(1.0, 12.0), st.floats(5.0, 120.0))
@settings(max_examples=40)
def test_shares_add_to_one_and_the_last_cut_ends_the_clock(zone, base, cap, incision, total):
    """By definition of a share; the total is the setting."""
    cuts = clock(
        zone_mm=zone, base_um=base, cap=CapCut(cap_um=cap, incision_mm=incision), judgement=Judgement(clock_s=total)
    )
    assert sum(cuts.shares) == pytest.approx(1.0, abs=1e-12)
    assert cuts.seconds("lenticule", 0.0) == 0.0
    assert cuts.seconds("incision", 1.0) == pytest.approx(total, rel=1e-12)
    assert np.all(np.diff(cuts.ends_s) >= 0.0)


def test_lasing_time_is_the_same_for_a_low_and_a_high_correction():
    """24 s for −1.50 and for −8.50: common practice (T); here every stage ends at the same second."""
    assert clock(-1.5).ends_s == clock(-8.5).ends_s
    assert clock(-1.5).total_s == 24.0


@given(st.floats(-10.0, 5.0), st.floats(-4.0, 0.0))
@settings(max_examples=25)
def test_refraction_alone_leaves_the_clock(sphere, cylinder):
    """With blend and base held, the refraction is not in the areas (model: fixed pitch)."""
    held = {"lenticule_blend_mm": 0.4, "base_um": 20.0}
    assert clock(sphere, cylinder, **held).ends_s == clock(-3.0, **held).ends_s


@pytest.mark.parametrize("f", [0.0, 0.0999, 0.1, 0.35, 0.75, 1.0])
def test_reached_radius(f):
    """ρ_max·√(1 − f) outside in and ρ_max·√f inside out, so that f is a share of area (C)."""
    cuts = clock()
    lenticule, cap = cuts.reached_mm("lenticule", f), cuts.reached_mm("cap", f)
    assert np.pi * (3.25**2 - lenticule**2) == pytest.approx(f * np.pi * 3.25**2, abs=1e-12)
    assert np.pi * cap**2 == pytest.approx(f * np.pi * 3.75**2, abs=1e-12)


def test_reached_radius_at_the_ends_and_at_three_quarters():
    """√(1 − 0.75) = 1/2 exactly: 1.625 of 3.25 mm (C)."""
    cuts = clock()
    assert [cuts.reached_mm("lenticule", f) for f in (0.0, 0.75, 1.0)] == [3.25, 1.625, 0.0]
    assert [cuts.reached_mm("cap", f) for f in (0.0, 0.25, 1.0)] == [0.0, 1.875, 3.75]


@pytest.mark.parametrize("stage", ["lenticule-side", "incision"])
def test_upright_cuts_reach_no_radius(stage):
    """Interface: null where a stage has none."""
    assert np.isnan(clock().reached_mm(stage, 0.5))


@given(st.sampled_from(STAGES), st.floats(0.001, 0.999))
def test_moment_is_the_inverse_of_seconds(stage, f):
    """A stage and its share, to seconds and back."""
    cuts = clock()
    number, share = cuts.moment(cuts.seconds(stage, f))
    assert STAGES[number] == stage and share == pytest.approx(f, abs=1e-9)


def test_moments_at_the_seams():
    """The clock begins with the lenticule and ends with the incision; a seam belongs to the cut that begins."""
    cuts = clock()
    assert cuts.moment(0.0) == (0, 0.0) and cuts.moment(24.0) == (3, 1.0)
    assert cuts.moment(cuts.ends_s[1]) == (2, 0.0)


def test_a_lenticule_without_base_has_no_side_cut():
    """Height 0: the stage takes no time and the clock steps over it (C)."""
    cuts = clock(base_um=0.0)
    assert cuts.shares[1] == 0.0 and cuts.moment(cuts.ends_s[0]) == (2, 0.0)


def test_columns_of_eyes_and_moments_go_through_the_same_call():
    """House rule: numbers and arrays in one path, the same figures."""
    zones, moments = np.array([5.5, 6.5, 7.0]), np.array([3.0, 12.0, 23.9])
    stages, shares = clock(zone_mm=zones).moment(moments)
    each = [clock(zone_mm=z).moment(s) for z, s in zip(zones, moments, strict=True)]
    assert list(stages) == [stage for stage, _ in each]
    assert shares == pytest.approx([share for _, share in each], abs=1e-12)
    many, _ = clock().moment(np.linspace(0.0, 24.0, 1000))
    assert np.all(np.diff(many) >= 0)


def test_what_stands_cut_in_each_stage():
    """Earlier cuts whole, later ones not begun (T: the order)."""
    cuts = clock()
    early, side, cap, last = (cut_so_far(cuts, stage, 0.36) for stage in STAGES)
    assert (early.lenticule_inner_mm, early.lenticule_outer_mm) == (pytest.approx(3.25 * 0.8), 3.25)
    assert (early.side_done, early.cap_radius_mm, early.incision_done) == (0.0, 0.0, 0.0)
    assert (side.lenticule_inner_mm, side.side_done, side.cap_radius_mm) == (0.0, 0.36, 0.0)
    assert (cap.side_done, cap.cap_radius_mm, cap.incision_done) == (1.0, pytest.approx(3.75 * 0.6), 0.0)
    assert (last.cap_radius_mm, last.incision_done) == (3.75, 0.36)


@pytest.mark.parametrize("share", [-0.01, 1.01, 35, np.nan, None])
def test_a_share_outside_0_to_1_is_refused(share):
    with pytest.raises(EyeError) as error:
        clock().seconds("cap", share)
    assert error.value.field == "done" and "0 to 1" in error.value.limit


def test_an_unknown_stage_and_a_time_off_the_clock_are_refused():
    with pytest.raises(EyeError, match="lenticule, lenticule-side, cap, incision"):
        clock().seconds("flap", 0.5)
    with pytest.raises(EyeError, match="seconds: read 25; accepted 0 to 24 s"):
        clock().moment(25.0)
