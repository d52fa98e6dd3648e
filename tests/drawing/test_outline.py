"""The outline in mm: what the drawing shows is what the arithmetic says."""

import numpy as np
import pytest
from drawn_eyes import EYES, eye, plans
from hypothesis import given, settings

from tissue import CapCut, Cornea, FlapCut, Judgement, Refraction, Treatment, compare
from tissue.drawing.base.meridian import angle_through, meridian
from tissue.drawing.base.outline import bent, dense, half_width_mm, level, outlines
from tissue.drawing.section.describe import section_table

DRAWN = [name for name in EYES if name not in ("none", "gone")]


@pytest.mark.parametrize("name", DRAWN)
def test_the_dimension_line_is_the_sum(name):
    """Cut + removed + bed = central thickness: the definition of the bed."""
    for outline in outlines(eye(name)).values():
        total = outline.cut_um + outline.removed_um + outline.bed_um
        assert total == pytest.approx(float(eye(name).cornea.central_thickness_um))


@pytest.mark.parametrize("name", DRAWN)
@pytest.mark.parametrize("angle", [0.0, 37.0, 90.0, 150.0])
def test_floor_and_back_lie_where_the_arithmetic_puts_them(name, angle):
    """Floor at cut + r(x, y), back at T(x, y): definitions of the removal and of the thickness map."""
    plan = eye(name)
    for key, outline in outlines(plan, angle).items():
        option = plan.results[key].option
        position = outline.floor.position_mm[1:-1]
        expected = option.cut_um + option.removal.r_um(*outline.meridian.place(position))
        np.testing.assert_allclose(outline.floor.depth_um[1:-1], expected, atol=1e-6)
        assert outline.floor.depth_um[0] == outline.floor.depth_um[-1] == outline.cut_um
        thickness = plan.cornea.thickness_um(*outline.meridian.place(outline.back.position_mm))
        np.testing.assert_allclose(outline.back.depth_um, thickness)


def test_users_line_lies_its_figure_above_the_back():
    for outline in outlines(eye("usual")).values():
        np.testing.assert_allclose(outline.back.depth_um - outline.user_line.depth_um, 250.0)


def test_a_line_deeper_than_the_cornea_is_not_drawn():
    plan = compare(Cornea(400.0), Treatment(Refraction(-1.0)), judgement=Judgement(bed_line_um=480.0))
    assert all(outline.user_line is None for outline in outlines(plan).values())


@pytest.mark.parametrize("name", DRAWN)
def test_iso_depth_lines_stay_in_the_tissue(name):
    for outline in outlines(eye(name), 25.0).values():
        for curve in outline.iso_depths:
            back = np.interp(curve.position_mm, outline.back.position_mm, outline.back.depth_um)
            assert np.all(curve.depth_um <= back + 0.5)
            assert curve.depth_um[0] % 100.0 == 0.0


@pytest.mark.parametrize("name", DRAWN)
def test_the_section_ends_at_the_limbus(name):
    plan = eye(name)
    for outline in outlines(plan, 63.0).values():
        for position in (outline.low_mm, outline.high_mm):
            assert np.hypot(*outline.meridian.place(position)) == pytest.approx(plan.cornea.white_to_white_mm / 2.0)


def test_a_front_that_ends_before_the_limbus_is_drawn_as_far_as_it_goes():
    plan = compare(Cornea(548.0, radius_mm=6.5, asphericity=1.0), Treatment(Refraction(-3.0), zone_mm=5.0))
    for outline in outlines(plan).values():
        assert np.isfinite(bent(outline).back.depth_um).all()


def test_bent_front_is_the_conic():
    """Sag of a conic, R 7.8, Q −0.19, at 4 mm: c·r²/(1 + √(1 − (1 + Q)·c²·r²)) (C)."""
    plan = compare(Cornea(548.0), Treatment(Refraction(-3.0)))
    front = bent(outlines(plan)["flap"]).front
    expected = 16.0 / 7.8 / (1.0 + np.sqrt(1.0 - 0.81 * 16.0 / 7.8**2))
    assert np.interp(4.0, front.position_mm, front.depth_um) / 1000.0 == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize("factor", [1.0, 4.0])
def test_bending_moves_every_curve_alike(factor):
    flat = outlines(eye("mixed"), 20.0)["lenticule"]
    curved = bent(flat, factor)
    for name in ("back", "floor", "user_line"):
        old, new = getattr(flat, name), getattr(curved, name)
        kept = np.interp(old.position_mm, *new) - curved.drop_um(old.position_mm)
        inner = slice(2, -2)
        np.testing.assert_allclose(kept[inner], old.depth_um[inner], atol=0.6)


def test_dense_keeps_the_points_and_fills_between():
    curve = dense(level(-1.0, 1.0, 50.0), 0.25)
    np.testing.assert_allclose(curve.position_mm, np.linspace(-1, 1, 9))
    assert np.all(curve.depth_um == 50.0)


