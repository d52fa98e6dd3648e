"""Route: one way on, with the cut it makes, what it takes, what it leaves, and how far it stays from the old cuts."""

from dataclasses import dataclass

import numpy as np

from tissue.budget.budget import budget, deepest_off_centre, extremes, nothing_to_treat
from tissue.budget.comparison import Comparison
from tissue.budget.place import Place
from tissue.budget.strength.relationship import relationships
from tissue.budget.strength.strength import all_strengths
from tissue.ground.vocabulary import Flags, Floats, rounded
from tissue.removal.options import Option
from tissue.routes.ways import Way

NO_CLEARANCE = Place(np.nan, np.nan, np.nan)
NOTHING = "There is nothing to treat."
NEAR_MM = 0.05  # nearer than this rounds to 0.0 mm
HAIR = 1e-9


@dataclass(frozen=True, eq=False)
class Route:
    """One way on for one eye; NaN where a figure cannot be given.

    way: the way as it is described. option: the new cut and the new removal, as an Option. why_not: a sentence,
    empty where the route is there. clearance: least distance to an old cut and its place. off_centre: whether a
    removal is deepest off its centre, which takes the strength away.
    """

    way: Way
    option: Option
    cut_um: Floats
    removal_central_um: Floats
    bed_central_um: Floats
    bed_min_um: Floats
    altered_percent: Floats
    strength_percent: dict[str, Floats]
    clearance: Place = NO_CLEARANCE
    why_not: str = ""
    off_centre: Flags = False

    @property
    def available(self) -> bool:
        """Whether the route is there."""
        return not self.why_not


def no_strengths() -> dict[str, Floats]:
    """NaN for every relationship, by id."""
    return dict.fromkeys(relationships(), np.nan)


def route(
    way: Way,
    option: Option,
    figures: tuple[Floats, Floats, Floats],
    strengths: dict[str, Floats],
    *,
    clearance: Place = NO_CLEARANCE,
    why_not: str = "",
    off_centre: Flags = False,
) -> Route:
    """A Route; one that is not available keeps its cut, removal and clearance, and has no other figure.

    Args:
        way: Way.
        option: Option.
        figures: (central bed, least bed, percent altered) [µm, µm, %].
        strengths: relative strength [%] by relationship.
        clearance: Place.
        why_not: what is known to stand against it, a sentence; a missing bed is found here.
        off_centre: whether the strengths have to go.
    """
    central, least, altered = figures
    why_not = _why_not(option, least, why_not or _through(clearance))
    if why_not:
        central = least = altered = np.nan
    return Route(
        way=way,
        option=option,
        cut_um=option.cut_um,
        removal_central_um=option.removal.central_um,
        bed_central_um=central,
        bed_min_um=least,
        altered_percent=altered,
        strength_percent=no_strengths() if why_not or off_centre else strengths,
        clearance=clearance,
        why_not=why_not,
        off_centre=bool(off_centre),
    )


def where_words(place: Place) -> str:
    """A place from the vertex in words.

    >>> where_words(Place(0.0, -1.24, 0.5)), where_words(Place(0.0, -0.04, 0.5)), where_words(Place(0.0, 0.0, 0.01))
    ('−1.2, 0.5 mm from the vertex', '0.0, 0.5 mm from the vertex', 'the vertex')
    """
    x, y = place.x_mm, place.y_mm
    return "the vertex" if np.hypot(x, y) < NEAR_MM else f"{rounded(x, 1)}, {rounded(y, 1)} mm from the vertex"


def _through(clearance: Place) -> str:
    """The sentence for a new cut or ablation that passes through a plane that is already cut; otherwise empty."""
    if not clearance.value < 0.0:
        return ""
    return f"It goes through a plane that is cut already, by {-clearance.value:.1f} µm, at {where_words(clearance)}."


def too_wide(cut_mm: Floats, disc_mm: Floats, cut: str) -> str:
    """The sentence for a zone and blend wider than the cut they lie under; empty where they are not.

    Args:
        cut_mm: diameter of the cut [mm]; NaN where nothing is cut.
        disc_mm: zone and blend together [mm].
        cut: its name, such as "flap".

    >>> too_wide(9.0, 9.2, "flap"), too_wide(9.0, 9.0, "flap")
    ('Zone and blend, 9.2 mm, are wider than the flap of 9.0 mm: 0.2 mm are missing.', '')
    """
    missing = disc_mm - cut_mm
    if not missing > HAIR:
        return ""
    return (
        f"Zone and blend, {disc_mm:.1f} mm, are wider than the {cut} of {cut_mm:.1f} mm: {missing:.1f} mm are missing."
    )


def _why_not(option: Option, bed_min_um: Floats, why_not: str) -> str:
    """The first reason against a route, in one sentence."""
    if nothing_to_treat(option):
        return NOTHING
    if not why_not and bed_min_um <= 0.0:
        return f"No bed is left at the thinnest place: {-bed_min_um:.0f} µm are missing."
    return why_not


def new_plan(
    comparison: Comparison, way: Way, option: Option, clearance: Place = NO_CLEARANCE, why_not: str = ""
) -> Route:
    """The Route of a plan that starts from the whole cornea: its budget and strength come from the option.

    Args:
        comparison: Comparison.
        way, option: Way and the new Option.
        clearance, why_not: as in `route`.
    """
    cornea, treatment = comparison.cornea, comparison.treatment
    figures = budget(cornea, treatment, option, *extremes(cornea, [option])[0])
    depths = (cornea.central_thickness_um, cornea.epithelium_um, option.cut_um, option.removal.central_um)
    return route(
        way,
        option,
        (figures.bed_central_um, figures.bed_min_um, figures.altered_percent),
        all_strengths(*depths, option.credit),
        clearance=clearance,
        why_not=why_not,
        off_centre=deepest_off_centre(option),
    )
