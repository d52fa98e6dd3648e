"""Ways to an enhancement after a lenticule extraction; depths are those of the cornea before it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from tissue.budget.budget import deepest_off_centre
from tissue.budget.comparison import Comparison
from tissue.budget.over_map import covers, epithelium_lacks_mm
from tissue.budget.place import Place
from tissue.budget.spread import Z95
from tissue.budget.strength.relationship import relationships
from tissue.eye.refraction import Refraction
from tissue.ground.errors import given, number
from tissue.ground.limits import of_kind, single_eye
from tissue.ground.vocabulary import NOT_GIVEN, Floats, least_written
from tissue.removal.options import Option, flap, lenticule, surface
from tissue.removal.removal import Removal, Treatment, removal
from tissue.routes.clearance import least_over
from tissue.routes.reserve import epithelium_gain_um, reserve_um
from tissue.routes.route import NO_CLEARANCE, Route, route, too_wide
from tissue.routes.ways import ON_SURFACE, Way, enhancement_ways


@dataclass(frozen=True, eq=False)
class Enhancement:
    """The enhancement of one eye: its removals, its routes, and what the primary treatment left of the bed.

    reserve_um: central bed minus the line [µm]. cap_needed_um: thinnest cap in which the thin flap would have had
    room [µm]; NaN where there is nothing to treat. why_not: a sentence where the primary treatment has no figures.
    """

    residual: Refraction
    ablation: Removal
    extracted: Removal
    reserve_um: Floats
    cap_needed_um: Floats
    routes: tuple[Route, ...]
    why_not: str


def enhancement(
    comparison: Comparison,
    residual: Refraction,
    ablation_blend_mm: Floats = NOT_GIVEN,
    lenticule_blend_mm: Floats = NOT_GIVEN,
    base_um: Floats = NOT_GIVEN,
) -> Enhancement:
    """The routes of an enhancement for one eye.

    Args:
        comparison: Comparison of one eye, the primary treatment as planned.
        residual: Refraction to be treated then.
        ablation_blend_mm, lenticule_blend_mm: blends [mm], where the plan gives them; else the ramp of the residual.
        base_um: base [µm], where the plan gives it; else the ramp of the residual.

    Raises:
        EyeError: a zone that the surfaces of the residual do not fill.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> [r.available for r in enhancement(plan, Refraction(-0.75)).routes]
    [True, False, True, True]
    """
    of_kind(comparison=(comparison, Comparison), residual=(residual, Refraction))
    given_rows = {"ablation_blend_mm": ablation_blend_mm, "lenticule_blend_mm": lenticule_blend_mm, "base_um": base_um}
    single_eye(
        comparison.cornea, comparison.treatment, residual, *(number(value, name) for name, value in given_rows.items())
    )
    second = second_removals(comparison, residual, ablation_blend_mm, lenticule_blend_mm, base_um)
    first, why_not = comparison.under_cap, ""
    if not first.available:
        why_not = f"The primary treatment, {first.option.title}, has no figures: {first.why_not}."
    ways = enhancement_ways()
    makers = {ON_SURFACE: _surface, "thin-flap": _thin_flap, "cap-to-flap": _cap_to_flap, "deeper-lenticule": _deeper}
    needed = np.where(second.ablation.t_max_um > 0, cap_needed_um(comparison, second.ablation), np.nan)[()]
    return Enhancement(
        residual=residual,
        ablation=second.ablation,
        extracted=second.extracted,
        reserve_um=reserve_um(comparison, first.option.name),
        cap_needed_um=needed,
        routes=tuple(make(comparison, second, ways[name], why_not) for name, make in makers.items()),
        why_not=why_not,
    )


class Second(NamedTuple):
    """The removals of an enhancement: as an ablation, and as a lenticule with its base."""

    ablation: Removal
    extracted: Removal


def second_removals(
    comparison: Comparison,
    residual: Refraction,
    ablation_blend_mm: Floats = NOT_GIVEN,
    lenticule_blend_mm: Floats = NOT_GIVEN,
    base_um: Floats = NOT_GIVEN,
) -> Second:
    """The removals of a residual refraction: R1 as it was left, Q1 and zone as planned, blends by its ramp.

    Args and errors as in `enhancement`.
    """
    plan, first = comparison.treatment, comparison.under_cap
    left = replace(comparison.cornea, radius_mm=given(first.budget.radius_after_mm, comparison.cornea.radius_mm))
    wanted = Treatment(
        residual,
        zone_mm=plan.zone_mm,
        profile=plan.profile,
        ablation_blend_mm=ablation_blend_mm,
        lenticule_blend_mm=lenticule_blend_mm,
        base_um=base_um,
        centre_x_mm=plan.centre_x_mm,
        centre_y_mm=plan.centre_y_mm,
    )
    ablation = removal(left, wanted, wanted.ablation_blend_mm)
    return Second(ablation, removal(left, wanted, wanted.lenticule_blend_mm, wanted.base_um))


def cap_needed_um(comparison: Comparison, ablation: Removal) -> Floats:
    """Thinnest cap [µm] that leaves a thin flap, the ablation under it and the margin room, its error counted.

    C = F2 + max t + margin − bias + 1.96·SD; source lasik_after2018 (room for the flap), the margin from memory.

    Args:
        comparison: Comparison.
        ablation: Removal of the second ablation.
    """
    error = comparison.under_cap.option.cut_error
    flap_um, margin = comparison.flap.enhancement_flap_um, comparison.judgement.margin_um
    return flap_um + ablation.t_max_um + margin - error.bias_um + Z95 * error.sd_um


def flap_needed_um(comparison: Comparison) -> Floats:
    """Thinnest flap [µm] that lies below an epithelium which may have grown: E + 15 + 1.96·SD. Source reinstein2014."""
    return comparison.cornea.epithelium_um + epithelium_gain_um() + Z95 * comparison.errors.epithelium_sd_um


def _strengths(comparison: Comparison, layers: Sequence[tuple[Floats, Floats, Floats]]) -> dict[str, Floats]:
    """Relative strength [%] by relationship of what is loaded: layers of (credit, top, bottom) [–, µm, µm].

    100·Σ credit·(F(bottom) − F(top))
    """
    eye = comparison.cornea.central_thickness_um, comparison.cornea.epithelium_um
    return {
        name: 100.0 * sum(g * (f.share(bottom, *eye) - f.share(top, *eye)) for g, top, bottom in layers)
        for name, f in relationships().items()
    }


def _depths(comparison: Comparison) -> tuple[Any, ...]:
    """Depths before all treatment [µm]: epithelium, cap, old lower plane at the centre, back; and both credits [–]."""
    cornea, judgement = comparison.cornea, comparison.judgement
    first = comparison.under_cap.option
    floor = first.cut_um + first.removal.central_um
    credits = judgement.cap_credit, judgement.flap_credit
    return cornea.epithelium_um, first.cut_um, floor, cornea.central_thickness_um, *credits


def _route(
    comparison: Comparison,
    way: Way,
    option: Option,
    bed: tuple[Floats, Floats],
    layers: Sequence[tuple[Floats, Floats, Floats]],
    why_not: str,
    *,
    clearance: Place = NO_CLEARANCE,
) -> Route:
    """A Route whose beds [µm] are those after both operations."""
    CCT = comparison.cornea.central_thickness_um
    central, least = bed
    off = deepest_off_centre(comparison.under_cap.option) | deepest_off_centre(option)
    figures = central, least, 100.0 - 100.0 * central / CCT
    return route(
        way, option, figures, _strengths(comparison, layers), clearance=clearance, why_not=why_not, off_centre=off
    )


def _kept_bed(comparison: Comparison) -> tuple[Floats, Floats]:
    """Central and least bed of the primary treatment [µm], untouched by what happens in the cap."""
    figures = comparison.under_cap.budget
    return figures.bed_central_um, figures.bed_min_um


def _lowered_bed(comparison: Comparison, second: Removal) -> tuple[Floats, Floats]:
    """Central and least bed [µm] when a second removal is taken below the cap; T − C − r − r₂ over both discs.

    As in a plan, the least bed is not over the central one, unless the eye's own map says so; none where that map does
    not cover both discs.
    """
    cornea, first = comparison.cornea, comparison.under_cap.option
    r1 = first.removal
    centre = r1.centre_x_mm, r1.centre_y_mm
    least = least_over(
        lambda x, y: cornea.thickness_um(x, y) - first.cut_um - r1.r_um(x, y) - second.r_um(x, y),
        centre,
        0.0,
        np.maximum(r1.radius_mm, second.radius_mm),
        (r1.profile.zone_radius_mm, r1.radius_mm, second.radius_mm),
    )
    central = cornea.central_thickness_um - first.cut_um - r1.central_um - second.central_um
    if cornea.thickness.from_one_point:
        return central, np.minimum(central, least.value)
    known = covers(cornea, r1, False) & covers(cornea, second, False)
    return central, np.where(known, least.value, np.nan)[()]


def _room(taken: Removal, room_um: Floats) -> Place:
    """Least clearance [µm] where `room_um` lies over an old plane and the removal is deepest, a Place."""
    return Place(room_um - taken.max_um, taken.max_x_mm, taken.max_y_mm)


def _over_ablation(comparison: Comparison, ablation: Removal, cap_um: Floats) -> Place:
    """Least of what lies between an ablation through the epithelium and the old plane [µm]: C − E − t, a Place.

    NaN where a map of the epithelium, its edge held 1 mm, does not hold the whole disc and leaves room where it does.
    """
    cornea = comparison.cornea
    if cornea.epithelium_map is None:
        return _room(ablation, cap_um - cornea.epithelium_um)
    known_mm = ablation.radius_mm - np.maximum(epithelium_lacks_mm(cornea, ablation), 0.0)
    found = least_over(
        lambda x, y: cap_um - cornea.epithelium_um - cornea.epithelium_over_um(x, y) - ablation.t_um(x, y),
        (ablation.centre_x_mm, ablation.centre_y_mm),
        0.0,
        np.maximum(known_mm, 0.0),
        (ablation.profile.zone_radius_mm,),
    )
    is_known = (known_mm >= ablation.radius_mm) | ((known_mm > 0.0) & (found.value <= 0.0))
    return Place(*(np.where(is_known, part, np.nan)[()] for part in found))


def _surface(comparison: Comparison, second: Second, way: Way, why_not: str) -> Route:
    """The surface of the cap: the epithelium off, the cap thinner by the ablation."""
    E, C, floor, back, g, _ = _depths(comparison)
    t = second.ablation.central_um
    clearance = _over_ablation(comparison, second.ablation, C)
    if not why_not and clearance.value <= 0:
        why_not = (
            f"Epithelium and ablation, {C - clearance.value:.0f} µm, reach through the cap of {C:.0f} µm: "
            f"more than {-clearance.value:.0f} µm are missing."
        )
    option = surface(comparison.cornea, second.ablation, comparison.errors)
    layers = (g, E + t, C), (1.0, floor, back)
    return _route(comparison, way, option, _kept_bed(comparison), layers, why_not, clearance=clearance)


def _thin_flap(comparison: Comparison, second: Second, way: Way, why_not: str) -> Route:
    """A flap thinner than the cap, ablation under it, both inside the cap."""
    E, C, floor, back, g, gf = _depths(comparison)
    t = second.ablation.central_um
    F2 = comparison.flap.enhancement_flap_um
    option = _flap_option(comparison, second.ablation, F2)
    layers = (gf, E, F2), (g, F2 + t, C), (1.0, floor, back)
    why_not = why_not or _no_thin_flap(comparison, second.ablation, F2, C)
    why_not = why_not or _too_wide(second.ablation, option.cut_diameter_mm, option.above)
    return _route(
        comparison, way, option, _kept_bed(comparison), layers, why_not, clearance=_room(second.ablation, C - F2)
    )


def _no_thin_flap(comparison: Comparison, ablation: Removal, flap_um: Floats, cap_um: Floats) -> str:
    """Why a thin flap has no room, in one sentence; empty where it has."""
    cap, least = cap_needed_um(comparison, ablation), flap_needed_um(comparison)
    reasons = []
    if cap > cap_um:
        reasons.append(
            f"with the margin and the error of the cap it needs a cap of {least_written(cap)} µm: "
            f"{least_written(cap - cap_um)} µm are missing"
        )
    if flap_um < least:
        reasons.append(
            f"below an epithelium that may have grown it needs a flap of {least_written(least)} µm: "
            f"{least_written(least - flap_um)} µm are missing"
        )
    return (f"A flap of {flap_um:.0f} µm has no room: " + "; ".join(reasons) + ".") if reasons else ""


def _too_wide(taken: Removal, cut_mm: Floats, cut: str) -> str:
    """Why a removal does not fit under a cut [mm], in one sentence; empty where it fits or where nothing is taken."""
    return too_wide(cut_mm, 2.0 * taken.radius_mm, cut) if taken.t_max_um > 0 else ""


def _flap_option(comparison: Comparison, ablation: Removal, flap_um: Floats) -> Option:
    """The Option of a flap of a given thickness [µm] over an ablation."""
    cut = replace(comparison.flap, flap_um=flap_um, flap_measured_um=None)
    return flap(comparison.cornea, ablation, comparison.errors, cut, comparison.judgement.flap_credit)


def _cap_to_flap(comparison: Comparison, second: Second, way: Way, why_not: str) -> Route:
    """The cap becomes the flap; the ablation takes from the bed."""
    E, C, floor, back, _, gf = _depths(comparison)
    layers = (gf, E, C), (1.0, floor + second.ablation.central_um, back)
    option = _flap_option(comparison, second.ablation, C)
    cap_mm = comparison.under_cap.option.cut_diameter_mm
    why_not = why_not or _too_wide(second.ablation, cap_mm, "cap")
    return _route(comparison, way, option, _lowered_bed(comparison, second.ablation), layers, why_not)


def _deeper(comparison: Comparison, second: Second, way: Way, why_not: str) -> Route:
    """A second lenticule with its base, cut from the bed below the old interface."""
    E, C, floor, back, g, _ = _depths(comparison)
    layers = (g, E, C), (1.0, floor + second.extracted.central_um, back)
    cut = replace(comparison.cap, cap_um=floor, cap_measured_um=None)
    option = lenticule(comparison.cornea, second.extracted, comparison.errors, cut, comparison.judgement.cap_credit)
    cap_mm = comparison.under_cap.option.cut_diameter_mm
    why_not = why_not or _too_wide(second.extracted, cap_mm, "cap")
    return _route(comparison, way, option, _lowered_bed(comparison, second.extracted), layers, why_not)
