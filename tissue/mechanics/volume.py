"""Change of volume of a point of the section, and of the area it turns, for small and large displacements.

The gradient has its five components last: ∂u_r/∂r, ∂u_r/∂z, ∂u_z/∂r, ∂u_z/∂z, u_r/r.
"""

import numpy as np

from tissue.vocabulary import Array

UNIT = np.array([1.0, 0.0, 0.0, 1.0, 1.0])


def small(gradient: Array) -> tuple[Array, Array, Array]:
    """J − 1, cof F and its change by F to first order: tr ε, 1 and 0."""
    size = gradient.shape[:-1]
    return gradient @ UNIT, np.broadcast_to(UNIT, gradient.shape), np.zeros((*size, 5, 5))


def large(gradient: Array) -> tuple[Array, Array, Array]:
    """J − 1, cof F = ∂J/∂F, (…, 5), and ∂cof F/∂F, (…, 5, 5), with J = F_θ·(F_rr·F_zz − F_rz·F_zr)."""
    rr, rz, zr, zz, around = np.moveaxis(gradient + UNIT, -1, 0)
    area = rr * zz - rz * zr
    cofactor = np.stack([zz * around, -zr * around, -rz * around, rr * around, area], axis=-1)
    change = np.zeros((*gradient.shape, 5))
    for (i, j), value in {(0, 3): around, (1, 2): -around, (0, 4): zz, (1, 4): -zr, (2, 4): -rz, (3, 4): rr}.items():
        change[..., i, j] = change[..., j, i] = value
    return around * area - 1.0, cofactor, change
