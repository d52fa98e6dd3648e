"""What the surgeon should know beside the figures of one eye, in words; each says what would end it."""

from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np

from tissue.budget import remedies
from tissue.budget.budget import Budget, deepest_off_centre
from tissue.budget.comparison import Comparison, Result
from tissue.eye.refraction import Refraction
from tissue.eye.slips import SLIPS, Guard, guard
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import TRUE_MINUS, Floats, signed
from tissue.removal.options import Option
from tissue.removal.over_pupil import outside_percent
from tissue.removal.removal import Removal

TREATED_DIFFERS_D = 0.5  # power vector of what would be left
SLIP_D = 0.25  # the same, where a known slip explains it
SAME_D = 0.005  # half of the last written digit
TARGET_MISSED_D = 0.12  # half a step of a lens
DIFFERS_UM = 10.0  # map against measured centre, reported against computed depth
PER_DIOPTRE_OF_ZONE2 = (0.19, 0.52)  # µm per dioptre and mm² of zone
RIM_STEP_UM, RIM_BLEND_MM, RIM_SLOPE = 40.0, 0.3, 150.0
LIMBUS_MARGIN_MM = 1.0
THIN_LENTICULE_UM = 50.0
FAR_MM, USUAL_K_D, LOW_BED_UM = 1.0, (39.0, 48.0), 200.0  # limits beyond which a fact is said
SEEN_PERCENT = 0.05  # of the pupil: less is written as nothing
HAIR = 1e-9  # µm or mm: two equal figures may differ by this in the last digits


class Notice(NamedTuple):
    """A notice: its id, the option and the field it belongs to (or None), and the words."""

    id: str
    option: str | None
    field: str | None
    text: str


def notices(comparison: Comparison, fellow: Comparison | None = None) -> list[Notice]:
    """Every notice of one eye, in reading order.

    Args:
        comparison: Comparison of one eye (numbers, not arrays).
        fellow: that of the other eye of the plan, where there is one.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> [n.id for n in notices(compare(Cornea(500.0), Treatment(Refraction(-1.0))))]
    ['extraction-bias', 'thin-lenticule']
    """
    found = [*_of_eye(comparison, fellow), *_facts(comparison)]
    for result in comparison.results.values():
        if result.available:
            found += [*_of_fit(comparison, result), *_of_depth(comparison, result), *_of_bed(comparison, result)]
        else:
            text = f"No figures for {result.option.title}: {result.why_not}."
            found.append(Notice("not-available", result.option.name, None, text))
    return found + [*_of_pair(comparison)]


def guard_of(comparison: Comparison, fellow: Comparison | None = None) -> Guard:
    """What the treated refraction of one eye leaves, and the slips that explain it.

    Args:
        comparison: Comparison of one eye (numbers, not arrays).
        fellow: that of the other eye, whose treated refraction, or the one meant there, may have been taken.
    """
    others = []
    if fellow is not None:
        others = [fellow.treatment.refraction, fellow.measured.less(fellow.treatment.target_D)]
    treatment = comparison.treatment
    return guard(comparison.measured, treatment.target_D, treatment.refraction, others)


def _treated_differs(comparison: Comparison, fellow: Comparison | None) -> Iterator[Notice]:
    """Notices where the treated refraction differs from measured minus target, or looks like a slip of it."""
    found = guard_of(comparison, fellow)
    if not (found.size_D > TREATED_DIFFERS_D + HAIR or (found.names and found.size_D >= SLIP_D - HAIR)):
        return
    SE = found.residual.SE_D
    text = (
        f"Treating this would leave {found.size_D:.2f} D (length of the power vector; spherical equivalent "
        f"{signed(SE, 2)} D) of the measured refraction less the target. Read signs, cylinder form, axis and side "
        f"again. The notice ends within {TREATED_DIFFERS_D:.2f} D"
        + (
            f", or within {SLIP_D:.2f} D where it looks like a slip. It does: {' '.join(SLIPS[n] for n in found.names)}"
            if found.names
            else "."
        )
    )
    field = "treated_sphere_D" if np.abs(SE) > TREATED_DIFFERS_D + HAIR else "treated_axis_deg"
    yield Notice("treated-differs", None, field, text.translate(TRUE_MINUS))


