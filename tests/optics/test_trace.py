"""Traced figures of a front surface against a lens-design library, a closed form, and a march along the surface."""

import numpy as np
import pytest
from printed import published
from ray_trace import refracted

from tissue.eye.cornea import Cornea
from tissue.eye.refraction import Refraction
from tissue.optics.figures import zone_kept_after_mm, zone_kept_before_mm
from tissue.optics.trace import conic_error_D, front_c40_um, kept_radius_mm, path_um
from tissue.optics.zernike import nodes, weights
from tissue.removal.removal import Treatment, removal

N = 1.376


def c60_um(radius_mm, asphericity, pupil_mm):
    x, y, _ = nodes()
    return weights(6, 0) @ path_um(1.0 / radius_mm, 1.0 + asphericity, (x**2 + y**2) * pupil_mm**2 / 4.0)


TRACED = {
    "c40_um": lambda r, Q, pupil, h: front_c40_um(r, Q, pupil),
    "c60_um": lambda r, Q, pupil, h: c60_um(r, Q, pupil),
    "local_error_D": lambda r, Q, pupil, h: conic_error_D(h**2, 1.0 / r, 1.0 + Q),
}


@pytest.mark.parametrize("row", list(published("optics_traced")))
def test_equals_the_lens_design_library(row):
    given = (float(row[n] or "nan") for n in ("radius_mm", "asphericity", "pupil_mm", "height_mm"))
    assert TRACED[row["quantity"]](*given) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


def closed_form_um(R, Q, pupil_mm):
    """Eighth-order C40 of a conic: series of s + n·√(h² + (f − s)²) in h, worked out by computer algebra (C)."""
    a = pupil_mm / 2.0
    stigmatic = (N - 1.0) * (Q * N**2 + 1.0)
    A4 = stigmatic / (8.0 * N**2 * R**3)
    A6 = stigmatic * (Q * N**2 + N**2 + N - 1.0) / (16.0 * N**4 * R**5)
    inner = 5 * Q**2 * N**4 + Q * (11 * N**4 + 4 * N**3 - 5 * N**2) + 5 * N**4 + 6 * N**3 - N**2 - 10 * N + 5
    A8 = stigmatic * inner / (128.0 * N**6 * R**7)
    return 1000.0 * (A4 * a**4 / (6 * 5**0.5) + A6 * a**6 / (4 * 5**0.5) + A8 * a**8 * 0.127775)


def test_closed_form_of_the_plan():
    """Source: the reference value 0.178469 µm of the eighth-order form (C)."""
    assert closed_form_um(7.8, -0.26, 6.0) == pytest.approx(0.178469, abs=1e-6)


@pytest.mark.parametrize("R, Q", [(7.8, -0.26), (7.2, 0.0), (8.9, -0.6), (7.8, 0.5)])
def test_closed_form_is_the_limit_of_the_trace(R, Q):
    """The rest of the series falls with the pupil: a quarter of the pupil leaves under a part in 10,000."""
    assert front_c40_um(R, Q, 1.5) == pytest.approx(closed_form_um(R, Q, 1.5), rel=1e-4)
    assert front_c40_um(R, Q, 6.0) == pytest.approx(closed_form_um(R, Q, 6.0), rel=3e-2)


def test_spherical_aberration_scales():
    """An eye twice as large has twice the wavefront error: geometry."""
    assert front_c40_um(15.6, -0.3, 12.0) == pytest.approx(2.0 * front_c40_um(7.8, -0.3, 6.0), rel=1e-12)


def test_no_value_where_the_surface_ends_within_the_pupil():
    values = front_c40_um(np.array([7.8, 6.5]), np.array([-0.2, 2.0]), np.array([6.0, 10.0]))
    assert np.isfinite(values[0]) and np.isnan(values[1])


def error_at(front, x, y, power_D):
    """Local error [D] by vector refraction on slopes from differences of the heights."""
    h = 1e-4
    dx, _, dz = refracted(
        np.asarray((front(x + h, y) - front(x - h, y)) / (2 * h)),
        np.asarray((front(x, y + h) - front(x, y - h)) / (2 * h)),
    )
    crossing = front(x, y) - front(0.0, 0.0) - x * dz / dx
    return 1000.0 * N / crossing - power_D


def march_mm(front, power_D, farthest_mm, limit_D=0.5):
    """Walks out along x until the error passes the limit."""
    x = np.arange(0.05, farthest_mm, 0.002)
    over = np.abs(error_at(front, x, 0.0 * x, power_D)) > limit_D
    return x[over.argmax()] if over.any() else farthest_mm


@pytest.mark.parametrize("R, Q", [(7.8, -0.19), (7.2, 0.1), (8.4, -0.45), (7.8, -0.8)])
def test_zone_before_by_marching(R, Q):
    """Source: the tests' own vector trace, step 2 µm."""
    eye = Cornea(550.0, radius_mm=R, asphericity=Q)
    marched = 2.0 * march_mm(eye.front_mm, 376.0 / R, 5.9)
    assert zone_kept_before_mm(eye) == pytest.approx(marched, abs=0.005)


@pytest.mark.parametrize("profile", ["munnerlyn", "conic", "parabolic"])
@pytest.mark.parametrize("S, C", [(-6.0, 0.0), (-2.0, -3.0), (3.0, -1.0), (-10.0, -2.0)])
def test_zone_after_by_marching_over_the_removed_tissue(profile, S, C):
    """Source: the tests' own vector trace on the front surface moved in by t, both principal meridians."""
    eye = Cornea(550.0, asphericity=-0.26)
    radii = []
    for axis in (0.0, 90.0):
        taken = removal(eye, Treatment(Refraction(S, C, axis, 0.0), profile=profile), 0.5)
        power = 376.0 / 7.8 + (S if axis == 0.0 else S + C)
        radii.append(march_mm(lambda x, y, t=taken: eye.front_mm(x, y) + t.t_um(x, y) / 1000.0, power, 3.249))
    assert zone_kept_after_mm(eye, taken) == pytest.approx(2.0 * min(radii), abs=0.006)


def test_a_stigmatic_conic_keeps_its_power_everywhere():
    """Q = −1/n² brings every ray to one point: zone as wide as the cornea."""
    assert zone_kept_before_mm(Cornea(550.0, asphericity=-1.0 / N**2)) == pytest.approx(11.8, abs=1e-9)


def test_a_blend_does_not_widen_the_zone_and_a_wider_limit_does():
    eye, plan = Cornea(550.0), Treatment(Refraction(-1.0, -2.0, 30.0))
    narrow, wide = (zone_kept_after_mm(eye, removal(eye, plan, w)) for w in (0.0, 2.0))
    assert narrow == wide
    limits = zone_kept_after_mm(eye, removal(eye, plan, 0.0), np.array([0.1, 0.25, 0.5, 1.0]))
    assert (np.diff(limits) > 0).all() and limits.max() <= 6.5


def test_first_crossing_counts():
    """An error that comes back within the limit further out does not widen the zone; zeros of a parabola (C)."""
    assert kept_radius_mm(lambda r2: r2 * (4.0 - r2) / 4.0, np.array(3.0), 0.5) == pytest.approx(
        np.sqrt(2.0 - np.sqrt(2.0)), abs=1e-4
    )
    assert np.isnan(kept_radius_mm(lambda r2: r2 * np.nan, np.array(3.0), 0.5))
