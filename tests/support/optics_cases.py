"""Random eyes, plans and pupils for the tests of optics, and two ways back from the tissue to its refraction."""

import numpy as np
from ray_trace import power_matrix_D, sphere_cylinder_axis

from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import PowerVector, Refraction
from tissue.optics.paraxial import minus_form
from tissue.removal.removal import POWER_PER_CURVATURE, Treatment

PROFILES = np.array(["munnerlyn", "conic", "parabolic"])


def random_plans(count, seed):
    """Eyes, plans and pupils of both sides over the whole range of the inputs that have surfaces in the zone."""
    u = np.random.default_rng(seed).uniform
    words = np.random.default_rng(seed + 1).choice(PROFILES, count)
    eye = Cornea(u(450, 650, count), radius_mm=u(6.8, 9.0, count), asphericity=u(-1.0, 0.8, count))
    plan = Treatment(
        Refraction(u(-14, 5, count), u(-6, 4, count), u(0, 180, count), u(0, 16, count)),
        u(4.5, 7.5, count),
        words,
        target_asphericity=np.where(u(0, 1, count) < 0.5, np.nan, u(-1.5, 1.0, count)),
        centre_x_mm=u(-1.5, 1.5, count),
        centre_y_mm=u(-1.5, 1.5, count),
    )
    return eye, plan, Pupil(u(2, 9, count), u(-0.8, 0.8, count), u(-0.8, 0.8, count))


def apart(found, wanted):
    """Greatest part of the difference of two power vectors [D]; NaN counts as infinitely far."""
    parts = [np.abs(a - b) for a, b in zip(found.power_vector(), wanted.power_vector(), strict=True)]
    return np.nan_to_num(np.maximum.reduce(parts), nan=np.inf)


def heights_of(taken, step_mm=0.1, across=5):
    """t [µm] on a square grid about the treatment centre."""
    offsets = step_mm * (np.arange(across) - across // 2)
    lead = (1,) * np.ndim(taken.central_um)
    x, y = (part.reshape(part.shape + lead) for part in np.meshgrid(offsets, offsets))
    return taken.t_um(taken.centre_x_mm + x, taken.centre_y_mm + y) / taken.scale


def traced(eye, taken, radius=0.02):
    """Refraction by vector refraction of rays near the axis at the front surface, and at it moved in by t."""
    from scipy.interpolate import RectBivariateSpline

    offsets = 0.1 * np.arange(-6, 7)
    x, y = np.meshgrid(offsets, offsets, indexing="ij")
    front = eye.front_mm(x, y)
    t = taken.t_um(taken.centre_x_mm + x, taken.centre_y_mm + y) / taken.scale / 1000.0
    turn = np.linspace(0.0, 2.0 * np.pi, 17)[:-1]
    px, py = radius * np.cos(turn), radius * np.sin(turn)
    matrices = []
    for heights in (front, front + t):
        spline = RectBivariateSpline(offsets, offsets, heights, kx=5, ky=5)
        matrices.append(power_matrix_D(px, py, spline.ev(px, py, dx=1), spline.ev(px, py, dy=1)))
    return sphere_cylinder_axis(*(matrices[1] - matrices[0]))


def refraction_of_heights(heights_um, step_mm):
    """Refraction that tissue of a height map corrects, about the middle of the map.

    The same five-point rule on the grid itself; the oblique term from its diagonals.

    Args:
        heights_um: tissue on a square grid, rows along y upwards, columns along x [µm], shape (2k + 1, 2k + 1, …).
        step_mm: distance of the grid's points [mm].
    """
    t = np.asarray(heights_um, dtype=float)
    k = t.shape[0] // 2
    lines = [[t[k + i * dy, k + i * dx] for i in (-2, -1, 0, 1, 2)] for dx, dy in ((1, 0), (0, 1), (1, 1), (-1, 1))]
    second = np.tensordot(np.array([-1.0, 16.0, -30.0, 16.0, -1.0]) / 12.0 / step_mm**2, lines, axes=(0, 1))
    along_x, along_y, rising, falling = second * POWER_PER_CURVATURE / 1000.0
    return minus_form(PowerVector((along_x + along_y) / 2.0, (along_x - along_y) / 2.0, (rising - falling) / 4.0))
