"""Questions on the refraction: forms, meridians, the corneal plane, slips and rotation."""

from collections.abc import Callable

import numpy as np
from numpy.random import Generator

from tissue.entry.notation import echo
from tissue.eye.refraction import Refraction
from tissue.ground.sources import data
from tissue.ground.vocabulary import Floats
from tissue.optics.rotation import residual_of, rotation_residual
from tissue.rounds.cases import Case, asked, picked
from tissue.rounds.line import Given, Line, Slip
from tissue.rounds.question import Question, refraction_words

LEAST_CYLINDER_D = 0.5  # smaller cylinders are not asked about: what a turn leaves of them is lost in rounding
LEAST_APART_D = 0.12  # least difference of two powers, or of a power in two planes, to ask about
FORMS = ("minus", "plus")


def _power(words: str, value: Floats, sign: str = "") -> Line:
    return Line(words, float(value), "D", 2, sign, signed=True)


def _in_form(refraction: Refraction, plus: bool) -> Refraction:
    return refraction.plus() if plus else refraction.minus()


def equivalent(case: Case, rng: Generator) -> Question | None:
    """Spherical equivalent of the treated refraction, written in either form."""
    plus = picked(rng, (False, True))
    written = _in_form(case.comparison.treatment.refraction, plus)
    if written.cylinder_D == 0:
        return None
    S, C = float(written.sphere_D), float(written.cylinder_D)
    SE = float(written.power_vector().SE_D)
    lines = (
        Line("Sphere", S, "D", 3, signed=True),
        Line("Half of the cylinder", SE - S, "D", 3, "+", True).by("{cylinder} / 2", cylinder=(C, 2)),
        Line("Spherical equivalent", SE, "D", 3, "=", True),
    )
    slips = (
        Slip("form", S - C / 2.0, "the cylinder is taken with the sign of the other form"),
        Slip("form", S + 1.5 * C, "the sphere is taken from the other form"),
        Slip("two", S + C, "the whole cylinder is taken, not half of it"),
    )
    prompt, given = "What is the spherical equivalent of this refraction?", (case.refraction(plus),)
    return asked("equivalent", case, prompt, given, "power", SE, lines=lines, signed=True, slips=slips)


def transpose(case: Case, rng: Generator) -> Question | None:
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
        _power("The new cylinder, its sign turned", other.cylinder_D).by(
            "−1 · {cylinder}", cylinder=(float(written.cylinder_D), 2)
        ),
        _axis("The new axis, across the old one", other.axis_deg, written.axis_deg),
        Line("Written", text=refraction_words(other)),
    )
    prompt = f"How is this refraction written with a {wanted} cylinder?"
    given, slips = (case.refraction(plus),), _transposed_wrongly(written, other)
    more = {"setting": wanted, "spelling": wanted, "slips": slips}
    return asked("transpose", case, prompt, given, "refraction", other, lines=lines, **more)


def _axis(words: str, value: Floats, before: Floats) -> Line:
    """A Line of the axis across another one."""
    formula = "{axis} + 90" if value > before else "{axis} − 90"
    return Line(words, float(value), "°").by(formula, axis=(float(before), 0))


def _transposed_wrongly(written: Refraction, other: Refraction) -> tuple[Slip, ...]:
    """The refractions that result when a part is left in the old form."""
    S, C, A, d = other.sphere_D, other.cylinder_D, other.axis_deg, other.vertex_mm
    return (
        Slip("form", Refraction(written.sphere_D, C, A, d), "the sphere is left in the old form"),
        Slip("form", Refraction(S, C, written.axis_deg, d), "the axis is left in the old form"),
        Slip("sign", Refraction(S, -C, A, d), "the cylinder keeps its sign"),
        Slip(
            "sign", Refraction(written.sphere_D - written.cylinder_D, C, A, d), "the cylinder is taken off the sphere"
        ),
    )


