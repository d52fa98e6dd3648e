"""Refraction against printed conversions (tests/published/refraction.csv names each source), and the laws it keeps."""

import math

import numpy as np
import pytest
from helpers import is_itself_only
from hypothesis import given
from hypothesis import strategies as st
from printed import published

from tissue.eye.refraction import Refraction, from_power_vector

QUANTITIES = {
    "corneal_sphere_D": lambda r: r.at_cornea().sphere_D,
    "SE_D": lambda r: r.power_vector().SE_D,
    "J0_D": lambda r: r.power_vector().J0_D,
    "J45_D": lambda r: r.power_vector().J45_D,
    "minus_sphere_D": lambda r: r.minus().sphere_D,
    "minus_cylinder_D": lambda r: r.minus().cylinder_D,
    "minus_axis_deg": lambda r: r.minus().axis_deg,
}

spheres = st.floats(-30.0, 20.0)
cylinders = st.floats(-12.0, 12.0)
axes = st.floats(0.0, 180.0)
vertices = st.floats(0.0, 20.0)
refractions = st.builds(Refraction, spheres, cylinders, axes, vertices)


@pytest.mark.parametrize("row", list(published("refraction")))
def test_published(row):
    written = Refraction(*(float(row[n] or 0.0) for n in ("sphere_D", "cylinder_D", "axis_deg", "vertex_mm")))
    assert QUANTITIES[row["quantity"]](written) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def same_lens(a, b, within=1e-9):
    """Whether two refractions are one lens: their power vectors agree (Thibos, Wheeler, Horner 1997)."""
    return np.allclose(a.power_vector(), b.power_vector(), rtol=0.0, atol=within)


@given(refractions)
def test_both_spellings_are_one_lens(r):
    assert same_lens(r, r.minus()) and same_lens(r, r.plus())
    assert r.minus().cylinder_D <= 0.0 <= r.plus().cylinder_D
    assert same_lens(r.minus().plus().minus(), r)


@given(spheres, axes.filter(lambda axis: axis > 0.0))
def test_a_sphere_has_one_spelling(sphere, axis):
    # Source: definition: what turns the axis is the change of the cylinder's sign, and 0 has none
    r = Refraction(sphere, 0.0, axis)
    assert r.minus().axis_deg == r.plus().axis_deg == axis


def test_what_is_not_written_down():
    # Source: the model's defaults: a sphere, in spectacles 12 mm before the eye
    r = Refraction(-3.0)
    assert (r.cylinder_D, r.axis_deg, r.vertex_mm) == (0.0, 0.0, 12.0)
    assert from_power_vector((-3.0, 0.0, 0.0)).vertex_mm == 12.0
    assert is_itself_only(r)


@given(refractions)
def test_axis_of_a_spelling_is_over_0_and_at_most_180(r):
    for form in (r.minus(), r.plus()):
        assert 0.0 < form.axis_deg <= 180.0


def test_axis_0_is_180():
    # Source: convention (ISO 8429); the interface gives axes as 1 to 180
    assert Refraction(-3.0, -1.0, 0.0).minus().axis_deg == 180.0
    assert same_lens(Refraction(-3.0, -1.0, 0.0), Refraction(-3.0, -1.0, 180.0))
    assert Refraction(-4.0, 1.0, 90.0).minus().axis_deg == 180.0


@given(refractions)
def test_vertex_there_and_back(r):
    back = r.at_cornea().at_vertex(r.vertex_mm)
    assert back.sphere_D == pytest.approx(r.sphere_D, abs=1e-9)
    assert back.cylinder_D == pytest.approx(r.cylinder_D, abs=1e-9)
    assert back.axis_deg == r.axis_deg and back.vertex_mm == r.vertex_mm


@given(refractions)
def test_each_meridian_goes_to_the_cornea_alone(r):
    """A lens of F at d has the vergence F/(1 − d·F) at the eye (thin lens, textbook): meridian by meridian."""
    for spectacle, cornea in zip(r.powers(), r.at_cornea().powers(), strict=True):
        focus_m = math.inf if abs(spectacle) < 1e-300 else 1.0 / spectacle
        assert cornea == pytest.approx(1.0 / (focus_m - float(r.vertex_mm) / 1000.0), rel=1e-9, abs=1e-12)


