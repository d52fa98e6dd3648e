"""Alignment pictures: the turned axis and the pupil past the zone, the residual of a rotation, words with numbers."""

import json

import numpy as np
import pytest
from drawn_eyes import EYES
from figures_read import all_words

from tissue import Pupil, compare
from tissue.drawing.base.palette import look
from tissue.drawing.base.rings import front
from tissue.drawing.front.alignment import (
    describe_rotation,
    describe_turned,
    front_turned,
    pupil_past_zone,
    rotation_lines,
    turned_marks,
)
from tissue.eye.refraction import Refraction
from tissue.removal.over_pupil import outside_percent

LIGHT = look("light")


def area_of(outline):
    """Area inside a closed outline [mm²], by the trapezoid rule around it."""
    x, y = outline
    return 0.5 * abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])))


@pytest.mark.parametrize("pupil", [Pupil(7.0, 0.2, 0.0), Pupil(6.0, -1.0, 0.8), Pupil(8.0, 0.0, 0.5)])
def test_the_hatched_part_is_the_share_outside(pupil):
    """Area of the drawn outline against the exact overlap of two circles, within a hundredth of the pupil."""
    plan = compare(*EYES["decentred"], pupil=pupil)
    disc = np.pi * pupil.pupil_mm**2 / 4.0
    share = float(outside_percent(pupil, plan.results["surface"].option.removal))
    assert share > 0.0
    assert 100.0 * area_of(pupil_past_zone(front(plan))) / disc == pytest.approx(share, abs=1.0)


def test_a_pupil_inside_the_zone_has_no_part_outside():
    assert pupil_past_zone(front(compare(*EYES["usual"]))) is None
    assert pupil_past_zone(front(compare(*EYES["none"], pupil=Pupil(8.0)))) is None


@pytest.mark.parametrize(("turn", "landed"), [(5.0, 175.0), (15.0, 5.0), (-10.0, 160.0)])
def test_the_turned_axis_is_counter_clockwise(turn, landed):
    """Axes count counter-clockwise from the viewer's right (ISO 8429): 170 turned by 15 is 5."""
    plan = compare(*EYES["usual"])
    strokes, axis = turned_marks(front(plan), plan.treatment.refraction, turn)
    assert axis == pytest.approx(landed)
    for (x, y), half in zip(strokes, (0.0, 180.0), strict=True):
        along = np.radians(landed + half)
        np.testing.assert_allclose(np.array([x[1], y[1]]) / 5.9, [np.cos(along), np.sin(along)], atol=1e-9)


def test_no_turned_axis_without_a_cylinder_or_a_turn():
    plan, sphere = compare(*EYES["usual"]), compare(*EYES["hyperopia"])
    assert turned_marks(front(plan), plan.treatment.refraction, 0.0)[0] == ()
    assert turned_marks(front(sphere), sphere.treatment.refraction, 5.0)[0] == ()


@pytest.mark.parametrize("name", EYES)
@pytest.mark.parametrize("side", ["OD", "OS"])
def test_the_view_holds_its_names_and_sides(name, side):
    """The words stand where the side of the eye puts them; the figure is strict JSON."""
    plan = compare(*EYES[name], pupil=Pupil(7.0, 0.3, 0.0))
    figure = front_turned(plan, side, LIGHT, 5.0, 12.3)
    json.dumps(figure, allow_nan=False)
    said = all_words(figure)
    assert "pupil's centre ○" in said
    assert ("turned by +5°" in str(said)) == (plan.treatment.refraction.cylinder_D != 0)
    there = "0.3 mm nasal" if side == "OD" else "0.3 mm temporal"
    assert f"Pupil's centre {there}." in describe_turned(plan, side, 5.0, 12.3)


def test_the_view_in_words_has_its_numbers():
    said = describe_turned(compare(*EYES["usual"]), "OD", 5.0, 0.0)
    assert "Turned by +5°, counter-clockwise, the axis lies at 175°." in said
    assert said.endswith("Pupil outside the zone: 0.0 %.")


@pytest.mark.parametrize("turn, share", [(4.0, 0.14), (15.0, 0.52), (-10.0, 0.35)])
def test_the_line_is_twice_the_sine(turn, share):
    """Cylinder left = 2·|C|·|sin τ|: 4° leaves 14 % (model §8, by power vectors)."""
    figure = rotation_lines(Refraction(-3.0, -1.5, 20.0), turn, look("light"))
    curve, _, mark = figure["data"]
    expected = 2 * 1.5 * np.abs(np.sin(np.radians(curve["x"])))
    assert np.allclose(curve["y"], expected, atol=1e-4)
    assert mark["y"][0] == pytest.approx(1.5 * share, abs=0.01)


def test_words_carry_the_numbers():
    """−1.50 × 20 turned by 10°: 0.52 D (reference table of the optics, C)."""
    said = describe_rotation(Refraction(-3.0, -1.5, 20.0), 10.0)
    assert "0.52 D at 10°" in said and "does not change" in said