def steepest_meridian(case: Case, rng: Generator) -> Question | None:
    """The meridian of the greatest power, whichever form the refraction is written in."""
    plus = picked(rng, (False, True))
    written = _in_form(case.comparison.treatment.refraction, plus)
    along, across = written.powers()
    if written.cylinder_D == 0 or np.abs(np.abs(along) - np.abs(across)) < LEAST_APART_D:
        return None
    A, B = written.axis_deg, (written.axis_deg + 90.0) % 180.0 or 180.0
    answer = float(A if np.abs(along) > np.abs(across) else B)
    lines = (
        _power(f"Power along {A:g}°, the axis: the sphere", along),
        _power(f"Power along {B:g}°, across it: sphere and cylinder", across).by(
            "{sphere} + {cylinder}", sphere=(float(along), 2), cylinder=(float(written.cylinder_D), 2)
        ),
        Line("The greater of the two lies along", answer, "°", 0),
    )
    prompt = "Along which meridian does this eye have the greatest power to be corrected, whatever its sign?"
    slips = (
        Slip("form", float(B if answer == A else A), "the axis is taken for the meridian of the other form"),
        Slip("other-eye", (180.0 - answer) or 180.0, "the meridian is mirrored, as it would lie in the other eye"),
    )
    return asked("meridian", case, prompt, (case.refraction(plus),), "axis", answer, lines=lines, slips=slips)


def vertex(case: Case, rng: Generator) -> Question | None:
    """The stronger meridian at the corneal plane."""
    treated = case.comparison.treatment.refraction
    powers, cornea = treated.powers(), treated.at_cornea().powers()
    at = int(np.abs(powers[1]) > np.abs(powers[0]))
    F, Fc, d = float(powers[at]), float(cornea[at]), float(treated.vertex_mm)
    if abs(F - Fc) < LEAST_APART_D:
        return None
    given = (
        Given("Power of the stronger meridian, spectacle plane", _power("", F).figure + " D"),
        case.given("vertex_mm"),
    )
    lines = (
        _power("Power at the spectacle plane, F", F),
        Line("Vertex distance, d", d, "mm", 1),
        _power("Power at the cornea", Fc).by("{F} / (1 − {d} · {F} / 1000)", F=(F, 2), d=(d, 1)),
        _power("Apart", Fc - F, "·").by("{at the cornea} − {F}", {"at the cornea": (Fc, 2), "F": (F, 2)}),
    )
    slips = (
        Slip("plane", F),
        Slip("sign", F / (1.0 + d * F / 1000.0), "the vertex distance is taken with the other sign"),
    )
    prompt, more = "What power does this meridian need at the cornea?", {"signed": True, "slips": slips}
    return asked("vertex", case, prompt, given, "power", Fc, lines=lines, **more)


def target(case: Case, rng: Generator) -> Question | None:
    """What is treated along the stronger meridian where a target refraction is wanted."""
    aim = float(picked(rng, data("rounds")["settings"]["targets_D"]))
    measured = case.comparison.measured
    at = int(np.abs(measured.powers()[1]) > np.abs(measured.powers()[0]))
    F, d = float(measured.powers()[at]), float(measured.vertex_mm)
    answer = float(measured.less(aim).powers()[at])
    if case.reported or F > 2.0 * aim:
        return None
    Fc, Tc = (power / (1.0 - d * power / 1000.0) for power in (F, aim))
    given = (
        Given("Power of the stronger meridian, spectacle plane", _power("", F).figure + " D"),
        Given("Wanted in the end, spectacle plane", _power("", aim).figure + " D"),
        case.given("vertex_mm"),
    )
    to_cornea, known = "{F} / (1 − {d} · {F} / 1000)", {"d": (d, 1)}
    lines = (
        _power("The meridian, at the cornea", Fc).by(to_cornea, known | {"F": (F, 2)}),
        _power("What is wanted, at the cornea", Tc, "−").by(to_cornea, known | {"F": (aim, 2)}),
        _power("To be treated, at the cornea", Fc - Tc, "="),
        _power("To be treated, at the spectacle plane", answer).by(
            "{treated} / (1 + {d} · {treated} / 1000)", known | {"treated": (Fc - Tc, 2)}
        ),
    )
    slips = (
        Slip("plane", F - aim, "the target is taken off at the spectacle plane, not at the cornea"),
        Slip("plane", Fc - Tc, "the power at the cornea is given"),
        Slip("sign", F + aim, "the target is added, not taken off"),
    )
    prompt = "Which power is to be treated along this meridian, as written at the spectacle plane?"
    more = {"setting": f"{aim:g}", "signed": True, "slips": slips}
    return asked("target", case, prompt, given, "power", answer, lines=lines, **more)


