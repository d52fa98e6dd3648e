"""Questions on the removal: where it is deepest, the thumb rule, and what a wider zone costs."""

import numpy as np
from numpy.random import Generator

from tissue.eye.cornea import sag_mm
from tissue.eye.refraction import Refraction
from tissue.ground.sources import data
from tissue.ground.vocabulary import Floats
from tissue.removal.removal import POWER_PER_CURVATURE, Removal, deepest_if_wider_um
from tissue.rounds.cases import Case, asked, micrometres, picked, um_line
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question

CENTRE, RING = "at the treatment centre", "on a ring about the centre, alike in every direction"
NEAR_UM = 1e-6  # deepest removal this close to the central one lies at the centre
CLEAR_UM = 1.0  # if the deepest place stands out by less, it is not asked about
RULE = "Most is taken along the most minus meridian; where a meridian is plus, off the centre along it."
EDGE_UM = 0.05  # a removal this close to the difference of the sags at the edge counts as that difference
LEAST_D, LEAST_UM = 0.5, 0.5  # smaller powers and costs are not asked about


def _ablation(case: Case) -> tuple[Removal, str] | tuple[None, None]:
    """The Removal of the ablation where one is available, and its way; None, None where none is."""
    there = [one.option for one in case.comparison.results.values() if case.may_ask_about(one) and one.option.ablates]
    return (there[0].removal, there[0].name) if there else (None, None)


def deepest(case: Case, rng: Generator) -> Question | None:
    """Where the ablation is deepest: at the centre, along a meridian, or on a ring."""
    taken, _ = _ablation(case)
    if taken is None:
        return None
    treated = case.comparison.treatment.refraction.minus()
    A = float(treated.axis_deg)
    choices = (CENTRE, f"off the centre, along {A:g}°", f"off the centre, along {(A + 90.0) % 180.0 or 180.0:g}°", RING)
    over = taken.max_um - taken.central_um
    if NEAR_UM < over < CLEAR_UM:
        return None
    answer = _where(taken, treated, choices) if over >= CLEAR_UM else CENTRE
    powers, at_cornea = treated.powers(), treated.at_cornea().powers()
    x, y = taken.max_x_mm - taken.centre_x_mm, taken.max_y_mm - taken.centre_y_mm
    lines = [
        _at_cornea(f"Power at the cornea along {A:g}°", at_cornea[0], powers[0], treated),
        _at_cornea("Power at the cornea across it", at_cornea[1], powers[1], treated),
        um_line("Removal at the treatment centre", taken.central_um),
        um_line("Removal where it is deepest", taken.max_um),
        Line("Its distance from the centre", float(np.hypot(x, y)), "mm", 1).by(
            "√({x}² + {y}²)", x=(float(x), 2), y=(float(y), 2)
        ),
        Line(RULE, sign="·"),
        Line("Deepest", text=answer),
    ]
    given = [case.refraction(), case.given("zone_mm"), case.given("ablation_blend_mm")]
    prompt = "Where is the ablation of this refraction deepest?"
    wrong = {choices[1]: choices[2], choices[2]: choices[1]}.get(answer)
    slips = (Slip("form", wrong, "the axis is taken for the meridian across it"),) if wrong else ()
    more = {"choices": choices, "shows": case.comparison, "slips": slips}
    return asked("deepest", case, prompt, given, "one", answer, lines=lines, **more)


def _at_cornea(words: str, value: Floats, power: Floats, treated: Refraction) -> Line:
    """A Line of a power at the cornea, from the one at the spectacle plane."""
    line = Line(words, float(value), "D", 2, signed=True)
    return line.by("{F} / (1 − {d} · {F} / 1000)", F=(float(power), 2), d=(float(treated.vertex_mm), 1))


def _where(taken: Removal, treated: Refraction, choices: tuple[str, ...]) -> str:
    """The choice for a removal that is deepest off its centre."""
    if treated.cylinder_D == 0:
        return RING
    u, v = taken.axes(taken.max_x_mm, taken.max_y_mm)
    return choices[1] if np.abs(u) > np.abs(v) else choices[2]


