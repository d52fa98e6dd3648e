"""What the surgeon should know of an eye's own map, in words: id, option, field and text of each notice."""

from collections.abc import Iterator

import numpy as np

from tissue.budget.budget import bed_wanted
from tissue.budget.comparison import Comparison, Result
from tissue.budget.map_figures import least_by_paraboloid
from tissue.budget.over_map import missing_mm
from tissue.budget.place import Place
from tissue.budget.remedies import ZONES_MM
from tissue.eye.measured.surface import HELD_MM, Surface
from tissue.ground.vocabulary import rounded
from tissue.removal.removal import Removal

Said = tuple[str, str | None, str | None, str]
CENTRE_UM, EPITHELIUM_UM, THINNEST_UM, THINNEST_MM, PARABOLOID_UM = 10.0, 5.0, 10.0, 0.5, 10.0
ROUGH_UM = 1.0
HAIR = 1e-9


def map_notices(comparison: Comparison) -> Iterator[Said]:
    """The notices on the maps of one eye.

    Args:
        comparison: Comparison of one eye with a map.
    """
    own = comparison.cornea.own_map
    if own is None:
        return
    if own.thickness is not None:
        yield from _against_thickness(comparison, own.thickness)
        yield from _of_readings(own.thickness, "thickness_map")
    if own.epithelium is not None:
        yield from _against_epithelium(comparison, own.epithelium)
        yield from _of_readings(own.epithelium, "epithelium_map")
    for result in comparison.results.values():
        if result.available:
            yield from _short(comparison, result)
    if own.thickness is not None:
        for name, place in least_by_paraboloid(comparison).items():
            yield from _unlike_paraboloid(comparison.results[name], place)


def _against_thickness(comparison: Comparison, surface: Surface) -> Iterator[Said]:
    """A centre or a thinnest point that was typed and lies away from the map's."""
    CCT, at_vertex = float(comparison.cornea.central_thickness_um), float(surface.central_um)
    if abs(CCT - at_vertex) > CENTRE_UM + HAIR:
        text = (
            f"The map gives {rounded(at_vertex)} µm at the vertex; {rounded(CCT)} was typed. Central figures use the "
            f"typed one, the least ones the map as it is. The notice ends within {CENTRE_UM:.0f} µm."
        )
        yield "map-differs", None, "central_thickness_um", text
    own = comparison.cornea.own_map
    typed = np.nan if own is None or own.typed_thinnest_um is None else float(own.typed_thinnest_um)
    if own is None or np.isnan(typed):
        return
    x, y = (0.0 if one is None or np.isnan(one) else float(one) for one in (own.typed_x_mm, own.typed_y_mm))
    away = float(np.hypot(x - surface.thinnest_x_mm, y - surface.thinnest_y_mm))
    if abs(typed - float(surface.thinnest_um)) > THINNEST_UM + HAIR or away > THINNEST_MM + HAIR:
        text = (
            f"The thinnest point was typed as {rounded(typed)} µm; on the map it is {rounded(surface.thinnest_um)} µm, "
            f"{away:.1f} mm away. The figures use the map. The notice ends within {THINNEST_UM:.0f} µm and "
            f"{THINNEST_MM} mm."
        )
        yield "map-thinnest", None, "thinnest_um", text


def _against_epithelium(comparison: Comparison, surface: Surface) -> Iterator[Said]:
    """An epithelium that was typed and lies away from the map's centre."""
    E, at_vertex = float(comparison.cornea.epithelium_um), float(surface.central_um)
    if abs(E - at_vertex) > EPITHELIUM_UM + HAIR:
        text = (
            f"The map of the epithelium gives {rounded(at_vertex)} µm at the vertex; {rounded(E)} was typed. Central "
            f"figures and strength use the typed one. The notice ends within {EPITHELIUM_UM:.0f} µm."
        )
        yield "map-differs", None, "epithelium_um", text


def _of_readings(surface: Surface, field: str) -> Iterator[Said]:
    """Readings that lie far from the surface, and those that were left out."""
    residual = surface.fitted.residual_sd_um
    if residual > max(ROUGH_UM, surface.sd_um):
        text = (
            f"The readings lie {residual:.1f} µm (SD) from the smooth surface through them: what is narrower than "
            "about a millimetre is not in the figures. A table with less noise ends this."
        )
        yield "map-rough", None, field, text
    if surface.left_out:
        count = len(surface.left_out)
        what = "1 reading of the map was" if count == 1 else f"{count} readings of the map were"
        x, y, read = surface.left_out[0]
        text = f"{what} left out by hand; the first read {read:.0f} µm at {rounded(x, 1)}, {rounded(y, 1)} mm."
        yield "map-left-out", None, field, text


def _short(comparison: Comparison, result: Result) -> Iterator[Said]:
    """A treated disc that a map does not hold whole."""
    cornea, option = comparison.cornea, result.option
    uncut = bed_wanted(cornea, option).uncut
    lacking = float(missing_mm(cornea, option.removal, False))
    if lacking > 0:
        text = f"The map ends {lacking:.2f} mm short of the treated disc: "
        text += f"{_no_least(option.title)} {what_ends(option.removal, lacking)}"
        yield "map-short", option.name, "thickness_map", text
    layer = cornea.epithelium_map
    if not uncut or layer is None:
        return
    taken = option.removal
    lacking = float(taken.radius_mm - layer.covered_mm(taken.centre_x_mm, taken.centre_y_mm))
    if lacking > HELD_MM:
        text = (
            f"The map of the epithelium ends {lacking:.2f} mm short of the treated disc, over the {HELD_MM:.0f} mm for "
        )
        text += f"which it is held: {_no_least(option.title)} {what_ends(option.removal, lacking - HELD_MM)}"
        yield "map-short", option.name, "epithelium_map", text
    elif lacking > 1e-3:
        text = f"The map of the epithelium ends {lacking:.2f} mm short of the treated disc; there its edge is held."
        yield "map-short", option.name, "epithelium_map", text


def _no_least(title: str) -> str:
    """What cannot be given, in words."""
    return f"no least bed and no greatest share of the {title} can be given."


def what_ends(taken: Removal, lacking_mm: float) -> str:
    """The zone or the blend with which a map that is so much short [mm] would cover the disc of a removal."""
    zone, blend = (
        np.floor((float(now) - by) * 20.0) / 20.0
        for now, by in ((taken.zone_mm, 2.0 * lacking_mm), (taken.blend_mm, lacking_mm))
    )
    ways = [f"a zone of {zone:.2f} mm"] if zone >= ZONES_MM[0] else []
    ways += [f"a blend of {blend:.2f} mm"] if taken.blend_mm > lacking_mm else []
    words = " or ".join([*ways, "a wider map"])
    return f"{words[0].upper()}{words[1:]} would end this."


def _unlike_paraboloid(result: Result, place: Place) -> Iterator[Said]:
    """A least bed that the paraboloid has elsewhere or otherwise; place: by the paraboloid."""
    own, plain = float(result.budget.bed_min_um), float(place.value)
    if abs(own - plain) > PARABOLOID_UM + HAIR:
        text = (
            f"Least bed of the {result.option.title}: map {rounded(own)} µm, paraboloid {rounded(plain)} µm. The "
            "paraboloid is drawn from one point with an average growth; the figures use the map."
        )
        yield "map-paraboloid", result.option.name, "thickness_map", text
