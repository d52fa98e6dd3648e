"""What would end a notice: the zone, cut, blend or base that does, found with the same arithmetic."""

from dataclasses import replace

import numpy as np

from tissue.budget.budget import extremes
from tissue.budget.comparison import Comparison
from tissue.ground.vocabulary import Array, Floats
from tissue.removal.options import Option
from tissue.removal.removal import Removal, largest_zone_mm, profile_of, scaled_removal

ZONES_MM = np.round(np.arange(4.0, 9.01, 0.05), 2)
BLENDS_MM = np.round(np.arange(0.0, 3.01, 0.1), 1)


def _with(comparison: Comparison, option: Option, zones_mm: Floats, blends_mm: Floats) -> Removal:
    """The option's Removal with other zones and blends [mm], base and scale held."""
    treatment = replace(comparison.treatment, zone_mm=zones_mm)
    shape = profile_of(comparison.cornea, treatment, blends_mm)
    return scaled_removal(shape, treatment, option.removal.base_um, option.removal.scale)


def _possible(comparison: Comparison, zones_mm: Array) -> Array:
    """The zones over which the surfaces exist [mm]."""
    return zones_mm[zones_mm <= largest_zone_mm(comparison.cornea, comparison.treatment)]


def zone_for_bed(comparison: Comparison, option: Option, bed_um: Floats) -> float | None:
    """Widest zone [mm], narrower than the plan's, that leaves `bed_um` at the centre and everywhere; or None."""
    zones = _possible(comparison, ZONES_MM[ZONES_MM < comparison.treatment.zone_mm])
    taken = _with(comparison, option, zones, option.removal.blend_mm)
    least = extremes(comparison.cornea, [replace(option, removal=taken)])[0][0].value - option.cut_um - taken.base_um
    central = comparison.cornea.central_thickness_um - option.cut_um - taken.central_um
    enough = zones[np.minimum(least, central) >= bed_um]
    return float(enough.max()) if enough.size else None


def zone_for_depth(comparison: Comparison, option: Option, depth_um: Floats) -> float | None:
    """Narrowest zone [mm], wider than the plan's, whose deepest removal reaches `depth_um`; None where none."""
    zones = _possible(comparison, ZONES_MM[ZONES_MM > comparison.treatment.zone_mm])
    enough = zones[_with(comparison, option, zones, option.removal.blend_mm).max_um >= depth_um]
    return float(enough.min()) if enough.size else None


def blend_for_rim(comparison: Comparison, option: Option, least_mm: Floats, slope_um_per_mm: Floats) -> float | None:
    """Narrowest blend [mm] from `least_mm` on over which the rim step falls no steeper than the slope; or None."""
    blends = BLENDS_MM[BLENDS_MM >= least_mm]
    taken = _with(comparison, option, np.full(blends.shape, comparison.treatment.zone_mm), blends)
    gentle = blends[taken.rim_step_um <= slope_um_per_mm * blends]
    return float(gentle[0]) if gentle.size else None


def deepest_with_blend(comparison: Comparison, option: Option, blend_mm: Floats) -> float:
    """Deepest removal [µm] of the option with another blend [mm]."""
    return float(_with(comparison, option, comparison.treatment.zone_mm, blend_mm).max_um)
