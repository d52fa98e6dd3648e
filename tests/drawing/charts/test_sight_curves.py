"""The curves of what a zone buys show the figures of the rungs, in panels over one axis."""

import numpy as np
import pytest

from tissue.drawing.base.palette import look
from tissue.drawing.charts.sight_curves import BOUGHT, TAKEN, describe_curves, rung_curves
from tissue.entry.eye import build
from tissue.explore.zone_buys import ladder
from tissue.eye.cornea import Pupil

EYE = {"sphere_D": -6.0, "central_thickness_um": 548.0}
SAID = ("Light and contrast", "under it", "Optical zone, mm")


@pytest.fixture(scope="module")
def rungs():
    return ladder(build(EYE), Pupil(6.2), only="flap")


@pytest.mark.parametrize("panels", [BOUGHT, TAKEN])
def test_every_line_is_its_figure(rungs, panels):
    """Source: the rungs themselves; lines in the order of the panels, the rule of the plan first in each."""
    figure = rung_curves(rungs, "flap", look("light"), panels, SAID, 6.5)
    traces = iter(figure["data"])
    for panel in panels:
        assert next(traces)["x"] == [6.5, 6.5]
        for curve in panel.curves:
            trace = next(traces)
            assert trace["x"] == pytest.approx([rung.value for rung in rungs], abs=1e-3)
            assert trace["y"] == pytest.approx([rung.options["flap"][curve.figure] for rung in rungs], abs=1e-3)
    assert next(traces, None) is None


def test_panels_share_the_axis_and_do_not_overlap(rungs):
    laid = rung_curves(rungs, "flap", look("dark"), BOUGHT, SAID, 6.5)["layout"]
    assert laid["xaxis"]["range"] == laid["xaxis2"]["range"] == [5.5, 7.5]
    assert laid["yaxis2"]["domain"][1] < laid["yaxis"]["domain"][0]


@pytest.mark.parametrize("panels", [BOUGHT, TAKEN])
def test_the_figure_of_the_plan_stands_at_its_rule_and_the_name_at_the_end(rungs, panels):
    """Source: the rungs; a figure is read at the place it stands at. It stood at the line's end, where another is."""
    notes = rung_curves(rungs, "flap", look("light"), panels, SAID, 6.5)["layout"]["annotations"]
    plan = rungs[10].options["flap"]
    for curve in (curve for panel in panels for curve in panel.curves):
        [figure] = [one for one in notes if one["text"] == f"{plan[curve.figure]:.{curve.decimals}f}"]
        assert figure["x"] == 6.5 and figure["y"] == pytest.approx(plan[curve.figure], abs=1e-3)
        assert [one["x"] for one in notes if one["text"] == curve.label] == [1.0]


def test_without_a_plan_the_figures_are_those_at_the_left_and_stand_there(rungs):
    notes = rung_curves(rungs, "flap", look("light"), TAKEN, SAID, None)["layout"]["annotations"]
    first = rungs[0].options["flap"]
    [figure] = [one for one in notes if one["text"] == f"{first['bed_min_um']:.0f}"]
    assert figure["x"] == 5.5 and not [one for one in notes if one["text"] == "this plan"]


def test_a_plan_between_two_rungs_has_no_figure_of_a_neighbour(rungs):
    notes = rung_curves(rungs, "flap", look("light"), TAKEN, SAID, 6.53)["layout"]["annotations"]
    assert not [one for one in notes if one["text"].isdigit()]


@pytest.mark.parametrize("plan", [5.5, 5.9, 6.5, 7.5])
@pytest.mark.parametrize("panels", [BOUGHT, TAKEN])
def test_this_plan_stands_over_the_lines_and_under_the_subtitle(rungs, panels, plan):
    """Source: type sizes; 11.5 px of words need about 14 px between the panel and the line under the title."""
    notes = rung_curves(rungs, "flap", look("light"), panels, SAID, plan)["layout"]["annotations"]
    here, under = (next(one for one in notes if one["text"] == text) for text in ("this plan", SAID[1]))
    assert here["y"] == 1.0 and here["yref"] == "paper" and here["yanchor"] == "bottom"
    assert here["yshift"] + 15 <= under["yshift"]


def test_words_have_the_figures_of_the_plan(rungs):
    said = describe_curves(rungs, "flap", TAKEN, SAID, 6.5)
    plan = rungs[10].options["flap"]
    assert f"least bed {rungs[0].options['flap']['bed_min_um']:.0f} at 5.5, {plan['bed_min_um']:.0f} at 6.5" in said


def test_a_rung_without_a_plan_is_a_gap(rungs):
    from tissue.explore.zone_buys import Rung

    gap = [*rungs[:3], Rung(rungs[3].value, {"flap": None}), *rungs[4:]]
    figure = rung_curves(gap, "flap", look("light"), TAKEN, SAID, 6.5)
    assert figure["data"][1]["y"][3] is None and not np.isnan(figure["data"][1]["y"][4])
