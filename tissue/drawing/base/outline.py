"""One outline of an eye and an option along a meridian, in mm and µm; every renderer draws from it."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np

from tissue.budget.budget import Budget, deepest_off_centre
from tissue.budget.comparison import Comparison, Result
from tissue.drawing.base.curve import Curve, clipped, closed, dense, level
from tissue.drawing.base.cuts import cut_along, layer_above
from tissue.drawing.base.meridian import Meridian, meridian
from tissue.drawing.base.words import whole
from tissue.eye.cornea import Cornea
from tissue.ground.vocabulary import Array, Figure, Floats
from tissue.removal.options import Option
from tissue.removal.removal import Removal

ISO_DEPTH_UM = 100.0  # a hairline is drawn in the tissue at every multiple
LEAST_NEAR_MM = 0.3  # a least bed this near to the meridian is drawn on it
SMOOTH = np.linspace(-1.0, 1.0, 81)
BLEND = np.linspace(0.0, 1.0, 9)[1:]


class Deepest(NamedTuple):
    """Where the removal is deepest on the meridian, away from the centre."""

    position_mm: float
    removed_um: float


class Least(NamedTuple):
    """The least bed: its foot on the meridian, distance from it [mm], back surface there and bed [µm]."""

    position_mm: float
    off_mm: float
    depth_um: float
    bed_um: float

    @property
    def on_meridian(self) -> bool:
        """Whether it is near enough to be drawn."""
        return self.off_mm <= LEAST_NEAR_MM


@dataclass(frozen=True, eq=False)
class Outline:
    """An option along a meridian, its front drawn flat: curves are straight between their points.

    low_mm, high_mm: ends. thickness_um: drawn thickness at the treatment centre. cut_um, removed_um, bed_um:
    what the dimension line reads. above: what lies between epithelium and cut (none for a surface ablation).
    cut: side cuts included; as the floor there only where the option is available. floor: lower side of the removal;
    it begins and ends on the cut, so that it closes to the removed area. hinge_mm, incision_mm: positions where the
    meridian meets them. ring: whether more is removed beside the centre, on whatever meridian. drop and removed stand
    only in a bent outline: how far the front falls away from the treatment centre, and the removed area as a polygon.
    """

    name: str
    meridian: Meridian
    cornea: Cornea
    available: bool
    why_not: str
    low_mm: float
    high_mm: float
    thickness_um: float
    epithelium_um: float
    cut_um: float
    removed_um: float
    bed_um: float
    front: Curve
    back: Curve
    epithelium: Curve
    iso_depths: tuple[Curve, ...]
    user_line_um: float
    user_line: Curve | None
    above: Curve | None = None
    cut: Curve = None  # type: ignore[assignment]
    floor: Curve = None  # type: ignore[assignment]
    least: Least | None = None
    deepest: Deepest | None = None
    hinge_mm: float | None = None
    incision_mm: float | None = None
    drop: Curve | None = None
    removed: Curve | None = None
    ring: bool = False

    @property
    def bed_words(self) -> str:
        """The bed at the centre as a label; bold unless more is removed beside the centre."""
        return f"bed {whole(self.bed_um)}" if self.ring else f"bed <b>{whole(self.bed_um)}</b>"

    def drop_um(self, position_mm: Floats) -> Floats:
        """How far the drawn front surface lies below its height at the treatment centre [µm]; 0 if drawn flat."""
        return np.interp(position_mm, *self.drop) if self.drop is not None else np.zeros(np.shape(position_mm))[()]


def bent(outline: Outline, depth_factor: float = 1.0, step_mm: float = 0.1) -> Outline:
    """The Outline on its curved front: every depth is then below the front at the treatment centre [µm].

    Args:
        outline: Outline drawn flat.
        depth_factor: how much depth is multiplied; the front surface and all widths keep their scale, so what the
            front falls is divided by the factor.
        step_mm: distance of the points [mm].
    """
    cornea, line = outline.cornea, outline.meridian
    top = cornea.front_mm(*line.place(0.0))

    def turned(curve: Curve | None) -> Curve | None:
        if curve is None:
            return None
        position, depth = dense(curve, step_mm)
        return Curve(position, depth + (cornea.front_mm(*line.place(position)) - top) * 1000.0 / depth_factor)

    names = ("front", "back", "epithelium", "user_line", "above", "cut", "floor")
    return replace(
        outline,
        removed=turned(closed(outline.floor)),
        drop=turned(outline.front),
        iso_depths=tuple(one for one in map(turned, outline.iso_depths) if one is not None),
        **{name: turned(getattr(outline, name)) for name in names},  # type: ignore[arg-type]
    )


def outlines(comparison: Comparison, angle_deg: float = 0.0, half_width_mm: float | None = None) -> dict[str, Outline]:
    """The Outline of every option of one eye, by name.

    Args:
        comparison: Comparison of one eye (numbers, not arrays).
        angle_deg: meridian [degrees].
        half_width_mm: how far to both sides of the treatment centre; to the limbus where None.
    """
    line = meridian(comparison, angle_deg)
    shared = _cornea_part(comparison, line, half_width_mm)
    profiles = {}
    for result in comparison.results.values():
        taken = result.option.removal
        if id(taken) not in profiles:
            profiles[id(taken)] = _removed_along(taken, line)
    return {
        name: _outline(comparison, result, line, shared, profiles[id(result.option.removal)])
        for name, result in comparison.results.items()
    }


def half_width_mm(comparison: Comparison) -> float:
    """Half of the width a flattened section shows [mm]: 5, more in halves where a cut or a zone is wider."""
    options = [result.option for result in comparison.results.values()]
    widest = max(max(float(o.removal.radius_mm), float(np.nan_to_num(o.cut_diameter_mm)) / 2.0) for o in options)
    return max(5.0, float(np.ceil(2.0 * (widest + 0.25)) / 2.0))


def _cornea_part(comparison: Comparison, line: Meridian, half_width: float | None) -> Figure:
    """What the three outlines share: ends, back surface, epithelium, iso-depth lines, the user's line."""
    cornea = comparison.cornea
    low, high = line.crossings(reach_mm(cornea))
    if half_width is not None:
        low, high = max(low, -half_width), min(high, half_width)
    position = np.linspace(low, high, SMOOTH.size)
    thickness = cornea.thickness_um(*line.place(position))
    wanted = float(comparison.judgement.bed_line_um)
    user = thickness - wanted
    E = float(cornea.epithelium_um)
    return {
        "cornea": cornea,
        "low_mm": float(low),
        "high_mm": float(high),
        "thickness_um": float(cornea.thickness_um(line.x_mm, line.y_mm)),
        "epithelium_um": E,
        "front": level(low, high, 0.0),
        "back": Curve(position, np.asarray(thickness)),
        "epithelium": level(low, high, E),
        "iso_depths": tuple(iso_depths(cornea, line, low, high, float(np.max(thickness)))),
        "user_line_um": wanted,
        "user_line": Curve(position, np.asarray(user)) if np.min(user) > 0 else None,
    }


