"""Rescue options when suction is lost, to scale: what is cut from the front, and old and new planes of each way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from tissue.budget.budget import budget, extremes
from tissue.budget.comparison import Comparison, Result
from tissue.drawing.base.curve import Curve
from tissue.drawing.base.labels import Label, Leader, Placed, Scale, label
from tissue.drawing.base.meridian import Meridian, angle_through, meridian
from tissue.drawing.base.outline import Outline, half_width_mm, outlines
from tissue.drawing.base.palette import Look
from tissue.drawing.base.placing import IN_LAYER_PX, Placer
from tissue.drawing.base.sheet import Sheet
from tissue.drawing.base.traces import Points, lines
from tissue.drawing.base.words import degrees, place_words, whole
from tissue.drawing.routes.clearance_mark import Mark, mark_of, mark_strokes, mark_trace, place_mark
from tissue.drawing.routes.cut_front import cut_strokes, cut_words, front_column
from tissue.drawing.routes.way_frame import AXES, NO_FIGURES, WayFrame, columns, fitted, in_place, put_free
from tissue.drawing.section.section import NARROW_PX, line_names
from tissue.ground.vocabulary import Array, Figure
from tissue.removal.options import Option
from tissue.routes.cutting import CutSoFar
from tissue.routes.route import Route

if TYPE_CHECKING:
    from tissue.routes.rescue import Rescue

SO_FAR = "cut so far"
ASIDE_PX = 6.0  # distance of the old cut's name from the dimension line
SPOTS = 9  # places on the old cut that its name may point at


class Drawn(NamedTuple):
    """One way as it is drawn: Route, Outline of the new plan, Meridian, old cuts, the rest of the plan, Mark."""

    route: Route
    outline: Outline
    line: Meridian
    old: list[tuple[Array, Array]]
    rest: list[tuple[Array, Array]]
    mark: Mark | None
    named: bool


def ways_out(
    comparison: Comparison, found: Rescue, side: str, look: Look, width_px: float, routes: Sequence[Route] | None = None
) -> Figure:
    """What is cut, from the front, and a flattened section of every way out with its old and new planes.

    Each section runs through its least clearance; one without a clearance from 0 to 180°.

    Args:
        comparison: Comparison of one eye.
        found: Rescue.
        side: `OD` or `OS`.
        look: Look.
        width_px: width of the figure [px].
        routes: which of its Routes; all where None.
    """
    drawn, placed, frame = labelled(comparison, found, width_px, routes)
    first_axes, data, said = front_column(comparison, found.cut, side, look, frame)
    notes: list[dict] = []
    items: list[tuple] = []
    marked: list[tuple] = []
    for i, (one, labels) in enumerate(zip(drawn, placed, strict=True)):
        name, offset = one.outline.name, frame.offset(i)
        sheet = Sheet(look, {name: one.outline}, {name: labels}, frame.scale, {name: offset}, AXES)
        data += sheet.traces({})
        if not one.outline.available and labels[1]:  # a section without figures draws no leaders of its own
            data.append(lines(in_place(_leader_strokes(labels[1], frame.scale), offset), AXES, look.ink, 0.8))
        if one.rest:
            data.append(lines(in_place(one.rest, offset), AXES, look.ink2, 1.0, "dot"))
        data += [lines(in_place(one.old, offset), AXES, look.ink, 2.4)] if one.old else []
        marked += in_place(mark_strokes(one.mark, frame.scale), offset) if one.mark else []
        notes, items = notes + sheet.notes, items + sheet.plain_items
    data += [mark_trace(marked, look, AXES)] if marked else []
    data += frame.below(look, [one.line for one in drawn], side, items)
    return {"data": data, "layout": frame.layout(look, first_axes, [*notes, *said])}


def labelled(
    comparison: Comparison, found: Rescue, width_px: float, routes: Sequence[Route] | None = None
) -> tuple[list[Drawn], list[Placed], WayFrame]:
    """The ways as they are drawn, (labels, leaders) of each, and the WayFrame; arguments as `ways_out`."""
    routes = found.routes if routes is None else routes
    half = half_width_mm(_with(comparison, routes))
    drawn = [_drawn(comparison, found, route, half, i == 0) for i, route in enumerate(routes)]
    names = line_names(comparison, comparison.under_cap.option.name)
    cols = columns(len(routes), width_px < NARROW_PX)
    thickest = max(one.outline.thickness_um for one in drawn)
    placed, frame = fitted(
        lambda one, scale, size: _labels(one, scale, size, names), drawn, half, cols, width_px, thickest
    )
    return drawn, placed, frame


def _with(comparison: Comparison, routes: Sequence[Route]) -> Comparison:
    """The Comparison with the ways in place of the options, by id."""
    results = {}
    for route in routes:
        option, cornea = route.option, comparison.cornea
        figures = budget(cornea, comparison.treatment, option, *extremes(cornea, [option])[0])
        why_not = route.why_not.rstrip(".")
        # no outline asks for strength or spread
        results[route.way.id] = Result(option, route.available, why_not, figures, None, None)  # type: ignore[arg-type]
    return replace(comparison, results=results)


def _drawn(comparison: Comparison, found: Rescue, route: Route, half: float, named: bool) -> Drawn:
    """A way as it is drawn, along its own meridian."""
    x, y = route.clearance.x_mm, route.clearance.y_mm
    angle = 0.0 if np.isnan(route.clearance.value) else angle_through(comparison, float(x), float(y))
    line, old = meridian(comparison, angle), comparison.under_cap.option
    outline = outlines(_with(comparison, [route]), angle, half)[route.way.id]
    so_far = [stroke for strokes in cut_strokes(line, old, found.cut).values() for stroke in strokes]
    rest = rest_of_plan(line, old, found.cut, float(found.clock.cap_radius_mm))
    return Drawn(route, outline, line, so_far, rest, mark_of(route, line), named)


def rest_of_plan(line: Meridian, option: Option, cut: CutSoFar, cap_radius_mm: float) -> list[tuple[Array, Array]]:
    """What is planned and not yet cut, as strokes (position, depth): the inside of the lenticule, the rim of the cap.

    Args:
        line: Meridian.
        option: Option of the extraction.
        cut: CutSoFar.
        cap_radius_mm: radius of the whole cap [mm].
    """
    C = float(option.cut_um)
    strokes: list[tuple[Array, Array]] = []
    inner, reached = float(cut.lenticule_inner_mm), float(cut.cap_radius_mm)
    if inner > 1e-6:
        position = np.linspace(-inner, inner, 121)
        strokes.append((position, C + np.asarray(option.removal.r_um(*line.place(position)))))
    if cap_radius_mm - reached > 1e-6:
        strokes += [(s * np.array([reached, cap_radius_mm]), np.array([C, C])) for s in (-1.0, 1.0)]
    return strokes


def _labels(one: Drawn, scale: Scale, size_px: float, names: Sequence[str]) -> tuple[list[Label], list[Leader]]:
    """Labels and leaders of one section: the clearance and the old cut first, the layers about them."""
    placer = Placer(one.outline, scale, size_px)
    if one.outline.available and not _names_inside(placer):
        placer = Placer(replace(one.outline, floor=_lowest_curve(one)), scale, size_px)
    if one.mark:
        put, leader = place_mark(
            one.mark, scale, size_px, lambda a, b: _lowest(one, scale, a, b), _names_inside(placer)
        )
        placer.labels.append(put)
        placer.leaders.append(leader)
    if one.outline.available:
        placer.layers()
        placer.deepest()
        placer.bed()
        placer.outside()
        placer.least()
    else:
        low = _lowest(one, scale, -placer.room, placer.room)
        placer.labels.append(put_free(placer, NO_FIGURES, 0.5 * (low + placer.back)))
    if one.named and one.old:
        _name_old(one, placer, scale, size_px)
    placer.user_line(names)
    return placer.labels, placer.leaders


def _names_inside(placer: Placer) -> bool:
    """Whether both layers are high enough for their names."""
    return min(placer.cut, placer.floor - placer.cut) >= placer.size + IN_LAYER_PX


def _lowest(one: Drawn, scale: Scale, left_px: float, right_px: float) -> float:
    """Lowest cut, old or new, between two places [px]."""
    across = np.linspace(left_px, right_px, 33) / scale.per_mm
    strokes = [_rising(x, y) for x, y in one.old + one.rest]
    if one.outline.floor is not None:
        strokes.append(one.outline.floor)
    depths = [np.interp(across, x, y, left=0.0, right=0.0).max() for x, y in strokes]
    return float(max(depths, default=0.0)) * scale.per_um


def _lowest_curve(one: Drawn) -> Curve:
    """The lowest of old and new cuts as a Curve, so that names below are clear of all of them."""
    low, high = one.outline.floor.position_mm[[0, -1]]
    ends = [end for x, _ in one.old + one.rest for end in (float(np.min(x)), float(np.max(x)))]
    across = np.linspace(min([low, *ends]), max([high, *ends]), 241)
    strokes = [one.outline.floor, *(_rising(x, y) for x, y in one.old + one.rest)]
    return Curve(across, np.max([np.interp(across, x, y, left=0.0, right=0.0) for x, y in strokes], axis=0))


def _rising(x: Array, y: Array) -> tuple[Array, Array]:
    """A stroke with its positions in rising order."""
    return (x, y) if x[0] <= x[-1] else (x[::-1], y[::-1])


def _name_old(one: Drawn, placer: Placer, scale: Scale, size_px: float) -> None:
    """The name of the old cut where there is room under it, with a leader; none where there is none."""
    for x, y in one.old:
        for share in np.linspace(0.1, 0.9, SPOTS):
            i = int(share * (len(x) - 1))
            at, top = float(x[i]) * scale.per_mm, float(y[i]) * scale.per_um
            put = label(SO_FAR, at, 0.0, size_px, "stroma")
            low = _lowest(one, scale, put.box.left, put.box.right) + 15.0
            put = label(SO_FAR, at, low, size_px, "stroma")
            leader = Leader(((at, top), (at, put.box.top - 1.0)))
            apart = not any(leader.meets(other.box) or put.box.overlaps(other.box, 4.0) for other in placer.labels)
            crossed = any(other.meets(put.box, 2.0) for other in placer.leaders)
            if (
                apart
                and not crossed
                and abs(at) + put.width_px / 2.0 < placer.room
                and abs(at) - put.width_px / 2.0 > ASIDE_PX
            ):
                placer.labels.append(put)
                placer.leaders.append(leader)
                return


def _leader_strokes(leaders: Sequence[Leader], scale: Scale) -> list[Points]:
    """Leaders as strokes (position, depth)."""
    px = [np.array(leader.points).T for leader in leaders]
    return [(x / scale.per_mm, y / scale.per_um) for x, y in px]


def describe_ways_out(comparison: Comparison, found: Rescue, side: str, routes: Sequence[Route] | None = None) -> str:
    """The picture in words, with its numbers.

    Args:
        comparison: Comparison of one eye.
        found: Rescue.
        side: `OD` or `OS`.
        routes: which of its Routes; all where None.
    """
    parts = [f"Cut by now: {cut_words(found.cut)}. Sections with the front drawn flat, depths in µm"]
    for route in found.routes if routes is None else routes:
        said = f"{route.way.name}: "
        if not route.available:
            parts.append(said + f"no figures, {route.why_not.rstrip('.')}")
            continue
        said += f"cut at {whole(route.cut_um)}, removed {whole(route.removal_central_um)}"
        said += f", bed {whole(route.bed_central_um)}, least bed {whole(route.bed_min_um)}"
        if not np.isnan(route.clearance.value):
            x, y = (float(part) for part in route.clearance[1:])
            along = degrees(angle_through(comparison, x, y))
            said += f", clearance {whole(route.clearance.value)}, {place_words(x, y, side)}, drawn along {along}"
        parts.append(said)
    return ". ".join(parts) + "."