def thumb_rule_um(zone_mm: Floats, power_D: Floats) -> Floats:
    """Removal by the rule of thumb [µm]: Z²/3 for each dioptre.

    Args:
        zone_mm: diameter of the optical zone [mm].
        power_D: power to be corrected at the cornea, without its sign [D].

    Source: munnerlyn1988

    >>> float(thumb_rule_um(6.0, 4.0))
    48.0
    """
    return np.square(zone_mm) * power_D / data("rounds")["thumb_rule"]["per"]


def _myopic(case: Case) -> tuple[Removal, float] | None:
    """The Removal of an ablation and the greatest power at the cornea [D] of a myopic eye; None for another one."""
    taken, _ = _ablation(case)
    powers = case.comparison.treatment.refraction.at_cornea().powers()
    if taken is None or max(powers) > 0 or min(powers) > -LEAST_D:
        return None
    return taken, -float(min(powers))


def _thumb_given(case: Case, power: float) -> list[Given]:
    return [
        case.given("zone_mm"),
        Given("Power of the stronger meridian, at the cornea", f"{written(-power, 2)} D"),
    ]


def thumb(case: Case, rng: Generator) -> Question | None:
    """Removal by the rule of thumb for the stronger meridian."""
    found = _myopic(case)
    if found is None:
        return None
    taken, power = found
    zone = float(taken.zone_mm)
    one, rule = float(thumb_rule_um(zone, 1.0)), float(thumb_rule_um(zone, power))
    exact = taken.profile.central_um()[0]
    lines = [
        Line("Squared zone, a third of it: for one dioptre", one, "µm", 1).by("{zone}² / 3", zone=(zone, 2)),
        Line("Dioptres at the cornea", power, "D", 2),
        um_line("Removal by the thumb rule", rule).by("{zone}² / 3 · {dioptres}", zone=(zone, 2), dioptres=(power, 2)),
        um_line("The surfaces themselves, no blend, no base", exact, "·"),
        um_line("With the blend of the plan", sum(taken.profile.central_um()), "·"),
    ]
    prompt = "How deep is the removal at the centre by the thumb rule, a third of the squared zone for each dioptre?"
    slips = (
        Slip("radius", rule / 4.0, "the radius of the zone is squared, not its diameter"),
        Slip("plane", float(thumb_rule_um(zone, -min(case.comparison.treatment.refraction.powers())))),
    )
    return asked("thumb", case, prompt, _thumb_given(case, power), "number", rule, lines=lines, slips=slips)


def thumb_apart(case: Case, rng: Generator) -> Question | None:
    """How much more the surfaces themselves give than the rule of thumb."""
    found = _myopic(case)
    if found is None:
        return None
    taken, power = found
    rule, exact = float(thumb_rule_um(taken.zone_mm, power)), float(taken.profile.central_um()[0])
    given = [*_thumb_given(case, power), case.given("radius_mm"), case.given("profile")]
    if case.comparison.treatment.profile == "conic":
        given += [case.given("asphericity"), case.given("target_asphericity")]
    zone = float(taken.zone_mm)
    lines = [
        _between_surfaces(taken, exact),
        um_line("Thumb rule", rule, "−").by("{zone}² / 3 · {dioptres}", zone=(zone, 2), dioptres=(power, 2)),
        um_line("The surfaces over the rule", exact - rule, "=", True),
        *_radii(taken, power),
    ]
    slips = (Slip("radius", exact - rule / 4.0, "the rule squares the radius of the zone, not its diameter"),)
    prompt = (
        "How far does the central removal lie over the thumb rule, taken from the two surfaces themselves, with no "
        "blend and no base?"
    )
    more = {"signed": True, "slips": slips}
    return asked("thumb-apart", case, prompt, given, "number", exact - rule, lines=lines, **more)


