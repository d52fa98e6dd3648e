"""What is left of an eye after an option: beds, shares and volumes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tissue.budget.least_bed import worst_places
from tissue.budget.place import Place, Wanted
from tissue.eye.cornea import KERATOMETER, Cornea
from tissue.ground.vocabulary import Flags, Floats
from tissue.removal.options import Option
from tissue.removal.removal import POWER_PER_CURVATURE, Treatment

OFF_CENTRE_UM = 5.0  # with the deepest removal this much over the central one a curve of the centre says nothing


@dataclass(frozen=True, eq=False)
class Budget:
    """Figures of one option, by the names of the interface; NaN where a figure cannot be given.

    Equations (E epithelium, r removal): bed = CCT − cut − r; bed share = 100·bed/CCT;
    altered = 100·(cut + r)/CCT; removed = 100·r/CCT; stromal altered = 100·(cut − E + r)/(CCT − E).
    Source of the percent altered: santhiago2014 (flaps); the rest are definitions.
    """

    cut_um: Floats
    cut_planned_um: Floats
    bed_planned_um: Floats
    removal_central_um: Floats
    removal_part_refraction_um: Floats
    removal_part_blend_um: Floats
    removal_part_base_um: Floats
    removal_computed_um: Floats
    removal_max_um: Floats
    removal_max_x_mm: Floats
    removal_max_y_mm: Floats
    removal_volume_mm3: Floats
    optical_volume_mm3: Floats
    rim_step_um: Floats
    bed_central_um: Floats
    bed_min_um: Floats
    bed_min_x_mm: Floats
    bed_min_y_mm: Floats
    bed_percent: Floats
    altered_percent: Floats
    altered_max_percent: Floats
    removed_percent: Floats
    stromal_altered_percent: Floats
    uncut_stroma_um: Floats
    healed_thickness_um: Floats
    K_after_D: Floats
    radius_after_mm: Floats
    um_per_D: Floats
    zone_cost_um: Floats


KEPT_WITHOUT_FIGURES = ("cut_um", "cut_planned_um")


def extremes(cornea: Cornea, options: Sequence[Option]) -> list[tuple[Place, Place]]:
    """Least bed and greatest altered share of every option; a bed is sought once for each Removal.

    Returns a list of (Place of the least T − t [µm], Place of the greatest share [minus a fraction]), one an option.
    """
    beds = [bed_wanted(cornea, option) for option in options]
    firsts = [next(i for i, one in enumerate(beds) if one[1:] == mine[1:] and one.taken is mine.taken) for mine in beds]
    sought = sorted(set(firsts))
    shares = [share_wanted(cornea, option) for option in options]
    found = worst_places(cornea, [beds[i] for i in sought] + shares)
    return [(found[sought.index(first)], share) for first, share in zip(firsts, found[len(sought) :], strict=True)]


def bed_wanted(cornea: Cornea, option: Option) -> Wanted:
    """The search for the least bed of an option."""
    return Wanted(option.removal, None, _under_map(cornea, option))


def share_wanted(cornea: Cornea, option: Option) -> Wanted:
    """The search for the greatest altered share of an option."""
    return Wanted(option.removal, option.cut_um + option.removal.base_um, _under_map(cornea, option))


def _under_map(cornea: Cornea, option: Option) -> bool:
    """Whether a map of the epithelium lies above the removal instead of one number."""
    return not option.cuts and cornea.epithelium_map is not None


def budget(cornea: Cornea, treatment: Treatment, option: Option, least: Place, greatest: Place) -> Budget:
    """Budget of one option.

    Args:
        cornea, treatment: Cornea and Treatment.
        option: Option.
        least: Place of the least T − t [µm].
        greatest: Place of the greatest altered share [minus a fraction].
    """
    taken, CCT = option.removal, cornea.central_thickness_um
    cut, r = option.cut_um, taken.central_um
    bed = CCT - cut - r
    along, across = treatment.refraction.at_cornea().powers()
    curvature = 1.0 / cornea.radius_mm + (along + across) / 2.0 / POWER_PER_CURVATURE
    span = np.maximum(0.0, np.maximum(along, across)) - np.minimum(0.0, np.minimum(along, across))
    with np.errstate(divide="ignore", invalid="ignore"):
        per_dioptre = np.where(span > 0, taken.t_max_um / span, np.nan)[()]
    return Budget(
        cut_um=cut,
        cut_planned_um=option.cut_planned_um,
        bed_planned_um=CCT - option.cut_planned_um - r,
        removal_central_um=r,
        removal_part_refraction_um=taken.refraction_part_um,
        removal_part_blend_um=taken.blend_part_um,
        removal_part_base_um=taken.base_um,
        removal_computed_um=taken.computed_um,
        removal_max_um=taken.max_um,
        removal_max_x_mm=taken.max_x_mm,
        removal_max_y_mm=taken.max_y_mm,
        removal_volume_mm3=taken.volume_mm3,
        optical_volume_mm3=taken.optical_volume_mm3,
        rim_step_um=taken.rim_step_um,
        bed_central_um=bed,
        bed_min_um=least.value - cut - taken.base_um,
        bed_min_x_mm=least.x_mm,
        bed_min_y_mm=least.y_mm,
        bed_percent=100.0 * bed / CCT,
        altered_percent=100.0 * (cut + r) / CCT,
        altered_max_percent=-100.0 * greatest.value,
        removed_percent=100.0 * r / CCT,
        stromal_altered_percent=100.0 * (cut - cornea.epithelium_um + r) / cornea.stroma_um,
        uncut_stroma_um=CCT - option.spared_um - r,
        healed_thickness_um=CCT - r,
        K_after_D=KERATOMETER * curvature,
        radius_after_mm=1.0 / curvature,
        um_per_D=per_dioptre,
        zone_cost_um=taken.zone_cost_um,
    )


def nothing_to_treat(option: Option) -> Flags:
    """Whether the option takes no tissue for the refraction."""
    return np.asarray(option.removal.t_max_um <= 0)[()]


def deepest_off_centre(option: Option) -> Flags:
    """Whether the deepest removal exceeds the central one by more than 5 µm."""
    return np.asarray(option.removal.max_um - option.removal.central_um > OFF_CENTRE_UM)[()]
