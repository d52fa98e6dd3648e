"""An independent ray trace for the tests: the vector law of refraction on any surface, nothing taken from the tool."""

import numpy as np

N = 1.376


def refracted(slope_x, slope_y):
    """Unit direction behind a surface of given slopes, of a ray along +z in air (vector form of Snell's law)."""
    normal = np.stack([-slope_x, -slope_y, np.ones_like(slope_x)]) / np.sqrt(1.0 + slope_x**2 + slope_y**2)
    cosine = normal[2]
    inside = np.sqrt(1.0 - (1.0 - cosine**2) / N**2)
    direction = np.stack([np.zeros_like(cosine), np.zeros_like(cosine), np.ones_like(cosine)]) / N
    return direction + (inside - cosine / N) * normal


def power_matrix_D(x, y, slope_x, slope_y):
    """Least-squares F of n·(ray slope) = −F·(x, y) over rays near the axis: (Fxx, Fxy, Fyy) [D]."""
    dx, dy, dz = refracted(slope_x, slope_y)
    left = np.concatenate([np.stack([x, y, 0 * x], axis=1), np.stack([0 * x, x, y], axis=1)])
    right = -1000.0 * N * np.concatenate([dx / dz, dy / dz])
    return np.linalg.lstsq(left, right, rcond=None)[0]


def sphere_cylinder_axis(Fxx, Fxy, Fyy):
    """Sphere, minus cylinder and axis of a power matrix: its eigenvalues and eigenvector."""
    powers, along = np.linalg.eigh(np.array([[Fxx, Fxy], [Fxy, Fyy]]))
    return powers[1], powers[0] - powers[1], np.degrees(np.arctan2(along[1, 1], along[0, 1])) % 180.0


def path_coefficient(sag, radius, object_D, power_D):
    """C40 [µm] of a surface of revolution by Fermat paths from an axial object to its paraxial image.

    Args:
        sag: function of the height [mm].
        radius: pupil radius [mm].
        object_D: vergence of the object at the vertex [D], 0 at infinity, negative before the eye.
        power_D: power of the surface [D].
    """
    node, share = np.polynomial.legendre.leggauss(24)
    u = (node + 1.0) / 2.0
    h = radius * np.sqrt(u)
    s = sag(h)
    image = 1000.0 * N / (object_D + power_D)
    before = s if object_D == 0 else np.hypot(h, s - 1000.0 / object_D) + 1000.0 / object_D
    wave = before + N * (np.hypot(h, image - s) - image)
    return -1000.0 * np.sum(share / 2.0 * np.sqrt(5.0) * (6.0 * u**2 - 6.0 * u + 1.0) * wave)
