"""Handles: a line moved by the page is the line that the picture of that plan has; what was measured is no handle."""

import numpy as np
import pytest
from drawn_eyes import eye

from tissue import CapCut, Cornea, FlapCut, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.front.alignment import front_turned
from tissue.drawing.front.front import front_view
from tissue.drawing.section.curved import depth_times_four, true_scale
from tissue.drawing.section.section import flattened

LIGHT = look("light")
VIEWS = {"flat": flattened, "true": true_scale, "stretched": depth_times_four}


def plan(zone_mm=6.5, flap_um=110.0, cap_um=120.0, centre=(0.0, 0.0), **measured):
    """One eye, the plan varied by what a handle moves."""
    treatment = Treatment(Refraction(-6.0, -1.25, 170.0), zone_mm=zone_mm, centre_x_mm=centre[0], centre_y_mm=centre[1])
    flap, cap = FlapCut(flap_um=flap_um, flap_measured_um=measured.get("flap")), CapCut(cap_um=cap_um)
    return compare(Cornea(548.0, thinnest_um=543.0, thinnest_x_mm=-0.6), treatment, flap=flap, cap=cap)


def handles(figure):
    return {tuple(one["names"]): one for one in figure["layout"]["meta"]["handles"]}


def moved(one, place, values, xs, ys):
    """Where the page puts a stroke for other values: each point goes by so much for one unit."""
    x, y = np.array(xs, float), np.array(ys, float)
    for value, start, (right, up) in zip(values, one["values"], place["by"], strict=True):
        x, y = x + (value - start) * np.array(right), y + (value - start) * np.array(up)
    return x, y


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize(("name", "value"), [("flap_um", 140.0), ("cap_um", 101.0)])
def test_a_moved_plane_is_the_plane_of_that_plan(view, name, value):
    """Source: a second picture, of the plan in which the value is typed."""
    here, there = (handles(VIEWS[view](one, "OD", LIGHT))[name,] for one in (plan(), plan(**{name: value})))
    for line, other in zip(here["lines"], there["lines"], strict=True):
        found = moved(here, line, [value], line["x"], line["y"])
        assert np.allclose(found, (other["x"], other["y"]), atol=2e-3)
    knob = here["grips"][0]
    found = moved(here, knob, [value], knob["x"], knob["y"])
    assert np.allclose(found, (there["grips"][0]["x"], there["grips"][0]["y"]), atol=2e-3)


def test_the_moved_edge_of_the_zone_is_that_of_that_plan():
    """Source: a second picture; across for the sections, all of it for the ring seen from the front."""
    here, there = (handles(flattened(one, "OD", LIGHT))["zone_mm",] for one in (plan(), plan(zone_mm=7.0)))
    for line, other in zip(here["lines"], there["lines"], strict=True):
        assert np.allclose(moved(here, line, [7.0], line["x"], line["y"])[0], other["x"], atol=2e-3)
    ring, other = (handles(front_view(one, "OD", LIGHT))["zone_mm",] for one in (plan(), plan(zone_mm=7.0)))
    (line,), (wanted,) = ring["lines"], other["lines"]
    assert np.allclose(moved(ring, line, [7.0], line["x"], line["y"]), (wanted["x"], wanted["y"]), atol=2e-3)


def test_the_moved_centre_takes_its_zone_along():
    """Source: a second picture, of the plan with that centre."""
    at = (0.35, -0.2)
    here, there = (
        handles(front_turned(one, "OD", LIGHT, 0.0, 0.0))["centre_x_mm", "centre_y_mm"]
        for one in (plan(), plan(centre=at))
    )
    for line, other in zip(here["lines"], there["lines"], strict=True):
        assert np.allclose(moved(here, line, at, line["x"], line["y"]), (other["x"], other["y"]), atol=2e-3)
    assert here["towards"][0] == ("temporal", "nasal")


@pytest.mark.parametrize(("names", "step"), [(("flap_um",), 1.0), (("cap_um",), 1.0), (("zone_mm",), 0.1)])
def test_a_step_is_one_of_the_field(names, step):
    """Source: the steps asked for: 1 µm, 0.1 mm; 0.05 mm for the centre."""
    assert handles(flattened(plan(), "OD", LIGHT))[names]["step"] == step
    centre = handles(front_turned(plan(), "OD", LIGHT, 0.0, 0.0))["centre_x_mm", "centre_y_mm"]
    assert (centre["step"], centre["places"]) == (0.05, 2)


def test_a_measured_plane_and_what_is_not_drawn_are_no_handles():
    assert set(handles(flattened(plan(flap=112.0), "OD", LIGHT))) == {("cap_um",), ("zone_mm",)}
    assert handles(flattened(eye("none"), "OD", LIGHT)) == {}
