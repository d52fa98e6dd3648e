"""The B-splines and what they bend, against SciPy's; and what the fit makes of ripples, quadratics and noise."""

import numpy as np
import pytest
from own_maps import grid, nine, readings_of
from scipy.integrate import dblquad
from scipy.interpolate import BSpline, NdBSpline

from tissue.eye.measured.readings import Places, Sectors
from tissue.eye.measured.spline import REACH_MM, SIZE, STEP_MM, Spline, basis, bending
from tissue.eye.measured.surface import fit_readings, is_too_many

KNOTS = (np.arange(SIZE + 4) - 3) * STEP_MM - REACH_MM


def test_basis_is_that_of_scipy():
    x = np.random.default_rng(1).uniform(-6.0, 6.0, 200)
    first, values = basis(x)
    theirs = BSpline.design_matrix(x, KNOTS, 3).toarray()
    mine = np.zeros_like(theirs)
    np.put_along_axis(mine, first[:, None] + np.arange(4), values, axis=1)
    assert np.allclose(mine, theirs, atol=1e-14)


def test_surface_is_that_of_scipy():
    rng = np.random.default_rng(2)
    c, places = rng.normal(size=(SIZE, SIZE)), rng.uniform(-6.0, 6.0, (300, 2))
    assert np.allclose(Spline(c).at(*places.T), NdBSpline((KNOTS, KNOTS), c, 3)(places), atol=1e-12)


def test_bending_is_the_integral_of_the_third_derivatives():
    """Of a cubic polynomial, whose third derivatives are constants; its coefficients come from a fit to it."""
    x, y = grid(0.25, 5.5)

    def cubic(x, y):
        return x**3 + 2.0 * x**2 * y - x * y**2 + 0.5 * y**3

    c = Spline(exact_coefficients(cubic)).coefficients.ravel()
    third, mixed, other, last = 6.0, 4.0, -2.0, 3.0
    expected = dblquad(lambda y, x: third**2 + 3 * mixed**2 + 3 * other**2 + last**2, -6, 6, -6, 6)[0]
    assert c @ bending() @ c == pytest.approx(expected, rel=1e-9)
    assert np.allclose(Spline(c.reshape(SIZE, SIZE)).at(x, y), cubic(x, y), atol=1e-9)


def exact_coefficients(formula):
    """Coefficients of the surface through a formula at as many places as there are splines."""
    place = np.linspace(-6.0, 6.0, SIZE)
    rows = BSpline.design_matrix(place, KNOTS, 3).toarray()
    values = formula(place[:, None], place[None, :])
    return np.linalg.solve(rows, np.linalg.solve(rows, values).T).T


def test_quadratic_comes_back_exactly():
    def quadratic(x, y):
        return 550.0 + 3.0 * x + 2.0 * x * y - 4.0 * x**2 + 5.0 * y**2

    found = fit_readings(readings_of(quadratic))
    x, y = grid(0.17, 4.5)
    assert np.abs(found.spline.at(x, y) - quadratic(x, y)).max() < 1e-7


@pytest.mark.parametrize("length_mm", [1.6, 2.0, 3.0])
def test_what_stays_of_a_ripple(length_mm):
    """1/(1 + (1.2/L)⁶), worked out by hand from the penalty; knots 0.5 mm apart take a little more of a short one."""
    x, y = grid(0.1, 5.5)
    found = fit_readings(Places(x, y, np.cos(2.0 * np.pi * x / length_mm)))
    middle = np.arange(-length_mm, length_mm, length_mm / 50.0)
    left = 2.0 * np.mean(found.spline.at(middle, 0.0) * np.cos(2.0 * np.pi * middle / length_mm))
    stays = 1.0 / (1.0 + (1.2 / length_mm) ** 6)
    assert stays - 0.06 < left < stays + 0.01


def test_dip_comes_back():
    """A dip of 30 µm, SD 0.8 mm, on a grid of 0.5 mm returns within 0.35 µm."""

    def dipped(x, y):
        return nine(x, y) - 30.0 * np.exp(-((x - 1.0) ** 2 + (y + 0.7) ** 2) / (2.0 * 0.8**2))

    x, y = grid(0.1, 4.0)
    assert np.abs(fit_readings(readings_of(dipped)).spline.at(x, y) - dipped(x, y)).max() < 0.35


@pytest.mark.parametrize("pitch", [0.25, 0.5])
def test_white_noise_that_stays(pitch):
    """White noise of SD σ at pitch h leaves 1.33·h·σ in the surface (h in mm)."""
    rng, x, y = np.random.default_rng(5), *grid(pitch, 5.4)
    at = grid(0.5, 2.5)
    left = [fit_readings(Places(x, y, rng.normal(0.0, 2.0, x.size))).spline.at(*at) for _ in range(12)]
    assert np.std(left) == pytest.approx(1.33 * pitch * 2.0, rel=0.12)


def test_sector_means_come_back():
    """The area mean of a quadratic over a sector, in closed form by polar integration of SciPy."""
    inner, outer = np.repeat([0.0, 1.0], [1, 8]), np.repeat([1.0, 2.5], [1, 8])
    middle, width = np.append(0.0, np.arange(8) * 45.0), np.append(360.0, np.full(8, 45.0))
    means = [
        sector_mean(lambda x, y: 540.0 + 5.0 * x + 6.0 * (x**2 + y**2), *one)
        for one in zip(inner, outer, middle, width, strict=True)
    ]
    sectors = Sectors(inner, outer, middle, width, np.array(means))
    found = fit_readings(sectors)
    assert np.abs(sectors.predicted_um(found.spline) - means).max() < 1e-6
    assert float(found.spline.at(1.0, 0.5)) == pytest.approx(540.0 + 5.0 + 6.0 * 1.25, abs=1e-5)


def sector_mean(formula, inner, outer, middle, width):
    """The mean of a formula over a sector, by SciPy's integration."""
    low, high = np.radians(middle - width / 2.0), np.radians(middle + width / 2.0)
    whole = dblquad(lambda r, a: r * formula(r * np.cos(a), r * np.sin(a)), low, high, inner, outer)[0]
    return whole / ((high - low) * (outer**2 - inner**2) / 2.0)


def test_apart_is_the_one_that_was_moved():
    readings = readings_of(nine)
    for number in (0, 17, 150, readings.value_um.size - 1):
        values = readings.value_um.copy()
        values[number] += 40.0
        found = fit_readings(Places(readings.x_mm, readings.y_mm, values))
        assert np.flatnonzero(~found.kept).tolist() == [number]
        assert found.apart_um.argmax() == number or found.apart_um[number] > 30.0


def test_without_it_is_the_fit_without_it():
    """What a reading lies from the fit without it: the same as leaving it out and fitting again, weights held."""
    x, y = grid(0.5, 4.0)
    values = nine(x, y) + np.random.default_rng(3).normal(0.0, 2.0, x.size)
    number = 60
    others = np.arange(x.size) != number
    again = fit_readings(Places(x[others], y[others], values[others])).spline.at(x[number], y[number])
    assert fit_readings(Places(x, y, values)).apart_um[number] == pytest.approx(abs(values[number] - again), rel=1e-6)


def test_few_readings_are_not_held_against_each_other_and_many_are_too_many():
    x, y = grid(1.0, 3.0)
    assert fit_readings(Places(x, y, nine(x, y) + 60.0 * (np.arange(x.size) == 5))).kept.all()
    assert is_too_many(4, 30) and not is_too_many(4, 400)
