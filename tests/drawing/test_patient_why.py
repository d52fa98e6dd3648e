"""Why tissue is taken: where light meets by the paraxial formula, and the real thickness at one scale."""

import json

import numpy as np
import pytest
from drawn_eyes import EYES, eye

from tissue import Cornea, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.patient import why
from tissue.drawing.patient.words import WAYS, story

LIGHT = look("light")


def told_of(plan, way="flap"):
    return story(plan, way, "OD", "en")


def points(figure, at):
    """The points of a trace as pairs; gaps left out."""
    trace = figure["data"][at]
    return np.array([pair for pair in zip(trace["x"], trace["y"], strict=True) if None not in pair])


@pytest.mark.parametrize("D", [-9.0, -3.0, 2.0, 5.0])
def test_light_meets_where_the_refraction_puts_it(D):
    """Vergences by hand: the back stands where an eye of that refraction at the cornea needs it, 4000/3/(60 + R)."""
    plan = compare(Cornea(560.0), Treatment(Refraction(D, vertex_mm=0.0)))
    before, after, back = why.foci_mm(plan)
    assert np.allclose(before, 22.2222, atol=1e-4) and back == pytest.approx(4000.0 / 3.0 / (60.0 + D))
    assert np.allclose(after, back)
    assert (before[0] < back) == (D < 0) and why.kind(plan) == ("short" if D < 0 else "behind")


def test_a_target_is_left_and_a_cylinder_parts_the_light():
    measured = Refraction(-4.0, -1.0, 90.0, vertex_mm=0.0)
    plan = compare(Cornea(560.0), Treatment(measured.less(-1.5), target_D=-1.5), measured=measured)
    before, after, back = why.foci_mm(plan)
    assert abs(before[0] - before[1]) > 0.3 and np.allclose(after, 4000.0 / 3.0 / (60.0 - 4.5 + 1.5), atol=1e-6)
    assert after[0] < back
    assert why.kind(eye("mixed")) == "apart" and why.kind(eye("none")) == "there"


@pytest.mark.parametrize("way", WAYS)
def test_the_real_thickness_is_drawn_at_one_scale(way):
    plan = eye("usual")
    figure = why.real(told_of(plan, way), LIGHT)
    piece = points(figure, 1)
    size = figure["layout"]
    across = np.ptp(size["xaxis"]["range"]) / size["width"]
    down = np.ptp(size["yaxis"]["range"]) / size["height"]
    assert across == pytest.approx(down, rel=0.01)
    near = piece[np.abs(piece[:, 0]) < 0.06, 1]
    assert np.ptp(near) == pytest.approx(float(plan.results[way].budget.removal_central_um) / 1000.0, abs=0.003)
    assert f"{plan.results[way].budget.bed_percent:.0f} of 100 parts" in why.describe_real(told_of(plan, way))


@pytest.mark.parametrize("name", EYES)
def test_every_eye_is_drawn_and_described(name):
    told = told_of(eye(name))
    for figure in (why.light(told, LIGHT), why.real(told, LIGHT)):
        json.dumps(figure, allow_nan=False)
    assert told.words["why"][why.kind(eye(name))] in why.describe_light(told)
    assert "{" not in why.describe_light(told) + why.describe_real(told)
