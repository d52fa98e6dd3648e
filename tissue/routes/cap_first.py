"""Lost suction where the cap was cut first: what the geometry allows, because no source says what is usual then."""

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.over_map import epithelium_lacks_mm
from tissue.budget.place import Place
from tissue.budget.strength.strength import all_strengths
from tissue.ground.sources import data
from tissue.ground.vocabulary import CAP, CUT, SIDE, Array, Floats
from tissue.routes.clearance import least_over
from tissue.routes.cutting import CutSoFar
from tissue.routes.route import Route, new_plan, no_strengths, too_wide
from tissue.routes.ways import AT_CAP, ON_SURFACE, OVER_FLAP, Way

OTHERS = (AT_CAP, OVER_FLAP, ON_SURFACE, "thinner-cap", "thicker-cap")
NOTHING_CUT = Place(np.inf, np.nan, np.nan)


def is_little(done: float) -> bool:
    """Whether so little of the lenticule cut is done [0–1] that a restart is described. Source suction2020.

    >>> is_little(0.0999), is_little(0.1)
    (True, False)
    """
    return bool(100.0 * done < data("ways_out")["rescue"]["restart_below_percent"])


def by_geometry(stage: str, done: float) -> tuple[str, ...]:
    """Ids of the ways that are worked out when a share of a stage is done [0–1] and the cap was cut first.

    Source: none for this order; the limit between the first two ways of the lenticule cut is that of the other order.

    >>> by_geometry("cap", 0.0), by_geometry("lenticule-side", 0.5)
    (('restart',), ('repeat-side-cut', 'cap-as-flap', 'flap'))
    """
    return {
        CAP: ("repeat-cap", *OTHERS) if done > 0 else ("restart",),
        CUT: ("repeat-lenticule", *OTHERS) if is_little(done) else OTHERS,
        SIDE: ("repeat-side-cut", "cap-as-flap", OVER_FLAP),
    }[stage]


def over_what_is_cut(
    comparison: Comparison,
    cut: CutSoFar,
    ring: Callable[[Array, Array], Floats],
    disc: Callable[[Array, Array], Floats],
    edges_mm: Sequence[Floats],
    within_mm: Floats = np.inf,
) -> Place:
    """The least over both old planes of one eye, a Place; infinite where nothing is cut.

    Args:
        comparison: Comparison of one eye.
        cut: CutSoFar.
        ring: the quantity over the annulus of the lenticule cut [µm]. disc: that over the disc of the cap cut [µm].
        edges_mm: radii where the profiles have a kink [mm].
        within_mm: radius beyond which the disc is not looked at [mm].
    """
    taken = comparison.under_cap.option.removal
    centre, found = (taken.centre_x_mm, taken.centre_y_mm), NOTHING_CUT
    if cut.lenticule_outer_mm > cut.lenticule_inner_mm:
        found = least_over(ring, centre, cut.lenticule_inner_mm, cut.lenticule_outer_mm, edges_mm)
    if cut.cap_radius_mm > 0.0:
        over = least_over(disc, centre, 0.0, np.minimum(cut.cap_radius_mm, within_mm), edges_mm)
        found = over if over.value < found.value else found
    return found


def flap_at_cap(comparison: Comparison, way: Way, cut: CutSoFar) -> Route:
    """A flap along the cap's plane with the flap's ablation under it: r − t over what is cut of the lower plane."""
    planned, ablation = comparison.under_cap.option, comparison.under_flap.option.removal
    the_cut = (
        "cut_um", "cut_planned_um", "cut_is_measured", "cut_error", "cut_planned_bias_um", "cut_diameter_mm",
        "largest_zone_in_cut_mm",
    )  # fmt: skip
    of_cap = {name: getattr(planned, name) for name in the_cut}
    option = replace(comparison.under_flap.option, spared_um=planned.cut_um, share_validated=False, **of_cap)
    edges = planned.removal.profile.zone_radius_mm, planned.removal.radius_mm, ablation.radius_mm
    lower = replace(cut, cap_radius_mm=0.0)
    least = over_what_is_cut(
        comparison, lower, lambda x, y: planned.removal.r_um(x, y) - ablation.t_um(x, y), lambda x, y: x, edges
    )
    why_not = too_wide(planned.cut_diameter_mm, 2.0 * ablation.radius_mm, planned.above)
    return new_plan(comparison, way, option, _if_any(least), why_not)


def on_surface(comparison: Comparison, way: Way, cut: CutSoFar) -> Route:
    """Surface ablation over the planes that are cut; the cap's credit says how much of it counts as loaded."""
    cornea, planned = comparison.cornea, comparison.under_cap.option
    option, depth = comparison.at_surface.option, planned.cut_um
    ablation = option.removal
    lacks_mm = epithelium_lacks_mm(cornea, ablation)
    known_mm = ablation.radius_mm - lacks_mm

    def room_um(x: Array, y: Array) -> Floats:
        """What the ablation leaves over the cap's plane [µm]; infinite where the epithelium is not known."""
        more = 0.0 if cornea.epithelium_map is None else cornea.epithelium_over_um(x, y)
        room = depth - cornea.epithelium_um - more - ablation.t_um(x, y)
        return np.where(np.hypot(x - ablation.centre_x_mm, y - ablation.centre_y_mm) <= known_mm, room, np.inf)

    edges = ablation.profile.zone_radius_mm, ablation.radius_mm, planned.removal.radius_mm
    least = over_what_is_cut(comparison, cut, lambda x, y: room_um(x, y) + planned.removal.r_um(x, y), room_um, edges)
    if lacks_mm > 0.0 and not least.value < 0.0:
        least = NOTHING_CUT
    found = new_plan(comparison, way, option, _if_any(least))
    if not found.available or found.off_centre:
        return found
    return replace(found, strength_percent=above_cap_counted(comparison, comparison.judgement.cap_credit))


def left_over_cap_um(comparison: Comparison) -> Floats:
    """What a surface ablation leaves over the cap's plane at the centre [µm]: C − E − t; negative where it goes deeper.

    Args:
        comparison: Comparison of one eye.
    """
    floor = comparison.at_surface.option
    return comparison.under_cap.option.cut_um - floor.cut_um - floor.removal.central_um


def above_cap_counted(comparison: Comparison, credit: Floats) -> dict[str, Floats]:
    """Relative strength [%] after a surface ablation over the cap's plane, by relationship.

    100·(credit·(F(C) − F(E + t)) + 1 − F(C)), F the share of a relationship in front of a depth; NaN where E + t > C

    Args:
        comparison: Comparison of one eye.
        credit: share of what lies between the ablation and the plane that counts as loaded [0–1].
    """
    if left_over_cap_um(comparison) < 0.0:
        return no_strengths()
    eye = comparison.cornea.central_thickness_um, comparison.cornea.epithelium_um
    depth, floor = comparison.under_cap.option.cut_um, comparison.at_surface.option
    over = all_strengths(*eye, depth, 0.0, credit)
    gone = all_strengths(*eye, floor.cut_um + floor.removal.central_um, 0.0, 0.0)
    return {name: value - credit * (100.0 - gone[name]) for name, value in over.items()}


def _if_any(least: Place) -> Place:
    """A clearance; NaN where nothing is cut that it could be compared with."""
    return least if np.isfinite(least.value) else Place(np.nan, np.nan, np.nan)