SLIPS: dict[str, Callable[[Floats, Floats, Floats], tuple[Floats, Floats, Floats]]] = {
    "cylinder": lambda S, C, A: (S, -C, A),
    "axis": lambda S, C, A: (S, C, (A + 90.0) % 180.0 or 180.0),
    "sphere": lambda S, C, A: (-S, C, A),
    "form": lambda S, C, A: (S + C, C, A),
}


def slip(case: Case, rng: Generator) -> Question | None:
    """What would be left if a refraction were typed with a sign, an axis or a sphere of the other form."""
    kind = picked(rng, tuple(SLIPS))
    wanted = case.comparison.treatment.refraction.minus()
    S, C, A, d = wanted.sphere_D, wanted.cylinder_D, wanted.axis_deg, wanted.vertex_mm
    if np.abs(S if kind == "sphere" else C) < LEAST_CYLINDER_D:
        return None
    typed = Refraction(*SLIPS[kind](S, C, A), d)
    left = residual_of(wanted, 0.0, typed)
    apart = float(wanted.sphere_D - typed.sphere_D), float(wanted.cylinder_D - typed.cylinder_D)
    slips = (
        Slip("form", Refraction(*apart, A, d), "the columns are subtracted though the axes differ"),
        Slip("sign", residual_of(typed, 0.0, wanted).refraction, "the two are subtracted the other way round"),
    )
    given = Given("To be treated", refraction_words(wanted)), Given("Typed into the laser", refraction_words(typed))
    lines = (
        Line("To be treated, in both forms", text=echo(S, C, A)),
        Line("Typed, in both forms", text=echo(typed.sphere_D, typed.cylinder_D, typed.axis_deg)),
        *_vector_lines(wanted, typed, left.refraction),
        Line("Left: to be treated less typed", text=_both(left.refraction)),
        Line("What it looks like", text=str(left.text), sign="·"),
        Line("At the cornea", text=_both(left.at_cornea), sign="·"),
    )
    prompt = (
        "What refraction would be left, as written at the spectacle plane: the one to be treated less the one typed?"
    )
    more = {"setting": kind, "slips": slips}
    return asked("slip", case, prompt, given, "refraction", left.refraction, lines=lines, **more)


def _vector_lines(wanted: Refraction, typed: Refraction, left: Refraction) -> list[Line]:
    """The difference of two refractions by their power vectors, and what it is as sphere and cylinder."""
    SE, J0, J45 = (float(part) for part in left.power_vector())
    names = ("S", "C", "A")
    parts = {name: (float(one), 2 * (name != "A")) for name, one in zip(names, _three(wanted), strict=True)}
    parts |= {f"{name} typed": (float(one), 2 * (name != "A")) for name, one in zip(names, _three(typed), strict=True)}
    turned = "{one}(2 · {{A typed}}°) · {{C typed}} / 2 − {one}(2 · {{A}}°) · {{C}} / 2"
    C = float(left.cylinder_D)
    whole = _power("Spherical equivalent left", SE).by("{S} + {C} / 2 − ({S typed} + {C typed} / 2)", parts)
    if wanted.cylinder_D == 0 and typed.cylinder_D == 0:
        return [whole]
    return [
        whole,
        _power("Crossed cylinder J0 left", J0).by(turned.format(one="cos"), parts),
        _power("Crossed cylinder J45 left", J45).by(turned.format(one="sin"), parts),
        _power("Cylinder left", C).by("−2 · √({J0}² + {J45}²)", J0=(J0, 2), J45=(J45, 2)),
        _power("Sphere left", left.sphere_D).by(
            "{SE left} − {cylinder left} / 2", {"SE left": (SE, 2), "cylinder left": (C, 2)}
        ),
    ]


def _three(refraction: Refraction) -> tuple[Floats, Floats, Floats]:
    return refraction.sphere_D, refraction.cylinder_D, refraction.axis_deg


def _both(refraction: Refraction) -> str:
    return echo(refraction.sphere_D, refraction.cylinder_D, refraction.axis_deg)


