"""A search over the treated disc, and the place that it finds."""

from typing import NamedTuple

from tissue.ground.vocabulary import Floats
from tissue.removal.removal import Removal


class Wanted(NamedTuple):
    """What to search for under a Removal: the least T − t, or with something above [µm] the greatest share (cut + r)/T.

    uncut: whether nothing is cut above it, so that a map of the epithelium lies above instead of one number.
    """

    taken: Removal
    above: Floats | None = None
    uncut: bool = False


class Place(NamedTuple):
    """A value [µm for a bed, minus a fraction for a share] and its place from the vertex [mm]."""

    value: Floats
    x_mm: Floats
    y_mm: Floats
