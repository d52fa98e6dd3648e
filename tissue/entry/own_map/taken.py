"""Turns a written map into the surface that the arithmetic takes, and checks it against what was typed beside it."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np

from tissue.entry.checks import FLAPS_AND_CAPS, Fault, fault_of, is_given
from tissue.entry.fields import figure
from tissue.entry.own_map.names import EPITHELIUM, MAPS, THICKNESS
from tissue.entry.own_map.written import DEFAULT_SD_UM, MOST_SD_UM, Read, WrittenMap, number_of, read_written
from tissue.eye.measured.own_map import OwnMap
from tissue.eye.measured.surface import APART_UM, Surface, measured_surface
from tissue.ground.errors import EyeError, number
from tissue.ground.vocabulary import rounded

KEPT = 8  # this many of the latest maps are kept
THICKNESS_APART_UM, PLACE_APART_MM, EPITHELIUM_APART_UM = 30.0, 1.0, 15.0  # typed against map


@lru_cache(maxsize=KEPT)
def surface_of(written: WrittenMap) -> tuple[Read, Surface]:
    """What a written map says and the Surface through it; the latest are kept, for every change of a plan needs them.

    Readings that lie apart from the others are not in the surface: see `require_together`.

    Raises:
        EyeError: a map that cannot be read, or does not cover the middle.
    """
    read = read_written(written)
    sd = DEFAULT_SD_UM if written.name == THICKNESS else 0.0
    if written.sd_um:
        accepted = f"0 to {MOST_SD_UM:g} µm"
        sd = number_of(written, "sd_um", written.sd_um, accepted)
        if not 0.0 <= sd <= MOST_SD_UM:
            raise written.error("sd_um", written.sd_um, accepted)
    aside = tuple(left_out(written))
    found = measured_surface(read.readings, sd, written.name == THICKNESS, written.name)
    return read, replace(found, missing=read.missing, left_out=aside)


def left_out(written: WrittenMap) -> Iterator[tuple[float, float, float]]:
    """Readings that were left out: x, y from the vertex in the axes of the eye [mm], and the value read [µm].

    Raises:
        EyeError: a line that is no place with a value.
    """
    for line in written.left_out.splitlines():
        if line.split():
            if len(line.split()) != 3:
                raise written.error("left_out", line.strip()[:60], "lines of x y value")
            x, y, value = (number_of(written, "left_out", word, "lines of x y value") for word in line.split())
            yield x * written.to_right, y * written.upwards, value if value > 1.0 else value * 1000.0


def apart(written: WrittenMap) -> list[int]:
    """Numbers of the readings that lie apart from the others, the farthest first."""
    read, found = surface_of(written)
    if found.fitted.kept.all():
        return []
    used = np.flatnonzero(read.readings.is_used())
    far = used[~found.fitted.kept]
    return [int(k) for k in far[np.argsort(-found.fitted.apart_um[~found.fitted.kept], kind="stable")]]


def require_together(written: WrittenMap) -> None:
    """Refuse a map in which readings lie apart from the others.

    Raises:
        EyeError: with the place of the farthest.
    """
    numbers = apart(written)
    if not numbers:
        return
    read, found = surface_of(written)
    if found.fitted.too_many_apart:
        share = f"{len(numbers)} readings or more far from the surface of the others"
        raise written.error("values", share, "at most 3 or 2 % of them: is it the right table, in one unit?")
    x = written.to_right * read.table_x_mm[numbers[0]]
    y = written.upwards * read.table_y_mm[numbers[0]]
    more = f", {len(numbers) - 1} more like it" if len(numbers) > 1 else ""
    raise written.error(
        "values",
        f"{read.words[numbers[0]]} at {rounded(x, 2)}, {rounded(y, 2)} mm{more}",
        f"within {APART_UM:g} µm of the surface of the others ({rounded(found.thickness_um(x, y))} µm), or left out",
    )


def without_apart(written: WrittenMap) -> WrittenMap:
    """The same map with the readings that lie apart counted as missing, and kept in words.

    Raises:
        EyeError: too many of them.
    """
    numbers = apart(written)
    if not numbers or surface_of(written)[1].fitted.too_many_apart:
        require_together(written)
        return written
    read = surface_of(written)[0]
    words = [f"{read.table_x_mm[k]:.6g} {read.table_y_mm[k]:.6g} {read.words[k]}" for k in numbers]
    again = written.without([read.at[k] for k in numbers], "\n".join(words))
    return without_apart(again)


def own_map_of(values: Mapping[str, Any]) -> OwnMap | None:
    """The OwnMap of an eye's values by name; None where it has no map.

    Raises:
        EyeError: a map that cannot be taken.
    """
    written = {name: values[name] for name in MAPS if values.get(name) is not None}
    if not written:
        return None
    surfaces = {}
    for name, one in written.items():
        require_together(one)
        surfaces[name] = surface_of(one)[1]
    typed = [number(values.get(name))[()] for name in ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm")]
    return OwnMap(surfaces.get(THICKNESS), surfaces.get(EPITHELIUM), *typed)


def against_typed(values: Mapping[str, Any], own: OwnMap) -> Iterator[Fault]:
    """Faults of what was typed beside the maps of an eye, and of cuts that reach no deeper than its epithelium."""
    if own.thickness is not None:
        yield from _thickness_typed(values, own.thickness)
    if own.epithelium is not None:
        centre, typed = float(own.epithelium.central_um), _number(values, "epithelium_um")
        if abs(typed - centre) > EPITHELIUM_APART_UM:
            accepted = f"within {EPITHELIUM_APART_UM:g} µm of the map's centre ({rounded(centre)} µm)"
            yield Fault("epithelium_um", figure(typed), accepted)
        most = own.epithelium.greatest_um
        for name in FLAPS_AND_CAPS:
            if _number(values, name) <= most:
                accepted = f"deeper than the thickest epithelium of the map ({rounded(most)} µm)"
                yield Fault(name, figure(_number(values, name)), accepted)


def _thickness_typed(values: Mapping[str, Any], surface: Surface) -> Iterator[Fault]:
    """Faults of a typed thickness, at the centre or the thinnest point, that differs much from the map."""
    pairs = {"central_thickness_um": ("centre", surface.central_um), "thinnest_um": ("thinnest", surface.thinnest_um)}
    for name, (word, of_map) in pairs.items():
        if abs(_number(values, name) - float(of_map)) > THICKNESS_APART_UM:
            accepted = f"within {THICKNESS_APART_UM:g} µm of the map's {word} ({rounded(of_map)} µm)"
            yield Fault(name, figure(_number(values, name)), accepted)
    x, y = _number(values, "thinnest_x_mm"), _number(values, "thinnest_y_mm")
    at = float(surface.thinnest_x_mm), float(surface.thinnest_y_mm)
    if np.hypot(x - at[0], y - at[1]) > PLACE_APART_MM:
        accepted = f"within {PLACE_APART_MM:.1f} mm of the map's ({rounded(at[0], 2)}, {rounded(at[1], 2)})"
        yield Fault("thinnest_x_mm", f"{figure(x)}, {figure(y)}", accepted + _mirrored(x, y, at))


def _mirrored(x: float, y: float, at: tuple[float, float]) -> str:
    """Which mirror image of a typed place would fit the map's, in words; empty where none does."""
    ways = {"positive_x": (-x, y), "positive_y": (x, -y), "positive_x and positive_y": (-x, -y)}
    fitting = [name for name, (u, v) in ways.items() if np.hypot(u - at[0], v - at[1]) <= PLACE_APART_MM]
    return f": mirrored it fits, is {fitting[0]} right?" if fitting else ""


def _number(values: Mapping[str, Any], name: str) -> float:
    """A value as a number; NaN where it is not given."""
    value = values.get(name)
    return float(value) if value is not None and is_given(value).all() else float("nan")


def faults_of_maps(values: Mapping[str, Any]) -> list[Fault]:
    """Faults of the maps of one eye and of what was typed beside them."""
    found = []
    for name in MAPS:
        if values.get(name) is not None:
            try:
                require_together(values[name])
            except EyeError as error:
                found.append(fault_of(error))
    if found or not any(values.get(name) is not None for name in MAPS):
        return found
    own = own_map_of(values)
    return [] if own is None else list(against_typed(values, own))
