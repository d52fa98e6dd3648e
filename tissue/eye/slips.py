"""Slips of entry: which slip turns the intended refraction into the one that was written."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from tissue.eye.refraction import PowerVector, Refraction
from tissue.ground.errors import number
from tissue.ground.vocabulary import Array, Flags, Floats

ALIKE_D = 0.005  # half the last digit in which powers are written: closer than this is the same value
ALIKE_DEG = 0.05  # half of a tenth of a degree, the finest that an axis is read in

SLIPS = {  # in the order in which they are named
    "target-left-out": "The treated refraction is the measured one; the target has not been taken off.",
    "target-sign": "The target has been added where it is to be taken off.",
    "fellow-eye": "It is the value of the other eye.",
    "other-eye": "It stands under the other eye.",
    "sign": "The sphere has the opposite sign.",
    "axis-digit": "The two axes differ by one digit that was left out, added or exchanged with its neighbour.",
    "axis-mirrored": "The axis is mirrored: it is 180° less the other.",
    "axis-90": "The two axes are 90° apart.",
    "cylinder-form": "The cylinder forms are mixed: values of the plus form stand beside values of the minus form, "
    "or the axis belongs to the other form.",
    "digits": "Two neighbouring digits are exchanged.",
    "decimal": "The decimal point has moved by one place.",
    "thinnest-for-centre": "It is the thickness at the thinnest point, not at the centre.",
}


@dataclass(frozen=True, eq=False)
class Guard:
    """What the treated refraction leaves of the intended one, in the spectacle plane.

    residual: power vector [D], meant less treated. size_D: its length. names: of the slips that explain it, keys of
    SLIPS in their order; none where nothing differs.
    """

    residual: PowerVector
    size_D: Floats
    names: tuple[str, ...]


def less(refraction: Refraction, taken: Refraction) -> PowerVector:
    """Power vector of one refraction minus that of another in the same plane [D]."""
    return PowerVector(*(a - b for a, b in zip(refraction.power_vector(), taken.power_vector(), strict=True)))


def size_of(vector: PowerVector) -> Floats:
    """Length of a power vector [D].

    size = √(SE² + J0² + J45²)

    >>> round(float(size_of(less(Refraction(-6.0, -3.75, 10.0), Refraction(-6.0, -3.75, 100.0)))), 9)
    3.75
    """
    return np.sqrt(sum(np.square(part) for part in vector))


def alike(one: Refraction, other: Refraction) -> Flags:
    """Whether two refractions are the same within half of the last written digit, in either spelling."""
    at_one_vertex = other.at_cornea().at_vertex(one.vertex_mm)
    difference = [np.abs(part) for part in less(one, at_one_vertex)]
    return np.maximum(difference[0], np.hypot(difference[1], difference[2])) < ALIKE_D


def guard(measured: Refraction, target_D: Floats, treated: Refraction, others: Iterable[Refraction] = ()) -> Guard:
    """The Guard of one eye.

    Args:
        measured: Refraction.
        target_D: refraction wanted in the end, spherical, spectacle plane [D].
        treated: Refraction that is treated.
        others: the treated refraction of the other eye and the one meant there.

    >>> found = guard(Refraction(-6.0, -3.75, 10.0), 0.0, Refraction(-6.0, -3.75, 100.0))
    >>> round(float(found.size_D), 2), found.names
    (3.75, ('axis-digit', 'axis-90', 'cylinder-form'))
    """
    meant = measured.less(target_D)
    left = less(meant, treated)
    if alike(meant, treated):
        return Guard(left, size_of(left), ())
    found = names_of(meant, treated, others)
    if number(target_D) != 0:
        again = measured.less(-number(target_D))
        added = replace(measured, sphere_D=measured.sphere_D + number(target_D))  # as it is done on paper
        found["target-left-out"] = alike(treated, measured)
        found["target-sign"] = alike(treated, again) | alike(treated, added)
    return Guard(left, size_of(left), in_order(found))


def in_order(found: dict[str, Flags]) -> tuple[str, ...]:
    """The names of the slips that apply, in the order of SLIPS."""
    return tuple(name for name in SLIPS if found.get(name))


def names_of(meant: Refraction, typed: Refraction, others: Iterable[Refraction] = ()) -> dict[str, Flags]:
    """Whether each slip, by name, turns one refraction into the other.

    Args:
        meant: Refraction.
        typed: Refraction that was written instead.
        others: refractions of the other eye.
    """
    found = {name: in_both_forms(looks_like, meant, typed) for name, looks_like in LOOKS.items()}
    found["fellow-eye"] = any(bool(alike(typed, other)) and not alike(meant, other) for other in others)
    return found


def in_both_forms(looks_like: Callable[[Refraction, Refraction], Flags], meant: Refraction, typed: Refraction) -> Flags:
    """Whether a slip explains what was typed when both are written in minus, or both in plus form."""
    return looks_like(meant.minus(), typed.minus()) | looks_like(meant.plus(), typed.plus())


def _same_powers(meant: Refraction, typed: Refraction) -> Flags:
    """Whether sphere and cylinder are the same and there is a cylinder."""
    return (
        (np.abs(meant.sphere_D - typed.sphere_D) < ALIKE_D)
        & (np.abs(meant.cylinder_D - typed.cylinder_D) < ALIKE_D)
        & (np.abs(meant.cylinder_D) >= ALIKE_D)
    )


def _axes_apart(one_deg: Floats, other_deg: Floats) -> Floats:
    """How far two axes lie apart [degrees, 0 to 90]."""
    apart = np.abs(number(one_deg) - number(other_deg)) % 180.0
    return np.minimum(apart, 180.0 - apart)


def axis_digit(meant: Refraction, typed: Refraction) -> Flags:
    """Whether the powers are the same and the axes one digit apart."""
    return _same_powers(meant, typed) & digit_apart(meant.axis_deg, typed.axis_deg)


def _axis_mirrored(meant: Refraction, typed: Refraction) -> Flags:
    """Whether the powers are the same and one axis is 180° minus the other."""
    mirrored = _axes_apart(180.0 - number(meant.axis_deg), typed.axis_deg) < ALIKE_DEG
    return _same_powers(meant, typed) & mirrored & (_axes_apart(meant.axis_deg, typed.axis_deg) >= ALIKE_DEG)


def _axis_90(meant: Refraction, typed: Refraction) -> Flags:
    """Whether the powers are the same and the axes 90° apart."""
    return _same_powers(meant, typed) & (_axes_apart(meant.axis_deg, typed.axis_deg) > 90.0 - ALIKE_DEG)


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


def form_mixed(meant: Refraction, typed: Refraction) -> Flags:
    """Whether the cylinder has the wrong sign, or the axis or the sphere is that of the other form."""
    S, C, A, d = meant.sphere_D, meant.cylinder_D, meant.axis_deg, meant.vertex_mm
    sign, axis, sphere = Refraction(S, -C, A, d), Refraction(S, C, A + 90.0, d), Refraction(S + C, C, A, d)
    return (np.abs(C) >= ALIKE_D) & (alike(typed, sign) | alike(typed, axis) | alike(typed, sphere))


def sign_lost(meant: Refraction, typed: Refraction) -> Flags:
    """Whether the sphere has the opposite sign, alone or together with the cylinder."""
    S, C, A, d = meant.sphere_D, meant.cylinder_D, meant.axis_deg, meant.vertex_mm
    return alike(typed, Refraction(-S, C, A, d)) | alike(typed, Refraction(-S, -C, A, d))


def digits_exchanged(meant_D: Floats, typed_D: Floats) -> Flags:
    """Whether two powers at two decimals differ by two neighbouring digits exchanged.

    >>> [bool(digits_exchanged(*pair)) for pair in ((-4.25, -4.52), (-4.25, -2.45), (-4.25, 4.52), (-12.5, -21.5))]
    [True, True, False, True]
    """
    meant, typed = (np.round(np.abs(number(power)) * 100.0) for power in (meant_D, typed_D))
    found = np.zeros(np.broadcast_shapes(meant.shape, typed.shape), dtype=bool)
    for place in (0, 1, 2):
        low, high = meant // 10**place % 10, meant // 10 ** (place + 1) % 10
        there = (place < 2) | (meant >= 1000)
        found |= there & (low != high) & (typed == meant + (low - high) * 9 * 10**place)
    return np.asarray(found & (np.sign(meant_D) == np.sign(typed_D)))[()]


def point_moved(meant: Floats, typed: Floats) -> Flags:
    """Whether a number is ten times the other, or a tenth of it.

    >>> bool(point_moved(-4.5, -45.0)), bool(point_moved(-4.5, -0.45)), bool(point_moved(0.0, 0.0))
    (True, True, False)
    """
    meant, typed = number(meant), number(typed)
    by_ten = (np.abs(typed - 10.0 * meant) < ALIKE_D) | (np.abs(typed - meant / 10.0) < ALIKE_D)
    return np.asarray(by_ten & (np.abs(meant - typed) >= ALIKE_D))[()]


def _in_one_power(slipped: Callable[[Floats, Floats], Flags]) -> Callable[[Refraction, Refraction], Flags]:
    """Whether a slip of a number explains the sphere or the cylinder, with the other power and the axis the same."""

    def looks_like(meant: Refraction, typed: Refraction) -> Flags:
        same_sphere = np.abs(meant.sphere_D - typed.sphere_D) < ALIKE_D
        same_cylinder = np.abs(meant.cylinder_D - typed.cylinder_D) < ALIKE_D
        no_axis = (np.abs(meant.cylinder_D) < ALIKE_D) | (np.abs(typed.cylinder_D) < ALIKE_D)
        same_axis = no_axis | (_axes_apart(meant.axis_deg, typed.axis_deg) < ALIKE_DEG)
        in_sphere = same_cylinder & slipped(meant.sphere_D, typed.sphere_D)
        return same_axis & (in_sphere | (same_sphere & slipped(meant.cylinder_D, typed.cylinder_D)))

    return looks_like


LOOKS: dict[str, Callable[[Refraction, Refraction], Flags]] = {
    "sign": sign_lost,
    "axis-digit": axis_digit,
    "axis-mirrored": _axis_mirrored,
    "axis-90": _axis_90,
    "cylinder-form": form_mixed,
    "digits": _in_one_power(digits_exchanged),
    "decimal": _in_one_power(point_moved),
}
