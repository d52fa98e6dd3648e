"""Laws that the optics of a planned surface keep whatever the eye."""

from dataclasses import asdict, replace

import numpy as np
import pytest
from sight_cases import sight_plans

from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.optics.sight.figures import in_pupil, sight_of
from tissue.optics.sight.image import light_percent
from tissue.optics.sight.view import View
from tissue.removal.removal import Treatment, removal

SETTINGS = (View(), View(smoothing_mm=0.42), View(light="white", stiles_crawford_per_mm2=0.05))
TIGHT = 2e-3  # of single precision, and of the squares that a turn moves


def turned_plan(taken, pupil, place, turn_deg):
    """The same removal and pupil with every place moved by a map of the plane, the axis by its own."""
    x, y = place(float(taken.centre_x_mm), float(taken.centre_y_mm))
    px, py = place(float(pupil.pupil_x_mm), float(pupil.pupil_y_mm))
    axis = turn_deg(float(taken.axis_deg)) % 180.0
    return replace(taken, centre_x_mm=x, centre_y_mm=y, axis_deg=axis), Pupil(pupil.pupil_mm, px, py)


def same(one, other):
    """Every figure alike within the last digits."""
    for (name, a), b in zip(asdict(one).items(), asdict(other).values(), strict=True):
        assert a == pytest.approx(b, abs=TIGHT * max(1.0, abs(b)), nan_ok=True), name


@pytest.mark.parametrize("number", range(14))
def test_left_eye_mirrored_is_the_right_one(number):
    eye, taken, pupil = list(sight_plans(14, 41))[number]
    view = SETTINGS[number % 3]
    there = turned_plan(taken, pupil, lambda x, y: (-x, y), lambda axis: 180.0 - axis)
    same(sight_of(eye, taken, pupil, view), sight_of(eye, *there, view))


@pytest.mark.parametrize("number", range(14))
def test_turned_a_quarter_about_the_vertex_is_the_same(number):
    eye, taken, pupil = list(sight_plans(14, 43))[number]
    view = SETTINGS[number % 3]
    there = turned_plan(taken, pupil, lambda x, y: (-y, x), lambda axis: axis + 90.0)
    same(sight_of(eye, taken, pupil, view), sight_of(eye, *there, view))


@pytest.mark.parametrize("profile", ["munnerlyn", "conic", "parabolic"])
def test_zone_and_blend_change_nothing_while_the_pupil_ends_inside(profile):
    eye = Cornea(550.0)
    found = [
        sight_of(eye, removal(eye, Treatment(Refraction(-5.0, -1.0, 30.0), zone, profile), blend), Pupil(5.0))
        for zone, blend in ((5.6, 0.1), (6.5, 0.5), (7.5, 1.5))
    ]
    for other in found[1:]:
        same(found[0], other)


def test_more_zone_never_takes_light_from_the_middle():
    """Light within 10′ falls by half a point at most for 0.1 mm more zone, without smoothing; twelve eyes."""
    for eye, taken, pupil in sight_plans(12, 47):
        centre = {"pupil_x_mm": taken.centre_x_mm, "pupil_y_mm": taken.centre_y_mm}
        pupil = Pupil(max(float(pupil.pupil_mm), 5.5), **centre)
        found = []
        for step in range(5):
            wider = replace(taken.profile, zone_radius_mm=taken.profile.zone_radius_mm + 0.05 * step)
            shape = replace(taken, profile=wider, central_unscaled_um=sum(wider.central_um()))
            seen = in_pupil(eye, shape, pupil, View())
            found.append(light_percent(seen, "555", 0.0, 10.0) if seen.can_be_fitted else np.nan)
        known = np.array(found)[~np.isnan(found)]
        assert np.all(np.diff(known) > -0.5)
