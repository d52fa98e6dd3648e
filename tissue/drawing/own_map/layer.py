"""One map as it is drawn: lines of equal thickness, known and continued, and strokes over what is not measured."""

from typing import NamedTuple

import numpy as np

from tissue.drawing.own_map.level_lines import Stroke, level_lines
from tissue.eye.measured.surface import Surface
from tissue.vocabulary import Array

STEP_UM = {True: 10.0, False: 2.0}  # between lines: of a thickness, which grows outwards, and of an epithelium
REACH_MM = 5.5  # how far out a map is drawn; readings farther out are left unused
GRID_MM = 0.2
HATCH_MM, ALONG_MM = 0.45, 0.1  # between the strokes of the hatch; between the points of one
LEAST_POINTS = 2


class Layer(NamedTuple):
    """What is drawn of a map, from the vertex [mm].

    known, beyond: by level [µm], strokes where it is known and where it is only continued. hatch: strokes over what is
    not measured.
    """

    known: dict[float, list[Stroke]]
    beyond: dict[float, list[Stroke]]
    hatch: list[Stroke]


def layer_of(surface: Surface, reach_mm: float = REACH_MM) -> Layer:
    """The Layer of a map.

    Args:
        surface: Surface. reach_mm: radius of the disc about the vertex that is drawn [mm].
    """
    line = np.arange(-reach_mm - GRID_MM, reach_mm + 1.5 * GRID_MM, GRID_MM)
    values = np.asarray(surface.thickness_um(*np.meshgrid(line, line)))
    step = STEP_UM[surface.grows]
    known: dict[float, list[Stroke]] = {}
    beyond: dict[float, list[Stroke]] = {}
    for level in np.arange(np.ceil(values.min() / step), np.floor(values.max() / step) + 1.0) * step:
        for x, y in level_lines(line, line, values, level):
            inside, there = np.hypot(x, y) <= reach_mm, surface.is_known(x, y)
            known.setdefault(float(level), []).extend(_parts(x, y, inside & there))
            beyond.setdefault(float(level), []).extend(_parts(x, y, inside & ~there))
    return Layer(_drawn(known), _drawn(beyond), list(_hatch(surface, reach_mm)))


def _drawn(by_level: dict[float, list[Stroke]]) -> dict[float, list[Stroke]]:
    """The levels of which something is drawn."""
    return {level: strokes for level, strokes in by_level.items() if strokes}


def _parts(x: Array, y: Array, wanted: np.ndarray) -> list[Stroke]:
    """The stretches of a stroke where something holds."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], wanted, [False]]).astype(int)))
    return [(x[a:b], y[a:b]) for a, b in zip(ends[::2], ends[1::2], strict=True) if b - a >= LEAST_POINTS]


def _hatch(surface: Surface, reach_mm: float) -> list[Stroke]:
    """Strokes upwards to the right over the disc, where the map is not known."""
    along = np.arange(-reach_mm, reach_mm + ALONG_MM, ALONG_MM)
    across = np.arange(-reach_mm, reach_mm + HATCH_MM, HATCH_MM)[:, None]
    x, y = (along - across) / np.sqrt(2.0), (along + across) / np.sqrt(2.0)
    wanted = (np.hypot(x, y) <= reach_mm) & ~surface.is_known(x, y)
    return [part for row in zip(x, y, wanted, strict=True) for part in _parts(*row)]
