"""Words of places: nasal and temporal mirrored between the eyes, above and below not."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tissue.drawing.base.words import degrees, direction_word, length, place_words, whole

# Seen from the front a right eye's nose is at the viewer's right (T).
COMPASS = [
    (1.0, 0.0, "nasal"),
    (1.0, 1.0, "superonasal"),
    (0.0, 1.0, "superior"),
    (-1.0, 1.0, "superotemporal"),
    (-1.0, 0.0, "temporal"),
    (-1.0, -1.0, "inferotemporal"),
    (0.0, -1.0, "inferior"),
    (1.0, -1.0, "inferonasal"),
]


@pytest.mark.parametrize(("x", "y", "word"), COMPASS)
def test_right_eye_and_its_mirror(x, y, word):
    assert direction_word(x, y, "OD") == word
    assert direction_word(-x, y, "OS") == word


@given(st.floats(-3, 3), st.floats(-3, 3))
def test_the_left_eye_is_the_right_one_mirrored(x, y):
    if x:
        assert place_words(x, y, "OD") == place_words(-x, y, "OS")


def test_places():
    assert place_words(-0.6, -0.5, "OD") == "0.8 mm inferotemporal"
    assert place_words(-0.6, -0.5, "OS") == "0.8 mm inferonasal"
    assert place_words(0.0, 0.0, "OD") == "at the vertex"
    assert place_words(float("nan"), 0.0, "OD") == ""


def test_another_side_is_refused():
    with pytest.raises(KeyError):
        direction_word(1.0, 0.0, "OU")


def test_numbers():
    assert [whole(value) for value in (303.5, -0.2, float("nan"))] == ["304", "0", "–"]
    assert [length(value) for value in (9.0, 6.5, 7.25)] == ["9.0", "6.5", "7.25"]
    assert degrees(169.6) == "170°"
