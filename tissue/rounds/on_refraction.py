"""Questions on the refraction: forms, meridians, the corneal plane, slips and rotation."""

import numpy as np

from tissue.entry.notation import echo
from tissue.eye.refraction import Refraction
from tissue.optics.rotation import residual_of, rotation_residual
from tissue.rounds.cases import asked, picked
from tissue.rounds.question import Given, Line, refraction_words
from tissue.sources import data

LEAST_CYLINDER_D = 0.5  # less is not asked about: what a turn leaves of it is lost in the rounding
LEAST_APART_D = 0.12  # of two powers, or of a power in two planes
FORMS = ("minus", "plus")


def _power(words, value, sign=""):
    return Line(words, float(value), "D", 2, sign, signed=True)


def _in_form(refraction, plus):
    return refraction.plus() if plus else refraction.minus()


def equivalent(case, rng):
    """Spherical equivalent of the treated refraction, written in either form."""
    plus = picked(rng, (False, True))
    written = _in_form(case.comparison.treatment.refraction, plus)
    if written.cylinder_D == 0:
        return None
    SE = written.power_vector().SE_D
    lines = (
        Line("Sphere", float(written.sphere_D), "D", 3, signed=True),
        Line("Half of the cylinder", float(SE - written.sphere_D), "D", 3, "+", True),
        Line("Spherical equivalent", float(SE), "D", 3, "=", True),
    )
    prompt = "What is the spherical equivalent of this refraction?"
    return asked("equivalent", case, prompt, (case.refraction(plus),), "power", float(SE), lines=lines, signed=True)


def transpose(case, rng):
    """The same refraction in the other cylinder form."""
    plus = picked(rng, (False, True))
    written, other = (_in_form(case.comparison.treatment.refraction, form) for form in (plus, not plus))
    if written.cylinder_D == 0:
        return None
    wanted = FORMS[int(not plus)]
    lines = (
        _power("Sphere", written.sphere_D),
        _power("Cylinder", written.cylinder_D, "+"),
        _power("The new sphere", other.sphere_D, "="),
        Line("The new cylinder, its sign turned", float(other.cylinder_D), "D", 2, signed=True),
        Line("The new axis, 90° further", float(other.axis_deg), "°"),
        Line("Written", text=refraction_words(other)),
    )
    prompt = f"How is this refraction written with a {wanted} cylinder?"
    given = (case.refraction(plus),)
    return asked("transpose", case, prompt, given, "refraction", other, lines=lines, setting=wanted, spelling=wanted)


def steepest_meridian(case, rng):
    """The meridian of the greatest power, whichever form the refraction is written in."""
    plus = picked(rng, (False, True))
    written = _in_form(case.comparison.treatment.refraction, plus)
    along, across = written.powers()
    if written.cylinder_D == 0 or abs(abs(along) - abs(across)) < LEAST_APART_D:
        return None
    A, B = written.axis_deg, (written.axis_deg + 90.0) % 180.0 or 180.0
    answer = float(A if abs(along) > abs(across) else B)
    lines = (
        _power(f"Power along {A:g}°, the axis: the sphere", along),
        _power(f"Power along {B:g}°, across it: sphere and cylinder", across),
        Line("The greater of the two lies along", answer, "°", 0),
    )
    prompt = "Along which meridian does this eye have the greatest power to be corrected, whatever its sign?"
    return asked("meridian", case, prompt, (case.refraction(plus),), "axis", answer, lines=lines)


def vertex(case, rng):
    """The stronger meridian at the corneal plane."""
    treated = case.comparison.treatment.refraction
    powers, cornea = treated.powers(), treated.at_cornea().powers()
    at = int(np.argmax(np.abs(powers)))
    if abs(powers[at] - cornea[at]) < LEAST_APART_D:
        return None
    given = (
        Given("Power of the stronger meridian, spectacle plane", _power("", powers[at]).figure + " D"),
        case.given("vertex_mm"),
    )
    lines = (
        _power("Power at the spectacle plane, F", powers[at]),
        Line("Vertex distance, d", float(treated.vertex_mm), "mm", 1),
        _power("F / (1 − d · F / 1000), at the cornea", cornea[at]),
        _power("Apart", cornea[at] - powers[at], "·"),
    )
    prompt = "What power does this meridian need at the cornea?"
    return asked("vertex", case, prompt, given, "power", float(cornea[at]), lines=lines, signed=True)