def reach_mm(cornea: Cornea) -> float:
    """Radius to which the front surface is drawn [mm]: the limbus, or as far as the conic exists."""
    exists = cornea.radius_mm / np.sqrt(max(1.0 + float(cornea.asphericity), 1e-9))
    return min(float(cornea.white_to_white_mm) / 2.0, 0.98 * float(exists))


def iso_depths(cornea: Cornea, line: Meridian, low: float, high: float, deepest_um: float) -> Iterator[Curve]:
    """Curves at every 100 µm of depth, as far as there is tissue: the paraboloid is a parabola along a line."""
    if not cornea.thickness.from_one_point:
        yield from _iso_depths_of_map(cornea, line, low, high, deepest_um)
        return
    foot = float(line.position_mm(cornea.thinnest_x_mm, cornea.thinnest_y_mm))
    least = cornea.thickness_um(*line.place(foot))
    for depth in np.arange(ISO_DEPTH_UM, deepest_um, ISO_DEPTH_UM):
        half = float(np.sqrt(max(depth - least, 0.0) / cornea.paraboloid.per_mm2))
        if half == 0.0:
            yield level(low, high, depth)
            continue
        if foot - half > low:
            yield level(low, foot - half, depth)
        if foot + half < high:
            yield level(foot + half, high, depth)


