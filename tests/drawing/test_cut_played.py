"""The cuts played: each point of a stroke is cut at the second at which the arithmetic of the clock reaches it."""

import json

import numpy as np
import pytest

from tissue import Cornea, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.routes.cut_played import cuts_played
from tissue.ground.vocabulary import STAGES
from tissue.routes.cutting import clock_of, cut_so_far

PLAN = compare(Cornea(548.0), Treatment(Refraction(-6.0, -1.25, 170.0), centre_x_mm=0.2, centre_y_mm=-0.1))
CLOCK = clock_of(PLAN)
FIGURE = cuts_played(PLAN, "OD", CLOCK, 4.5, look("light"), 1076)
PLAYED = FIGURE["layout"]["meta"]["played"]


def cut_by(stroke, seconds):
    """The points of a stroke that are cut by then."""
    return np.array([[x, y] for x, y, at in zip(stroke["x"], stroke["y"], stroke["at"], strict=True) if at <= seconds])


@pytest.mark.parametrize("seconds", [0.7, 4.5, 9.9, 11.0, 17.3, 23.0])
def test_front_and_section_have_reached_what_the_clock_has(seconds):
    """Source: ρ√(1 − f) outside in and ρ√f inside out, from the share of the stage; a point more or less."""
    stage, done = CLOCK.moment(seconds)
    so_far = cut_so_far(CLOCK, STAGES[int(stage)], done)
    lenticule, _, cap, _ = (one for one in PLAYED["strokes"] if one["axes"] == "")
    far = np.hypot(*(cut_by(lenticule, seconds) - [0.2, -0.1]).T)
    assert far.min() == pytest.approx(so_far.lenticule_inner_mm, abs=0.02)
    assert far.max() == pytest.approx(so_far.lenticule_outer_mm, abs=0.001)
    if so_far.cap_radius_mm > 0:
        assert np.hypot(*(cut_by(cap, seconds) - [0.2, -0.1]).T).max() == pytest.approx(so_far.cap_radius_mm, abs=0.02)
    section = [one for one in PLAYED["strokes"] if one["axes"] == "2" and len(one["x"]) > 2]
    inner = [np.abs(cut_by(one, seconds)[:, 0]).min() for one in section if one["x"][0] != 0]
    assert inner == pytest.approx([so_far.lenticule_inner_mm] * 2, abs=0.06)


def test_every_stroke_is_cut_in_its_time_and_the_whole_of_it_by_the_end():
    assert all(one["at"] == sorted(one["at"]) for one in PLAYED["strokes"])
    assert max(one["at"][-1] for one in PLAYED["strokes"]) == PLAYED["total"] == pytest.approx(24.0)
    assert PLAYED["now"] == 4.5 and [name for _, name in PLAYED["stages"]][0] == "lenticule cut, outside in"
    json.dumps(FIGURE, allow_nan=False)


def test_the_depth_of_the_lenticule_cut_is_cap_and_removal():
    """Source: the cut lies at the cap's depth plus the removal there."""
    option = PLAN.under_cap.option
    half = next(one for one in PLAYED["strokes"] if one["axes"] == "2" and len(one["x"]) > 2)
    assert half["y"][-1] == pytest.approx(float(option.cut_um + option.removal.central_um), abs=0.01)