SLIPS = {
    "cylinder": lambda S, C, A: (S, -C, A),
    "axis": lambda S, C, A: (S, C, (A + 90.0) % 180.0 or 180.0),
    "sphere": lambda S, C, A: (-S, C, A),
    "form": lambda S, C, A: (S + C, C, A),
}


def slip(case, rng):
    """What would be left if a refraction was typed with a sign, an axis or a sphere of the other form."""
    kind = picked(rng, tuple(SLIPS))
    wanted = case.comparison.treatment.refraction.minus()
    S, C, A, d = wanted.sphere_D, wanted.cylinder_D, wanted.axis_deg, wanted.vertex_mm
    if abs(S if kind == "sphere" else C) < LEAST_CYLINDER_D:
        return None
    typed = Refraction(*SLIPS[kind](S, C, A), d)
    left = residual_of(wanted, 0.0, typed)
    given = Given("To be treated", refraction_words(wanted)), Given("Typed into the laser", refraction_words(typed))
    lines = (
        Line("To be treated, in both forms", text=echo(S, C, A)),
        Line("Typed, in both forms", text=echo(typed.sphere_D, typed.cylinder_D, typed.axis_deg)),
        _power("Spherical equivalent left", left.refraction.power_vector().SE_D),
        Line("Left: to be treated less typed", text=_both(left.refraction)),
        Line("What it looks like", text=str(left.text), sign="·"),
        Line("At the cornea", text=_both(left.at_cornea), sign="·"),
    )
    prompt = (
        "What refraction would be left, as written at the spectacle plane: the one to be treated less the one typed?"
    )
    return asked("slip", case, prompt, given, "refraction", left.refraction, lines=lines, setting=kind)


def _both(refraction):
    return echo(refraction.sphere_D, refraction.cylinder_D, refraction.axis_deg)


def _turned(case, rng):
    """The treated refraction, a turn [°] and what it leaves; None where the cylinder is too small to ask about."""
    turn = float(picked(rng, data("rounds")["settings"]["turns_deg"]))
    treated = case.comparison.treatment.refraction.minus()
    if abs(treated.cylinder_D) < LEAST_CYLINDER_D:
        return None
    return treated, turn, rotation_residual(treated, turn)


def turn_share(case, rng):
    """Share of the cylinder that a rotation leaves."""
    found = _turned(case, rng)
    if found is None:
        return None
    treated, turn, left = found
    answer = float(100.0 * abs(left.cylinder_D) / abs(treated.cylinder_D))
    given = case.refraction(), Given("The eye has turned by", f"{turn:g}°")
    lines = (
        _power("Cylinder that was to be treated", treated.cylinder_D),
        _power(f"Cylinder that a turn of {turn:g}° leaves", left.cylinder_D),
        Line("Share left, 2 · sin of the turn", answer, "%", 1),
    )
    prompt = f"What share of the cylinder does a rotation by {turn:g}° leave, in percent?"
    return asked("turn-share", case, prompt, given, "number", answer, lines=lines, setting=turn)


def turn_left(case, rng):
    """The whole refraction that a rotation leaves."""
    found = _turned(case, rng)
    if found is None:
        return None
    treated, turn, left = found
    given = (
        case.refraction(),
        Given("The treatment lands turned counter-clockwise, seen from the front, by", f"{turn:g}°"),
    )
    lines = (
        _power(f"Cylinder left, twice {abs(treated.cylinder_D):.2f} D by the sine of {turn:g}°", left.cylinder_D),
        _power("Sphere left, half of it with the other sign", left.sphere_D),
        Line("Axis left, halfway between the two less 45°", float(left.axis_deg), "°", 1),
        Line("Left, in both forms", text=_both(left)),
        _power("Spherical equivalent left", left.power_vector().SE_D, "·"),
    )
    prompt = f"Which sphere, cylinder and axis does a rotation by {turn:g}° leave?"
    return asked("turn-left", case, prompt, given, "refraction", left, lines=lines, setting=turn)
