"""Five Landolt rings and two lights at night, as seen through a planned surface: pictures as arrays, nothing drawn."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.signal import fftconvolve

from tissue.eye.cornea import Pupil
from tissue.ground.vocabulary import Array
from tissue.optics.sight.focus import InPupil
from tissue.optics.sight.image import point_spread
from tissue.optics.sight.view import View, lines_of_light
from tissue.optics.sight.wave import OwnWave

PX = 4  # pixels to a minute of arc, in both pictures
RINGS_ARCMIN, LIGHTS_ARCMIN = (60, 15), (60, 30)  # fields
REACH_ARCMIN = 45.0  # how far light is followed: from a light to the far end of its field
APART_ARCMIN, DECADES = 30, 4
STROKE_ARCMIN, GAPS_DEG = 1.0, (0.0, 90.0, 45.0, 180.0, 270.0)  # ISO 8596: five strokes across, a gap of one
PARTS = 4  # of a pixel a side, in which a ring is told from its ground


@dataclass(frozen=True, eq=False)
class Pictures:
    """What is seen through one pupil; rows downwards.

    rings: luminance over that of the bright ground [0–1], shape (60, 240). lights: brightness [0–1], the logarithm over
    four decades below the brightest pixel without error at the same pupil, shape (120, 240).
    """

    rings: Array
    lights: Array


def seen_through(seen: InPupil, view: View) -> Pictures:
    """The Pictures of a wave over a pupil."""
    spread = pixel_light(seen, view)
    rings = 1.0 - fftconvolve(rings_mask(), spread, mode="same")
    peak = brightest(seen.radius_mm, view.light, view.stiles_crawford_per_mm2)
    return Pictures(np.clip(rings, 0.0, 1.0), _lights(spread / peak))


def pixel_light(seen: InPupil, view: View, reach_arcmin: float = REACH_ARCMIN) -> Array:
    """Share of all light in each square pixel about the axis [0–1], an odd number of them a side; y down the rows."""
    half = round(reach_arcmin * PX)
    edges = (np.arange(-half, half + 2) - 0.5) / PX
    total = np.zeros((edges.size - 1, edges.size - 1))
    for line in lines_of_light(view.light):
        found = point_spread(seen, line, view.stiles_crawford_per_mm2, reach_arcmin + 1.0)
        middles, step = found.along_arcmin, found.step_arcmin
        ends = np.clip(edges[:, np.newaxis], middles - step / 2.0, middles + step / 2.0)
        held = np.diff(ends, axis=0) / step
        total += line.share * found.per_light / 100.0 * (held @ found.values @ held.T)
    return np.asarray(total[::-1])


@lru_cache(maxsize=32)  # pupils of the page; a server runs for weeks
def brightest(radius_mm: float, light: str, stiles_crawford_per_mm2: float) -> float:
    """Share of all light in the brightest pixel of a light seen without error [0–1]."""
    seen = InPupil(OwnWave(0.0), Pupil(2.0 * radius_mm))
    return float(pixel_light(seen, View(light, 0.0, stiles_crawford_per_mm2), 3.0).max())


def _lights(spread: Array) -> Array:
    """Two lights side by side, as brightness on a scale of logarithms."""
    across, up = (size * PX for size in LIGHTS_ARCMIN)
    middle, away = spread.shape[0] // 2, APART_ARCMIN * PX // 2
    field = np.zeros((up, across))
    for centre in (across // 2 - away, across // 2 + away):
        left, right = max(0, centre - middle), min(across, centre + middle + 1)
        rows = slice(middle - up // 2, middle + up - up // 2)
        field[:, left:right] += spread[rows, middle - (centre - left) : middle + (right - centre)]
    with np.errstate(divide="ignore"):
        return np.clip(1.0 + np.log10(field) / DECADES, 0.0, 1.0)


@lru_cache(maxsize=1)
def rings_mask() -> Array:
    """Share of each pixel that five Landolt rings cover [0–1], shape (60, 240)."""
    across, up = (size * PX * PARTS for size in RINGS_ARCMIN)
    x = (np.arange(across) + 0.5) / (PX * PARTS)
    y = RINGS_ARCMIN[1] / 2.0 - (np.arange(up) + 0.5) / (PX * PARTS)
    pitch = RINGS_ARCMIN[0] / len(GAPS_DEG)
    dark = np.zeros((up, across), dtype=bool)
    for number, gap in enumerate(np.radians(GAPS_DEG)):
        dx, dy = np.meshgrid(x - pitch * (number + 0.5), y)
        away = np.hypot(dx, dy)
        along, beside = dx * np.cos(gap) + dy * np.sin(gap), dy * np.cos(gap) - dx * np.sin(gap)
        ring = (away <= 2.5 * STROKE_ARCMIN) & (away >= 1.5 * STROKE_ARCMIN)
        dark |= ring & ~((along > 0.0) & (np.abs(beside) <= STROKE_ARCMIN / 2.0))
    return np.asarray(dark.reshape(up // PARTS, PARTS, across // PARTS, PARTS).mean(axis=(1, 3)))
