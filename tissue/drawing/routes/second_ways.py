"""Ways to an enhancement, to scale: the primary treatment and the new planes of each way, at depths before it."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from tissue.budget.budget import nothing_to_treat
from tissue.budget.comparison import Comparison
from tissue.drawing.base.curve import Curve
from tissue.drawing.base.cuts import cut_along, layer_above
from tissue.drawing.base.labels import Label, Leader, Scale, label
from tissue.drawing.base.meridian import Meridian, angle_through, meridian
from tissue.drawing.base.outline import Outline, half_width_mm, outlines
from tissue.drawing.base.palette import ABOVE, ABOVE_HATCH, DASH, REMOVED_HATCH, Hatch, Look
from tissue.drawing.base.placing import BESIDE_PX, IN_LAYER_PX, Placer
from tissue.drawing.base.sheet import Sheet
from tissue.drawing.base.traces import area, lines, marks, words
from tissue.drawing.base.words import place_words, whole
from tissue.drawing.routes.clearance_mark import Mark, mark_of, mark_strokes, mark_trace, place_mark
from tissue.drawing.routes.cut_front import front_column
from tissue.drawing.routes.way_frame import AXES, NO_FIGURES, WayFrame, columns, fitted, in_place, put_free
from tissue.drawing.section.section import NARROW_PX, line_names
from tissue.ground.vocabulary import INCISION, Array, Figure
from tissue.removal.removal import Removal
from tissue.routes.cutting import clock_of, cut_so_far
from tissue.routes.enhancement import Enhancement
from tissue.routes.notices import LOWERED
from tissue.routes.route import Route

TAKEN_HATCH = Hatch("\\", 8, 0.14)
OVER_BASE = 3  # new areas lie above stroma, iso-depth lines and epithelium, and below every line
TICK_MM = 0.17  # half a tick of the dimension line
ASIDE_PX = 24.0  # left edge of a name under the layers
UNDER_PX, NEXT_PX, CLEAR_PX = 13.0, 20.0, 14.0


class Drawn(NamedTuple):
    """One way as it is drawn: Route, the first Outline, its floor, the new removal and its cut, layers, Mark."""

    route: Route
    base: Outline
    floor: Curve
    new: Curve | None
    cut: Curve | None
    layers: list["Layer"]
    mark: Mark | None


def second_ways(
    comparison: Comparison,
    found: Enhancement,
    side: str,
    look: Look,
    width_px: float,
    routes: Sequence[Route] | None = None,
) -> Figure:
    """The primary treatment from the front, and a flattened section of every way to an enhancement.

    Each section runs through its least clearance; one without a clearance from 0 to 180°.

    Args:
        comparison: Comparison of one eye whose lenticule extraction has figures.
        found: Enhancement.
        side: `OD` or `OS`.
        look: Look.
        width_px: width of the figure [px].
        routes: which of its Routes; all where None.
    """
    drawn, placed, frame = labelled(comparison, found, width_px, routes)
    done = cut_so_far(clock_of(comparison), INCISION, 1.0)
    first_axes, data, said = front_column(comparison, done, side, look, frame)
    notes: list[dict] = []
    items: list[tuple] = []
    marked: list[tuple] = []
    for i, (one, labels) in enumerate(zip(drawn, placed, strict=True)):
        offset = frame.offset(i)
        name = one.base.name
        sheet = Sheet(look, {name: one.base}, {name: labels}, frame.scale, {name: offset}, AXES)
        base_traces = sheet.traces({})
        data += base_traces[:OVER_BASE] + _areas(one, look, offset) + base_traces[OVER_BASE:]
        data += _lines(one, look, offset) + _ink(labels[1], one, look, frame.scale, offset)
        marked += in_place(mark_strokes(one.mark, frame.scale), offset) if one.mark else []
        notes += _notes(one, labels[0], look, frame.scale, offset)
        items += sheet.plain_items
    data += [mark_trace(marked, look, AXES)] if marked else []
    data += frame.below(look, [one.base.meridian for one in drawn], side, items)
    return {"data": data, "layout": frame.layout(look, first_axes, [*notes, *said])}


def labelled(
    comparison: Comparison, found: Enhancement, width_px: float, routes: Sequence[Route] | None = None
) -> tuple[list[Drawn], list[tuple[list[Label], list[Leader]]], WayFrame]:
    """The ways as they are drawn, (labels, leaders) of each, and the WayFrame; arguments as `second_ways`."""
    routes = found.routes if routes is None else routes
    half = half_width_mm(comparison)
    drawn = [_drawn(comparison, route, half) for route in routes]
    names = line_names(comparison, comparison.under_cap.option.name)
    cols = columns(len(routes), width_px < NARROW_PX)
    thickest = max(one.base.thickness_um for one in drawn)
    placed, frame = fitted(
        lambda one, scale, size: place_labels(one, scale, size, names), drawn, half, cols, width_px, thickest
    )
    return drawn, placed, frame


def _drawn(comparison: Comparison, route: Route, half: float) -> Drawn:
    """A way as it is drawn, along its own meridian; the primary treatment's cornea carries no figures of its own."""
    x, y = (float(part) for part in route.clearance[1:])
    angle = 0.0 if np.isnan(x) else angle_through(comparison, x, y)
    line = meridian(comparison, angle)
    base = replace(outlines(comparison, angle, half)[comparison.under_cap.option.name], available=False, least=None)
    first, option = comparison.under_cap.option, route.option
    C, there = float(first.cut_um), not nothing_to_treat(option)
    position = np.linspace(-1.0, 1.0, 121) * float(option.removal.radius_mm)
    lowered = route.way.id in LOWERED
    old = np.asarray(first.removal.r_um(*line.place(position))) if lowered else 0.0 * position
    top = (C if lowered else float(option.cut_um)) + old
    bottom = top + np.asarray(option.removal.r_um(*line.place(position)))
    new = Curve(np.concatenate([position, position[::-1]]), np.concatenate([bottom, top[::-1]])) if there else None
    return Drawn(
        route,
        base,
        base.floor,
        new,
        _new_cut(comparison, route, line, base, Curve(position, bottom)) if there else None,
        _layers(comparison, route) if route.available else [],
        mark_of(route, line) if there else None,
    )


