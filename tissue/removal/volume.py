"""The volume of a removal that an error makes deeper or shallower by the same amount everywhere."""

import numpy as np

from tissue.ground.vocabulary import Floats
from tissue.removal.removal import Removal

ANGLES, RADII = 16, 40  # nodes in cos 2θ; along a meridian, over the zone and again over the blend


def moved_volume_mm3(taken: Removal, deeper_um: Floats) -> Floats:
    """Volume removed where r moves by `deeper_um` wherever something is removed, never below nothing [mm³].

    ∬ max(0, r + e) = V + e·π·R² + ∬ max(0, −e − r), all over the treated disc of radius R. V is closed; the last is
    what the error would take where less is left, and is summed over Gauss nodes; nothing where e ≥ 0.

    Args:
        taken: Removal of one eye or of a column of eyes.
        deeper_um: how much deeper [µm], a number or an entry an eye.

    Source: a definition

    >>> from tissue import Cornea, Refraction, Treatment
    >>> from tissue.removal.removal import removal
    >>> taken = removal(Cornea(550.0), Treatment(Refraction(-6.0)), 0.5)
    >>> [round(float(moved_volume_mm3(taken, e)), 2) for e in (-10.0, 0.0, 10.0)]
    [1.73, 2.11, 2.55]
    """
    whole = taken.volume_mm3 + deeper_um * np.pi * np.square(taken.radius_mm) / 1000.0
    return whole + _short_mm3(taken, -np.asarray(deeper_um))


def _short_mm3(taken: Removal, wanted_um: Floats) -> Floats:
    """∬ max(0, wanted − r) over the treated disc [mm³]."""
    if not np.any(wanted_um > 0):
        return 0.0
    shape = np.broadcast_shapes(np.shape(wanted_um), np.shape(taken.radius_mm))
    angle = ((np.arange(ANGLES) + 0.5) * np.pi / (2.0 * ANGLES)).reshape(-1, 1, *(1,) * len(shape))
    node, weight = (part.reshape(-1, *(1,) * len(shape)) for part in np.polynomial.legendre.leggauss(RADII))
    a, w = taken.profile.zone_radius_mm, taken.blend_mm
    total = 0.0
    for start, width in ((0.0, a), (a, w)):
        radius = start + width * (node + 1.0) / 2.0
        u, v = radius * np.cos(angle), radius * np.sin(angle)
        r = taken.scale * taken.profile.thickness_um(u, v, taken.central_unscaled_um) + taken.base_um
        short = np.maximum(0.0, wanted_um - r) * radius * width * weight / 2.0
        total = total + short.mean(axis=0).sum(axis=0)
    return 2.0 * np.pi * total / 1000.0
