"""What the surgeon should know beside the rescue options and the ways to an enhancement, in words."""

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.notices import Notice, line_source
from tissue.budget.over_map import epithelium_lacks_mm
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import CUT, SIDE, Floats, most_written, rounded
from tissue.routes.cap_first import above_cap_counted, left_over_cap_um
from tissue.routes.cutting import done_percent
from tissue.routes.enhancement import Enhancement
from tissue.routes.rescue import Rescue
from tissue.routes.route import Route, where_words
from tissue.routes.ways import AT_CAP, ON_SURFACE, OVER_FLAP

FIELD_OF = {
    OVER_FLAP: "rescue_flap_um",
    "thinner-cap": "recut_cap_um",
    "thicker-cap": "recut_cap_um",
    AT_CAP: None,
    ON_SURFACE: None,
}
ABANDONED = (
    "Bed and strength of the new plan count the tissue beside the abandoned cut as intact, as if nothing had been cut "
    "there. How far that holds is not known."
)
ABANDONED_CAP_FIRST = ABANDONED.replace("beside the abandoned cut", "beside and across the abandoned cuts")
COUNTED = (
    "Thicker cap: the strength counts everything above the cut as loaded, so the figure rises with the depth of the "
    f"cut. A trial found the opposite ({source('cap_thickness2020').citation}): the cornea changed more under caps of "
    "140 µm than under caps of 110 µm."
)
NEW_PLANS = tuple(FIELD_OF)
LOWERED = ("cap-to-flap", "deeper-lenticule")


def rescue_notices(comparison: Comparison, found: Rescue) -> list[Notice]:
    """Notices beside the rescue options, in reading order.

    Args:
        comparison: Comparison of one eye.
        found: Rescue.
    """
    there = [route for route in found.routes if route.available]
    new = [route for route in there if route.way.id in NEW_PLANS]
    notices = [_close(route, found) for route in new if route.clearance.value < found.margin_um - 1e-9]
    recuts = [route for route in found.routes if route.way.id in ("thinner-cap", "thicker-cap")]
    if recuts and comparison.cap.recut_cap_um == comparison.under_cap.option.cut_um:
        text = "The re-cut cap given is the abandoned cut itself: the rule gave both. Another depth would end this."
        notices.append(Notice("clearance", comparison.under_cap.option.name, "recut_cap_um", text))
    if new:
        text = ABANDONED if found.is_described else ABANDONED_CAP_FIRST
        notices.append(Notice("abandoned-cut", None, None, text))
    if any(route.way.id == "thicker-cap" and not route.off_centre for route in there):
        notices.append(Notice("cap-counted", comparison.under_cap.option.name, "cap_credit", COUNTED))
    if not found.is_described:
        notices = [_unknown(found), *notices, *_beds_over_cuts(comparison, found, there)]
        notices += _of_cut_cap(comparison, found, there)
    return notices + _of_small_map(comparison, there) + _of_routes(comparison, there, new)


def _unknown(found: Rescue) -> Notice:
    """The notice that no source says what is usual in this order of cuts."""
    known = data("ways_out")["cap_first"]
    text = f"{known['unknown']} {known['limit']}" if found.stage == CUT else known["unknown"]
    return Notice("cut-order", None, "cut_order", text)


def _beds_over_cuts(comparison: Comparison, found: Rescue, there: list[Route]) -> list[Notice]:
    """Notices on beds that count tissue over a plane that is cut, where the cap was cut first."""
    notices = []
    for route in there:
        counts = f"{route.way.name}: the bed of {rounded(route.bed_central_um)} µm and the altered share count"
        left = left_over_cap_um(comparison)
        if route.way.id == ON_SURFACE and left >= 0.0:
            taken = rounded(comparison.under_cap.option.removal.central_um)
            among = f", the {taken} µm of the lenticule among them" if found.stage == CUT else ""
            below = rounded(route.bed_central_um - left)
            text = f"{counts} the {rounded(left)} µm left over the cap's plane; below that plane lie {below} µm{among}."
            notices.append(Notice("bed-over-cut", route.option.name, None, text))
        if route.way.id == AT_CAP and np.isfinite(route.clearance.value):
            thinnest = rounded(route.clearance.value)
            text = f"{counts} what is left over the lower plane where that is cut, {thinnest} µm at its thinnest."
            notices.append(Notice("bed-over-cut", route.option.name, None, text))
    return notices


