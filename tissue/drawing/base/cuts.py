"""The cut of an option along a meridian: side cuts, hinge and incision."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.curve import Curve
from tissue.removal.options import HINGE_INSIDE_MM, Option

if TYPE_CHECKING:
    from tissue.drawing.base.meridian import Meridian


def cut_along(
    comparison: Comparison, option: Option, line: Meridian, cut_um: float, limits: tuple[float, float]
) -> tuple[Curve, float | None, float | None]:
    """The cut with its side cuts, and where the meridian meets the hinge and the incision (None: nowhere).

    A cut wider than the section ends with it, without a side cut.
    """
    radius = (
        float(np.where(np.isnan(option.cut_diameter_mm), 2.0 * option.removal.radius_mm, option.cut_diameter_mm)) / 2.0
    )
    ends, open_ = [-radius, radius], [False, False]
    hinge = incision = None
    for i, sign in enumerate((-1.0, 1.0)):
        if option.lifts_flap:
            chord = _hinge_at(comparison, line, sign, radius)
            hinge = hinge if chord is None else sign * chord
            ends[i] = ends[i] if chord is None else sign * chord
            open_[i] = chord is None
        elif option.keeps_cap and _at_incision(comparison, line, sign, radius):
            incision, open_[i] = ends[i], True
        if abs(ends[i]) > abs(limits[i]):
            ends[i], open_[i] = limits[i], False
    hinge, incision = (at if at is not None and limits[0] < at < limits[1] else None for at in (hinge, incision))
    position = [ends[0]] * (1 + open_[0]) + [ends[1]] * (1 + open_[1])
    depth = [0.0] * open_[0] + [cut_um, cut_um] + [0.0] * open_[1]
    return Curve(np.array(position), np.array(depth)), hinge, incision


def _hinge_at(comparison: Comparison, line: Meridian, sign: float, radius: float) -> float | None:
    """Distance from the centre [mm] where one half of the meridian meets the hinge; None where it does not."""
    away = np.cos(np.radians(line.direction_deg + (180.0 if sign < 0 else 0.0) - float(comparison.flap.hinge_deg)))
    chord = max(radius - HINGE_INSIDE_MM, 0.0)
    return chord / away if away > 0 and chord / away < radius else None


def _at_incision(comparison: Comparison, line: Meridian, sign: float, radius: float) -> bool:
    """Whether one half of the meridian leaves the cap through the incision."""
    apart = line.direction_deg + (180.0 if sign < 0 else 0.0) - float(comparison.cap.incision_deg)
    apart = abs((apart + 180.0) % 360.0 - 180.0)
    return apart <= np.degrees(float(comparison.cap.incision_mm) / 2.0 / radius)


def layer_above(cut: Curve, epithelium_um: float, cut_um: float) -> Curve:
    """What lies between the epithelium and the cut, as a polygon."""
    low, high = cut.position_mm[0], cut.position_mm[-1]
    return Curve(np.array([low, high, high, low]), np.array([epithelium_um, epithelium_um, cut_um, cut_um]))
