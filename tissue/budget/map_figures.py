"""What an eye's own map adds to the figures of an option: the paraboloid beside it, how wide the least bed is, and what
one number for the epithelium would miss."""

from dataclasses import dataclass

import numpy as np

from tissue.budget.budget import bed_wanted
from tissue.budget.comparison import Comparison, Result
from tissue.budget.least_bed import worst_places
from tissue.budget.place import Place
from tissue.eye.measured.surface import HELD_MM, ring_places
from tissue.ground.vocabulary import Array, Floats

RASTER_MM = 0.05
NEAR_SDS = 2.0  # beds within this many errors of a reading above the least count as near it


@dataclass(frozen=True, eq=False)
class MapFigures:
    """Figures of one option of an eye with a map, by the names of the interface; NaN where there is none.

    bed_min_paraboloid_um with its place: the least bed by the paraboloid. bed_near_least_mm2: area in which the bed is
    within two errors of a reading of the least. cut_stroma: what the cut leaves of stroma above it over the treated
    disc. transepithelial: stroma taken too much (+) over the zone where one number stands for the epithelium; rms about
    the mean.
    """

    bed_min_paraboloid_um: Floats
    bed_min_paraboloid_x_mm: Floats
    bed_min_paraboloid_y_mm: Floats
    bed_near_least_mm2: Floats
    cut_stroma_min_um: Floats
    cut_stroma_max_um: Floats
    transepithelial_low_um: Floats
    transepithelial_high_um: Floats
    transepithelial_rms_um: Floats


def least_by_paraboloid(comparison: Comparison) -> dict[str, Place]:
    """The least bed [µm] of every option that there is, by the paraboloid in place of the map, and its place [mm].

    Args:
        comparison: Comparison of one eye with a map.
    """
    plain = comparison.cornea.without_map()
    there = {name: one.option for name, one in comparison.results.items() if one.available}
    found = worst_places(plain, [bed_wanted(plain, option) for option in there.values()]) if there else []
    return {
        name: place._replace(value=place.value - option.cut_um - option.removal.base_um)
        for (name, option), place in zip(there.items(), found, strict=True)
    }


def map_figures(comparison: Comparison) -> dict[str, MapFigures]:
    """The MapFigures of every option by name.

    Args:
        comparison: Comparison of one eye with a map.
    """
    places = least_by_paraboloid(comparison)
    return {
        name: _of_option(comparison, result, places[name]) if name in places else MapFigures(*[np.nan] * 9)
        for name, result in comparison.results.items()
    }


def _of_option(comparison: Comparison, result: Result, place: Place) -> MapFigures:
    """The MapFigures of one option; place: its least bed by the paraboloid."""
    option = result.option
    stroma = (np.nan, np.nan) if not option.cuts else _cut_stroma(comparison, result)
    over = (np.nan, np.nan, np.nan) if option.cuts else _transepithelial(comparison, result)
    return MapFigures(*place, near_least_mm2(comparison, result), *stroma, *over)


def bed_um(comparison: Comparison, result: Result, x_mm: Array, y_mm: Array) -> Array:
    """The bed of an option [µm] at places within the treated disc, from the vertex [mm]."""
    cornea, option = comparison.cornea, result.option
    over = cornea.epithelium_over_um(x_mm, y_mm) if bed_wanted(cornea, option).uncut else 0.0
    return np.asarray(cornea.thickness_um(x_mm, y_mm) - option.cut_um - over - option.removal.r_um(x_mm, y_mm))


def near_least_um(comparison: Comparison, result: Result) -> Floats:
    """The bed up to which it is near the least [µm]."""
    return result.budget.bed_min_um + NEAR_SDS * comparison.cornea.thickness.sd_um


def near_least_mm2(comparison: Comparison, result: Result) -> float:
    """Area of the treated disc in which the bed is near the least [mm²]."""
    taken = result.option.removal
    if np.isnan(result.budget.bed_min_um) or comparison.cornea.thickness.from_one_point:
        return float("nan")
    line = np.arange(-float(taken.radius_mm), float(taken.radius_mm) + RASTER_MM, RASTER_MM)
    x, y = (part.ravel() for part in np.meshgrid(line, line))
    inside = np.hypot(x, y) <= taken.radius_mm
    bed = bed_um(comparison, result, x[inside] + taken.centre_x_mm, y[inside] + taken.centre_y_mm)
    return float(np.sum(bed <= near_least_um(comparison, result)) * RASTER_MM**2)


def _epithelium(comparison: Comparison, result: Result, radius_mm: Floats) -> Array:
    """The epithelium [µm] over a disc about the treatment centre; empty where its map does not reach, held 1 mm."""
    cornea, taken = comparison.cornea, result.option.removal
    x, y = ring_places(0.1, float(radius_mm))
    x, y = x + taken.centre_x_mm, y + taken.centre_y_mm
    layer = cornea.epithelium_map
    if layer is None:
        return np.full(x.shape, cornea.epithelium_um)
    reached = layer.covered_mm(taken.centre_x_mm, taken.centre_y_mm) + HELD_MM
    return np.asarray(layer.thickness_um(x, y)) if radius_mm <= reached else np.array([])


def _cut_stroma(comparison: Comparison, result: Result) -> tuple[Floats, Floats]:
    """Least and greatest of what the cut leaves of stroma above it [µm]: cut − E(x, y)."""
    layer = _epithelium(comparison, result, result.option.removal.radius_mm)
    cut = result.option.cut_um
    return (cut - layer.max(), cut - layer.min()) if layer.size else (np.nan, np.nan)


def _transepithelial(comparison: Comparison, result: Result) -> tuple[float, float, float]:
    """Least, greatest and rms about the mean of E − E(x, y) over the zone [µm]; none without a map of it."""
    layer = _epithelium(comparison, result, result.option.removal.zone_mm / 2.0)
    if comparison.cornea.epithelium_map is None or not layer.size:
        return np.nan, np.nan, np.nan
    too_much = float(comparison.cornea.epithelium_um) - layer
    return float(too_much.min()), float(too_much.max()), float(too_much.std())
