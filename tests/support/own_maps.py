"""Invented maps of the thickness of a cornea, by formula and as readings, for tests and trials."""

import numpy as np

from tissue.eye.measured.own_map import OwnMap
from tissue.eye.measured.readings import Places
from tissue.eye.measured.surface import measured_surface

NINE_UM, AT_X, AT_Y = 529.6, -0.44, -0.36  # the formula of the demo eye harbour-09, right eye


def nine(x, y):
    """T₉ [µm]: a quadratic about the thinnest point and a cubic term that makes the upper half grow faster."""
    return NINE_UM + 5.23 * ((x - AT_X) ** 2 + (y - AT_Y) ** 2) + 0.15 * y * (x**2 + y**2)


def grid(step_mm=0.5, reach_mm=5.0):
    """Places of a square grid within a radius [mm]."""
    line = np.arange(-np.floor(reach_mm / step_mm), np.floor(reach_mm / step_mm) + 1) * step_mm
    x, y = (part.ravel() for part in np.meshgrid(line, line))
    inside = np.hypot(x, y) <= reach_mm + 1e-9
    return x[inside], y[inside]


def readings_of(formula, step_mm=0.5, reach_mm=5.0):
    """Readings of a formula on a grid."""
    x, y = grid(step_mm, reach_mm)
    return Places(x, y, formula(x, y))


def map_of(formula, epithelium=None, **how):
    """An OwnMap of formulas [µm]."""
    layer = None if epithelium is None else measured_surface(readings_of(epithelium, **how), grows=False)
    return OwnMap(measured_surface(readings_of(formula, **how), 4.0), layer)
