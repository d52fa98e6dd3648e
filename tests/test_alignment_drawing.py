"""Rotation picture: the exact residual of power vectors, and words with its numbers."""

import numpy as np
import pytest

from tissue.drawing.alignment import describe_rotation, rotation_lines
from tissue.drawing.palette import look
from tissue.refraction import Refraction


@pytest.mark.parametrize("turn, share", [(4.0, 0.14), (15.0, 0.52), (-10.0, 0.35)])
def test_the_line_is_twice_the_sine(turn, share):
    """Cylinder left = 2·|C|·|sin τ|: 4° leaves 14 % (model §8, by power vectors)."""
    figure = rotation_lines(Refraction(-3.0, -1.5, 20.0), turn, look("light"))
    curve, _, mark = figure["data"]
    expected = 2 * 1.5 * np.abs(np.sin(np.radians(curve["x"])))
    assert np.allclose(curve["y"], expected, atol=1e-4)
    assert mark["y"][0] == pytest.approx(1.5 * share, abs=0.01)


def test_words_carry_the_numbers():
    """−1.50 × 20 turned by 10°: 0.52 D (reference table of the optics, C)."""
    said = describe_rotation(Refraction(-3.0, -1.5, 20.0), 10.0)
    assert "0.52 D at 10°" in said and "does not change" in said