def _of_eye(comparison: Comparison, fellow: Comparison | None) -> Iterator[Notice]:
    """Notices on what was entered."""
    cornea = comparison.cornea
    yield from _treated_differs(comparison, fellow)
    yield from _of_target(comparison)
    if cornea.place_missing:
        text = "The thinnest point has no place: it is taken to lie at the vertex. Giving x and y ends this."
        yield Notice("thinnest-no-place", None, "thinnest_x_mm", text)
    if cornea.own_map is not None:
        from tissue.budget.map_notices import map_notices  # imported here: most eyes have no map

        yield from (Notice(*words) for words in map_notices(comparison))
    at_vertex = float(cornea.thickness_um(0.0, 0.0))
    if cornea.thickness.from_one_point and np.abs(at_vertex - cornea.central_thickness_um) > DIFFERS_UM:
        text = (
            f"The map drawn from the thinnest point gives {at_vertex:.0f} µm at the vertex; "
            f"{cornea.central_thickness_um:.0f} was measured. Central figures use the measured one, the least bed "
            "the lesser of both. A thinnest point and centre that agree within 10 µm end this."
        )
        yield Notice("map-differs", None, "thinnest_um", text)


def _facts(comparison: Comparison) -> Iterator[Notice]:
    """Facts of an unusual eye or plan, each with its source; no verdict."""
    cornea, taken = comparison.cornea, comparison.at_surface.option.removal
    apart = float(np.hypot(cornea.thinnest_x_mm, cornea.thinnest_y_mm))
    if apart > FAR_MM + HAIR:
        text = f"The thinnest point lies {apart:.1f} mm from the vertex; within 1 mm is usual (common practice)."
        yield Notice("thinnest-far", None, "thinnest_x_mm", text)
    low, high = USUAL_K_D
    if not low - HAIR <= cornea.mean_K_D <= high + HAIR:
        series = source("almazrou2024")
        text = f"A mean K of {cornea.mean_K_D:.2f} D lies outside {low:.0f} to {high:.0f} D. "
        text += f"{series.note} {series.citation}."
        yield Notice("K-unusual", None, "mean_K_D", text)
    outside = float(outside_percent(comparison.pupil, taken))
    if outside > SEEN_PERCENT:
        text = (
            f"{outside:.1f} % of the pupil of {comparison.pupil.pupil_mm:g} mm lies outside the optical zone of "
            f"{taken.zone_mm:g} mm (geometry of two circles; the blend is not zone)."
        )
        yield Notice("pupil-over-zone", None, "zone_mm", text)


def _of_target(comparison: Comparison) -> Iterator[Notice]:
    """A treatment typed as measured less target, as written: what it leaves, where that is not the target."""
    measured, treatment = comparison.measured, comparison.treatment
    treated, target = treatment.refraction, treatment.target_D
    plain = replace(measured, sphere_D=measured.sphere_D - target).power_vector()
    if max(np.abs(one - other) for one, other in zip(plain, treated.power_vector(), strict=True)) > SAME_D:
        return
    left = measured.at_cornea().power_vector().SE_D - treated.at_cornea().power_vector().SE_D
    ends_D = Refraction(left).at_vertex(measured.vertex_mm).sphere_D
    if np.abs(ends_D - target) > TARGET_MISSED_D:
        sphere_D = measured.less(target).sphere_D
        text = (
            f"The treated refraction is the measured one less the target as written. A treatment acts on the cornea: "
            f"this one leaves {signed(ends_D, 2)} D of spherical equivalent, the target is {signed(target, 2)}. "
            f"Taken off at the cornea the treated sphere is {signed(sphere_D, 2)} D. "
            f"The notice ends within {TARGET_MISSED_D:.2f} D."
        )
        yield Notice("target-shortfall", None, "treated_sphere_D", text.translate(TRUE_MINUS))