def _radii(taken: Removal, power: float) -> list[Line]:
    """Lines beside a removal: the radii of the front before and after, along the stronger meridian."""
    before, after = float(1.0 / taken.profile.before_per_mm), float(1.0 / taken.profile.principal.min())
    formula, quantities = "{n} / ({n} / {R} − {dioptres})", {"n": (POWER_PER_CURVATURE, 0), "R": (before, 3)}
    return [
        Line("Radius before", before, "mm", 3, "·"),
        Line("Radius after, along the stronger meridian", after, "mm", 3, "·").by(
            formula, quantities | {"dioptres": (power, 2)}
        ),
    ]


def _between_surfaces(taken: Removal, exact: float) -> Line:
    """A Line of what lies between the two surfaces: their sags at the edge, where they are farthest apart there."""
    line, shape = um_line("The surfaces themselves, no blend, no base", exact), taken.profile
    a, R = float(shape.zone_radius_mm), (float(1.0 / shape.before_per_mm), float(1.0 / shape.principal.min()))
    K = float(shape.K_before), float(shape.K_after)
    if abs(_sag_um(a, R[0], K[0]) - _sag_um(a, R[1], K[1]) - exact) > EDGE_UM:
        return line  # the two surfaces are parallel inside the zone, and farthest apart there
    sags = "({a}² / (%s + √(%s² − {%s} · {a}²)))"
    formula = " − ".join(sags % (name, name, factor) for name, factor in (("{R₁}", "K₁"), ("{R₂}", "K₂")))
    quantities = {"a": (a, 3), "R₁": (R[0], 3), "R₂": (R[1], 3), "K₁": (K[0], 2), "K₂": (K[1], 2)}
    return line.by(f"1000 · ({formula})", quantities)


def _sag_um(radius_mm: float, R_mm: float, K: float) -> float:
    """Sag of a conic [µm] at a radius [mm]."""
    curvature = 1.0 / R_mm
    return 1000.0 * float(sag_mm(curvature * radius_mm**2, K * curvature**2 * radius_mm**2))


def zone(case: Case, rng: Generator) -> Question | None:
    """What a wider zone adds to the deepest removal."""
    by = float(picked(rng, data("rounds")["settings"]["zone_over_mm"]))
    taken, _ = _ablation(case)
    if taken is None:
        return None
    wider = float(deepest_if_wider_um(taken, by))
    cost = wider - float(taken.max_um)
    if np.isnan(cost) or cost < LEAST_UM:
        return None
    given = [case.refraction(), case.given("zone_mm"), micrometres("Removal of the ablation, deepest", taken.max_um)]
    given.append(Given("The zone grows by", f"{by:g} mm, the blend is held"))
    lines = [
        Line(f"Deepest removal with a zone of {taken.zone_mm + by:g} mm", wider, "µm", 1),
        Line(f"With a zone of {taken.zone_mm:g} mm", float(taken.max_um), "µm", 1, "−"),
        Line("The wider zone costs", cost, "µm", 1, "="),
        Line("By the squares of the zones", _by_squares(taken, by), "µm", 1, "·").by(
            "{deepest} · ({zone}² − {zone before}²) / {zone before}²",
            {
                "deepest": (float(taken.max_um), 0),
                "zone": (float(taken.zone_mm) + by, 2),
                "zone before": (float(taken.zone_mm), 2),
            },
        ),
    ]
    doubled = float(deepest_if_wider_um(taken, 2.0 * by)) - float(taken.max_um)
    slips = (
        Slip("radius", doubled, "the radius is widened by so much, not the diameter"),
        Slip("radius", _by_squares(taken, 2.0 * by), "the radius is widened by so much, not the diameter"),
    )
    prompt = f"How much deeper does the ablation go where the zone is {by:g} mm wider?"
    more = {"setting": by, "shows": case.comparison, "slips": tuple(one for one in slips if np.isfinite(one.answer))}
    found = asked("zone", case, prompt, given, "number", cost, lines=lines, **more)
    return found if abs(_by_squares(taken, by) - cost) <= found.tolerance else None


def _by_squares(taken: Removal, by_mm: float) -> float:
    """What a wider zone would add [µm] if the removal grew with the square of the zone."""
    return float(taken.max_um * (thumb_rule_um(taken.zone_mm + by_mm, 1.0) / thumb_rule_um(taken.zone_mm, 1.0) - 1.0))