def _new_cut(comparison: Comparison, route: Route, line: Meridian, base: Outline, bottom: Curve) -> Curve:
    """The new cut: side cuts included, a cap's edge where the cap becomes the flap, the lower face of a lenticule."""
    option = route.option
    if option.keeps_cap:
        return bottom
    if route.way.id == "cap-to-flap":
        option = replace(option, cut_diameter_mm=comparison.under_cap.option.cut_diameter_mm)
    return cut_along(comparison, option, line, float(option.cut_um), (base.low_mm, base.high_mm))[0]


def _layers(comparison: Comparison, route: Route) -> list["Layer"]:
    """The layers from front to back that have a name: above the new cut, what is taken now, what was taken first."""
    first, option = comparison.under_cap.option, route.option
    C, r, t = float(first.cut_um), float(first.removal.central_um), float(route.removal_central_um)
    taken, old = (_from_centre(one.removal) for one in (option, first))
    lowered = route.way.id in LOWERED
    F = C if lowered else float(option.cut_um)
    begin = C + r if lowered else F
    ground = "above" if option.cuts else "epithelium"
    layers = [
        Layer(f"{ABOVE[option.name]} <b>{whole(F)}</b>", 0.0, F, ground),
        Layer(f"removed <b>{taken}</b>", begin, begin + t, "removed"),
        Layer(f"primary <b>{old}</b>", C, C + r, "taken"),
    ]
    return sorted(layers, key=lambda layer: layer.top_um)


def _from_centre(taken: Removal) -> str:
    """A removal at the centre and, where it is deeper elsewhere, at its deepest.

    >>> from types import SimpleNamespace
    >>> _from_centre(SimpleNamespace(central_um=0.2, max_um=16.4))
    '0–16'
    """
    central, most = whole(taken.central_um), whole(taken.max_um)
    return central if central == most else f"{central}–{most}"


def _areas(one: Drawn, look: Look, offset: tuple[float, float]) -> list[Figure]:
    """Cap, what the primary treatment took, what is taken now."""
    C = one.base.cut_um
    cap = layer_above(one.base.cut, one.base.epithelium_um, C)
    areas = [area(in_place([cap], offset), AXES, look.above, ABOVE_HATCH, look.above_hatch)]
    areas.append(
        area(in_place([one.floor], offset), AXES, look.page, TAKEN_HATCH, look.rule2, (look.ink, 1.2, "solid"))
    )
    if one.new is not None and one.route.available:
        name = one.route.option.name
        areas.append(area(in_place([one.new], offset), AXES, look.removed[name], REMOVED_HATCH, look.option[name]))
    return areas


