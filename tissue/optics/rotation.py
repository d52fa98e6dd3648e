"""What is left by power vectors: a cylinder treated at a turned axis, and a refraction typed wrongly."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tissue.errors import number
from tissue.eye.refraction import PowerVector, Refraction
from tissue.optics.paraxial import minus_form
from tissue.vocabulary import Array, Flags, Floats, Words

ALIKE_D = 0.005  # half the last digit in which powers are written: closer than this is the same value

SLIPS = {
    "": "No known slip makes this difference.",
    "none": "The treated refraction is the measured one less the target.",
    "target-left-out": "The treated refraction is the measured one; the target has not been taken off.",
    "target-sign": "The target has been added where it is to be taken off.",
    "axis-digit": "The two axes differ by one digit that was left out, added or exchanged with its neighbour.",
    "cylinder-form": "The cylinder forms are mixed: values of the plus form stand beside values of the minus form, "
    "or the axis belongs to the other form.",
    "sign": "The sphere has the opposite sign.",
}


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


def less(refraction: Refraction, taken: Refraction) -> PowerVector:
    """Power vector of one refraction less that of another in the same plane [D]."""
    return PowerVector(*(a - b for a, b in zip(refraction.power_vector(), taken.power_vector(), strict=True)))


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
        "axis-digit": _in_both_forms(_axis_digit, wanted, treated),
        "cylinder-form": _in_both_forms(_form_mixed, wanted, treated),
        "sign": _in_both_forms(_sign_lost, wanted, treated),
    }
    return np.asarray(np.select(list(kinds.values()), list(kinds), ""))


def alike(one: Refraction, other: Refraction) -> Flags:
    """Whether two refractions are the same within half of the last written digit, in either spelling."""
    at_one_vertex = other.at_cornea().at_vertex(one.vertex_mm)
    difference = [np.abs(part) for part in less(one, at_one_vertex)]
    return np.maximum(difference[0], np.hypot(difference[1], difference[2])) < ALIKE_D


def _in_both_forms(
    looks_like: Callable[[Refraction, Refraction], Flags], wanted: Refraction, treated: Refraction
) -> Flags:
    """Whether a slip explains the treated refraction when both are written in minus, or both in plus form."""
    return looks_like(wanted.minus(), treated.minus()) | looks_like(wanted.plus(), treated.plus())


def _axis_digit(wanted: Refraction, treated: Refraction) -> Flags:
    """The same powers, and axes one digit apart."""
    powers = (np.abs(wanted.sphere_D - treated.sphere_D) < ALIKE_D) & (
        np.abs(wanted.cylinder_D - treated.cylinder_D) < ALIKE_D
    )
    some = np.abs(wanted.cylinder_D) >= ALIKE_D
    return powers & some & digit_apart(wanted.axis_deg, treated.axis_deg)


def digit_apart(one_deg: Floats, other_deg: Floats) -> Flags:
    """Whether two whole axes [degrees] differ by one digit left out, or by two neighbouring digits exchanged.

    >>> [bool(digit_apart(*pair)) for pair in ((10, 100), (17, 170), (35, 53), (80, 85), (90, 95))]
    [True, True, True, False, False]
    """
    one, other = number(one_deg), number(other_deg)
    whole = (one % 1 == 0) & (other % 1 == 0) & (one != other)
    return np.asarray(whole & (_slipped(one, other) | _slipped(other, one)))[()]


def _slipped(typed: Array, meant: Array) -> Flags:
    """Whether `meant` with one digit left out, or with two neighbours exchanged, is `typed`."""
    hundreds, tens, ones = meant // 100, meant // 10 % 10, meant % 10
    left_out = (typed == meant // 10) | (typed == hundreds * 10 + ones) | ((hundreds > 0) & (typed == meant % 100))
    exchanged = (typed == hundreds * 100 + ones * 10 + tens) | (typed == tens * 100 + hundreds * 10 + ones)
    return (typed > 0) & (left_out | exchanged)


def _form_mixed(wanted: Refraction, treated: Refraction) -> Flags:
    """A cylinder of the wrong sign, an axis of the other form, or the sphere of the other form."""
    S, C, A, d = wanted.sphere_D, wanted.cylinder_D, wanted.axis_deg, wanted.vertex_mm
    sign, axis, sphere = Refraction(S, -C, A, d), Refraction(S, C, A + 90.0, d), Refraction(S + C, C, A, d)
    return (np.abs(C) >= ALIKE_D) & (alike(treated, sign) | alike(treated, axis) | alike(treated, sphere))


def _sign_lost(wanted: Refraction, treated: Refraction) -> Flags:
    """The sphere with the opposite sign, alone or with the cylinder's."""
    S, C, A, d = wanted.sphere_D, wanted.cylinder_D, wanted.axis_deg, wanted.vertex_mm
    return alike(treated, Refraction(-S, C, A, d)) | alike(treated, Refraction(-S, -C, A, d))
