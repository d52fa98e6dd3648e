"""The pupil and the optical zone as circles: how far apart, and how much of the pupil lies outside the zone."""

import numpy as np

from tissue.eye.cornea import Pupil
from tissue.ground.errors import number
from tissue.ground.vocabulary import Floats
from tissue.removal.removal import Removal


def distance_mm(pupil: Pupil, taken: Removal) -> Floats:
    """Distance of the treatment centre from the pupil centre [mm]."""
    return np.hypot(taken.centre_x_mm - pupil.pupil_x_mm, taken.centre_y_mm - pupil.pupil_y_mm)


def outside_percent(pupil: Pupil, taken: Removal) -> Floats:
    """Share of the pupil that lies outside the optical zone [%]; the overlap of two circles, exactly.

    >>> from types import SimpleNamespace
    >>> from tissue.eye.cornea import Pupil
    >>> zone = SimpleNamespace(profile=SimpleNamespace(zone_radius_mm=3.0), centre_x_mm=0.0, centre_y_mm=0.0)
    >>> round(float(outside_percent(Pupil(7.0), zone)), 4)
    26.5306
    """
    p, a, d = number(pupil.pupil_mm) / 2.0, taken.profile.zone_radius_mm, distance_mm(pupil, taken)
    least, apart = np.minimum(p, a), np.maximum(d, 1e-300)
    lens = _sector_less_triangle(p, (d**2 + p**2 - a**2) / (2.0 * apart))
    lens = lens + _sector_less_triangle(a, (d**2 + a**2 - p**2) / (2.0 * apart))
    overlap = np.where(d <= np.abs(p - a), np.pi * least**2, np.where(d >= p + a, 0.0, lens))
    return (100.0 * np.clip(1.0 - overlap / (np.pi * p**2), 0.0, 1.0))[()]


def _sector_less_triangle(radius: Floats, chord_distance: Floats) -> Floats:
    """Area [mm²] that a chord at a signed distance [mm] from the centre cuts off a circle, on its far side."""
    cosine = np.clip(chord_distance / radius, -1.0, 1.0)
    return radius**2 * (np.arccos(cosine) - cosine * np.sqrt(1.0 - cosine**2))
