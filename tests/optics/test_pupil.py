"""Figures over a pupil: the fit, coma beside the centre, and the overlap with the zone."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from optics_cases import apart

from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.optics.centration import coma_of_offset_um
from tissue.optics.pupil import c40_change_um, least_squares
from tissue.removal.over_pupil import outside_percent
from tissue.removal.removal import Treatment, removal


def test_least_squares_tends_to_the_plan_as_the_pupil_closes():
    """Both are the curvature at the centre in the limit (Thibos 2004); a wide pupil differs."""
    eye, plan = Cornea(550.0, asphericity=-0.26), Treatment(Refraction(-3.0, -1.5, 20.0, 0.0))
    taken = removal(eye, plan, 0.1)
    assert apart(least_squares(taken, Pupil(0.2)).refraction, plan.refraction) < 1e-3
    assert 0.1 < apart(least_squares(taken, Pupil(6.0)).refraction, plan.refraction) < 0.6


def test_fit_and_figure_agree_and_say_when_they_look_past_the_zone():
    eye, plan = Cornea(550.0), Treatment(Refraction(-5.0, -2.0, 70.0), 6.5, centre_x_mm=0.2)
    taken = removal(eye, plan, 0.5)
    within, past = (least_squares(taken, Pupil(d)) for d in (6.0, 6.2))
    assert within.c40_um == pytest.approx(c40_change_um(taken, Pupil(6.0)), abs=1e-6)
    assert (within.past_zone, past.past_zone, within.off_centre) == (False, True, True)
    assert not least_squares(taken, Pupil(6.0, 0.2, 0.0)).off_centre


def test_coma_of_an_offset_pupil_follows_the_shift():
    """Coma over a pupil beside the treatment centre is 2√10·C40·δ/a of the thin plate, within a tenth."""
    eye, plan = Cornea(550.0, asphericity=-0.26), Treatment(Refraction(-6.0, vertex_mm=0.0), 7.5)
    taken = removal(eye, plan, 0.0)
    fit = least_squares(taken, Pupil(6.0, 0.25, 0.0))
    assert fit.coma_x_um == pytest.approx(coma_of_offset_um(c40_change_um(taken, Pupil(6.0)), 0.25, 6.0), rel=0.1)
    assert fit.coma_y_um == pytest.approx(0.0, abs=1e-9)


class Zone:
    """A zone of a given radius and place, all that the overlap needs."""

    def __init__(self, radius, x=0.0, y=0.0):
        self.zone_radius_mm, self.centre_x_mm, self.centre_y_mm = radius, x, y
        self.profile = self


def test_overlap_of_circles():
    """Sources: geometry; two equal circles through each other's centres share 2π/3 − √3/2 of r²."""
    assert outside_percent(Pupil(6.0), Zone(3.25)) == 0.0
    assert outside_percent(Pupil(6.5), Zone(3.25)) == 0.0
    assert outside_percent(Pupil(2.0, 5.0), Zone(3.25)) == 100.0
    assert outside_percent(Pupil(8.0), Zone(3.0)) == pytest.approx(100 * (1 - 9 / 16), abs=1e-12)
    shared = 2 * np.pi / 3 - 3**0.5 / 2
    assert outside_percent(Pupil(6.0, 3.0), Zone(3.0)) == pytest.approx(100 * (1 - shared / np.pi), abs=1e-12)


@given(st.floats(1, 10), st.floats(4, 9), st.floats(-1.5, 1.5), st.floats(-1.5, 1.5))
def test_overlap_by_counting(pupil, zone, x, y):
    """Source: rings of the pupil, each with the angle of it that lies outside the zone (C)."""
    r = (np.arange(4000) + 0.5) / 4000 * pupil / 2
    a, d = zone / 2, max(np.hypot(x, y), 1e-12)
    inside = np.arccos(np.clip((r**2 + d**2 - a**2) / (2 * r * d), -1, 1)) / np.pi
    counted = 100 * np.sum((1 - inside) * r) / np.sum(r)
    assert outside_percent(Pupil(pupil, x, y), Zone(a)) == pytest.approx(counted, abs=0.05)
