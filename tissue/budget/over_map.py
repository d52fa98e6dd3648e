"""Where the bed is least in an eye with a map of its own: the whole treated disc is searched.

T may have several valleys, and the epithelium above a surface ablation its own shape: every valley of a polar grid over
zone and blend is followed. Where the map does not cover the whole disc there is no figure.
"""

from collections.abc import Sequence

import numpy as np

from tissue.budget.place import Place, Wanted
from tissue.eye.cornea import Cornea
from tissue.eye.measured.disc import MATTERS, least_in_disc
from tissue.ground.vocabulary import Array, Flags, Floats
from tissue.removal.removal import Removal

HAIR_MM = 1e-3  # of a radius of cover, found to less than this


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
    """Whether the maps of an eye hold the whole treated disc; that of the epithelium where it counts, held 1 mm."""
    return np.asarray(missing_mm(cornea, taken, uncut) <= 0.0)[()]


def missing_mm(cornea: Cornea, taken: Removal, uncut: bool) -> Floats:
    """How much radius the maps lack of the treated disc, the epithelium's held 1 mm [mm]; 0 or less where none."""
    centre = taken.centre_x_mm, taken.centre_y_mm
    lacking = taken.radius_mm - HAIR_MM - cornea.thickness.covered_mm(*centre)
    return np.maximum(lacking, epithelium_lacks_mm(cornea, taken)) if uncut else lacking


def epithelium_lacks_mm(cornea: Cornea, taken: Removal) -> Floats:
    """How much radius the map of the epithelium, held 1 mm, lacks of the treated disc [mm]; 0 or less where none."""
    layer = cornea.epithelium_map
    if layer is None:
        return -np.inf
    from tissue.eye.measured.surface import HELD_MM  # most eyes have no map, and do not wait for what reads one

    reached = layer.covered_mm(taken.centre_x_mm, taken.centre_y_mm) + HELD_MM
    return taken.radius_mm - HAIR_MM - reached
