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


def test_beside_a_line_stands_the_figure_of_the_plan(rungs):
    """Source: rule of the screens: a curve's name carries the plan's own figure. It had that of the widest zone."""
    notes = rung_curves(rungs, "flap", look("light"), TAKEN, SAID, 6.5)["layout"]["annotations"]
    plan = rungs[10].options["flap"]
    assert any(one["text"] == f"least bed {plan['bed_min_um']:.0f}" for one in notes)


def test_words_have_the_figures_of_the_plan(rungs):
    said = describe_curves(rungs, "flap", TAKEN, SAID, 6.5)
    plan = rungs[10].options["flap"]
    assert f"least bed {rungs[0].options['flap']['bed_min_um']:.0f} at 5.5, {plan['bed_min_um']:.0f} at 6.5" in said


def test_a_rung_without_a_plan_is_a_gap(rungs):
    from tissue.explore.zone_buys import Rung

    gap = [*rungs[:3], Rung(rungs[3].value, {"flap": None}), *rungs[4:]]
    figure = rung_curves(gap, "flap", look("light"), TAKEN, SAID, 6.5)
    assert figure["data"][1]["y"][3] is None and not np.isnan(figure["data"][1]["y"][4])