def _of_fit(comparison: Comparison, result: Result) -> Iterator[Notice]:
    """Notices where treated disc, cut and limbus do not fit into each other."""
    option = result.option
    disc, cut = 2.0 * option.removal.radius_mm, option.cut_diameter_mm
    limit = comparison.cornea.white_to_white_mm - LIMBUS_MARGIN_MM
    room = cut - option.largest_zone_in_cut_mm
    if disc > option.largest_zone_in_cut_mm + HAIR:
        text = (
            f"Zone and blend, {disc:.1f} mm, do not fit into the {cut:.1f} mm cut of {option.title}. A cut of "
            f"{_up(disc + room):.1f} mm, or zone and blend of {_down(cut - room):.1f} mm, would end this."
        )
        yield Notice("does-not-fit", option.name, option.diameter_field, text)
    if cut > limit + HAIR:
        inside = f", with zone and blend of {_down(_down(limit) - room):.1f} mm," if disc > _down(limit) - room else ""
        text = (
            f"The {cut:.1f} mm cut of {option.title} leaves less than 1 mm to a limbus of "
            f"{comparison.cornea.white_to_white_mm:.1f} mm. A cut of {_down(limit):.1f} mm{inside} would end this."
        )
        yield Notice("does-not-fit", option.name, option.diameter_field, text)


def _up(value: Any, steps: float = 10.0) -> Any:
    """The value rounded up to a tenth, so that the figure as it is written is enough."""
    return np.ceil(value * steps - HAIR) / steps


def _down(value: Any, steps: float = 10.0) -> Any:
    """The value rounded down to a tenth."""
    return np.floor(value * steps + HAIR) / steps


def _read_again(option: Option) -> str:
    """Words that follow a cure where the laser's reported depth scales the removal: read that depth again."""
    return "" if option.removal.scale == 1.0 else " The reported depth has to be read again after such a change."


def _of_depth(comparison: Comparison, result: Result) -> Iterator[Notice]:
    """Notices on how deep and how steep the removal is."""
    option, figures = result.option, result.budget
    name, taken = option.name, option.removal
    if np.abs(figures.removal_max_um - figures.removal_computed_um) > DIFFERS_UM:
        field = "reported_ablation_um" if option.ablates else "reported_lenticule_um"
        text = (
            f"The reported depth is {figures.removal_max_um:.0f} µm, the computed one "
            f"{figures.removal_computed_um:.0f} µm. The figures use the reported one. Zone, profile, blend or base "
            "of the laser may differ from those given here; within 10 µm this ends."
        )
        yield Notice("reported-differs", name, field, text)
    low, high = (limit * taken.zone_mm**2 for limit in PER_DIOPTRE_OF_ZONE2)
    if np.isnan(figures.um_per_D):
        text = "Depth per dioptre cannot be given: only the shape is changed. Treating a refraction ends this."
        yield Notice("depth-per-dioptre", name, "treated_sphere_D", text)
    elif not low <= figures.um_per_D <= high:
        text = (
            f"{figures.um_per_D:.1f} µm per dioptre is outside what this zone usually takes ({low:.1f} to {high:.1f} "
            "µm). Zone, blend, profile and reported depth are worth reading again; between those figures this ends."
        )
        yield Notice("depth-per-dioptre", name, "zone_mm", text)
    yield from _of_rim(comparison, option, figures.rim_step_um)
    if deepest_off_centre(option):
        text = (
            f"The removal of {option.title} is deepest {_distance(figures, taken):.1f} mm off the treatment centre, "
            f"{figures.removal_max_um:.0f} µm against {figures.removal_central_um:.0f} µm. The strength curves are "
            "central: no strength is given. Within 5 µm of each other this ends."
        )
        yield Notice("off-centre", name, None, text)


