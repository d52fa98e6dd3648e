"""Where a way takes most, and the meridian of its pictures: the same place for picture, words and bar."""

from typing import NamedTuple

import numpy as np

from tissue.budget.budget import deepest_off_centre
from tissue.budget.comparison import Comparison
from tissue.drawing.base.meridian import angle_through, meridian
from tissue.removal.removal import Removal

UPRIGHT_DEG = 90.0
ROUND_UM = 5.0  # a piece whose thickest place varies by no more than this from meridian to meridian is a ring
MISSED_UM = 0.5  # a picture along another meridian may show this much less
STEP_MM = 0.05
# What a meridian is called by the words of its ends, whatever the side.
KINDS = {
    frozenset(("nasal", "temporal")): "across",
    frozenset(("superior", "inferior")): "upright",
    frozenset(("superonasal", "inferotemporal")): "nose_up",
    frozenset(("superotemporal", "inferonasal")): "ear_up",
}


class Most(NamedTuple):
    """Where most is taken: `kind`, `middle` or a key of the patient's places; angle_deg of its meridian or None."""

    kind: str
    angle_deg: float | None


def most(comparison: Comparison, way: str, side: str) -> Most:
    """The place where a way takes most, as a Most.

    Args:
        comparison: Comparison of one eye.
        way: name of an option.
        side: `OD` or `OS`.
    """
    option = comparison.results[way].option
    if not deepest_off_centre(option):
        return Most("middle", None)
    taken = option.removal
    through = angle_through(comparison, taken.max_x_mm, taken.max_y_mm)
    if float(taken.max_um) - _along_um(comparison, taken, through + 90.0) <= ROUND_UM:
        return Most("round", None)
    return Most(KINDS[frozenset(meridian(comparison, through).end_words(side))], through)


def _along_um(comparison: Comparison, taken: Removal, angle_deg: float) -> float:
    """Most that is taken along a meridian [µm]."""
    positions = np.arange(0.0, float(taken.radius_mm), STEP_MM)
    return float(np.max(taken.r_um(*meridian(comparison, angle_deg).place(positions))))


def meridian_deg(comparison: Comparison, way: str) -> float:
    """The meridian a way is shown along [degrees]: through the hinge or the opening, upright where there is none; but
    where that would miss the thickest part of a piece that is thickest off the middle, through that part.

    Args:
        comparison: Comparison of one eye.
        way: name of an option.
    """
    option = comparison.results[way].option
    towards = {"hinge_deg": comparison.flap.hinge_deg, "incision_deg": comparison.cap.incision_deg}
    usual = UPRIGHT_DEG if option.towards_field is None else float(towards[option.towards_field])
    taken, found = option.removal, most(comparison, way, "OD")
    if found.kind == "round" and float(taken.max_um) - _along_um(comparison, taken, usual) > MISSED_UM:
        return angle_through(comparison, taken.max_x_mm, taken.max_y_mm) % 180.0
    return (usual if found.angle_deg is None else found.angle_deg) % 180.0
