"""What is left by power vectors: a cylinder treated at a turned axis, and a refraction typed wrongly."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tissue.eye.refraction import Refraction
from tissue.eye.slips import SLIPS as SENTENCES
from tissue.eye.slips import alike, axis_digit, form_mixed, in_both_forms, less, sign_lost
from tissue.ground.errors import number
from tissue.ground.limits import of_kind, shape_together
from tissue.ground.vocabulary import Floats, Words
from tissue.optics.paraxial import minus_form

SLIPS = {
    "": "No known slip makes this difference.",
    "none": "The treated refraction is the measured one less the target.",
} | {key: SENTENCES[key] for key in ("target-left-out", "target-sign", "axis-digit", "cylinder-form", "sign")}


@dataclass(frozen=True, eq=False)
class Residual:
    """What treating an eye with a plan would leave, and what it looks like.

    refraction: plain difference of the two refractions as they are written, at the spectacle plane. at_cornea: the
    difference where the tissue is taken. lens: the lens at the spectacle plane that corrects at_cornea. slip: a key
    of SLIPS, text: its neutral sentence; words or arrays of words.
    """

    refraction: Refraction
    at_cornea: Refraction
    lens: Refraction
    slip: Words
    text: Words


def turned(refraction: Refraction, turn_deg: Floats) -> Refraction:
    """The refraction with its axis turned counter-clockwise [degrees].

    >>> float(turned(Refraction(-3.0, -1.5, 170.0), 20.0).axis_deg)
    10.0
    """
    axis = (refraction.axis_deg + number(turn_deg)) % 180.0
    return Refraction(
        refraction.sphere_D, refraction.cylinder_D, np.where(axis == 0.0, 180.0, axis), refraction.vertex_mm
    )


def rotation_residual(refraction: Refraction, turn_deg: Floats) -> Refraction:
    """Refraction left where a treatment lands turned counter-clockwise [degrees]; minus form, same plane.

    Cylinder −2·|C|·|sin τ|, sphere |C|·|sin τ|, SE unchanged; axis A − 45 + τ/2 of the minus form for τ > 0,
    and 90 further for τ < 0. Source thibos1997.

    >>> left = rotation_residual(Refraction(0.0, -1.5, 20.0), 4.0)
    >>> round(float(left.cylinder_D), 4), round(float(left.axis_deg), 4)
    (-0.2093, 157.0)
    """
    of_kind(refraction=(refraction, Refraction))
    shape_together(refraction, number(turn_deg, "turn_deg"))
    return minus_form(less(refraction, turned(refraction, turn_deg)), refraction.vertex_mm)


def residual_of(measured: Refraction, target_D: Floats, treated: Refraction) -> Residual:
    """What treating an eye with the treated refraction would leave after the target is taken off.

    Subtracted as power vectors, as written and at the corneal plane, where the tissue is taken. Source thibos1997.

    Args:
        measured: measured Refraction.
        target_D: refraction wanted in the end, spherical, spectacle plane [D].
        treated: Refraction that is treated.

    >>> left = residual_of(Refraction(-6.0, -3.75, 10.0), 0.0, Refraction(-6.0, -3.75, 100.0))
    >>> [round(float(v), 2) for v in (left.refraction.sphere_D, left.refraction.cylinder_D, left.refraction.axis_deg)]
    [3.75, -7.5, 10.0]
    >>> left.text
    'The two axes differ by one digit that was left out, added or exchanged with its neighbour.'
    """
    of_kind(measured=(measured, Refraction), treated=(treated, Refraction))
    shape_together(measured, treated, number(target_D, "target_D"))
    wanted = measured.less(target_D)
    at_cornea = minus_form(less(wanted.at_cornea(), treated.at_cornea()), 0.0)
    slip = slip_of(measured, target_D, treated)
    text = np.select([slip == key for key in SLIPS], list(SLIPS.values()), "")
    written = minus_form(less(wanted, treated), measured.vertex_mm)
    lens = at_cornea.at_vertex(measured.vertex_mm).minus()
    return Residual(written, at_cornea, lens, slip if slip.ndim else str(slip), text if text.ndim else str(text))


def slip_of(measured: Refraction, target_D: Floats, treated: Refraction) -> NDArray[np.str_]:
    """What the difference of the treated from the intended refraction looks like: a key of SLIPS, an array of words."""
    wanted, again = measured.less(target_D), measured.less(-number(target_D))
    added = replace(measured, sphere_D=measured.sphere_D + number(target_D))  # as it is done on paper
    kinds = {
        "none": alike(treated, wanted),
        "target-left-out": alike(treated, measured),
        "target-sign": alike(treated, again) | alike(treated, added),
        "axis-digit": in_both_forms(axis_digit, wanted, treated),
        "cylinder-form": in_both_forms(form_mixed, wanted, treated),
        "sign": in_both_forms(sign_lost, wanted, treated),
    }
    return np.asarray(np.select(list(kinds.values()), list(kinds), ""))
