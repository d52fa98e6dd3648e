"""Labels never cover one another and never leave the picture, whatever the plan."""

from itertools import combinations

import numpy as np
import pytest
from drawn_eyes import ASIDE, EYES, eye, plans
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tissue import compare
from tissue.drawing.base.fonts import text_size, text_width
from tissue.drawing.base.labels import Box, Leader, label
from tissue.drawing.base.outline import half_width_mm, outlines
from tissue.drawing.base.rings import front
from tissue.drawing.front.front import HEIGHT_PX, LIMBUS_PX, cuts, names_placed, spots
from tissue.drawing.section.curved import arches
from tissue.drawing.section.section import placed as flat_placed

WIDTHS = st.sampled_from([660, 744, 900, 1104, 1500])
ANGLES = st.integers(0, 179)


def flat(plan, angle, width):
    """Labels and leaders of the three flattened sections, and their scale."""
    half = half_width_mm(plan)
    return flat_placed(outlines(plan, angle, half), plan, half, width)


def assert_apart(labels):
    for one, other in combinations(labels, 2):
        assert not one.box.overlaps(other.box), (one, other)


def assert_leaders_clear(labels, leaders):
    """A leader touches only its own label."""
    for leader in leaders:
        assert sum(leader.meets(one.box, 0.0) for one in labels) == 0, (leader, labels)


@settings(max_examples=300)
@given(plans(), ANGLES, WIDTHS)
def test_flattened_labels_stand_apart_and_inside(plan, angle, width):
    sections, scale = flat(plan, angle, width)
    for labels, leaders in sections.values():
        assert_apart(labels)
        assert_leaders_clear(labels, leaders)
        for one in labels:
            box = one.box
            assert -scale.half_px <= box.left and box.right <= scale.half_px
            assert -1.0 <= box.top and box.bottom <= scale.depth_px


@settings(max_examples=200)
@given(plans(), ANGLES, st.sampled_from([744, 1104]), st.booleans())
@example(compare(*ASIDE), 33, 744, True)  # column nearer the treatment than its dots
def test_curved_labels_stand_apart_and_inside(plan, angle, width, true):
    for arch in arches(plan, "OD", angle, width, true).values():
        everything = [*arch.labels, *arch.small]
        assert_apart(everything)
        assert_leaders_clear(everything, arch.leaders)
        for one in everything:
            box = one.box
            assert arch.middle_px - width / 2.0 <= box.left and box.right <= arch.middle_px + width / 2.0
            assert box.bottom <= arch.bottom_px + 12.0


@settings(max_examples=200)
@given(plans(), st.sampled_from(["OD", "OS"]))
def test_names_of_the_front_view_stand_apart_and_inside(plan, side):
    seen = front(plan)
    per_mm = LIMBUS_PX / (2.0 * seen.limbus.radius_mm)
    for named, sign in ((cuts(seen, side), 1.0), (spots(seen, plan), -1.0)):
        labels = [one for one, _, _ in names_placed(named, seen, per_mm, sign)]
        assert len(labels) == len(named)
        assert_apart(labels)
        for one in labels:
            assert abs(one.x_px) + one.width_px / 2.0 <= 450.0 and abs(one.y_px) <= HEIGHT_PX / 2.0


@pytest.mark.parametrize("axis_deg", [170.0, 175.0, 180.0, 5.0])
def test_a_name_of_two_lines_stands_off_the_degree_marks(axis_deg):
    """Source: boxes of the words: 180° is 12 px high and stands on the middle row."""
    from tissue import Cornea, Refraction, Treatment

    plan = compare(Cornea(540.0), Treatment(Refraction(-4.0, -0.5, axis_deg)))
    seen = front(plan)
    placed = names_placed(spots(seen, plan), seen, LIMBUS_PX / (2.0 * seen.limbus.radius_mm), -1.0)
    box = next(one.box for one, _, _ in placed if one.text.startswith("axis"))
    assert box.top > 6.0 or box.bottom < -6.0


@pytest.mark.parametrize("name", EYES)
def test_every_figure_of_the_section_is_there(name):
    sections, _ = flat(eye(name), 0, 1104)
    for option, result in eye(name).results.items():
        said = " ".join(one.text for one in sections[option][0])
        if not result.available:
            assert f"Not drawn: {result.why_not}".replace(" ", "") in said.replace("<br>", "").replace(" ", "")
            continue
        figures = result.budget
        for value in (figures.cut_um, figures.removal_central_um, figures.bed_min_um):
            assert f"<b>{round(float(value))}</b>" in said
        ring = figures.removal_max_um - figures.removal_central_um > 5.0  # the least bed is then the bold one
        bed = round(float(figures.bed_central_um))
        assert (f"bed {bed}" if ring else f"bed <b>{bed}</b>") in said
        assert "bed 250" in said


def test_thick_layers_hold_their_label_and_thin_ones_have_a_leader():
    """124 µm are 41 px high and hold a label of 15; 19 µm are 6 px and do not."""
    from tissue import Cornea, Refraction, Treatment, compare

    deep, _ = flat(eye("usual"), 0, 1104)
    assert [len(leaders) for _, leaders in deep.values()] == [0, 0, 0]
    thin, _ = flat(compare(Cornea(520.0), Treatment(Refraction(-1.0))), 0, 1104)
    assert [len(leaders) for _, leaders in thin.values()] == [1, 1, 1]


def test_another_procedures_line_says_what_it_is():
    sections, _ = flat(eye("usual"), 0, 1104)
    texts = {name: [one.text for one in labels] for name, (labels, _) in sections.items()}
    assert "bed 250 (set for flaps)" in texts["surface"] and "bed 250 (set for flaps)" in texts["lenticule"]
    assert "bed 250" in texts["flap"] and "bed 250 (set for flaps)" not in texts["flap"]


def test_least_bed_off_the_meridian_is_said_in_words():
    sections, _ = flat(eye("far"), 0, 1104)
    assert any("mm off this meridian" in one.text for one in sections["flap"][0])
    sections, _ = flat(eye("usual"), 0, 1104)
    assert not any("off this meridian" in one.text for one in sections["flap"][0])


def test_boxes():
    assert Box(0, 0, 10, 10).overlaps(Box(9, 9, 20, 20))
    assert not Box(0, 0, 10, 10).overlaps(Box(11, 0, 20, 10))
    assert Box(0, 0, 10, 10).overlaps(Box(11, 0, 20, 10), 2.0)
    assert Leader(((0.0, 0.0), (10.0, 10.0))).meets(Box(4, 4, 6, 6))
    assert not Leader(((0.0, 0.0), (10.0, 10.0))).meets(Box(7, 0, 9, 3))


def test_text_width_is_that_of_a_browser():
    """Measured in Chromium at 1000 px: 'removed 124' 5406 regular, 5700 bold (C), kerning apart."""
    assert text_width("removed 124", 1000.0) == pytest.approx(5406, rel=0.006)
    assert text_width("<b>removed 124</b>", 1000.0) == pytest.approx(5700, rel=0.006)
    width, height = text_size("one<br>longer line", 12.0)
    assert width == text_width("longer line", 12.0)
    assert height == pytest.approx(2 * text_size("one", 12.0)[1])


def test_a_label_from_its_left_edge():
    put = label("bed <b>304</b>", 8.0, 0.0, 12.0, left=True)
    assert put.x_px - put.width_px / 2.0 == pytest.approx(8.0)
    assert np.isfinite(put.box).all()
