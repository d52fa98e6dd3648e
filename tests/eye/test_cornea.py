"""The cornea: the thickness map, its defaults and refusals, and the front surface."""

import subprocess
import sys

import numpy as np
import pytest
from helpers import ROOT
from hypothesis import given
from hypothesis import strategies as st

from tissue.eye.cornea import INDEX, KERATOMETER, Cornea, Pupil
from tissue.eye.paraboloid import THICKNESS_GROWTH
from tissue.ground.errors import EyeError
from tissue.ground.sources import source

places = st.floats(-5.0, 5.0)


def test_constants_are_those_of_the_model():
    # Source: index and keratometer constant are conventions; growth 0.0088 ± 0.0020 per mm² is printed
    assert (INDEX, KERATOMETER, THICKNESS_GROWTH) == (1.376, 337.5, 0.0088)
    assert "0.0088" in source("thickness_growth").note


def test_defaults_of_an_eye():
    # Source: the model's table of the cornea: 7.8 mean of published 7.72–7.87, −0.19 Read 2006, 53 (53.4 ± 4.6), 11.8
    eye = Cornea(550.0)
    assert (eye.radius_mm, eye.asphericity, eye.epithelium_um, eye.white_to_white_mm) == (7.8, -0.19, 53.0, 11.8)
    assert (eye.thinnest_um, eye.thinnest_x_mm, eye.thinnest_y_mm) == (550.0, 0.0, 0.0)
    assert (Pupil().pupil_mm, Pupil().pupil_x_mm, Pupil().pupil_y_mm) == (6.0, 0.0, 0.0)


def test_radius_and_K():
    # C: 337.5/7.8 = 43.269
    assert Cornea(550.0).mean_K_D == pytest.approx(43.269, abs=5e-4)


def test_thickness_grows_by_the_printed_share():
    # C: at 3 mm from the thinnest point 0.0088·9 = 7.92 % thicker
    assert Cornea(500.0).thickness_um(3.0, 0.0) == pytest.approx(539.6)
    off = Cornea(548.0, 540.0, -0.5, 1.0)
    assert off.thickness_um(-0.5, 1.0) == 540.0
    assert off.thickness_um(0.0, 0.0) == pytest.approx(540.0 * (1.0 + 0.0088 * 1.25))


@given(places, places, places, places)
def test_no_place_is_thinner_than_the_thinnest(xt, yt, x, y):
    eye = Cornea(560.0, 540.0, xt, yt)
    assert eye.thickness_um(x, y) >= 540.0


@given(places, places, st.floats(0.0, 3.0), st.floats(0.0, 360.0))
def test_thickness_is_even_around_the_thinnest_point(xt, yt, distance, angle):
    eye, turn = Cornea(560.0, 540.0, xt, yt), np.radians(angle)
    around = eye.thickness_um(xt + distance * np.cos(turn), yt + distance * np.sin(turn))
    assert around == pytest.approx(eye.thickness_um(xt + distance, yt), abs=1e-9)


def test_a_thinnest_point_without_its_place_lies_at_the_vertex():
    eye = Cornea([550.0, 550.0, 550.0], [540.0, 540.0, np.nan], [np.nan, 0.3, np.nan], [np.nan, 0.2, np.nan])
    assert eye.place_missing.tolist() == [True, False, False]
    assert eye.thinnest_um.tolist() == [540.0, 540.0, 550.0] and eye.thinnest_x_mm.tolist() == [0.0, 0.3, 0.0]


def test_a_thinnest_point_over_the_centre_is_refused():
    with pytest.raises(EyeError) as caught:
        Cornea(550.0, 551.0)
    assert (caught.value.field, caught.value.value) == ("thinnest_um", "551")
    assert "central_thickness_um" in caught.value.limit
    column = Cornea([550.0, 550.0], [540.0, 551.0])
    assert column.reasons[0] == "" and column.reasons[1].startswith("thinnest_um: read 551, accepted a thickness")
    assert Cornea(550.0, 550.0).thinnest_um == 550.0


@given(st.floats(6.5, 9.5), st.floats(-2.0, 0.5), st.floats(0.0, 4.0))
def test_front_surface_lies_on_its_conic(radius, asphericity, x):
    """C: a conic through the apex satisfies x² + (1 + Q)·s² = 2·R·s (textbook form of Baker)."""
    s = Cornea(550.0, radius_mm=radius, asphericity=asphericity).front_mm(x, 0.0)
    assert x**2 + (1.0 + asphericity) * s**2 == pytest.approx(2.0 * radius * s, abs=1e-9)


def test_front_surface_of_a_sphere():
    # C: a sphere of 7.8 mm has a sag of 7.8 − √(7.8² − 3²) at 3 mm
    assert Cornea(550.0, asphericity=0.0).front_mm(3.0, 0.0) == pytest.approx(7.8 - np.sqrt(7.8**2 - 9.0))


def test_array_equals_scalar_and_nothing_given_stays_in_its_row():
    columns = Cornea([548.0, np.nan, 560.0], [543.0, np.nan, np.nan], [-0.6, np.nan, 0.0], [-0.5, np.nan, 0.0])
    row = columns.thickness_um(0.7, -0.2)
    assert np.isnan(row[1])
    assert row[0] == Cornea(548.0, 543.0, -0.6, -0.5).thickness_um(0.7, -0.2)
    assert row[2] == Cornea(560.0).thickness_um(0.7, -0.2)
    assert columns.stroma_um.tolist()[::2] == [495.0, 507.0]


def test_an_eye_without_a_map_does_not_wait_for_what_reads_one():
    """A fresh process: what a notebook loads first, and an eye by the paraboloid."""
    code = "import sys, tissue; tissue.Cornea(548.0); print(*[name for name in sys.modules if 'eye.measured' in name])"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT).stdout
    assert not {"surface", "own_map", "readings", "cover"} & {name.rpartition(".")[2] for name in loaded.split()}
