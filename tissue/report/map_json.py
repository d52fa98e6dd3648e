"""The maps of an eye under stable names: the readings, the surface, and what they add to an option."""

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.map_figures import MapFigures, map_figures
from tissue.entry.eye import Inputs
from tissue.entry.own_map.names import EPITHELIUM, THICKNESS
from tissue.entry.own_map.taken import surface_of
from tissue.entry.own_map.written import WrittenMap
from tissue.eye.cornea import Cornea
from tissue.eye.measured.surface import Surface
from tissue.ground.vocabulary import EYES, rounded

CENTRES = {THICKNESS: "central_thickness_um", EPITHELIUM: "epithelium_um"}
LINE_MM = np.arange(-4.0, 4.01, 0.25)


def map_as_dict(inputs: Inputs, cornea: Cornea) -> dict[str, Any]:
    """Both maps of an eye and the surfaces on a grid of 0.25 mm; null where there is none or where it is not known.

    Args:
        inputs: Inputs of an eye with a map. cornea: its Cornea.
    """
    own, found = cornea.own_map, {}
    layers = (
        {THICKNESS: None, EPITHELIUM: None} if own is None else {THICKNESS: own.thickness, EPITHELIUM: own.epithelium}
    )
    for name, surface in layers.items():
        found[_short(name)] = None if surface is None else part_as_dict(inputs.values[name], surface)
    lines: dict[str, Any] = {"x_mm": LINE_MM.tolist(), "y_mm": LINE_MM.tolist()}
    for name, surface in layers.items():
        lines[f"{_short(name)}_um"] = None if surface is None else _rows(surface)
    return {**found, "surface": lines}


def _short(name: str) -> str:
    """thickness of thickness_map."""
    return name.removesuffix("_map")


def _rows(surface: Surface) -> list[list[float]]:
    """The surface, one row for each y; NaN where it is not known."""
    x, y = np.meshgrid(LINE_MM, LINE_MM)
    rows: list[list[float]] = np.where(surface.is_known(x, y), surface.thickness_um(x, y), np.nan).tolist()
    return rows


def part_as_dict(written: WrittenMap, surface: Surface) -> dict[str, Any]:
    """One map: how it was read and what it says; covered_mm is the diameter about the vertex over which it is known."""
    four = surface.four_um()
    nasal, temporal = ("right", "left") if written.side == EYES[0] else ("left", "right")
    found = {
        "form": written.form,
        "positive_x": written.positive_x,
        "positive_y": written.positive_y,
        "readings": int(surface.readings.value_um.size),
        "missing": surface.missing,
        "left_out": [dict(zip(("x_mm", "y_mm", "read_um"), one, strict=True)) for one in surface.left_out],
        "residual_sd_um": surface.fitted.residual_sd_um,
        "covered_mm": 2.0 * surface.covered_mm(0.0, 0.0),
        "central_um": surface.central_um,
        "thinnest_um": surface.thinnest_um,
        "thinnest_x_mm": surface.thinnest_x_mm,
        "thinnest_y_mm": surface.thinnest_y_mm,
        "nasal_um": four[nasal],
        "temporal_um": four[temporal],
        "superior_um": four["up"],
        "inferior_um": four["down"],
    }
    return found | ({"sd_um": surface.sd_um} if written.name == THICKNESS else {})


def options_on_map(comparison: Comparison) -> dict[str, dict[str, Any]]:
    """What a map adds to the figures of every option, by name; nothing in an eye without one."""
    if comparison.cornea.own_map is None:
        return {}
    names = [field.name for field in fields(MapFigures)]
    return {option: {name: getattr(found, name) for name in names} for option, found in map_figures(comparison).items()}


def map_words(values: Mapping[str, Any]) -> str:
    """The maps of an eye in a few words; empty where it has none.

    Args:
        values: of the eye by name.
    """
    titles = {THICKNESS: "map", EPITHELIUM: "epithelium map"}
    return "; ".join(_few(title, values[name]) for name, title in titles.items() if values.get(name) is not None)


def _few(title: str, written: WrittenMap) -> str:
    """One map in a few words."""
    said = [title, *filter(None, [written.method]), f"{surface_of(written)[1].readings.value_um.size} readings"]
    return ", ".join([*said, *([] if written.confirmed else ["not confirmed on a picture"])])


def map_phrases(inputs: Inputs) -> list[str]:
    """A phrase for each map of an eye: its method, readings, direction, whether it was confirmed, what was left out.

    Args:
        inputs: Inputs of one eye.
    """
    own = inputs.cornea.own_map
    if own is None:
        return []
    layers = {THICKNESS: own.thickness, EPITHELIUM: own.epithelium}
    return [
        _phrase(inputs.values[name], surface, central_typed(inputs, name))
        for name, surface in layers.items()
        if surface is not None
    ]


def central_typed(inputs: Inputs, name: str) -> str:
    """The typed thickness of the centre where it is written differently from the map's; otherwise empty.

    Args:
        inputs: Inputs of one eye with that map. name: of the map.
    """
    surface = getattr(inputs.cornea.own_map, _short(name), None)
    if surface is None:
        return ""
    of_map, typed = rounded(surface.central_um), rounded(getattr(inputs.cornea, CENTRES[name]))
    return f"{of_map} µm at the vertex by the map, {typed} typed" if of_map != typed else ""


def _phrase(written: WrittenMap, surface: Surface, typed: str) -> str:
    """The phrase of one map."""
    words = [f"{_short(written.name)} by a map of its own", *filter(None, [written.method])]
    words.append(f"{surface.readings.value_um.size} readings")
    if written.positive_x:
        words.append(f"its x to {'the right' if written.positive_x == 'right' else 'nasal'}, y {written.positive_y}")
    words += [typed] if typed else []
    words.append("confirmed on the picture" if written.confirmed else "not confirmed on a picture")
    if surface.left_out:
        left = [f"{rounded(read)} µm at ({rounded(x, 1)}, {rounded(y, 1)}) mm" for x, y, read in surface.left_out]
        words.append(f"left out {', '.join(left)}")
    return f"{words[0]} ({', '.join(words[1:])})"
