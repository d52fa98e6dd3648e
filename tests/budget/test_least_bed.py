"""The least bed and the greatest altered share: never beaten by a grid, at the place they name, ties as defined."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tissue.budget.least_bed import search
from tissue.budget.place import Wanted
from tissue.budget.steps import _round_sag_terms, _sag_terms
from tissue.eye.cornea import Cornea
from tissue.eye.refraction import Refraction
from tissue.removal.removal import Treatment, removal

EYES = 1500


def columns(seed, count=EYES):
    """Random corneas and removals as columns: every class of refraction, thinnest point and centre anywhere."""
    rng = np.random.default_rng(seed)
    u = lambda low, high: rng.uniform(low, high, count)  # noqa: E731
    thickness = u(420, 660)
    eye = Cornea(thickness, thickness - rng.exponential(8, count), u(-2, 2), u(-2, 2), u(7, 8.6), u(-0.8, 0.4))
    cylinder = np.where(rng.random(count) < 0.3, 0.0, u(-6, 6))
    plan = Treatment(
        Refraction(u(-12, 6), cylinder, u(0, 180)),
        u(4.5, 7.5),
        rng.choice(["munnerlyn", "conic", "parabolic"], count),
        target_asphericity=u(-1, 0.4),
        centre_x_mm=u(-1, 1) * (rng.random(count) < 0.5),
        centre_y_mm=u(-1, 1) * (rng.random(count) < 0.5),
    )
    return eye, removal(eye, plan, np.where(rng.random(count) < 0.2, 0.0, u(0, 2)))


def on_a_grid(eye, taken, above):
    """Least T − t and greatest (above + t)/T over 61 rings and 72 directions."""
    bed, share = np.full(EYES, np.inf), np.zeros(EYES)
    for part in np.linspace(0.0, 1.0, 61):
        for angle in np.linspace(0.0, 2.0 * np.pi, 72, endpoint=False):
            x = taken.centre_x_mm + part * taken.radius_mm * np.cos(angle)
            y = taken.centre_y_mm + part * taken.radius_mm * np.sin(angle)
            T, t = eye.thickness_um(x, y), taken.t_um(x, y)
            bed, share = np.minimum(bed, T - t), np.maximum(share, (above + t) / T)
    return bed, share


def test_no_grid_finds_less():
    """The model asks for 0.5 µm; all but one in a thousand must be within 0.01 µm."""
    eye, taken = columns(7)
    least, greatest = search(eye, [Wanted(taken), Wanted(taken, 110.0)])
    bed, share = on_a_grid(eye, taken, 110.0)
    missed = np.maximum(least.value - bed, 0.0)
    assert missed.max() < 0.5 and np.mean(missed > 0.01) <= 0.001
    missed = 100.0 * np.maximum(share + greatest.value, 0.0)
    assert missed.max() < 0.1 and np.mean(missed > 0.002) <= 0.001


def test_the_value_is_that_of_its_place_in_the_treated_disc():
    eye, taken = columns(8)
    least, greatest = search(eye, [Wanted(taken), Wanted(taken, 110.0)])
    for place in (least, greatest):
        away = np.hypot(place.x_mm - taken.centre_x_mm, place.y_mm - taken.centre_y_mm)
        assert np.all(away <= taken.radius_mm + 1e-9)
    T, t = eye.thickness_um(least.x_mm, least.y_mm), taken.t_um(least.x_mm, least.y_mm)
    assert np.allclose(T - t, least.value, rtol=0.0, atol=1e-6)
    T, t = eye.thickness_um(greatest.x_mm, greatest.y_mm), taken.t_um(greatest.x_mm, greatest.y_mm)
    assert np.allclose((110.0 + t) / T, -greatest.value, rtol=0.0, atol=1e-8)


def place_of(eye=None, blend=1.0, **plan):
    eye = eye or Cornea(550.0)
    (least,) = search(eye, [Wanted(removal(eye, Treatment(**plan), blend))])
    return float(least.x_mm), float(least.y_mm)


def test_of_equal_points_the_smallest_angle_from_the_right():
    # Source: the model's definition of the place. A ring for hyperopia; two points for astigmatism.
    x, y = place_of(refraction=Refraction(4.0))
    assert x > 2.5 and y == pytest.approx(0.0, abs=1e-9)
    for axis, angle in ((20.0, 20.0), (100.0, 100.0), (170.0, 170.0), (180.0, 0.0), (0.0, 0.0)):
        x, y = place_of(refraction=Refraction(4.0, -3.0, axis), centre_x_mm=0.0)
        assert np.degrees(np.arctan2(y, x)) == pytest.approx(angle, abs=1e-6)
    x, y = place_of(refraction=Refraction(1.0, 3.0, 20.0))  # deepest across its axis: at 110°
    assert np.degrees(np.arctan2(y, x)) == pytest.approx(110.0, abs=1e-6)


def test_hyperopia_is_thinnest_towards_the_thinnest_point():
    eye = Cornea(550.0, 545.0, -0.6, -0.8)
    x, y = place_of(eye, refraction=Refraction(4.0))
    assert x / y == pytest.approx(0.75, rel=1e-6) and x < 0.0 and y < 0.0


def test_myopia_alone_on_the_thinnest_point_is_least_there():
    eye = Cornea(550.0, 545.0, 0.4, -0.3)
    plan = {"refraction": Refraction(-4.0, -1.0, 30.0), "centre_x_mm": 0.4, "centre_y_mm": -0.3}
    assert place_of(eye, **plan) == pytest.approx((0.4, -0.3), abs=1e-9)


@given(st.floats(-6.0, 5.0), st.floats(-4.0, 4.0), st.floats(0.0, 180.0), st.floats(0.0, 360.0))
def test_turning_everything_turns_the_places(sphere, cylinder, axis, turn):
    def found(by):
        angle = np.radians(by)
        xt, yt = 0.7 * np.cos(angle) - 0.3 * np.sin(angle), 0.7 * np.sin(angle) + 0.3 * np.cos(angle)
        cx, cy = 0.2 * np.cos(angle), 0.2 * np.sin(angle)
        eye = Cornea(550.0, 543.0, xt, yt)
        plan = Treatment(Refraction(sphere, cylinder, (axis + by) % 360.0), centre_x_mm=cx, centre_y_mm=cy)
        (least,) = search(eye, [Wanted(removal(eye, plan, 0.7))])
        return float(least.value), complex(least.x_mm, least.y_mm)

    value, place = found(0.0)
    turned_value, turned = found(turn)
    assert turned_value == pytest.approx(value, abs=1e-6)
    back = turned * np.exp(-1j * np.radians(turn))
    eye = Cornea(550.0, 543.0, 0.7, 0.3)
    taken = removal(eye, Treatment(Refraction(sphere, cylinder, axis), centre_x_mm=0.2), 0.7)
    there = eye.thickness_um(back.real, back.imag) - taken.t_um(back.real, back.imag)
    assert there == pytest.approx(value, abs=1e-6)  # the same place, or one as low


def test_nothing_given_stays_in_its_row():
    eye = Cornea([550.0, np.nan, 550.0])
    taken = removal(eye, Treatment(Refraction([-4.0, -4.0, np.nan])), 0.5)
    least, share = search(eye, [Wanted(taken), Wanted(taken, np.array([110.0, 110.0, 110.0]))])
    for values in (least.value, share.value):
        assert np.isnan(values).tolist() == [False, True, True]


def test_a_share_of_a_cut_that_is_not_given_is_not_given():
    eye = Cornea(550.0)
    taken = removal(eye, Treatment(Refraction(-4.0)), 0.5)
    (share,) = search(eye, [Wanted(taken, np.array([110.0, np.nan]))])
    assert np.isnan(share.value).tolist() == [False, True]
    assert np.isnan(search(eye, [Wanted(taken, np.nan)])[0].value)


def test_a_round_surface_is_one_with_two_equal_curvatures():
    """Slopes and curvatures of the sag, by complex steps of the definition s = c·ρ²/(1 + √(1 − K·c²·ρ²))."""
    u, v, c, K = (
        np.array(values) for values in ([0.3, -1.2, 2.0], [0.0, 0.7, 1.9], [0.128, 0.11, 0.14], [1.0, 0.0, -0.4])
    )

    def sag(u, v):
        return c * (u**2 + v**2) / (1.0 + np.sqrt(1.0 - K * c**2 * (u**2 + v**2)))

    h = 1e-6
    su, sv = np.imag(sag(u + 1e-30j, v)) / 1e-30, np.imag(sag(u, v + 1e-30j)) / 1e-30
    suu = (np.imag(sag(u + h + 1e-30j, v)) - np.imag(sag(u - h + 1e-30j, v))) / (2e-30 * h)
    suv = (np.imag(sag(u + 1e-30j, v + h)) - np.imag(sag(u + 1e-30j, v - h))) / (2e-30 * h)
    svv = (np.imag(sag(u, v + h + 1e-30j)) - np.imag(sag(u, v - h + 1e-30j))) / (2e-30 * h)
    for terms in (_round_sag_terms(u, v, c, K), _sag_terms(u, v, c, c, K)):
        assert np.allclose(terms, (sag(u, v), su, sv, suu, suv, svv), rtol=0.0, atol=1e-9)