def _lines(one: Drawn, look: Look, offset: tuple[float, float]) -> list[Figure]:
    """The old cap plane in ink; the new removal's edge and the new cut in the option's line, thin without figures."""
    traces = [lines(in_place([one.base.cut], offset), AXES, look.ink, 1.2)]
    if one.new is None or one.cut is None:
        return traces
    name, there = one.route.option.name, one.route.available
    colour, dash = look.option[name], DASH[name]
    traces.append(lines(in_place([one.new], offset), AXES, colour, 1.6 if there else 1.0, dash))
    return [
        *traces,
        lines(in_place([one.cut], offset), AXES, colour, 2.4 if there else 1.2, dash),
    ]


def _ink(leaders: Sequence[Leader], one: Drawn, look: Look, scale: Scale, offset: tuple[float, float]) -> list[Figure]:
    """Dimension line with a tick at every plane, leaders with their dots."""
    strokes, points = [], []
    if one.layers:
        ends = {depth for layer in one.layers for depth in (layer.top_um, layer.bottom_um)} | {one.base.thickness_um}
        strokes = [([0.0, 0.0], [0.0, one.base.thickness_um])]
        strokes += [([-TICK_MM, TICK_MM], [depth, depth]) for depth in sorted(ends - {0.0})]
    for leader in leaders:
        x, y = np.array(leader.points).T
        strokes.append((x / scale.per_mm, y / scale.per_um))
        points.append((offset[0] + x[0] / scale.per_mm, y[0] / scale.per_um, "circle", 4.5, 0))
    traces = [lines(in_place(strokes, offset), AXES, look.ink, 1.0)] if strokes else []
    return traces + ([marks(points, AXES, look.ink)] if points else [])


def _notes(one: Drawn, labels: Sequence[Label], look: Look, scale: Scale, offset: tuple[float, float]) -> list[Figure]:
    """Labels on hatch, each on the plain fill of its tissue."""
    grounds = {"epithelium": look.epithelium, "above": look.above, "taken": look.page}
    grounds["removed"] = look.removed[one.route.option.name]
    found = []
    for put in labels:
        if put.ground in grounds:
            x = put.box.left if put.left else put.x_px
            place = {"xanchor": "left" if put.left else "center", "yanchor": "middle", "bgcolor": grounds[put.ground]}
            at = offset[0] + x / scale.per_mm, put.y_px / scale.per_um
            place |= {"xref": f"x{AXES}", "yref": f"y{AXES}"}
            found.append(words(put.text, at[0], at[1], put.size_px, look.ink, **place))
    return found


def describe_second_ways(
    comparison: Comparison, found: Enhancement, side: str, routes: Sequence[Route] | None = None
) -> str:
    """The picture in words, with its numbers.

    Args:
        comparison: Comparison of one eye.
        found: Enhancement.
        side: `OD` or `OS`.
        routes: which of its Routes; all where None.
    """
    first = comparison.under_cap
    parts = [
        "Sections with the front drawn flat, depths in µm before the primary treatment, which had its cap at "
        f"{whole(first.option.cut_um)} and took {whole(first.option.removal.central_um)}"
    ]
    for route in found.routes if routes is None else routes:
        said = f"{route.way.name}: "
        said += f"cut at {whole(route.cut_um)}, removed {_from_centre(route.option.removal)}"
        said += f", bed {whole(route.bed_central_um)}" if route.available else f", no figures, {route.why_not}"
        if not np.isnan(route.clearance.value):
            x, y = (float(part) for part in route.clearance[1:])
            said = f"{said.rstrip('.')}, clearance {whole(route.clearance.value)}, {place_words(x, y, side)}"
        parts.append(said.rstrip("."))
    return ". ".join(parts) + "."


class Layer(NamedTuple):
    """A named layer on the dimension line: words, upper and lower end [µm], the tissue it is."""

    text: str
    top_um: float
    bottom_um: float
    ground: str


