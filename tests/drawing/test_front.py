"""The front view: rings where the plan puts them, sides mirrored, names complete."""

import json

import numpy as np
import pytest
from drawn_eyes import EYES, eye
from figures_read import all_words, traces

from tissue import CapCut, FlapCut, compare
from tissue.drawing.base.palette import look
from tissue.drawing.base.rings import front
from tissue.drawing.front.front import Column, front_view, small_axes
from tissue.drawing.section.describe import (
    describe_depth_times_four,
    describe_flattened,
    describe_front,
    describe_true_scale,
)
from tissue.drawing.section.section import flattened, option_domains

LIGHT = look("light")


def test_rings_of_the_usual_eye():
    """Radii: limbus 11.8/2, pupil 6/2, zone 6.5/2, flap 9/2; surface 3.25 + 0.5; cap 3.25 + 0.1 + 0.5 (defaults)."""
    seen = front(eye("usual"))
    radii = [seen.limbus, seen.pupil, seen.zone, seen.flap, seen.treated["surface"], seen.cap]
    assert [round(ring.radius_mm, 6) for ring in radii] == [5.9, 3.0, 3.25, 4.5, 3.75, 3.85]


def test_hinge_closes_the_flap():
    """The arc ends where the chord does: 0.5 mm inside a radius of 4.5 the half chord is √(4.5² − 4²) (C)."""
    seen = front(eye("usual"))
    x, y = seen.hinge[0]
    np.testing.assert_allclose(np.abs(x), np.sqrt(4.5**2 - 4.0**2))
    np.testing.assert_allclose(y, 4.0)
    ends = [seen.flap.point(deg) for deg in seen.flap_arc_deg]
    np.testing.assert_allclose(sorted(float(end[0]) for end in ends), sorted(x), atol=1e-9)


@pytest.mark.parametrize(
    ("hinge", "side", "word"), [(90.0, "OD", "superior"), (0.0, "OD", "nasal"), (0.0, "OS", "temporal")]
)
def test_hinge_in_words(hinge, side, word):
    plan = compare(*EYES["usual"], flap=FlapCut(hinge_deg=hinge))
    assert f"flap 9.0, hinge {word}" in all_words(front_view(plan, side, LIGHT))
    assert f"hinge {word}" in describe_front(plan, side)


def test_incision_is_as_long_as_it_says():
    """Arc of 3 mm on the cap's edge, about 90° (defaults)."""
    seen = front(eye("usual"))
    x, y = seen.cap.arc(*seen.incision_arc_deg, 0.5)
    assert np.hypot(np.diff(x), np.diff(y)).sum() == pytest.approx(3.0, abs=1e-3)
    assert np.mean(seen.incision_arc_deg) == 90.0
    assert "incision 3.0 at 90°" in all_words(front_view(eye("usual"), "OD", LIGHT))


def test_marks_lie_on_the_axis_of_the_minus_cylinder():
    """−6.00 −1.25 × 170: marks at 170° and 350° (ISO 8429 notation)."""
    angles = [np.degrees(np.arctan2(np.mean(y), np.mean(x))) % 360.0 for x, y in front(eye("usual")).axis_marks]
    np.testing.assert_allclose(angles, [170.0, 350.0])
    assert front(eye("hyperopia")).axis_marks == ()


def test_plus_cylinder_is_marked_on_the_axis_of_its_minus_form():
    """−7.25 +1.25 × 80 is −6.00 −1.25 × 170: the same marks."""
    from tissue import Refraction, Treatment

    plan = compare(EYES["usual"][0], Treatment(Refraction(-7.25, 1.25, 80.0)))
    np.testing.assert_allclose(front(plan).axis_marks, front(eye("usual")).axis_marks, atol=1e-9)


@pytest.mark.parametrize("name", EYES)
@pytest.mark.parametrize("side", ["OD", "OS"])
def test_large_view_is_strict_json_at_one_scale(name, side):
    figure = front_view(eye(name), side, LIGHT)
    json.loads(json.dumps(figure, allow_nan=False))
    across, up = figure["layout"]["xaxis"]["range"], figure["layout"]["yaxis"]["range"]
    assert 900 / (across[1] - across[0]) == pytest.approx(460 / (up[1] - up[0]), rel=1e-3)


@pytest.mark.parametrize(("side", "right"), [("OD", "nasal"), ("OS", "temporal")])
def test_sides_of_the_large_view(side, right):
    trace = traces(front_view(eye("usual"), side, LIGHT), mode="text")[0]
    at = dict(zip(trace["text"], trace["x"], strict=True))
    other = {"nasal": "temporal", "temporal": "nasal"}[right]
    assert at[right] > 0.0 > at[other]


