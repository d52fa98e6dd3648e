"""Slips of an entry: residuals against the dioptric power matrix, names against worked pairs.

Sources: power matrix F = S·I + C·u·uᵀ with u across the axis, W. E. Long, Am J Optom Physiol Opt 1976;53:459 (from
memory); power vectors thibos1997; what a slip looks like: common practice of reading back.
"""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tissue.eye.refraction import Refraction
from tissue.eye.slips import SLIPS, digits_exchanged, guard, less, point_moved, size_of

powers = st.integers(-48, 32).map(lambda n: n / 4)
cylinders = st.integers(-24, 24).filter(bool).map(lambda n: n / 4)
axes = st.integers(1, 180).map(float)


def matrix(refraction):
    """Dioptric power matrix of a refraction."""
    across = np.radians(float(refraction.axis_deg) + 90.0)
    u = np.array([[np.cos(across)], [np.sin(across)]])
    return float(refraction.sphere_D) * np.eye(2) + float(refraction.cylinder_D) * (u @ u.T)


@given(powers, cylinders, axes, powers, cylinders, axes)
def test_the_residual_is_that_of_the_power_matrices(S1, C1, A1, S2, C2, A2):
    one, other = Refraction(S1, C1, A1), Refraction(S2, C2, A2)
    left, vector = matrix(one) - matrix(other), less(one, other)
    assert vector.SE_D == pytest.approx(np.trace(left) / 2, abs=1e-9)
    # the size is the length over both meridians: half the sum of the squares of the entries
    assert size_of(vector) == pytest.approx(np.sqrt(np.sum(left**2) / 2), abs=1e-9)


@pytest.mark.parametrize(
    ("measured", "target", "treated", "names"),
    [
        ((-6.0, -3.75, 10), 0.0, (-6.0, -3.75, 100), ("axis-digit", "axis-90", "cylinder-form")),
        ((7.75, -1.25, 5), 0.0, (-8.5, -1.5, 175), ()),
        ((-3.0, -1.0, 17), 0.0, (-3.0, -1.0, 170), ("axis-digit",)),
        ((-3.0, -1.0, 20), 0.0, (-3.0, -1.0, 160), ("axis-mirrored",)),
        ((-3.0, -1.0, 45), 0.0, (-3.0, -1.0, 135), ("axis-mirrored", "axis-90", "cylinder-form")),
        ((-3.0, -1.0, 90), 0.0, (-3.0, 1.0, 90), ("cylinder-form",)),
        ((-3.0, -1.0, 90), 0.0, (3.0, -1.0, 90), ("sign",)),
        ((3.5, 0.0, 180), 0.0, (-3.5, 0.0, 180), ("sign",)),
        ((-4.25, -1.0, 90), 0.0, (-4.52, -1.0, 90), ("digits",)),
        ((-2.5, 0.0, 180), 0.0, (-25.0, 0.0, 180), ("decimal",)),
        ((-4.0, 0.0, 180), 0.0, (-4.0, 0.0, 180), ()),
    ],
)
def test_names_of_known_slips(measured, target, treated, names):
    assert guard(Refraction(*measured), target, Refraction(*treated)).names == names


def test_size_and_equivalent_of_the_two_worked_pairs():
    turned = guard(Refraction(-6.0, -3.75, 10.0), 0.0, Refraction(-6.0, -3.75, 100.0))
    assert (float(turned.size_D), float(turned.residual.SE_D)) == pytest.approx((3.75, 0.0))
    other = guard(Refraction(7.75, -1.25, 5.0), 0.0, Refraction(-8.5, -1.5, 175.0))
    assert float(other.residual.SE_D) == pytest.approx(16.375)


def test_a_target_left_out_and_one_with_the_wrong_sign():
    measured = Refraction(-4.0, -1.0, 20.0)
    assert guard(measured, -1.25, measured).names == ("target-left-out",)
    assert guard(measured, -1.25, measured.less(1.25)).names == ("target-sign",)
    assert guard(measured, -1.25, measured.less(-1.25)).names == ()


def test_the_other_eye():
    here, there = Refraction(-4.0, -1.0, 20.0), Refraction(-2.5, -0.5, 160.0)
    assert guard(here, 0.0, there, [there]).names == ("fellow-eye",)
    assert guard(here, 0.0, here, [here]).names == ()


@given(powers, cylinders, axes, st.floats(-40, 40))
def test_an_axis_off_leaves_the_sine_of_the_angle(S, C, A, turn):
    left = guard(Refraction(S, C, A), 0.0, Refraction(S, C, (A + turn) % 180.0))
    assert left.size_D == pytest.approx(abs(C * np.sin(np.radians(turn))), abs=1e-9)


@given(powers, cylinders, axes)
def test_the_other_form_is_no_slip(S, C, A):
    refraction = Refraction(S, C, A)
    found = guard(refraction, 0.0, refraction.plus())
    assert found.names == () and found.size_D < 1e-9


def test_arrays_as_numbers():
    meant, typed = np.array([-4.25, -4.25, 0.5]), np.array([-4.52, 4.52, 5.0])
    assert digits_exchanged(meant, typed).tolist() == [True, False, True]
    assert point_moved(meant, typed).tolist() == [False, False, True]


def test_each_name_has_its_sentence():
    assert all(text.endswith(".") and name == name.lower() for name, text in SLIPS.items())