def place_labels(one: Drawn, scale: Scale, size_px: float, names: Sequence[str]) -> tuple[list[Label], list[Leader]]:
    """Labels and leaders of one section.

    Args:
        one: Drawn of `second_ways`.
        scale: Scale.
        size_px: type size [px].
        names: names of the user's line, the longest first.
    """
    placer = Placer(one.base, scale, size_px)

    def floor_px(left: float, right: float) -> float:
        across = np.linspace(left, right, 33) / scale.per_mm
        depths = [np.interp(across, one.floor[0], one.floor[1], left=0.0, right=0.0).max()]
        depths += [_bottom(one.new, across).max()] if one.new is not None else []
        return float(max(depths)) * scale.per_um

    if one.mark:
        inside = [(bottom - top) * scale.per_um >= size_px + IN_LAYER_PX for _, top, bottom, _ in one.layers]
        put, leader = place_mark(one.mark, scale, size_px, floor_px, all(inside))
        placer.labels.append(put)
        placer.leaders.append(leader)
    low = _name_layers(one, placer, scale, floor_px)
    if one.route.available:
        cut = max(float(one.route.cut_um), *(layer.bottom_um for layer in one.layers)) * scale.per_um
        _name_bed(one, placer, cut, low)
    else:
        middle = 0.5 * (floor_px(-placer.room, placer.room) + placer.back) + NEXT_PX / 2.0
        placer.labels.append(put_free(placer, NO_FIGURES, middle))
    placer.user_line(names)
    return placer.labels, placer.leaders


def _bottom(polygon: Curve, position_mm: Array) -> Array:
    """Lower face of a removal at positions along the meridian [µm]; 0 beside it."""
    half = len(polygon.position_mm) // 2
    return np.interp(position_mm, polygon.position_mm[:half], polygon.depth_um[:half], left=0.0, right=0.0)


def _middle(polygon: Curve, position_mm: float) -> float:
    """Middle of a removal at a position along the meridian [µm]."""
    half = len(polygon.position_mm) // 2
    ends = (polygon.position_mm[:half], polygon.depth_um[:half]), (polygon.position_mm[half:], polygon.depth_um[half:])
    (lower, upper) = ends
    turned = (upper[0][::-1], upper[1][::-1])
    return 0.5 * sum(float(np.interp(position_mm, x, depth)) for x, depth in (lower, turned))


def _name_layers(one: Drawn, placer: Placer, scale: Scale, floor_px: Callable[[float, float], float]) -> float:
    """Names of the layers, in them or under all cuts with an upright leader; returns the lowest one's middle [px]."""
    low, thin = 0.0, 0
    for text, top, bottom, ground in one.layers:
        top, bottom = top * scale.per_um, bottom * scale.per_um
        if bottom - top >= placer.size + IN_LAYER_PX:
            placer.labels.append(label(text, BESIDE_PX, 0.5 * (top + bottom), placer.size, ground, left=True))
            continue
        put = label(text, 0.0, 0.0, placer.size, "stroma", left=True)
        left = min(ASIDE_PX, placer.room - put.width_px - 2.0)
        put = label(text, left, 0.0, placer.size, "stroma", left=True)
        y = floor_px(0.0, put.box.right) + UNDER_PX + thin * NEXT_PX
        at = put.x_px - (12.0 if thin == 0 else put.width_px / 2.0 + 12.0)
        put = label(text, left, y, placer.size, "stroma", left=True)
        end = (at, put.box.top - 1.0) if thin == 0 else (put.box.left - 2.0, y)
        placer.labels.append(put)
        removed = one.new if ground == "removed" else None
        begin = _middle(removed, at / scale.per_mm) * scale.per_um if removed is not None else 0.5 * (top + bottom)
        placer.leaders.append(Leader(((at, begin), (at, end[1]), end)))
        low, thin = y, thin + 1
    return low


def _name_bed(one: Drawn, placer: Placer, floor_px: float, low_px: float) -> None:
    """The bed beside the dimension line, clear of the user's line and of the names over it."""
    text = f"bed <b>{whole(one.route.bed_central_um)}</b>"
    half = label(text, 0.0, 0.0, placer.size).height_px / 2.0
    top, bottom = max(floor_px + half + 2.0, low_px + NEXT_PX), placer.back - half - 3.0
    y = max(0.5 * (floor_px + placer.back), top)
    if one.base.user_line is not None:
        line = float(placer.scale.depth(one.base.user_line, BESIDE_PX + 25.0))
        if abs(y - line) < CLEAR_PX:
            y = line + CLEAR_PX if line + CLEAR_PX <= bottom else max(line - CLEAR_PX, top)
    placer.labels.append(label(text, BESIDE_PX, min(y, bottom), placer.size, "stroma", left=True))