def _iso_depths_of_map(cornea: Cornea, line: Meridian, low: float, high: float, deepest_um: float) -> Iterator[Curve]:
    """The same in an eye with a map: level pieces between the places where the back surface crosses them."""
    position = np.linspace(low, high, 8 * SMOOTH.size)
    thickness = cornea.thickness_um(*line.place(position))
    for depth in np.arange(ISO_DEPTH_UM, deepest_um, ISO_DEPTH_UM):
        inside = np.concatenate([[False], thickness > depth, [False]])
        turns = np.flatnonzero(inside[1:] != inside[:-1])
        for first, last in zip(turns[::2], turns[1::2] - 1, strict=True):
            if last > first:
                yield level(position[first], position[last], depth)


def _removed_along(taken: Removal, line: Meridian) -> tuple[Array, Array]:
    """Positions over the treated disc [mm] and the removal there [µm], both ends included."""
    zone, blend = float(taken.zone_mm) / 2.0, float(taken.blend_mm)
    outer = zone + blend * BLEND if blend > 0 else BLEND[:0]
    position = np.concatenate([-outer[::-1], zone * SMOOTH, outer])
    return position, np.asarray(taken.r_um(*line.place(position)))


def _outline(
    comparison: Comparison, result: Result, line: Meridian, shared: dict[str, Any], profile: tuple[Array, Array]
) -> Outline:
    """The Outline of one Result."""
    option, figures = result.option, result.budget
    common = {"name": option.name, "meridian": line, "available": bool(result.available), **shared}
    cut = float(option.cut_um)
    if not result.available:
        return Outline(why_not=str(result.why_not), cut_um=cut, removed_um=np.nan, bed_um=np.nan, **common)
    position, removed = profile
    ends = shared["low_mm"], shared["high_mm"]
    floor = Curve(
        np.concatenate([position[:1], position, position[-1:]]),
        cut + np.concatenate([[0.0], removed, [0.0]]),
    )
    lying, hinge, incision = cut_along(comparison, option, line, cut, ends)
    return Outline(
        why_not="",
        cut_um=cut,
        removed_um=float(figures.removal_central_um),
        bed_um=float(figures.bed_central_um),
        above=layer_above(lying, shared["epithelium_um"], cut) if option.cuts else None,
        cut=lying,
        floor=clipped(floor, *ends),
        least=None if np.isnan(figures.bed_min_um) else _least(comparison.cornea, figures, line),
        deepest=_deepest(option, position, removed),
        ring=bool(deepest_off_centre(option)),
        hinge_mm=hinge,
        incision_mm=incision,
        **common,
    )


def _least(cornea: Cornea, figures: Budget, line: Meridian) -> Least:
    """The least bed seen from the meridian."""
    x, y = float(figures.bed_min_x_mm), float(figures.bed_min_y_mm)
    return Least(
        float(line.position_mm(x, y)),
        float(line.off_mm(x, y)),
        float(cornea.thickness_um(x, y)),
        float(figures.bed_min_um),
    )


def _deepest(option: Option, position: Array, removed: Array) -> Deepest | None:
    """Deepest removal on the meridian where the option is deepest off its centre; the left one of equals."""
    i = int(np.argmax(removed > removed.max() - 1e-6))
    central = float(option.removal.central_um)
    if not deepest_off_centre(option) or removed[i] - central <= 1.0:
        return None
    return Deepest(float(position[i]), float(removed[i]))