def _distance(figures: Budget, taken: Removal) -> Any:
    """Distance of the deepest removal from the treatment centre [mm]."""
    return np.hypot(figures.removal_max_x_mm - taken.centre_x_mm, figures.removal_max_y_mm - taken.centre_y_mm)


def _of_rim(comparison: Comparison, option: Option, rim_um: Any) -> Iterator[Notice]:
    """Notices on a step or a steep blend at the zone edge."""
    blend, zone_field = option.removal.blend_mm, option.blend_field
    steep = option.ablates and blend > 0 and rim_um / blend > RIM_SLOPE
    step = rim_um > RIM_STEP_UM and blend < RIM_BLEND_MM
    if not (steep or step):
        return
    least = RIM_BLEND_MM if step else 0.0
    ends = remedies.blend_for_rim(comparison, option, least, RIM_SLOPE if option.ablates else np.inf)
    cure = f"A blend of {ends:.1f} mm would end this." if ends is not None else "No blend up to 3 mm ends this."
    cure += _read_again(option)
    if step:
        text = f"The removal is still {rim_um:.0f} µm deep at the zone edge, with a blend of {blend:.1f} mm. {cure}"
        yield Notice("rim-step", option.name, zone_field, text)
    if steep:
        text = f"The blend falls {rim_um:.0f} µm over {blend:.1f} mm, {rim_um / blend:.0f} µm a millimetre. {cure}"
        yield Notice("steep-blend", option.name, zone_field, text)


def _of_bed(comparison: Comparison, result: Result) -> Iterator[Notice]:
    """Notices on the bed and the user's line, the bias of an extraction, and a thin lenticule."""
    option, figures = result.option, result.budget
    line = float(comparison.judgement.bed_line_um)
    central, least = float(figures.bed_central_um), float(figures.bed_min_um)
    if min(central, least) < line - HAIR and line - HAIR <= max(central, least):
        text = (
            f"The bed of {option.title} lies on both sides of the {line:.0f} µm line: {central:.0f} µm at the centre, "
            f"{least:.0f} µm at its least place. The cures of the next notice end this too."
        )
        yield Notice("line-between", option.name, "bed_line_um", text)
    if min(central, least) < line - HAIR:
        yield Notice("under-line", option.name, "bed_line_um", _under_line(comparison, result, line))
    bias = option.removal_error.bias_um
    if not option.ablates and bias < 0:
        text = (
            f"The interval of this bed counts a bias of {bias:+g} µm in what an extraction removes, so that "
            "it lies above the planned bed. The bias makes the bed look thicker than planned; a bias of 0 ends this."
        )
        yield Notice("extraction-bias", option.name, "lenticule_bias_um", text.translate(TRUE_MINUS))
    least = min(float(figures.bed_central_um), float(figures.bed_min_um))
    if least < LOW_BED_UM - HAIR:
        text = (
            f"The least bed of {option.title} is {least:.0f} µm. {LOW_BED_UM:.0f} µm is the bed under which published "
            f"chances were counted ({source('reinstein2006').citation}). A statement of thickness, not a verdict."
        )
        yield Notice("low-bed", option.name, None, text)
    if not option.ablates and figures.removal_max_um < THIN_LENTICULE_UM:
        yield Notice("thin-lenticule", option.name, "base_um", _thin(comparison, option, float(figures.removal_max_um)))


