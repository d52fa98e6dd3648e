"""Rescue options when suction is lost: what is usual at each stage, and how far new cuts stay from the old ones."""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.place import Place
from tissue.ground.errors import given
from tissue.ground.limits import of_kind, one_number, single_eye
from tissue.ground.vocabulary import CAP, CUT, INCISION, SIDE, STAGES, Array, Floats
from tissue.removal.options import Option, flap, lenticule
from tissue.routes.cap_first import by_geometry, flap_at_cap, is_little, on_surface, over_what_is_cut
from tissue.routes.cutting import Clock, CutSoFar, clock_of, cut_so_far
from tissue.routes.route import Route, new_plan, too_wide
from tissue.routes.ways import AT_CAP, ON_SURFACE, OVER_FLAP, Way, rescue_ways

USUAL_THIN_FLAP_UM = 90.0  # the rescue flap is not made thinner than this by rule; common practice
THINNEST_FLAP_UM = 60.0  # no flap is cut thinner; the limit of the input flap_um
THICKEST_CAP_UM = 250.0  # no cap is cut thicker; the limit of the input cap_um


@dataclass(frozen=True, eq=False)
class Rescue:
    """The state when suction is lost, and the rescue options of it.

    seconds: on the clock of the cuts [s]. cut_radius_mm: how far the interrupted spiral has come [mm], NaN for a
    side cut. thickest_flap_um: thickest flap that keeps the margin [µm], NaN where none does or none is in question.
    is_described: whether the routes are described by others; where not, they are what the geometry leaves.
    """

    stage: str
    done: float
    clock: Clock
    cut: CutSoFar
    seconds: Floats
    cut_radius_mm: Floats
    thickest_flap_um: Floats
    margin_um: Floats
    routes: tuple[Route, ...]
    is_described: bool


def rescue(comparison: Comparison, stage: str, done: float) -> Rescue:
    """The rescue options for one eye when suction is lost in a stage.

    Args:
        comparison: Comparison of one eye.
        stage: `lenticule`, `lenticule-side`, `cap` or `incision`.
        done: share of that cut's area that is done [0–1].

    Raises:
        EyeError: an unknown stage, a share outside 0 to 1.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> [r.way.id for r in rescue(plan, "lenticule", 0.35).routes]
    ['flap', 'thinner-cap', 'thicker-cap']
    """
    of_kind(comparison=(comparison, Comparison))
    single_eye(comparison.cornea, comparison.treatment, comparison.flap, comparison.cap, comparison.judgement)
    done = one_number(done, "done", 0.0, 1.0)
    cuts = clock_of(comparison)
    cut = cut_so_far(cuts, stage, done)
    described = cuts.order == STAGES or stage == INCISION  # by the last cut the same tissue is cut in both orders
    names = usual(stage, done) if described else by_geometry(stage, done)
    room = flap_room(comparison, cut)
    makers = {
        OVER_FLAP: lambda way: _flap(comparison, way, room),
        "thinner-cap": lambda way: _thinner(comparison, way, cut),
        "thicker-cap": lambda way: _thicker(comparison, way, cut),
        "cap-as-flap": lambda way: _cap_as_flap(comparison, way),
        AT_CAP: lambda way: flap_at_cap(comparison, way, cut),
        ON_SURFACE: lambda way: on_surface(comparison, way, cut),
    }
    ways = [rescue_ways(described)[name] for name in names]
    routes = tuple(makers.get(way.id, lambda way: _same_plan(comparison, way))(way) for way in ways)
    return Rescue(
        stage=stage,
        done=done,
        clock=cuts,
        cut=cut,
        seconds=cuts.seconds(stage, done),
        cut_radius_mm=cuts.reached_mm(stage, done),
        thickest_flap_um=thickest_flap_um(comparison, room) if OVER_FLAP in names else np.nan,
        margin_um=comparison.judgement.margin_um,
        routes=routes,
        is_described=described,
    )


def usual(stage: str, done: float) -> tuple[str, ...]:
    """Ids of the rescue options that are usual in a stage with a share of it done [0–1].

    Source: suction2020 (the limit between the first two), common practice.

    >>> usual("lenticule", 0.0999), usual("lenticule", 0.1)
    (('restart',), ('flap', 'thinner-cap', 'thicker-cap'))
    """
    return {
        CUT: ("restart",) if is_little(done) else (OVER_FLAP, "thinner-cap", "thicker-cap"),
        SIDE: ("repeat-side-cut",),
        CAP: ("repeat-cap", "cap-as-flap", OVER_FLAP) if done > 0 else ("repeat-cap", "cap-as-flap"),
        INCISION: ("repeat-incision", "open-by-hand", "cap-as-flap", OVER_FLAP),
    }[stage]


def flap_room(comparison: Comparison, cut: CutSoFar) -> Place:
    """Thickness [µm] in which a flap and the ablation under it reach the nearest old cut, a Place.

    Least of C + r − t over the annulus of the lenticule cut and of C − t over the disc of the cap cut; t is
    the ablation under the flap.

    Args:
        comparison: Comparison.
        cut: CutSoFar.
    """
    old, ablation = comparison.under_cap.option, comparison.under_flap.option.removal
    taken, C = old.removal, old.cut_um
    return over_what_is_cut(
        comparison,
        cut,
        lambda x, y: C + taken.r_um(x, y) - ablation.t_um(x, y),
        lambda x, y: C - ablation.t_um(x, y),
        (taken.profile.zone_radius_mm, taken.radius_mm, ablation.radius_mm),
    )


