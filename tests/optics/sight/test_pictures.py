"""Rings and lights: their size by the standard, their light by the figures, and what a mirror does to them."""

from dataclasses import replace

import numpy as np
import pytest
from sight_cases import sight_plans

from tissue.eye.cornea import Pupil
from tissue.optics.sight.figures import in_pupil
from tissue.optics.sight.focus import InPupil
from tissue.optics.sight.image import light_percent
from tissue.optics.sight.pictures import APART_ARCMIN, PX, pixel_light, rings_mask, seen_through
from tissue.optics.sight.view import View
from tissue.optics.sight.wave import OwnWave


def perfect(pupil_mm):
    return InPupil(OwnWave(0.0), Pupil(pupil_mm))


def test_rings_have_the_size_of_the_standard():
    """Source: ISO 8596: outer diameter five strokes, inner three, gap one; here a stroke is 1′."""
    mask = rings_mask()
    x = np.linspace(-0.5, 0.5, 20001)
    gap = np.trapezoid(np.sqrt(2.5**2 - x**2) - np.sqrt(1.5**2 - x**2), x)
    assert mask.shape == (60, 240)
    assert mask.sum() / PX**2 == pytest.approx(5 * (np.pi * (2.5**2 - 1.5**2) - gap), rel=0.01)
    first = mask[:, :48]
    assert np.flatnonzero(first.max(axis=0) > 0.5).size == np.flatnonzero(first.max(axis=1) > 0.5).size == 5 * PX
    assert first[30, 24 + 2 * PX] == 0.0 and first[30, 23 - 2 * PX] == 1.0  # the first gap is to the right


def test_pixels_hold_the_light_that_the_figures_say():
    """Light of the pixels within 10′, whole or not at all, against `light_percent`; ten seeded plans, half a point."""
    looked = 0
    for eye, taken, pupil in sight_plans(10, 61):
        seen = in_pupil(eye, taken, pupil, View())
        if not seen.can_be_fitted:
            continue
        looked += 1
        found = pixel_light(seen, View(), 12.0)
        along = (np.arange(found.shape[0]) - found.shape[0] // 2) / PX
        inside = np.hypot(along[:, None], along[None, :]) <= 10.0
        assert 100.0 * found[inside].sum() == pytest.approx(light_percent(seen, "555", 0.0, 10.0), abs=0.5)
    assert looked >= 5


def test_two_lights_without_error():
    """Source: definition of the scale: the brightest pixel of a light without error is 1; they stand 30′ apart."""
    lights = seen_through(perfect(6.0), View()).lights
    (row, row_2), (left, right) = np.nonzero(lights == lights.max())
    assert lights.max() == pytest.approx(1.0, abs=1e-3) and row == row_2
    assert right - left == APART_ARCMIN * PX
    assert lights[:10].max() == 0.0


def test_a_left_eye_sees_the_mirror_image():
    eye, taken, _ = list(sight_plans(4, 63))[3]
    pupil = Pupil(5.0, 0.2, 0.1)
    other = replace(taken, centre_x_mm=-taken.centre_x_mm, axis_deg=180.0 - taken.axis_deg)
    one = pixel_light(in_pupil(eye, taken, pupil, View()), View(), 10.0)
    two = pixel_light(in_pupil(eye, other, replace(pupil, pupil_x_mm=-0.2), View()), View(), 10.0)
    assert np.abs(one - two[:, ::-1]).max() < 1e-3 * one.max()
