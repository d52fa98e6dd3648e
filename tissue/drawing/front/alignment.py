"""The eye from the front with a turned axis and the pupil past the zone; what a rotation leaves, as a picture."""

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.budget.comparison import Comparison
from tissue.drawing.base.handles import with_handles
from tissue.drawing.base.palette import Hatch, Look, mix
from tissue.drawing.base.rings import MARK_TO, Circle, Front, front
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.drawing.base.words import degrees, place_words
from tissue.drawing.front.front import PUPIL_TINT, WIDTH_PX, Named, front_view
from tissue.drawing.front.handles import centre_handle
from tissue.drawing.section.describe import describe_front
from tissue.eye.refraction import Refraction
from tissue.ground.vocabulary import TRUE_MINUS, Array, Figure, rounded
from tissue.optics.rotation import rotation_residual, turned

MOST_DEG = 15.0
MARGIN_PX = (58, 14, 34, 44)
HEIGHT_PX = 420
TURNED_FROM = 0.80  # the turned marks reach further in than those of the axis, as parts of the limbus radius
OUTSIDE_HATCH = Hatch("/", 6, 0.24)
UNDER_RINGS = 2  # after limbus and pupil, before every ring
UNDER_NAME_MM = 0.01  # puts a name after another in the order
NEAR_MM = 0.05  # a place nearer to the vertex rounds to 0.0 mm


def front_turned(
    comparison: Comparison, side: str, look: Look, turn_deg: float, outside_percent: float, width_px: float = WIDTH_PX
) -> Figure:
    """The large front view, with the axis where a rotation takes it, the pupil's centre and its part past the zone.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        look: Look.
        turn_deg: rotation in question [degrees], counter-clockwise.
        outside_percent: share of the pupil outside the zone [%].
        width_px: width of the figure [px].
    """
    seen = front(comparison)
    strokes, landed = turned_marks(seen, comparison.treatment.refraction, turn_deg)
    patch = pupil_past_zone(seen)
    named = []
    if strokes:
        named.append(_turned_name(seen, strokes, turn_deg, landed))
    if _off_vertex(seen):
        x, y = seen.pupil.x_mm, seen.pupil.y_mm
        named.append(Named("pupil's centre ○", x, y, False, y * 0.5 - 1.1))
    if patch:
        i = int(np.argmin(patch[0]))
        named.append(
            Named(f"pupil outside<br>the zone {rounded(outside_percent, 1)} %", patch[0][i], patch[1][i], False)
        )
    figure = front_view(comparison, side, look, width_px, named)
    data = figure["data"]
    if strokes:
        data.insert(UNDER_RINGS, lines(strokes, "", look.ink, 1.6, "dot"))
    if _off_vertex(seen):
        data.append(marks([(seen.pupil.x_mm, seen.pupil.y_mm, "circle-open", 7, 1.2)], "", look.ink))
    if patch:
        tint = mix(look.stroma, look.ink, PUPIL_TINT)
        data.insert(UNDER_RINGS, area(patch, "", tint, OUTSIDE_HATCH, look.rule2))
    figure["layout"] |= with_handles([centre_handle(seen, side, look)] if seen.any_available else [])
    return figure


def _turned_name(
    seen: Front,
    strokes: tuple[Any, ...],
    turn_deg: float,
    landed: float,
) -> Named:
    """The name of the turned axis, under that of the axis and at the mark next to the one that is named there."""

    def middles(
        marked: tuple[Any, ...],
    ) -> list[tuple[float, float]]:
        return [(float(np.mean(x)), float(np.mean(y))) for x, y in marked]

    named = min(middles(seen.axis_marks))
    x, y = min(middles(strokes), key=lambda at: np.hypot(at[0] - named[0], at[1] - named[1]))
    return Named(f"turned by {_signed(turn_deg)}: {degrees(landed)}", x, y, False, named[1] - UNDER_NAME_MM)


def turned_marks(seen: Front, refraction: Refraction, turn_deg: float) -> tuple[tuple[Any, ...], float]:
    """Two strokes where the turned axis meets the limbus, and that axis [degrees]; none without cylinder or turn."""
    if not seen.axis_marks or turn_deg == 0:
        return (), np.nan
    landed = float(turned(refraction.minus(), turn_deg).axis_deg)
    ends = [Circle(0.0, 0.0, part * seen.limbus.radius_mm) for part in (TURNED_FROM, MARK_TO)]
    strokes = [[circle.point(landed + half) for circle in ends] for half in (0.0, 180.0)]
    return tuple(tuple(zip(*stroke, strict=True)) for stroke in strokes), landed