def _of_cut_cap(comparison: Comparison, found: Rescue, there: list[Route]) -> list[Notice]:
    """Notices on what else is unknown about a way where the cap was cut first."""
    notices = []
    for route in there:
        if route.way.id == ON_SURFACE and not route.off_centre and left_over_cap_um(comparison) >= 0.0:
            judgement, chosen = comparison.judgement, comparison.judgement.relationship
            cap, flap = (rounded(100 * credit) for credit in (judgement.cap_credit, judgement.flap_credit))
            so, as_flap = route.strength_percent[chosen], above_cap_counted(comparison, judgement.flap_credit)[chosen]
            text = (
                f"{route.way.name}: the cap's plane stays in the cornea, and the cap counts as loaded by "
                f"{cap} %. Counted as a flap, by {flap} %, the strength would be {rounded(as_flap, 1)} %, not "
                f"{rounded(so, 1)} %."
            )
            notices.append(Notice("cap-as-flap", route.option.name, "flap_credit", text))
        if route.way.id == "cap-as-flap" and found.stage == SIDE and found.done < 1.0:
            text = (
                f"{route.way.name}: {done_percent(found.done)} % of the lenticule's side cut is done. How its rim is "
                "parted where it is not, this tool cannot tell."
            )
            notices.append(Notice("side-cut", route.option.name, None, text))
    return notices


def enhancement_notices(comparison: Comparison, found: Enhancement) -> list[Notice]:
    """Notices beside the ways to an enhancement, in reading order.

    Args:
        comparison: Comparison of one eye.
        found: Enhancement.
    """
    there = [route for route in found.routes if route.available]
    margin = comparison.judgement.margin_um
    notices = [
        Notice("clearance", route.option.name, None, _short_of_margin(route, margin) + " A thicker cap would end this.")
        for route in there
        if route.way.id == ON_SURFACE and route.clearance.value < margin
    ]
    lowered = [route for route in there if route.way.id in LOWERED]
    return notices + _of_small_map(comparison, there) + _of_routes(comparison, there, lowered)


def _of_small_map(comparison: Comparison, there: list[Route]) -> list[Notice]:
    """Notices on a surface ablation whose room over the cap's plane is not known, for the map ends too near."""
    if comparison.cornea.epithelium_map is None:
        return []
    from tissue.budget.map_notices import what_ends  # imported here: most eyes have no map
    from tissue.eye.measured.surface import HELD_MM

    notices = []
    for route in (one for one in there if one.way.id == ON_SURFACE and np.isnan(one.clearance.value)):
        taken = route.option.removal
        lacking_mm = float(epithelium_lacks_mm(comparison.cornea, taken))
        text = (
            f"{route.way.name}: the map of the epithelium ends {lacking_mm + HELD_MM:.2f} mm short of the treated "
            f"disc, over the {HELD_MM:.0f} mm for which it is held. Whether the ablation stays clear of what is cut is "
            f"not known there, and no clearance is given. {what_ends(taken, lacking_mm)}"
        )
        notices.append(Notice("map-short", route.option.name, "epithelium_map", text))
    return notices


def _of_routes(comparison: Comparison, there: list[Route], with_new_bed: list[Route]) -> list[Notice]:
    """Notices on strengths that are missing, and on beds under the line."""
    notices = []
    without = [route.way.name for route in there if route.off_centre]
    if without:
        text = (
            f"No strength for {', '.join(without)}: the removal is deepest off its centre, "
            "and the strength curves are central."
        )
        notices.append(Notice("off-centre", None, None, text))
    line = float(comparison.judgement.bed_line_um)
    for route in with_new_bed:
        least = min(route.bed_central_um, route.bed_min_um)
        if least < line:
            text = (
                f"{route.way.name}: the least bed of {least:.0f} µm is {line - least:.0f} µm under "
                f"the {line:.0f} µm line ({line_source(line)}). "
                f"{_cure(route, there, line)} A statement of thickness, not a verdict."
            )
            notices.append(Notice("under-line", route.option.name, "bed_line_um", text))
    return notices


def _cure(route: Route, there: list[Route], line: float) -> str:
    """Which other way leaves a bed at the line or over it, in a sentence."""
    over = [r.way.name.lower() for r in there if r is not route and min(r.bed_central_um, r.bed_min_um) >= line]
    return f"Over the line here: {', '.join(over)}." if over else "No other way here leaves a bed over it."


def _close(route: Route, found: Rescue) -> Notice:
    """Notice on a new cut nearer to an old one than the margin."""
    text = _short_of_margin(route, found.margin_um)
    if route.way.id == OVER_FLAP:
        thickest = found.thickest_flap_um
        text += (
            " No flap of 60 µm or more keeps the margin."
            if np.isnan(thickest)
            else f" A flap of {most_written(thickest)} µm would end this."
        )
    elif FIELD_OF[route.way.id]:
        text += " Another depth of the re-cut would end this."
    return Notice("clearance", route.option.name, FIELD_OF[route.way.id], text)


def _short_of_margin(route: Route, margin_um: Floats) -> str:
    """How near a new cut comes to an old one, where, and how much of the margin is missing."""
    least, where = route.clearance.value, where_words(route.clearance)
    met = f"comes to {least:.0f} µm of an old cut"
    missing = f"{margin_um - least:.0f} µm of the {margin_um:.0f} µm margin are missing"
    return f"{route.way.name}: the new cut {met} at {where}; {missing}."
