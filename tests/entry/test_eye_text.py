"""One field as letters write it. Sources: common practice of the trade (spellings), the interface (refusals)."""

import pytest
from helpers import plan_text

from tissue.entry.eye_text import read_of_eye
from tissue.entry.plan_file import PlanError, read_plan
from tissue.ground.errors import EyeError


@pytest.mark.parametrize(
    ("name", "text", "side", "value"),
    [
        ("refraction", "OD -4.50 -1.25 x 12", "OD", (-4.5, -1.25, 12.0)),
        ("refraction", "RE: -4.50/-1.25x12 20/20", "OD", (-4.5, -1.25, 12.0)),
        ("refraction", "sph -4,50 zyl -1,25 Achse 12° Visus 1,0", "OS", (-4.5, -1.25, 12.0)),
        ("refraction", "LA -4,50 (-1,25 à 12°) 10/10", "OS", (-4.5, -1.25, 12.0)),
        ("refraction", "ojo izquierdo: esf -4,50 cil -1,25 eje 12", "OS", (-4.5, -1.25, 12.0)),
        ("refraction", "dx sf -4,50 cil -1,25 asse 12", "OD", (-4.5, -1.25, 12.0)),
        ("mean_K_D", "43.25/44.50 @ 12", "OD", 43.875),
        ("mean_K_D", "7.50/7.50 mm", "OD", 45.0),
        ("radius_mm", "7,72/7,95", "OD", 7.835),
        ("thinnest_x_mm", "0.6 temporal", "OD", -0.6),
        ("thinnest_x_mm", "0,6 mm temporal", "OS", 0.6),
        ("pupil_x_mm", "nasal 0.3", "OS", -0.3),
        ("centre_y_mm", "0.2 superior", "OS", 0.2),
        ("thinnest_y_mm", "0.5 inferior", "OD", -0.5),
    ],
)
def test_read_as_a_letter_would_have_it(name, text, side, value):
    assert read_of_eye(name, text, side)[0] == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("refraction", "OD - 4.50 -1.25 x 12"),
        ("refraction", "-4.50 1.25 x 12"),
        ("refraction", "-4.50 -1.25 x 12 glasses"),
        ("refraction", "-4.50 -1.25"),
        ("refraction", "-4.50 -1.25 x 12 548"),
        ("refraction", "OD -4.50 DS, OS -4.75 DS"),
        ("mean_K_D", "43.25/7.6"),
        ("mean_K_D", "43.25 44.50"),
        ("thinnest_x_mm", "0.6 inferior"),
        ("thinnest_y_mm", "0.6 nasal"),
        ("thinnest_x_mm", "0.6 temporal 0.5 inferior"),
    ],
)
def test_what_has_no_one_reading_is_refused(name, text):
    with pytest.raises(EyeError):
        read_of_eye(name, text, "OD")


def test_a_mark_of_the_other_eye_is_refused_in_words():
    with pytest.raises(EyeError, match=r"read OS -4 DS; accepted a refraction of this eye \(OD\)"):
        read_of_eye("refraction", "OS -4 DS", "OD")


def test_a_direction_without_a_side_is_refused():
    with pytest.raises(EyeError):
        read_of_eye("thinnest_x_mm", "0.6 temporal", None)


def test_a_vertex_distance_behind_a_refraction():
    eye = {"refraction": "-4.50 -1.25 x 12 VD 13.5", "central_thickness_um": 548}
    assert read_plan(plan_text(OD=eye).encode()).eyes["OD"]["vertex_mm"] == 13.5
    assert read_plan(plan_text(OD=eye | {"vertex_mm": 13.5}).encode()).eyes["OD"]["vertex_mm"] == 13.5
    with pytest.raises(PlanError, match="refraction: read -4.50 -1.25 x 12 VD 13.5"):
        read_plan(plan_text(OD=eye | {"vertex_mm": 12}).encode())


def test_thinnest_alone_says_what_is_needed_too():
    text = plan_text(OD={"refraction": "-4.50 DS", "thinnest_um": 531})
    with pytest.raises(PlanError, match="thinnest 531 is given, the thickness at the centre is needed too"):
        read_plan(text.encode())
