"""The clearance between an old and a new cut, marked at its place in a section with its number."""

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from tissue.drawing.base.fonts import text_width
from tissue.drawing.base.labels import Label, Leader, Scale, label
from tissue.drawing.base.meridian import Meridian
from tissue.drawing.base.palette import Look
from tissue.drawing.base.traces import lines
from tissue.drawing.base.words import whole
from tissue.ground.vocabulary import Array, Figure
from tissue.routes.route import Route

TICK_PX, UNDER_PX, BESIDE_PX = 4.0, 13.0, 12.0


class Mark(NamedTuple):
    """Where a clearance lies: position along the meridian [mm], upper and lower end [µm], the clearance [µm]."""

    position_mm: float
    top_um: float
    bottom_um: float
    value_um: float


def mark_of(route: Route, line: Meridian) -> Mark | None:
    """The Mark of a Route on a Meridian through its place; None where it has no clearance.

    Args:
        route: Route.
        line: Meridian.
    """
    value, x, y = (float(part) for part in route.clearance)
    if np.isnan(value):
        return None
    cut = float(route.option.cut_um)
    below = route.way.id == "thicker-cap"  # the new upper face lies under the old cut, else the new floor over it
    end = cut - value if below else cut + float(route.option.removal.r_um(x, y))
    return Mark(float(line.position_mm(x, y)), min(end, end + value), max(end, end + value), value)


def place_mark(
    mark: Mark, scale: Scale, size_px: float, floor_px: Callable[[float, float], float], right_free: bool = True
) -> tuple[Label, Leader]:
    """Label and Leader of a Mark, in the bed under everything that is cut there.

    Args:
        mark: Mark.
        scale: Scale.
        size_px: type size [px].
        floor_px: lowest cut [px] between two places [px].
        right_free: whether no name of a layer stands right of the dimension line under the cuts.
    """
    text = f"clearance <b>{whole(mark.value_um)}</b>"
    half = text_width(text, size_px) / 2.0
    room = scale.half_px - half - 4.0
    at = mark.position_mm * scale.per_mm
    x = float(np.clip(at, -room, room))
    aside = half + BESIDE_PX
    if abs(x) < aside or (x > 0 and not right_free):
        x = float(np.clip(aside if at > BESIDE_PX and right_free else -aside, -room, room))
    y = floor_px(min(x - half, at), max(x + half, at)) + UNDER_PX
    middle = 0.5 * (mark.top_um + mark.bottom_um) * scale.per_um
    put = label(text, x, y, size_px, "stroma")
    return put, Leader(((at, middle), (float(np.clip(at, x - half, x + half)), put.box.top - 1.0)))


def mark_strokes(mark: Mark, scale: Scale) -> list[tuple[Array, Array]]:
    """The mark as strokes (position, depth): from plane to plane, with a tick at each."""
    p, tick = mark.position_mm, TICK_PX / scale.per_mm
    ends = [(np.array([p - tick, p + tick]), np.array([d, d])) for d in (mark.top_um, mark.bottom_um)]
    return [(np.array([p, p]), np.array([mark.top_um, mark.bottom_um])), *ends]


def mark_trace(strokes: Sequence[tuple[Array, Array]], look: Look, axes: str) -> Figure:
    """All marks of a figure as one trace."""
    return lines(strokes, axes, look.ink, 1.6)