def pupil_past_zone(seen: Front) -> tuple[Array, ...] | None:
    """Outline (x, y) of the part of the pupil outside the zone [mm]; None where there is none, or nothing is treated.

    Its outer edge runs along the pupil, its inner edge back along the zone.
    """
    if not seen.any_available:
        return None
    pupil, zone = seen.pupil, seen.zone
    outer = _run(pupil, lambda x, y: np.hypot(x - zone.x_mm, y - zone.y_mm) > zone.radius_mm)
    if outer is None:
        return None
    inner = _run(zone, lambda x, y: np.hypot(x - pupil.x_mm, y - pupil.y_mm) < pupil.radius_mm)
    if inner is None:
        return outer
    return tuple(np.concatenate([there, back[::-1], there[:1]]) for there, back in zip(outer, inner, strict=True))


def _run(circle: Circle, wanted: Callable[[Array, Array], NDArray[np.bool_]]) -> tuple[Array, ...] | None:
    """The one run of points (x, y) of a circle that is wanted, in its order; None where there is none."""
    x, y = (part[:-1] for part in circle.arc(step_deg=1.0))
    there = wanted(x, y)
    if not there.any():
        return None
    if there.all():
        return np.append(x, x[0]), np.append(y, y[0])
    start = int(np.flatnonzero(there & ~np.roll(there, 1))[0])
    return tuple(np.roll(part, -start)[: int(there.sum())] for part in (x, y))


def _off_vertex(seen: Front) -> bool:
    """Whether the pupil's centre is another place than the vertex."""
    return bool(np.hypot(seen.pupil.x_mm, seen.pupil.y_mm) >= NEAR_MM)


def _signed(turn_deg: float) -> str:
    return f"{turn_deg:+g}°".translate(TRUE_MINUS)


def describe_turned(comparison: Comparison, side: str, turn_deg: float, outside_percent: float) -> str:
    """The large front view in words, with its numbers; arguments as `front_turned`."""
    seen = front(comparison)
    said = describe_front(comparison, side)
    said += f" Pupil's centre {place_words(seen.pupil.x_mm, seen.pupil.y_mm, side)}."
    _, landed = turned_marks(seen, comparison.treatment.refraction, turn_deg)
    if not np.isnan(landed):
        said += f" Turned by {_signed(turn_deg)}, counter-clockwise, the axis lies at {degrees(landed)}."
    return f"{said} Pupil outside the zone: {rounded(outside_percent, 1)} %."


def rotation_lines(refraction: Refraction, turn_deg: float, look: Look) -> Figure:
    """Cylinder left against rotation, with the rotation in question marked.

    Args:
        refraction: treated Refraction at the spectacle plane.
        turn_deg: rotation in question [degrees], counter-clockwise.
        look: Look.
    """
    turns = np.linspace(-MOST_DEG, MOST_DEG, 121)
    left = np.abs(rotation_residual(refraction, turns).cylinder_D)
    most = max(float(left.max()), 0.25)
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "showgrid": True}
    frame = layout(look, None, HEIGHT_PX, MARGIN_PX)
    frame["xaxis"] = axis((0.0, 1.0), (-MOST_DEG - 0.5, MOST_DEG + 0.5), "y", gridcolor=look.rule, dtick=5, **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (0.0, 1.12 * most), "x", gridcolor=look.rule, **ticks)
    at = float(np.abs(rotation_residual(refraction, turn_deg).cylinder_D))
    data = [
        lines([(turns, left)], "", look.ink, 2),
        lines([((turn_deg, turn_deg), (0.0, at))], "", look.rule2, 1, "dot"),
        marks([(turn_deg, at, "circle", 10, 1.5)], "", look.ink),
    ]
    return {"data": data, "layout": frame | {"annotations": _notes(turn_deg, at, look)}}


def _notes(turn_deg: float, at: float, look: Look) -> list[Figure]:
    """What the axes are, and the figure at the rotation in question, beside the curve and inside the picture."""
    place = {"xanchor": "left", "yanchor": "bottom", "yshift": 6}
    outwards = "right" if turn_deg > 0 else "left"
    inside = {"xanchor": outwards, "yanchor": "bottom", "yshift": 4, "xshift": -8 if turn_deg > 0 else 8}
    below = "rotation, °, counter-clockwise to the right"
    return [
        words("cylinder left, D", 0.0, 1.0, 12, look.ink2, xref="paper", yref="paper", **place),
        words(f"<b>{at:.2f}</b> at {_signed(turn_deg)}", turn_deg, at, 12.5, look.ink, **inside),
        words(below, 0.0, 0.0, 11.5, look.ink2, xref="paper", yref="paper", xanchor="left", yanchor="top", yshift=-22),
    ]


def describe_rotation(refraction: Refraction, turn_deg: float) -> str:
    """The picture in words, with its numbers."""
    at = rotation_residual(refraction, turn_deg)
    five, ten = (float(np.abs(rotation_residual(refraction, turn).cylinder_D)) for turn in (5.0, 10.0))
    return (
        f"Cylinder left against rotation: {abs(float(at.cylinder_D)):.2f} D at {turn_deg:g}°, {five:.2f} D at 5°, "
        f"{ten:.2f} D at 10°; the spherical equivalent does not change."
    )
