"""Finds where the bed is least in an eye with a map: the whole treated disc is searched.

The thickness may have several valleys, and the epithelium above a surface ablation a shape of its own: every valley
of a polar grid over zone and blend is followed. Where the map does not cover the whole disc there is no figure.
"""

from collections.abc import Sequence

import numpy as np

from tissue.budget.place import Place, Wanted
from tissue.eye.cornea import Cornea
from tissue.eye.measured.disc import MATTERS, least_in_disc
from tissue.ground.vocabulary import Array, Flags, Floats
from tissue.removal.removal import Removal

HAIR_MM = 1e-3  # accuracy of the radius that a map covers


def search_map(cornea: Cornea, wanted: Sequence[Wanted]) -> list[Place]:
    """The least value of each goal over the closed treated disc, and its place; NaN where the map does not cover it.

    Args:
        cornea: Cornea with a map of its own.
        wanted: a Wanted for each goal.
    """
    found = [_least(cornea, *one) for one in wanted]
    shape = np.broadcast_shapes(*(np.shape(place.value) for place in found))
    return [Place(*(np.broadcast_to(part, shape)[()] for part in place)) for place in found]


def _least(cornea: Cornea, taken: Removal, above: Floats | None, uncut: bool) -> Place:
    """The place of one goal."""
    edge, ring = np.broadcast_arrays(taken.profile.zone_radius_mm, taken.blend_mm)
    centre = taken.centre_x_mm, taken.centre_y_mm

    def bed(x: Array, y: Array) -> Floats:
        over = cornea.epithelium_over_um(x, y) if uncut else 0.0
        return cornea.thickness_um(x, y) - over - taken.t_um(x, y)

    cut = 0.0 if above is None else above

    def share(x: Array, y: Array) -> Floats:
        over = cornea.epithelium_over_um(x, y) if uncut else 0.0
        return -(cut + over + taken.t_um(x, y)) / cornea.thickness_um(x, y)

    shape = np.broadcast_shapes(edge.shape, *(np.shape(part) for part in (*centre, taken.max_um, taken.axis_deg)))
    if above is None:
        found = least_in_disc(bed, centre, np.broadcast_to(edge, shape), ring)
    else:
        edge = np.broadcast_to(edge, np.broadcast_shapes(shape, np.shape(above)))
        found = least_in_disc(share, centre, edge, ring, MATTERS / cornea.thinnest_um)
    known = covers(cornea, taken, uncut)
    return Place(*(np.where(known, part, np.nan)[()] for part in found))


def least_thickness(cornea: Cornea, taken: Removal, uncut: bool) -> Place:
    """Least thickness over the closed treated disc [µm] and its place, less what a map of the epithelium has over one
    number where nothing is cut; NaN where the map does not cover the disc.

    Args:
        cornea: Cornea with a map of its own.
        taken: Removal that sets the disc.
        uncut: whether nothing is cut above it.
    """

    def thickness(x: Array, y: Array) -> Floats:
        return cornea.thickness_um(x, y) - (cornea.epithelium_over_um(x, y) if uncut else 0.0)

    found = least_in_disc(thickness, (taken.centre_x_mm, taken.centre_y_mm), taken.radius_mm)
    known = covers(cornea, taken, uncut)
    return Place(*(np.where(known, part, np.nan)[()] for part in found))


def covers(cornea: Cornea, taken: Removal, uncut: bool) -> Flags:
    """Whether the maps of an eye cover the whole treated disc; the epithelium's, if it counts, is held on for 1 mm."""
    return np.asarray(missing_mm(cornea, taken, uncut) <= 0.0)[()]


def missing_mm(cornea: Cornea, taken: Removal, uncut: bool) -> Floats:
    """By how much the maps fall short of the treated disc's radius [mm]; the epithelium's is held on for 1 mm."""
    centre = taken.centre_x_mm, taken.centre_y_mm
    lacking = taken.radius_mm - HAIR_MM - cornea.thickness.covered_mm(*centre)
    return np.maximum(lacking, epithelium_lacks_mm(cornea, taken)) if uncut else lacking


def epithelium_lacks_mm(cornea: Cornea, taken: Removal) -> Floats:
    """By how much the epithelium's map, held on for 1 mm, falls short of the treated disc's radius [mm]."""
    layer = cornea.epithelium_map
    if layer is None:
        return -np.inf
    from tissue.eye.measured.surface import HELD_MM  # imported here: most eyes have no map

    reached = layer.covered_mm(taken.centre_x_mm, taken.centre_y_mm) + HELD_MM
    return taken.radius_mm - HAIR_MM - reached