@given(refractions)
def test_at_the_cornea_there_is_no_way_left_to_go(r):
    # Source: definition of the corneal plane; what is there already stays as it is
    there = r.at_cornea()
    again = there.at_cornea()
    assert there.vertex_mm == again.vertex_mm == 0.0
    assert again.powers() == pytest.approx(there.powers(), rel=1e-12)


@given(refractions)
def test_spellings_agree_at_the_cornea(r):
    assert same_lens(r.minus().at_cornea(), r.plus().at_cornea())


@given(refractions)
def test_power_vector_there_and_back(r):
    back = from_power_vector(r.power_vector(), r.vertex_mm)
    assert same_lens(back, r) and back.cylinder_D <= 0.0 and 0.0 < back.axis_deg <= 180.0


@given(spheres)
def test_a_power_vector_without_cylinder_has_axis_180(sphere):
    # Source: convention (ISO 8429): axes are 1 to 180; −0 is 0, and the vector of a minus spelling has such zeros
    for zeros in ((0.0, 0.0), (-0.0, -0.0), (-0.0, 0.0), (0.0, -0.0)):
        r = from_power_vector((sphere, *zeros))
        assert (r.sphere_D, r.cylinder_D, r.axis_deg) == (sphere, 0.0, 180.0)
    assert from_power_vector(Refraction(sphere).power_vector()).axis_deg == 180.0
    assert from_power_vector((sphere, 0.5, 0.0)).axis_deg == 180.0  # −1 D at 180


@given(refractions, st.floats(0.0, 180.0))
def test_power_along_a_meridian_is_sine_squared(r, meridian):
    """P(θ) = S + C·sin²(θ − A): the textbook law of a cylinder; the power vector of the 1997 paper must obey it."""
    SE, J0, J45 = r.power_vector()
    theta = math.radians(meridian)
    textbook = r.sphere_D + r.cylinder_D * math.sin(theta - math.radians(r.axis_deg)) ** 2
    along = SE + J0 * math.cos(2 * theta) + J45 * math.sin(2 * theta)
    assert along == pytest.approx(textbook, abs=1e-9)


@given(refractions, st.floats(-4.0, 2.0))
def test_a_target_is_taken_off_at_the_cornea_meridian_by_meridian(r, target):
    """Source: the textbooks' vertex formula F / (1 − d·F) on each meridian: after the treatment the target stays."""
    left, d = r.less(target), r.vertex_mm / 1000.0
    assert (left.axis_deg, left.vertex_mm) == (r.axis_deg, r.vertex_mm)
    for measured, treated in zip(r.powers(), left.powers(), strict=True):
        stays = measured / (1.0 - d * measured) - treated / (1.0 - d * treated)
        assert stays / (1.0 + d * stays) == pytest.approx(target, abs=1e-9)


@given(refractions)
def test_without_a_target_not_a_digit_changes(r):
    left = r.less(0.0)
    assert (left.sphere_D, left.cylinder_D) == (r.sphere_D, r.cylinder_D)


def test_a_high_myope_with_a_target():
    """Worked by hand: −9.00 at 13.5 mm is −8.0249 at the cornea, −1.50 is −1.4702 (C)."""
    treated = Refraction(-9.0, vertex_mm=13.5).less(-1.5)
    assert treated.at_cornea().sphere_D == pytest.approx(-8.0249 + 1.4702, abs=2e-4)


@given(st.lists(st.tuples(spheres, cylinders, axes, vertices), min_size=1, max_size=5))
def test_array_equals_scalar(rows):
    columns = Refraction(*np.array(rows).T)
    for i, row in enumerate(rows):
        one = Refraction(*row)
        for method in ("minus", "plus", "at_cornea"):
            many, single = getattr(columns, method)(), getattr(one, method)()
            for name in ("sphere_D", "cylinder_D", "axis_deg"):
                assert np.broadcast_to(getattr(many, name), len(rows))[i] == getattr(single, name)
        assert [part[i] for part in columns.power_vector()] == list(one.power_vector())


def test_nothing_given_stays_not_given():
    r = Refraction([np.nan, -3.0], [-1.0, -1.0], 20.0).at_cornea().minus()
    assert np.isnan(r.sphere_D[0]) and np.isfinite(r.sphere_D[1])
