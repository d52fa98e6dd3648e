"""Nothing that is drawn leaves its picture, whatever the eye: wide and thick flaps, long eyes, thick corneas.

Source: rule of the pictures; each of the named eyes left one of them before.
"""

import numpy as np
import pytest

from tissue import CapCut, Cornea, EyeError, FlapCut, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.front.front import front_view
from tissue.drawing.patient import bars, why
from tissue.drawing.patient.picture import step_section
from tissue.drawing.patient.words import STEPS, WAYS, story
from tissue.drawing.routes.second_ways import second_ways
from tissue.drawing.routes.ways_out import ways_out
from tissue.drawing.section.curved import depth_times_four, true_scale
from tissue.drawing.section.section import flattened
from tissue.routes.enhancement import enhancement
from tissue.routes.rescue import rescue

LIGHT = look("light")
EYES = {
    "a flap of 260 over 10.5 mm": lambda: compare(
        Cornea(560.0, white_to_white_mm=12.5), Treatment(Refraction(-6.0)), flap=FlapCut(260.0, 10.5, 81.0)
    ),
    "a wide flap off the centre of a small eye": lambda: compare(
        Cornea(560.0, white_to_white_mm=10.0),
        Treatment(Refraction(-4.0), centre_y_mm=1.0),
        flap=FlapCut(110.0, 11.0),
    ),
    "a long eye": lambda: compare(Cornea(600.0), Treatment(Refraction(-12.0), zone_mm=6.0)),
    "a cornea of 700": lambda: compare(Cornea(700.0), Treatment(Refraction(-3.0)), cap=CapCut(100.0)),
    "a steep eye with a wide limbus": lambda: compare(
        Cornea(520.0, radius_mm=6.6, asphericity=0.3, white_to_white_mm=12.8), Treatment(Refraction(-4.0))
    ),
}


def random_eye(seed):
    """One eye with cuts from end to end of what a plan may say; another where that one cannot be."""
    rng = np.random.default_rng(seed)
    cornea = Cornea(
        rng.uniform(420, 720),
        radius_mm=rng.uniform(6.5, 9.5),
        asphericity=rng.uniform(-1, 0.5),
        white_to_white_mm=rng.uniform(10, 13),
    )
    flap = FlapCut(rng.uniform(80, 300), rng.uniform(6, 11), rng.uniform(0, 360))
    refraction = Refraction(rng.uniform(-12, 5), rng.uniform(-3, 0), rng.uniform(0, 180))
    plan = Treatment(refraction, rng.uniform(5, 8), centre_x_mm=rng.uniform(-1, 1), centre_y_mm=rng.uniform(-1, 1))
    try:
        return compare(cornea, plan, flap=flap, cap=CapCut(rng.uniform(90, 200)))
    except EyeError:
        return random_eye(seed + 1000)


def outside(figure):
    """Traces of a figure with a point outside their axes: where, by how much of the axis."""
    layout, found = figure["layout"], []
    for trace in figure["data"]:
        for axis in "xy":
            ends = layout[f"{axis}axis" + trace.get(f"{axis}axis", axis)[1:]]["range"]
            values = np.array([value for value in trace[axis] if value is not None], dtype=float)
            if values.size:
                beyond = max(min(ends) - values.min(), values.max() - max(ends)) / abs(ends[1] - ends[0])
                found += [(trace["mode"], axis, round(float(beyond), 3))] if beyond > 0.002 else []
    return found


def drawings(plan, angle):
    """Every picture of a plan by its name."""
    yield "flat", flattened(plan, "OD", LIGHT, angle, spread=True)
    yield "flat, narrow", flattened(plan, "OD", LIGHT, angle, width_px=720)
    yield "true", true_scale(plan, "OD", LIGHT, angle)
    yield "times four", depth_times_four(plan, "OD", LIGHT, angle, spread=True)
    yield "front", front_view(plan, "OD", LIGHT)
    for way in WAYS:
        told = story(plan, way, "OD", "en")
        for step in STEPS:
            yield f"{way}, {step}", step_section(told, step, LIGHT)
        for draw in (why.light, why.real, bars.bars):
            yield f"{way}, {draw.__name__}", draw(told, LIGHT)
    if plan.under_cap.available:
        for stage in ("lenticule", "cap"):
            yield stage, ways_out(plan, rescue(plan, stage, 0.4), "OD", LIGHT, 1104)
        yield "enhancement", second_ways(plan, enhancement(plan, Refraction(-0.75)), "OD", LIGHT, 1104)


@pytest.mark.parametrize("name", EYES)
def test_a_named_eye_stays_in_its_pictures(name):
    assert {which: outside(figure) for which, figure in drawings(EYES[name](), 30.0) if outside(figure)} == {}


@pytest.mark.parametrize("seed", range(12))
def test_a_random_eye_stays_in_its_pictures(seed):
    plan = random_eye(seed)
    assert {which: outside(figure) for which, figure in drawings(plan, 15.0 * seed) if outside(figure)} == {}