def thickest_flap_um(comparison: Comparison, room: Place) -> Floats:
    """Thickest flap that keeps the margin [µm]; NaN under 60: no flap stays clear.

    Args:
        comparison: Comparison.
        room: Place of `flap_room`.
    """
    thickest = room.value - comparison.judgement.margin_um
    return np.where(thickest < THINNEST_FLAP_UM, np.nan, thickest)[()]


def rescue_flap_um(comparison: Comparison, room: Place) -> Floats:
    """The flap of the way out [µm]: the given one; else the planned one where it keeps the margin, else the thickest
    that does, at least 90.

    Args:
        comparison: Comparison.
        room: Place of `flap_room`.
    """
    planned, thickest = comparison.flap.flap_um, room.value - comparison.judgement.margin_um
    by_rule = np.where(planned <= thickest, planned, np.maximum(thickest, USUAL_THIN_FLAP_UM))
    return given(comparison.flap.rescue_flap_um, by_rule)


def _flap(comparison: Comparison, way: Way, room: Place) -> Route:
    """Over to a flap: a planned cut (a measured one belongs to another plan), the flap's own ablation under it."""
    F2 = rescue_flap_um(comparison, room)
    ablation, E = comparison.under_flap.option.removal, comparison.cornea.epithelium_um
    new = replace(comparison.flap, flap_um=F2, flap_measured_um=None)
    option = flap(comparison.cornea, ablation, comparison.errors, new, comparison.judgement.flap_credit)
    disc_mm = 2.0 * ablation.radius_mm
    why_not = _too_shallow(option.above, F2, E) or too_wide(option.cut_diameter_mm, disc_mm, option.above)
    return new_plan(comparison, way, option, room._replace(value=room.value - F2), why_not)


def _thinner(comparison: Comparison, way: Way, cut: CutSoFar) -> Route:
    """The same lenticule again above the abandoned cut: cap C − margin, or the given one under C."""
    old, wanted = comparison.under_cap.option, comparison.cap.recut_cap_um
    C, margin = old.cut_um, comparison.judgement.margin_um
    cap = np.where(given(wanted, np.inf) < C, given(wanted, np.nan), C - margin)[()]
    r_um = old.removal.r_um
    clearance = _over_old_cuts(
        comparison, cut, lambda x, y: C + r_um(x, y) - (cap + r_um(x, y)), lambda x, y: C - (cap + r_um(x, y))
    )
    why_not = _too_shallow("cap", cap, comparison.cornea.epithelium_um)
    return new_plan(comparison, way, _recut(comparison, cap), clearance, why_not)


def _thicker(comparison: Comparison, way: Way, cut: CutSoFar) -> Route:
    """The same lenticule again below the abandoned cut: cap C + B + max t + margin, or the given one over C."""
    old, wanted = comparison.under_cap.option, comparison.cap.recut_cap_um
    C, margin = old.cut_um, comparison.judgement.margin_um
    lowest = _over_old_cuts(comparison, cut, lambda x, y: -C - old.removal.r_um(x, y), lambda x, y: 0.0 * x - C)
    cap = np.where(given(wanted, -np.inf) > C, given(wanted, np.nan), margin - lowest.value)[()]
    clearance = lowest._replace(value=cap + lowest.value)
    why_not = ""
    if cap > THICKEST_CAP_UM:
        over = cap - THICKEST_CAP_UM
        why_not = (
            f"It would need a cap of {cap:.0f} µm; up to {THICKEST_CAP_UM:.0f} µm are cut: {over:.0f} µm are missing."
        )
    return new_plan(comparison, way, _recut(comparison, cap), clearance, why_not)


def _cap_as_flap(comparison: Comparison, way: Way) -> Route:
    """The cap cut completed as a flap at its own depth, the finished lenticule taken out: the cap counts as a flap."""
    planned = comparison.under_cap.option
    option = replace(planned, credit=comparison.judgement.flap_credit, spared_um=planned.cut_um)
    return new_plan(comparison, way, option)


def _over_old_cuts(
    comparison: Comparison,
    cut: CutSoFar,
    ring: Callable[[Array, Array], Floats],
    disc: Callable[[Array, Array], Floats],
) -> Place:
    """The least over what is cut of the lenticule and of the cap above it, a Place; see `over_what_is_cut`."""
    taken = comparison.under_cap.option.removal
    edges = taken.profile.zone_radius_mm, taken.radius_mm
    return over_what_is_cut(comparison, cut, ring, disc, edges, within_mm=taken.radius_mm)


def _recut(comparison: Comparison, cap_um: Floats) -> Option:
    """The extraction with another cap; a measured cap belongs to the abandoned one."""
    taken = comparison.under_cap.option.removal
    new = replace(comparison.cap, cap_um=cap_um, cap_measured_um=None)
    return lenticule(comparison.cornea, taken, comparison.errors, new, comparison.judgement.cap_credit)


def _too_shallow(word: str, cut_um: Floats, epithelium_um: Floats) -> str:
    """The sentence for a cut that does not lie below the epithelium, else an empty text."""
    if cut_um > epithelium_um:
        return ""
    return (
        f"A {word} of {cut_um:.0f} µm would not lie below the epithelium of {epithelium_um:.0f} µm: "
        f"more than {epithelium_um - cut_um:.0f} µm are missing."
    )


def _same_plan(comparison: Comparison, way: Way) -> Route:
    """The plan goes on: with its own figures and no new plane beside the old one."""
    return new_plan(comparison, way, comparison.under_cap.option)
