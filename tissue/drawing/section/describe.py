"""The pictures of an eye in words, with their figures: alternative texts."""

import numpy as np

from tissue.drawing.base.meridian import meridian
from tissue.drawing.base.palette import ABOVE, HEADS
from tissue.drawing.base.rings import front
from tissue.drawing.base.words import SIDES, degrees, direction_word, length, place_words, whole
from tissue.drawing.section.section import line_names


def describe_flattened(comparison, side, meridian_deg=0.0):
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


def describe_true_scale(comparison, side, meridian_deg=0.0):
    """Alternative text of the sections at true scale; arguments as `describe_flattened`."""
    return _sections(comparison, side, meridian_deg, "width and depth at one scale")


def describe_depth_times_four(comparison, side, meridian_deg=0.0):
    """Alternative text of the sections with depth multiplied; arguments as `describe_flattened`."""
    return _sections(comparison, side, meridian_deg, "depth four times the width's scale")


def _sections(comparison, side, meridian_deg, drawn):
    """Sections in words: what is drawn, each option, the user's line."""
    line = meridian(comparison, meridian_deg)
    low, high = line.end_words(side)
    thickness = whole(comparison.cornea.central_thickness_um)
    parts = [
        f"Sections of the {SIDES[side]} ({side}) along {degrees(line.angle_deg)}, {low} to {high}, {drawn}; "
        f"central thickness {thickness} µm, all depths in µm"
    ]
    parts += [_option(name, result, side) for name, result in comparison.results.items()]
    return ". ".join([*parts, f"Line drawn by the user: {line_names(comparison, 'surface')[0]}"]) + "."


def _option(name, result, side):
    """One option in words."""
    if not result.available:
        return f"{HEADS[name]}: not drawn, {result.why_not}"
    figures = result.budget
    removed = f"removed {whole(figures.removal_central_um)}"
    if whole(figures.removal_max_um) != whole(figures.removal_central_um):
        at = place_words(figures.removal_max_x_mm, figures.removal_max_y_mm, side)
        removed += f" at the centre and at most {whole(figures.removal_max_um)}, {at}"
    at = place_words(figures.bed_min_x_mm, figures.bed_min_y_mm, side)
    at = at if at == "at the vertex" else f"at {at}"
    return (
        f"{HEADS[name]}: {ABOVE[name]} {whole(figures.cut_um)}, {removed}, bed {whole(figures.bed_central_um)}, "
        f"least bed {whole(figures.bed_min_um)} {at}"
    )


def describe_front(comparison, side):
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
    if seen.any_available:
        parts.append(f"Optical zone {length(2 * seen.zone.radius_mm)}, centred {place_words(*seen.centre, side)}")
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
    parts.append(f"Thinnest point {whole(comparison.cornea.thinnest_um)} µm, {place_words(*seen.thinnest, side)}")
    if seen.axis_marks:
        parts.append(f"Axis of the minus cylinder {degrees(seen.axis_deg)}")
    return ". ".join(parts) + "."
