"""The pictures of an eye in words, as alternative texts; and its section as rows of numbers, for a CSV file."""

import numpy as np

from tissue.budget.budget import bed_wanted
from tissue.budget.comparison import Comparison, Result
from tissue.drawing.base.meridian import Meridian, meridian
from tissue.drawing.base.outline import reach_mm
from tissue.drawing.base.palette import ABOVE, HEADS
from tissue.drawing.base.rings import front
from tissue.drawing.base.words import SIDES, degrees, direction_word, length, place_words, whole
from tissue.drawing.own_map.over_front import map_sentences
from tissue.drawing.section.section import line_names
from tissue.ground.vocabulary import Array, Figure, Floats

STEP_MM = 0.1


def describe_flattened(comparison: Comparison, side: str, meridian_deg: float = 0.0) -> str:
    """Alternative text of the flattened sections.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        meridian_deg: meridian [degrees].

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> eye = Cornea(548.0, 543.0, -0.6, -0.5, radius_mm=337.5 / 43.25)
    >>> plan = compare(eye, Treatment(Refraction(-6.0, -1.25, 170.0)))
    >>> describe_flattened(plan, "OD").split(". ")[2]
    'Flap ablation: flap 110, removed 124, bed 314, least bed 311 at 0.3 mm inferotemporal'
    """
    return _sections(comparison, side, meridian_deg, "front surface drawn flat, depth downwards")


def describe_true_scale(comparison: Comparison, side: str, meridian_deg: float = 0.0) -> str:
    """Alternative text of the sections at true scale; arguments as `describe_flattened`."""
    return _sections(comparison, side, meridian_deg, "width and depth at one scale")


def describe_depth_times_four(comparison: Comparison, side: str, meridian_deg: float = 0.0) -> str:
    """Alternative text of the sections with depth multiplied; arguments as `describe_flattened`."""
    return _sections(comparison, side, meridian_deg, "depth four times the width's scale")


def _sections(comparison: Comparison, side: str, meridian_deg: float, drawn: str) -> str:
    """Sections in words: what is drawn, each option, the user's line."""
    line = meridian(comparison, meridian_deg)
    low, high = line.end_words(side)
    thickness = whole(comparison.cornea.central_thickness_um)
    parts = [
        f"Sections of the {SIDES[side]} ({side}) along {degrees(line.angle_deg)}, {low} to {high}, {drawn}; "
        f"central thickness {thickness} µm, all depths in µm"
    ]
    parts += [_option(name, result, side) for name, result in comparison.results.items()]
    longest = line_names(comparison, comparison.at_surface.option.name)[0]
    return ". ".join([*parts, f"Line drawn by the user: {longest}"]) + "."


def _option(name: str, result: Result, side: str) -> str:
    """One option in words."""
    if not result.available:
        return f"{HEADS[name]}: not drawn, {result.why_not}"
    figures = result.budget
    removed = f"removed {whole(figures.removal_central_um)}"
    if whole(figures.removal_max_um) != whole(figures.removal_central_um):
        at = place_words(figures.removal_max_x_mm, figures.removal_max_y_mm, side)
        removed += f" at the centre and at most {whole(figures.removal_max_um)}, {at}"
    if np.isnan(figures.bed_min_um):
        depths = f"{ABOVE[name]} {whole(figures.cut_um)}, {removed}, bed {whole(figures.bed_central_um)}"
        return f"{HEADS[name]}: {depths}, no least bed: the map does not reach"
    at = place_words(figures.bed_min_x_mm, figures.bed_min_y_mm, side)
    at = at if at == "at the vertex" else f"at {at}"
    return (
        f"{HEADS[name]}: {ABOVE[name]} {whole(figures.cut_um)}, {removed}, bed {whole(figures.bed_central_um)}, "
        f"least bed {whole(figures.bed_min_um)} {at}"
    )


