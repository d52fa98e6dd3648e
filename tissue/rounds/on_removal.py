"""Questions on the removal: where it is deepest, the thumb rule, and what a wider zone costs."""

import numpy as np

from tissue.removal.removal import deepest_if_wider_um
from tissue.rounds.cases import asked, micrometres, picked, um_line
from tissue.rounds.question import Given, Line, written
from tissue.sources import data

CENTRE, RING = "at the treatment centre", "on a ring about the centre, alike in every direction"
NEAR_UM = 1e-6  # deepest removal this close to the central one lies at the centre
CLEAR_UM = 1.0  # a deepest place that stands out by less is not asked about
LEAST_D, LEAST_UM = 0.5, 0.5  # powers and costs too small to be asked about


def _ablation(case):
    """The Removal of the ablation where one is available, and its way; None, None where none is."""
    there = [one.option for one in case.comparison.results.values() if case.may_ask_about(one) and one.option.ablates]
    return (there[0].removal, there[0].name) if there else (None, None)


def deepest(case, rng):
    """Where the ablation is deepest: at the centre, along a meridian, or on a ring."""
    taken, name = _ablation(case)
    if taken is None:
        return None
    treated = case.comparison.treatment.refraction.minus()
    A = float(treated.axis_deg)
    choices = (CENTRE, f"off the centre, along {A:g}°", f"off the centre, along {(A + 90.0) % 180.0 or 180.0:g}°", RING)
    over = taken.max_um - taken.central_um
    if NEAR_UM < over < CLEAR_UM:
        return None
    answer = _where(taken, treated, choices) if over >= CLEAR_UM else CENTRE
    along, across = treated.at_cornea().powers()
    x, y = taken.max_x_mm - taken.centre_x_mm, taken.max_y_mm - taken.centre_y_mm
    lines = [
        Line(f"Power at the cornea along {A:g}°", float(along), "D", 2, signed=True),
        Line("Power at the cornea across it", float(across), "D", 2, signed=True),
        um_line("Removal at the treatment centre", taken.central_um),
        um_line("Removal where it is deepest", taken.max_um),
        Line("Its distance from the centre", float(np.hypot(x, y)), "mm", 1),
        Line("Deepest", text=answer),
    ]
    given = [case.refraction(), case.given("zone_mm"), case.given("ablation_blend_mm")]
    prompt = "Where is the ablation of this refraction deepest?"
    return asked("deepest", case, prompt, given, "one", answer, lines=lines, choices=choices, shows=case.comparison)


def _where(taken, treated, choices):
    """The choice for a removal that is deepest off its centre."""
    if treated.cylinder_D == 0:
        return RING
    u, v = taken.axes(taken.max_x_mm, taken.max_y_mm)
    return choices[1] if abs(u) > abs(v) else choices[2]


def thumb_rule_um(zone_mm, power_D):
    """Removal by the thumb rule [µm]: Z²/3 for every dioptre.

    Args:
        zone_mm: diameter of the optical zone [mm].
        power_D: power to be corrected at the cornea, without its sign [D].

    Source: munnerlyn1988

    >>> float(thumb_rule_um(6.0, 4.0))
    48.0
    """
    return np.square(zone_mm) * power_D / data("rounds")["thumb_rule"]["per"]


def _myopic(case):
    """The Removal of an ablation and the greatest power at the cornea [D] of a myopic eye; None for another one."""
    taken, _ = _ablation(case)
    powers = case.comparison.treatment.refraction.at_cornea().powers()
    if taken is None or max(powers) > 0 or min(powers) > -LEAST_D:
        return None
    return taken, -float(min(powers))


def _thumb_given(case, power):
    return [
        case.given("zone_mm"),
        Given("Power of the stronger meridian, at the cornea", f"{written(-power, 2)} D"),
    ]


def thumb(case, rng):
    """Removal by the thumb rule for the stronger meridian."""
    found = _myopic(case)
    if found is None:
        return None
    taken, power = found
    zone = float(taken.zone_mm)
    rule = float(thumb_rule_um(zone, power))
    exact = taken.profile.central_um()[0]
    lines = [
        Line("Squared zone, a third of it: for one dioptre", float(thumb_rule_um(zone, 1.0)), "µm", 1),
        Line("Dioptres at the cornea", power, "D", 2),
        um_line("Removal by the thumb rule", rule),
        um_line("The surfaces themselves, no blend, no base", exact, "·"),
        um_line("With the blend of the plan", sum(taken.profile.central_um()), "·"),
    ]
    prompt = "How deep is the removal at the centre by the thumb rule, a third of the squared zone for each dioptre?"
    return asked("thumb", case, prompt, _thumb_given(case, power), "number", rule, lines=lines)


def thumb_apart(case, rng):
    """How far the surfaces themselves lie over the thumb rule."""
    found = _myopic(case)
    if found is None:
        return None
    taken, power = found
    rule, exact = float(thumb_rule_um(float(taken.zone_mm), power)), float(taken.profile.central_um()[0])
    steep = taken.profile.principal.min()
    given = [*_thumb_given(case, power), case.given("radius_mm"), case.given("profile")]
    if case.comparison.treatment.profile == "conic":
        given += [case.given("asphericity"), case.given("target_asphericity")]
    lines = [
        um_line("The surfaces themselves, no blend, no base", exact),
        um_line("Thumb rule", rule, "−"),
        um_line("The surfaces over the rule", exact - rule, "=", True),
        Line("Radius before", float(1.0 / taken.profile.before_per_mm), "mm", 3, "·"),
        Line("Radius after, along the stronger meridian", float(1.0 / steep), "mm", 3, "·"),
    ]
    prompt = (
        "How far does the central removal lie over the thumb rule, taken from the two surfaces themselves, with no "
        "blend and no base?"
    )
    return asked("thumb-apart", case, prompt, given, "number", exact - rule, lines=lines, signed=True)


def zone(case, rng):
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
        Line("By the squares of the zones", _by_squares(taken, by), "µm", 1, "·"),
    ]
    prompt = f"How much deeper does the ablation go where the zone is {by:g} mm wider?"
    found = asked("zone", case, prompt, given, "number", cost, lines=lines, setting=by, shows=case.comparison)
    return found if abs(_by_squares(taken, by) - cost) <= found.tolerance else None


def _by_squares(taken, by_mm):
    """What a wider zone adds [µm] if the removal grew with the squared zone."""
    return float(taken.max_um * (thumb_rule_um(taken.zone_mm + by_mm, 1.0) / thumb_rule_um(taken.zone_mm, 1.0) - 1.0))
