"""The least distance between two cuts over an annulus: closed forms, and columns against single eyes."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tissue.routes.clearance import least_over


@given(st.floats(-5.0, 5.0), st.floats(-5.0, 5.0), st.floats(0.1, 3.0), st.floats(3.1, 5.0))
@settings(max_examples=60)
def test_the_nearest_point_of_an_annulus(px, py, inner, outer):
    """Least squared distance to a point: the point inside, else the nearer circle on the line to it (geometry)."""
    place = least_over(lambda x, y: (x - px) ** 2 + (y - py) ** 2, (0.0, 0.0), inner, outer)
    radius = np.hypot(px, py)
    assert place.value == pytest.approx((np.clip(radius, inner, outer) - radius) ** 2, abs=1e-4)
    assert inner - 1e-9 <= np.hypot(place.x_mm, place.y_mm) <= outer + 1e-9


@given(st.floats(-0.4, 0.4), st.floats(-0.4, 0.4), st.floats(2.0, 5.0))
@settings(max_examples=60)
def test_a_place_near_the_middle_is_reached_from_any_side(px, py, outer):
    """The least squared distance to a point of a disc is 0 (geometry); a walk in small turns did not come to it."""
    place = least_over(lambda x, y: 7.0 * ((x - px) ** 2 + (y - py) ** 2), (0.0, 0.0), 0.0, outer)
    assert place.value == pytest.approx(0.0, abs=1e-4)


def test_a_step_at_an_edge_is_seen():
    """A value that is low on the closed disc of radius 2.37 and rises beyond: the edge itself is looked at."""

    def value(x, y):
        rho = np.hypot(x, y)
        return np.where(rho <= 2.37 * (1 + 1e-12), -rho, 10.0)

    assert least_over(value, (0.0, 0.0), 0.0, 4.0, (2.37,)).value == pytest.approx(-2.37, abs=1e-9)


def test_equal_points_smallest_angle_then_the_rim():
    """Of equal points the smallest angle from +x, as the model has it for the bed."""
    flat = least_over(lambda x, y: 0.0 * x + 7.0, (0.5, -0.2), 1.0, 3.0)
    assert flat == (7.0, 3.5, -0.2)
    saddle = least_over(lambda x, y: x * y, (0.0, 0.0), 0.0, 2.0)
    assert (saddle.x_mm, saddle.y_mm) == (pytest.approx(-np.sqrt(2), abs=1e-3), pytest.approx(np.sqrt(2), abs=1e-3))


def test_an_annulus_without_width_is_its_circle():
    """Nothing cut yet: both circles are one."""
    place = least_over(lambda x, y: y, (0.0, 0.0), 3.25, 3.25)
    assert place.value == pytest.approx(-3.25, abs=1e-6)


def test_a_column_gives_what_each_eye_gives():
    """House rule: numbers and arrays in one path."""
    px, outer = np.array([0.5, 2.0, -4.0]), np.array([2.0, 3.0, 3.5])
    column = least_over(lambda x, y: (x - px) ** 2 + y**2, (0.0, 0.0), 1.0, outer, (1.5,))

    def one(x0, rim):
        return least_over(lambda x, y: (x - x0) ** 2 + y**2, (0.0, 0.0), 1.0, rim, (1.5,))

    each = np.transpose([one(x0, rim) for x0, rim in zip(px, outer, strict=True)])
    assert np.asarray(column) == pytest.approx(each, abs=1e-9)
