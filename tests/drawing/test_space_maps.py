"""Maps of a plan in three dimensions: one scale, the plan's own places over them, words with the numbers."""

import numpy as np
import pytest

from tissue import CapCut, Cornea, FlapCut, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.charts.space_maps import common_scale, describe_space, draw_space
from tissue.mechanics import Choice
from tissue.mechanics.space.plan import NO_RING, SpaceRequest, states_in_space


@pytest.fixture(scope="module")
def solved():
    """A toric plan off the centre, and two of its states."""
    plan = compare(
        Cornea(550.0, 541.0, -0.6, -0.4),
        Treatment(Refraction(-3.0, -2.0, 30.0), centre_x_mm=0.3, centre_y_mm=-0.2),
        flap=FlapCut(flap_diameter_mm=9.0),
        cap=CapCut(cap_um=130.0),
    )
    request = SpaceRequest(Choice(), mesh="coarse", states=("flap", "lenticule_slack"))
    return plan, {step.name: step.state for step in states_in_space(plan, request) if step.state is not None}


def test_one_scale_for_all(solved):
    plan, states = solved
    scale = common_scale(states)
    assert scale[0] <= 1.0 < scale[1]
    for name, state in states.items():
        figure = draw_space(state, name, plan, look("dark"), scale)
        heat = next(trace for trace in figure["data"] if trace["type"] == "heatmap")
        assert (heat["zmin"], heat["zmax"]) == scale and heat["colorscale"] == "Cividis"
        lines = [trace["contours"] for trace in figure["data"] if trace["type"] == "contour"]
        assert {line["size"] for line in lines[:2]} == {0.1} and lines[2]["start"] == 1.0
        assert any(abs(mark - 0.3) < 1e-9 for note in figure["layout"]["annotations"] for mark in [note["x"]])
        texts = " ".join(note["text"] for note in figure["layout"]["annotations"])
        assert f"{state.centre.bed_stress_ratio:.2f}" in texts


def test_the_axis_of_the_plan_is_drawn(solved):
    # along 30° or 120°, through the treatment centre (model of the plan)
    plan, states = solved
    figure = draw_space(states["flap"], "flap", plan, look("light"), common_scale(states))
    strokes = next(trace for trace in figure["data"] if trace.get("line", {}).get("dash") == "dot")
    ends = np.array([strokes["x"][-2:], strokes["y"][-2:]], float)
    slope = np.degrees(np.arctan2(*(ends[:, 1] - ends[:, 0])[::-1])) % 180.0
    assert slope == pytest.approx(30.0, abs=0.1)
    assert ends.mean(axis=1) == pytest.approx([0.3, -0.2], abs=1e-3)


def test_words_carry_the_numbers(solved):
    _, states = solved
    said = describe_space(states["flap"], "flap")
    for value in (states["flap"].centre, states["flap"].thinnest, states["flap"].worst):
        assert f"{value.bed_stress_ratio:.2f}" in said
    assert "D" not in said.replace("OD", "") and "µm" not in said and "risk" not in said


def test_a_state_that_is_not_there_says_why(solved):
    plan, _ = solved
    wide = compare(plan.cornea, Treatment(Refraction(-3.0), centre_x_mm=1.6), flap=FlapCut(flap_diameter_mm=9.0))
    request = SpaceRequest(Choice(), mesh="coarse", states=("flap",))
    states = {step.name: step.state for step in states_in_space(wide, request) if step.state is not None}
    figure = draw_space(states["flap"], "flap", wide, look("light"), common_scale(states))
    assert NO_RING in " ".join(note["text"] for note in figure["layout"]["annotations"])
    assert NO_RING in describe_space(states["flap"], "flap")