def describe_front(comparison: Comparison, side: str) -> str:
    """Alternative text of the front view, small or large.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
    """
    seen = front(comparison)
    parts = [
        f"The {SIDES[side]} ({side}) from the front, lengths in mm: cornea {length(2 * seen.limbus.radius_mm)}, "
        f"pupil {length(2 * seen.pupil.radius_mm)}"
    ]
    x, y = seen.centre
    if seen.any_available:
        parts.append(f"Optical zone {length(2 * seen.zone.radius_mm)}, centred {place_words(x, y, side)}")
    for name, ring in seen.treated.items():
        parts.append(f"{HEADS[name]}: with its blend {length(2 * ring.radius_mm)}")
    if seen.flap is not None:
        turn = np.radians(seen.hinge_deg)
        towards = direction_word(np.cos(turn), np.sin(turn), side)
        parts.append(f"Flap {length(2 * seen.flap.radius_mm)}, hinge {towards}")
    if seen.cap is not None:
        low, high = seen.incision_arc_deg
        wide = length(np.radians(high - low) * seen.cap.radius_mm)
        parts.append(f"Cap {length(2 * seen.cap.radius_mm)}, incision {wide} at {degrees((low + high) / 2.0)}")
    x, y = seen.thinnest
    parts.append(f"Thinnest point {whole(comparison.cornea.thinnest_um)} µm, {place_words(x, y, side)}")
    if seen.axis_marks:
        parts.append(f"Axis of the minus cylinder {degrees(seen.axis_deg)}")
    return ". ".join(parts + map_sentences(comparison)) + "."


def section_table(comparison: Comparison, angle_deg: float = 0.0, step_mm: float = STEP_MM) -> list[Figure]:
    """Rows of a section along a meridian, from limbus to limbus.

    Depths are below the front surface along the optical axis, heights are from the vertex, upwards. A depth that is
    not there (no cut at that place, an option that is not available) is None.

    Args:
        comparison: Comparison of one eye.
        angle_deg: meridian [degrees].
        step_mm: distance of the rows [mm].
    """
    line = meridian(comparison, angle_deg)
    low, high = line.crossings(reach_mm(comparison.cornea))
    first, last = np.ceil(low / step_mm - 1e-9), np.floor(high / step_mm + 1e-9)
    position = np.arange(first, last + 1) * step_mm
    columns = _columns(comparison, line, position)
    listed = {name: np.round(values, 4).tolist() for name, values in columns.items()}
    return [
        {name: None if np.isnan(values[i]) else values[i] + 0.0 for name, values in listed.items()}
        for i in range(position.size)
    ]


def _columns(comparison: Comparison, line: Meridian, position: Array) -> dict[str, Array]:
    """Every column as an array, NaN where a curve is not there."""
    cornea = comparison.cornea
    x, y = (np.asarray(one) for one in line.place(position))
    front, thickness = (np.asarray(one) for one in (-cornea.front_mm(x, y), cornea.thickness_um(x, y)))
    columns = {"position_mm": position, "x_mm": x, "y_mm": y, "front_mm": front}
    over = np.broadcast_to(cornea.epithelium_over_um(x, y), position.shape)
    columns |= _both("epithelium", cornea.epithelium_um + over, front)
    columns |= _both("back", thickness, front)
    columns |= _both("line", thickness - comparison.judgement.bed_line_um, front)
    for name, result in comparison.results.items():
        above = over if bed_wanted(cornea, result.option).uncut else np.array(0.0)
        columns |= _option_columns(name, result, (position, x, y), front, thickness, above)
    return columns


def _both(name: str, depth_um: Array, front_mm: Array) -> dict[str, Array]:
    """A curve as depth [µm] and as height [mm]."""
    return {f"{name}_depth_um": depth_um, f"{name}_mm": front_mm - depth_um / 1000.0}


def _option_columns(
    name: str, result: Result, place: tuple[Array, Array, Array], front: Array, thickness: Array, over: Floats
) -> dict[str, Array]:
    """Cut, removal, its floor, and the bed of one option.

    place: position on the meridian, x and y [mm]. over: what a map of the epithelium has over one number [µm].
    """
    option, position = result.option, place[0]
    treated = float(option.removal.radius_mm)
    radius = float(np.where(np.isnan(option.cut_diameter_mm), treated, option.cut_diameter_mm / 2.0))
    shown = 0.0 if result.available else np.nan
    cut = np.where(np.abs(position) <= radius + 1e-9, option.cut_um + over, np.nan) + shown
    removed = np.where(np.abs(position) <= treated + 1e-9, option.removal.r_um(*place[1:]), np.nan) + shown
    floor = option.cut_um + over + removed
    columns = _both(f"{name}_cut", cut, front)
    columns[f"{name}_removed_um"] = removed
    columns |= _both(f"{name}_floor", floor, front)
    columns[f"{name}_bed_um"] = thickness - floor
    return columns
