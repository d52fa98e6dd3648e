"""Refraction that removed tissue corrects, from the curvature of its surfaces at the treatment centre."""

import numpy as np

from tissue.eye.refraction import PowerVector, Refraction, from_power_vector
from tissue.ground.vocabulary import Floats
from tissue.removal.removal import POWER_PER_CURVATURE, Removal

STENCIL_MM = 0.005  # step of the second derivatives: error of the rule below 1e-8 D, of the digits below 1e-11 D
NO_CYLINDER_D = 1e-9  # a cylinder smaller than this is the arithmetic's last digits


def achieved(taken: Removal) -> Refraction:
    """Refraction the tissue corrects at the corneal plane: Refraction in minus form.

    P(θ) = 1000·(n − 1)·d²(s_after − s_before)/dρ² along θ at the treatment centre, from the surfaces themselves by
    a five-point rule; SE = (P(0) + P(90))/2, J0 = (P(0) − P(90))/2, J45 = (P(45) − P(135))/2. Source thibos2004.
    """
    along_x, along_y = _power_along(taken, 0.0), _power_along(taken, 90.0)
    oblique = _power_along(taken, 45.0) - _power_along(taken, 135.0)
    return minus_form(PowerVector((along_x + along_y) / 2.0, (along_x - along_y) / 2.0, oblique / 2.0))


def _power_along(taken: Removal, angle_deg: float) -> Floats:
    """Power of the change of curvature along a direction [D] at the treatment centre."""
    x, y = (STENCIL_MM * part(np.radians(angle_deg)) for part in (np.cos, np.sin))
    u, v = taken.axes(taken.centre_x_mm + x, taken.centre_y_mm + y)
    near, far = taken.profile.drop_um(u, v), taken.profile.drop_um(2.0 * u, 2.0 * v)  # the same on the other side
    second = 2.0 * (16.0 * near - far) / (12.0 * STENCIL_MM**2)
    return -POWER_PER_CURVATURE * second / 1000.0


def minus_form(vector: PowerVector, vertex_mm: Floats = 0.0) -> Refraction:
    """Refraction in minus form of a power vector [D]; a cylinder of rounding size is none, at axis 180."""
    minus = from_power_vector(vector, vertex_mm)
    none = np.asarray(np.abs(minus.cylinder_D) < NO_CYLINDER_D)
    sphere = np.where(none, vector.SE_D, minus.sphere_D)
    return Refraction(sphere, np.where(none, 0.0, minus.cylinder_D), np.where(none, 180.0, minus.axis_deg), vertex_mm)
