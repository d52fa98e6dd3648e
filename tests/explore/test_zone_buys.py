"""What a zone buys along the zone, the offset and the focus: each rung is the plan with that one value."""

from dataclasses import replace

import numpy as np
import pytest

from tissue.entry.eye import build
from tissue.explore.zone_buys import ladder, light_map, offsets, one_row, seen_of, through_focus
from tissue.eye.cornea import Pupil
from tissue.optics.sight.figures import sight_of
from tissue.optics.sight.view import View

EYE = {"sphere_D": -6.0, "cylinder_D": -1.0, "axis_deg": 20.0, "central_thickness_um": 548.0}


def alone(values, pupil, option):
    """The figures of one plan worked out alone."""
    inputs = build(values)
    result = inputs.compare().results[option]
    return sight_of(inputs.cornea, one_row(result.option.removal), pupil), result.budget


@pytest.mark.parametrize(("rung", "option"), [(3, "lenticule"), (14, "flap")])
def test_a_rung_is_the_plan_with_that_zone(rung, option):
    pupil = Pupil(6.4, 0.2, -0.1)
    found = ladder(build(EYE), pupil)[rung]
    sight, budget = alone(EYE | {"zone_mm": found.value}, pupil, option)
    for name in ("light_10_arcmin_percent", "mtf_10", "mtf_20", "visual_strehl"):
        assert found.options[option][name] == pytest.approx(getattr(sight, name), abs=1e-9)
    for name in ("removal_max_um", "bed_central_um", "bed_min_um"):
        assert found.options[option][name] == pytest.approx(float(getattr(budget, name)), abs=1e-9)


def test_an_offset_is_the_plan_with_that_centre():
    pupil = Pupil(6.0, 0.2, -0.1)
    found = offsets(build(EYE), pupil)[7]
    sight, budget = alone(EYE | {"centre_x_mm": 0.9, "centre_y_mm": -0.1}, pupil, "flap")
    assert found.value == pytest.approx(0.7)
    assert found.options["flap"]["mtf_10"] == pytest.approx(sight.mtf_10, abs=1e-9)
    assert found.options["flap"]["bed_min_um"] == pytest.approx(float(budget.bed_min_um), abs=1e-9)


def test_a_treatment_further_off_gives_less_contrast_in_a_wide_pupil():
    """Fact of the trade: it leaves coma and the zone's rim in the pupil; source arba_mosquera2020."""
    found = [rung.options["surface"]["mtf_10"] for rung in offsets(build(EYE), Pupil(6.0))]
    assert found[10] < found[5] < found[0]


def test_through_focus_is_best_in_focus_for_an_eye_without_error():
    inputs = build(EYE | {"sphere_D": -0.1, "cylinder_D": 0.0})
    rungs = through_focus(inputs, inputs.compare(), Pupil(3.0), View(eye_c40_um=0.0))
    seen = [rung.options["flap"]["visual_strehl"] for rung in rungs]
    assert int(np.argmax(seen)) == 8 and seen == pytest.approx(seen[::-1], abs=2e-3)
    assert seen[8] == pytest.approx(1.0, abs=1e-3)


def test_map_is_the_ladder_at_its_pupil():
    inputs = build(EYE)
    found = light_map(inputs, "lenticule", Pupil(6.0))
    row = int(np.flatnonzero(found.pupils_mm == 7.0)[0])
    sight, _ = alone(EYE | {"zone_mm": found.zones_mm[4]}, Pupil(7.0), "lenticule")
    assert found.values[row, 4] == pytest.approx(sight.light_10_arcmin_percent, abs=1e-6)
    assert np.all(np.diff(found.values[row]) > -0.5)
    assert len(list(found.rows())) == 1 + 12 * 12


def test_equal_removals_are_looked_at_once():
    """What the key leaves out cannot be seen: two zones that both hold the pupil; not so when smoothed."""
    inputs = build(EYE)
    taken = one_row(inputs.compare().results["flap"].option.removal)
    wider = replace(taken, profile=replace(taken.profile, zone_radius_mm=3.6))
    assert seen_of(taken, Pupil(6.0), View()) == seen_of(wider, Pupil(6.0), View())
    assert seen_of(taken, Pupil(6.6), View()) != seen_of(wider, Pupil(6.6), View())
    assert seen_of(taken, Pupil(6.0), View(smoothing_mm=0.42)) != seen_of(wider, Pupil(6.0), View(smoothing_mm=0.42))
