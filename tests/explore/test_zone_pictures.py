"""What is seen before surgery and with more and less zone: the figures of the plan beside each picture."""

from dataclasses import replace

import numpy as np
import pytest

from tissue.entry.eye import build
from tissue.explore.zone_buys import light_map, one_row
from tissue.explore.zone_pictures import seen_pictures
from tissue.optics.sight.figures import sight_before, sight_of
from tissue.screens.sight.pictures import pictures_html
from tissue.screens.tradeoffs.sight import light_grid

EYE = {"sphere_D": -6.0, "central_thickness_um": 548.0}


def test_figures_beside_the_pictures_are_those_of_the_plan():
    """Source: `sight_of` of the same plan; a pupil that ends inside the zone sees the same picture through both."""
    inputs = build(EYE)
    pupils = [replace(inputs.pupil, pupil_mm=width) for width in (5.0, 7.0)]
    rows = seen_pictures(inputs, "flap", pupils, [6.5, 7.0])
    assert rows[0][1].pictures is rows[0][2].pictures and rows[1][1].pictures is not rows[1][2].pictures
    taken = one_row(inputs.compare().results["flap"].option.removal)
    plan, before = sight_of(inputs.cornea, taken, pupils[1]), sight_before(pupils[1])
    assert rows[1][1].light_percent == pytest.approx(plan.light_10_arcmin_percent, abs=0.05)
    assert rows[1][1].contrast == pytest.approx(plan.mtf_10, abs=1e-6)
    assert rows[1][0].contrast == pytest.approx(before.mtf_10, abs=1e-6) and np.isnan(rows[1][0].zone_mm)
    page = pictures_html(rows, 6.5, "flap")
    assert page.count("<img") == 12 and page.count('alt="Two lights at night. Flap ablation, This plan') == 2


def test_a_zone_that_cannot_be_has_no_picture():
    inputs = build(EYE | {"zone_mm": 4.0, "centre_x_mm": 2.0, "pupil_x_mm": -1.0})
    (row,) = seen_pictures(inputs, "flap", [replace(inputs.pupil, pupil_mm=3.0)], [4.0])
    assert row[1].pictures is None and "no picture" in pictures_html([row], 4.0, "flap")


def test_the_map_is_the_figure_of_its_plans():
    """Source: `sight_of` of a plan with that zone and pupil."""
    made = light_map(build(EYE), "flap", build(EYE).pupil)
    j, i = 8, 9
    inputs = build(EYE | {"zone_mm": float(made.zones_mm[j]), "pupil_mm": float(made.pupils_mm[i])})
    taken = one_row(inputs.compare().results["flap"].option.removal)
    wanted = sight_of(inputs.cornea, taken, inputs.pupil).light_10_arcmin_percent
    assert made.values[i, j] == pytest.approx(wanted, abs=0.1)
    grid = light_grid(made, (6.5, 6.0, 99.0))
    assert grid.values.shape == (12, 12) and (grid.across, grid.down) == ("zone_mm", "pupil_mm")
    assert list(grid.rows())[0][2] == "flap_light_10_arcmin_percent"