def _under_line(comparison: Comparison, result: Result, line: float) -> str:
    """How far the bed lies under the line, whose line it is, and what would end it."""
    option, figures = result.option, result.budget
    least = min(float(figures.bed_central_um), float(figures.bed_min_um))
    short = line - least
    missing = f"{short:.0f}" if short >= 1.0 else "less than 1"
    cures = _cures_of_bed(comparison, option, line, short)
    ends = (
        f"What would end it: {', '.join(cures)}." if cures else "No narrower zone and no other cut or option ends it."
    )
    return (
        f"The least bed of {option.title} is {missing} µm under the {line:.0f} µm line ({line_source(line)}). "
        f"{ends}{_read_again(option)} A statement of thickness, not a verdict."
    )


def _cures_of_bed(comparison: Comparison, option: Option, line: float, short: Any) -> list[str]:
    """The zone, the cut and the other options that would reach the line, where there are any."""
    cures = []
    zone = remedies.zone_for_bed(comparison, option, line)
    if zone:
        cures.append(f"a zone of {zone:.2f} mm")
    shallower = np.floor(option.cut_um - short + HAIR)
    if option.cut_field and not option.cut_is_measured:
        if shallower >= option.least_cut_um and shallower > comparison.cornea.epithelium_um:
            cures.append(f"a cut of {shallower:.0f} µm")
    for other in comparison.results.values():
        if other.available and min(other.budget.bed_central_um, other.budget.bed_min_um) >= line - HAIR:
            cures.append(f"{other.option.title} (least bed {other.budget.bed_min_um:.0f} µm)")
    return cures


def line_source(bed_um: Floats) -> str:
    """Where a bed line comes from, in words: its published source, or the user."""
    for line in data("lines").values():
        if line["measure"] == "bed" and line["value"] == bed_um:
            return f"{source(line['source']).citation}, written for {line['meant_for']}"
    return "a line of your own"


def _thin(comparison: Comparison, option: Option, deepest: Any) -> str:
    """A thin lenticule, with the two cures and what each costs."""
    thicker = THIN_LENTICULE_UM - deepest
    base = _up(option.removal.base_um + thicker, steps=1.0)
    cures = [f"a base of {base:.0f} µm ({base - option.removal.base_um:.0f} µm of bed, no change of power)"]
    zone = remedies.zone_for_depth(comparison, option, THIN_LENTICULE_UM)
    if zone:
        cures.insert(0, f"a zone of {zone:.2f} mm (about {thicker:.0f} µm of bed, for a wider corrected area)")
    none = "" if zone else " No zone up to 9 mm reaches it."
    return (
        f"The lenticule is {deepest:.0f} µm at its thickest. Thin lenticules are harder to separate: adhesions in "
        f"1.8 % of 550 eyes, whose median lenticule was 46 µm. What reaches 50 µm: {', or '.join(cures)}."
        f"{none}{_read_again(option)}"
    )


def _of_pair(comparison: Comparison) -> Iterator[Notice]:
    """Notice where the flap ablation is deeper than the lenticule, base included."""
    flap, lenticule = comparison.under_flap, comparison.under_cap
    if not (flap.available and lenticule.available):
        return
    if flap.budget.removal_max_um <= lenticule.budget.removal_max_um:
        return
    extracted = lenticule.budget.removal_max_um
    blends = flap.option.removal.blend_mm, lenticule.option.removal.blend_mm
    swapped = remedies.deepest_with_blend(comparison, flap.option, blends[1])
    text = (
        f"The flap ablation, {flap.budget.removal_max_um:.0f} µm, is deeper than the lenticule with its base, "
        f"{extracted:.0f} µm. "
    )
    if swapped <= extracted:
        text += (
            f"That comes from the blends ({blends[0]:.1f} and {blends[1]:.1f} mm), not from the procedures: with the "
            f"blend of the lenticule the flap ablation would be {swapped:.0f} µm deep. Equal blends end this."
        )
    else:
        text += (
            f"That comes from a reported depth, not from the procedures: with the blend of the lenticule it would be "
            f"{swapped:.0f} µm. A reported ablation of {_down(extracted, steps=1.0):.0f} µm ends this."
        )
    yield Notice("base-deeper", None, "ablation_blend_mm", text)