def _turned(case: Case, rng: Generator) -> tuple[Refraction, float, Refraction] | None:
    """The treated refraction, a turn [°] and what it leaves; None where the cylinder is too small to ask about."""
    turn = float(picked(rng, data("rounds")["settings"]["turns_deg"]))
    treated = case.comparison.treatment.refraction.minus()
    if np.abs(treated.cylinder_D) < LEAST_CYLINDER_D:
        return None
    return treated, turn, rotation_residual(treated, turn)


def turn_share(case: Case, rng: Generator) -> Question | None:
    """Share of the cylinder that a rotation leaves."""
    found = _turned(case, rng)
    if found is None:
        return None
    treated, turn, left = found
    answer = float(100.0 * np.abs(left.cylinder_D / treated.cylinder_D))
    given = case.refraction(), Given("The eye has turned by", f"{turn:g}°")
    lines = (
        _power("Cylinder that was to be treated", treated.cylinder_D),
        _cylinder_left(f"Cylinder that a turn of {turn:g}° leaves", treated, turn, left),
        Line("Share left", answer, "%", 1).by("100 · 2 · sin({turn}°)", turn=(turn, 0)),
    )
    slips = (
        Slip("two", answer / 2.0, "the sine is taken once, not twice"),
        Slip("two", 200.0 * float(np.sin(np.radians(2.0 * turn))), "the turn is doubled before its sine is taken"),
        Slip("sign", 100.0 - answer, "the share that is treated is given, not the one that is left"),
    )
    prompt = f"What share of the cylinder does a rotation by {turn:g}° leave, in percent?"
    return asked("turn-share", case, prompt, given, "number", answer, lines=lines, setting=turn, slips=slips)


def _cylinder_left(words: str, treated: Refraction, turn: float, left: Refraction) -> Line:
    """A Line of the cylinder that a turn [°] leaves."""
    size = abs(float(treated.cylinder_D))
    return _power(words, left.cylinder_D).by("−2 · {cylinder} · sin({turn}°)", cylinder=(size, 2), turn=(turn, 0))


def turn_left(case: Case, rng: Generator) -> Question | None:
    """The whole refraction that a rotation leaves."""
    found = _turned(case, rng)
    if found is None:
        return None
    treated, turn, left = found
    given = (
        case.refraction(),
        Given("The treatment lands turned counter-clockwise, seen from the front, by", f"{turn:g}°"),
    )
    A, size = float(left.axis_deg), float(left.cylinder_D)
    lines = (
        _cylinder_left("Cylinder left", treated, turn, left),
        _power("Sphere left", left.sphere_D).by("−1 · {cylinder left} / 2", {"cylinder left": (size, 2)}),
        _halfway(treated, turn, A),
        Line("Left, in both forms", text=_both(left)),
        _power("Spherical equivalent left", left.power_vector().SE_D, "·").by(
            "{sphere left} + {cylinder left} / 2",
            {"sphere left": (float(left.sphere_D), 2), "cylinder left": (size, 2)},
        ),
    )
    slips = (
        Slip("sign", rotation_residual(treated, -turn), "the turn goes the other way"),
        Slip("form", Refraction(left.sphere_D, left.cylinder_D, A + 90.0), "the axis belongs to the other form"),
        Slip("two", Refraction(left.sphere_D / 2.0, left.cylinder_D / 2.0, A), "the sine is taken once, not twice"),
    )
    prompt = f"Which sphere, cylinder and axis does a rotation by {turn:g}° leave?"
    return asked("turn-left", case, prompt, given, "refraction", left, lines=lines, setting=turn, slips=slips)


def _halfway(treated: Refraction, turn: float, axis: float) -> Line:
    """A Line of the axis that a turn [°] leaves: halfway between the two, less 45°, in 1 to 180."""
    once = float(treated.axis_deg) + turn / 2.0 - 45.0
    more = {0: "", 1: " + 180", -1: " − 180"}[round((axis - once) / 180.0)]
    words = "Axis left, halfway between the two less 45°"
    return Line(words, axis, "°", 1).by(
        f"{{axis}} + {{turn}} / 2 − 45{more}", axis=(float(treated.axis_deg), 0), turn=(turn, 0)
    )