@pytest.mark.parametrize("width", [744, 1104])
def test_small_view_is_at_one_scale_and_inside_its_column(width):
    figure = flattened(eye("usual"), "OD", LIGHT, width_px=width)
    layout = figure["layout"]
    across, up = layout["xaxis"], layout["yaxis"]
    px = (across["domain"][1] - across["domain"][0]) * width
    height = layout["height"] - layout["margin"]["t"] - layout["margin"]["b"]
    assert px / (across["range"][1] - across["range"][0]) == pytest.approx(
        height / (up["range"][1] - up["range"][0]), rel=1e-3
    )
    low, high = layout["xaxis2"]["range"]  # of all the width; its first section begins where it has its lowest x
    stroma = traces(figure, fill="toself", xaxis="x2")[0]
    begins = (min(x for x in stroma["x"] if x is not None) - low) / (high - low)
    assert across["domain"][1] < begins == pytest.approx(option_domains(width == 744)["surface"][0], abs=1e-4)
    assert up["scaleanchor"] == "x"


def test_degree_marks_only_where_there_is_room():
    assert "180°" in all_words(flattened(eye("usual"), "OD", LIGHT))
    assert "180°" not in all_words(flattened(eye("usual"), "OD", LIGHT, width_px=744))


def test_treatment_centre_is_a_mark_of_its_own_only_where_it_is_one():
    def symbols(plan):
        return traces(flattened(plan, "OD", LIGHT), mode="markers", xaxis="x")[0]["marker"]["symbol"]

    assert symbols(eye("usual")) == ["cross-thin-open", "triangle-down-open"]
    assert symbols(eye("decentred")) == ["cross-thin-open", "x-thin-open", "triangle-down-open"]
    assert "vertex +, treatment centre" in all_words(front_view(eye("usual"), "OD", LIGHT))
    assert "treatment centre ×" in all_words(front_view(eye("decentred"), "OD", LIGHT))


def test_unit_is_said_once():
    words = all_words(front_view(eye("usual"), "OD", LIGHT))
    assert sum("mm" in word for word in words) == 1


def test_where_nothing_is_treated_only_the_eye_is_seen():
    seen = front(eye("none"))
    assert seen.flap is None and seen.cap is None and seen.treated == {}
    assert not any("zone" in word for word in all_words(front_view(eye("none"), "OD", LIGHT)))


def test_incision_at_the_left_has_its_name():
    plan = compare(*EYES["usual"], cap=CapCut(incision_deg=180.0))
    assert "incision 3.0 at 180°" in all_words(front_view(plan, "OD", LIGHT))


@pytest.mark.parametrize("describe", [describe_flattened, describe_true_scale, describe_depth_times_four])
def test_alternative_text_has_every_figure_of_the_picture(describe):
    text = describe(eye("usual"), "OD")
    for result in eye("usual").results.values():
        figures = result.budget
        for value in (figures.cut_um, figures.removal_central_um, figures.bed_central_um, figures.bed_min_um):
            assert str(round(float(value))) in text
    assert "right eye (OD)" in text and "temporal to nasal" in text and "bed 250" in text


def test_alternative_text_says_why_an_option_is_missing():
    assert describe_flattened(eye("none"), "OS").count("not drawn, there is nothing to treat") == 3


def test_alternative_text_of_an_eye_that_is_deepest_off_the_centre():
    assert "at the centre and at most" in describe_flattened(eye("hyperopia"), "OD")
    assert "at most" not in describe_flattened(eye("usual"), "OD")


def test_alternative_text_of_the_front():
    text = describe_front(eye("usual"), "OS")
    for part in ("left eye (OS)", "zone 6.5", "Flap 9.0", "Cap 7.7", "543 µm, 0.8 mm inferonasal", "170°"):
        assert part in text


@pytest.mark.parametrize("width_px", [160, 199, 200, 201, 264, 444, 700])
def test_the_small_eye_is_drawn_however_narrow_the_column_is(width_px):
    """A window of 256 px (1280 enlarged five times) ended in a division by zero; one narrower turned the eye round."""
    column = Column(0.26, width_px, 292.0, 15.0, narrow=True)
    low, high = small_axes(column, 11.7)["yaxis"]["range"]
    assert 54.0 <= column.limbus_px <= 108.0 and low < 0.0 < high