def test_flap_is_open_at_its_hinge_only():
    """Hinge above (90°): no side cut at the superior end of the vertical section, two in the horizontal one (T)."""
    across, up = (outlines(eye("usual"), angle)["flap"] for angle in (0.0, 90.0))
    assert across.hinge_mm is None
    assert list(across.cut.depth_um) == [0.0, 110.0, 110.0, 0.0]
    assert up.hinge_mm == pytest.approx(4.0)
    assert list(up.cut.depth_um) == [0.0, 110.0, 110.0]
    assert up.cut.position_mm[0] == pytest.approx(-4.5)


def test_hinge_on_the_other_side():
    plan = compare(*EYES["usual"], flap=FlapCut(hinge_deg=180.0))
    outline = outlines(plan, 0.0)["flap"]
    assert outline.hinge_mm == pytest.approx(-4.0)
    assert list(outline.cut.depth_um) == [110.0, 110.0, 0.0]


def test_incision_where_the_meridian_meets_it():
    """3 mm on a circle of radius 3.85 mm reach 22.3° to both sides of 90° (C)."""
    found = [outlines(eye("usual"), angle)["lenticule"].incision_mm for angle in (90.0, 112.0, 113.0, 68.0, 0.0)]
    assert [place is not None for place in found] == [True, True, False, True, False]
    below = compare(*EYES["usual"], cap=CapCut(incision_deg=270.0))
    assert outlines(below, 90.0)["lenticule"].incision_mm < 0


def test_second_reading_only_where_the_removal_is_deepest_off_the_centre():
    assert all(outline.deepest is None for outline in outlines(eye("usual")).values())
    for outline in outlines(eye("hyperopia")).values():
        assert outline.deepest.removed_um == pytest.approx(outline.floor.depth_um.max() - outline.cut_um)
        assert outline.deepest.position_mm < -3.0


@pytest.mark.parametrize(("name", "count"), [("none", 3), ("gone", 1)])
def test_an_option_that_is_not_available_has_a_cornea_and_a_reason(name, count):
    missing = [outline for outline in outlines(eye(name)).values() if not outline.available]
    assert len(missing) == count
    for outline in missing:
        assert outline.why_not
        assert outline.floor is None
        assert outline.back.depth_um.size > 2


def test_meridian_through_a_place_passes_through_it():
    plan = eye("decentred")
    angle = angle_through(plan, -0.6, -0.5)
    assert meridian(plan, angle).off_mm(-0.6, -0.5) == pytest.approx(0.0, abs=1e-9)
    # from (0.4, 0.3) to (−0.6, −0.5): atan(0.8/1.0) (C)
    assert angle == pytest.approx(38.6598, abs=1e-3)


@pytest.mark.parametrize(
    ("angle", "ends"),
    [
        (0.0, ("temporal", "nasal")),
        (90.0, ("inferior", "superior")),
        (45.0, ("inferotemporal", "superonasal")),
        (140.0, ("superotemporal", "inferonasal")),
        (170.0, ("temporal", "nasal")),
        (110.0, ("inferior", "superior")),
    ],
)
def test_ends_of_a_section_in_words(angle, ends):
    """The viewer's right stays right in a flat section; in a steep one what is superior stands right."""
    assert meridian(eye("usual"), angle).end_words("OD") == ends


def test_half_width_grows_with_the_cut():
    assert half_width_mm(eye("usual")) == 5.0
    assert half_width_mm(compare(*EYES["usual"], flap=FlapCut(flap_diameter_mm=10.5))) == 5.5


@settings(max_examples=60)
@given(plans())
def test_nothing_lies_outside_the_cornea(plan):
    """Where there is a bed the floor is above the back; the cut is never above the front."""
    for outline in outlines(plan, 70.0).values():
        assert outline.low_mm < 0.0 < outline.high_mm
        if outline.available:
            inside = (outline.floor.position_mm > outline.low_mm) & (outline.floor.position_mm < outline.high_mm)
            place = outline.meridian.place(outline.floor.position_mm[inside])
            assert np.all(outline.floor.depth_um[inside] <= plan.cornea.thickness_um(*place) + 1e-6)
            assert outline.cut.depth_um.min() >= 0.0


@pytest.mark.parametrize("name", EYES)
def test_table_adds_up_in_every_row(name):
    """Bed = thickness − cut − removed; heights are the front's less the depth (definitions)."""
    for row in section_table(eye(name), 30.0):
        assert row["back_mm"] == pytest.approx(row["front_mm"] - row["back_depth_um"] / 1000.0, abs=2e-4)
        for option in ("surface", "flap", "lenticule"):
            if row[f"{option}_bed_um"] is not None:
                sum_um = row[f"{option}_cut_depth_um"] + row[f"{option}_removed_um"] + row[f"{option}_bed_um"]
                assert sum_um == pytest.approx(row["back_depth_um"], abs=1e-3)


def test_table_is_the_figures_at_the_centre():
    rows = {row["position_mm"]: row for row in section_table(eye("usual"))}
    assert rows[0.0]["flap_removed_um"] == pytest.approx(
        float(eye("usual").results["flap"].budget.removal_central_um), abs=1e-3
    )
    assert rows[5.0]["flap_removed_um"] is None
    assert rows[0.0]["front_mm"] == 0.0
    assert min(rows) >= -5.9 and max(rows) <= 5.9
