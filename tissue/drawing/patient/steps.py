"""Four pictures of one way for screen and paper: before, the cut, what is taken out, what stays."""

from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.curve import Curve, level, upright
from tissue.drawing.base.outline import Outline, half_width_mm, outlines
from tissue.drawing.patient.place import meridian_deg
from tissue.drawing.patient.plane import FACTOR, Area, Picture, Plane, Stroke, closed, eased, lifted, turned_about
from tissue.drawing.patient.words import STEPS
from tissue.ground.vocabulary import Array
from tissue.removal.options import procedures

CLEAR_MM = 0.28  # a piece floats this far above the front surface
SKIN_CLEAR_MM = 0.4  # the outer skin above its place
FLAP_RISE_MM = 2.1  # the free end of the open flap stands this far above the front surface
FLAP_FLOAT_MM = 1.45  # a flap seen across its hinge is lifted this far
SHARES = np.linspace(0.0, 1.0, 9)
BEND_MM = 0.5  # length over which it bends at its hinge
PIECE_TURN = 0.46  # share of the flap's turn, for the piece under it
SKIN_SHARE, LAYER_SHARE, DEPTH_SHARE, FLAP_SHARE, BESIDE_SHARE = (
    0.46,
    0.55,
    0.3,
    0.35,
    0.5,
)  # of the half width, where leaders begin


def pictures(comparison: Comparison, way: str) -> tuple[Outline, dict[str, Any]]:
    """The Outline of a way, and its Pictures by step; only `before` where the way leaves nothing to show.

    Args:
        comparison: Comparison of one eye.
        way: name of an option.
    """
    outline = outlines(comparison, meridian_deg(comparison, way), half_width_mm(comparison))[way]
    plane = Plane(outline)
    drawn = {"before": _before(plane)}
    if outline.available:
        act = _inside if comparison.results[way].option.keeps_cap else _opened
        drawn |= {"cut": act(plane, False), "out": act(plane, True), "stays": _settled(plane)}
    return outline, {step: drawn[step] for step in STEPS if step in drawn}


def _before(plane: Plane) -> Picture:
    """The cornea as it is, with its thickness."""
    o, E = plane.outline, plane.epithelium_um
    skin = plane.layer(o.low_mm, o.high_mm, 0.0, E)
    found = Picture([Area("stroma", plane.between(o.front, o.back)), Area("epithelium", skin)], plane.outer(o.front))
    found.strokes.append(Stroke("measure", plane.at(upright(0.0, 0.0, o.thickness_um))))
    found.places["skin"] = plane.place(-SKIN_SHARE * o.high_mm, E / 2.0)
    beside = DEPTH_SHARE * o.high_mm
    found.places["middle"] = 0.0, plane.place(beside, float(np.interp(beside, *o.back)) / 2.0)[1]
    return found


def _settled(plane: Plane) -> Picture:
    """The front settled over what was taken; the front of before is dotted."""
    o, E = plane.outline, plane.epithelium_um
    grid, inside = plane.grid(o.low_mm, o.high_mm), plane.grid(plane.first_mm, plane.last_mm)
    front = Curve(grid, np.asarray(plane.settled_um(grid)))
    skin = Curve(grid, front.depth_um + E)
    cut = Curve(inside, np.asarray(plane.settled_um(inside) + plane.cut_um))
    found = Picture([Area("stroma", plane.between(front, o.back)), Area("epithelium", plane.between(front, skin))])
    if o.above is not None:
        upper = Curve(inside, cut.depth_um - plane.cut_um + E)
        found.areas.append(Area("above", plane.between(upper, cut)))
    low, high = plane.rim_mm
    found.strokes.append(Stroke("before", plane.at(level(low, high, 0.0))))
    found.strokes.extend([*plane.outer(front), Stroke("cut", plane.at(_with_sides(o.cut, cut)))])
    x = -LAYER_SHARE * plane.last_mm
    found.places["layer"] = plane.place(x, float(plane.settled_um(x)) + _layer_um(plane) / 2.0)
    found.places["stays"] = _stays(plane)
    right = np.linspace(DEPTH_SHARE * plane.rim_mm[1], plane.rim_mm[1], 41)
    fall = plane.settled_um(right)
    found.places["before"] = plane.place(float(right[np.argmax(fall >= 0.9 * np.max(fall))]), 0.0)
    return found


def _inside(plane: Plane, taken_out: bool) -> Picture:
    """The piece cut inside the cornea: in its place, or lifted out over the gap it leaves."""
    o, E = plane.outline, plane.epithelium_um
    found = Picture([Area("stroma", plane.between(o.front, o.back))])
    found.areas.append(Area("epithelium", plane.layer(o.low_mm, o.high_mm, 0.0, E)))
    found.areas.append(Area("above", plane.layer(plane.first_mm, plane.last_mm, E, plane.cut_um)))
    found.areas.append(Area("gap" if taken_out else "removed", plane.piece()))
    found.strokes.extend([*plane.outer(o.front), Stroke("floor", plane.at(o.floor)), Stroke("cut", plane.at(o.cut))])
    if o.incision_mm is not None:
        found.places["opening"] = plane.place(o.incision_mm, plane.cut_um / 2.0)
    if taken_out:
        _float(found, plane)
    else:
        found.places["layer"] = plane.place(-DEPTH_SHARE * o.high_mm, plane.cut_um)
    return found


def _opened(plane: Plane, taken_out: bool) -> Picture:
    """The skin taken off or the flap opened; what lies below is bare, or the piece is lifted off it."""
    o = plane.outline
    inside = plane.grid(plane.first_mm, plane.last_mm)
    bare = Curve(inside, plane.cut_um + (plane.taken_um(inside) if taken_out else 0.0) * np.ones(inside.size))
    found = Picture([Area("stroma", plane.between(_joined(o, bare), o.back))], plane.outer(*_fronts(o, bare)))
    for low, high in ((o.low_mm, plane.first_mm), (plane.last_mm, o.high_mm)):
        if high > low:
            found.areas.append(Area("epithelium", plane.layer(low, high, 0.0, plane.epithelium_um)))
    found.strokes.append(Stroke("cut", plane.at(bare)))
    if procedures()[o.name].lifts_flap:
        _open_flap(found, plane, taken_out)
    elif taken_out:
        found.strokes.append(Stroke("before", plane.at(level(plane.first_mm, plane.last_mm, 0.0))))
        _float(found, plane)
    else:
        _lift_skin(found, plane)
    return found


def _lift_skin(found: Picture, plane: Plane) -> None:
    """The outer skin floating over its place."""
    lift = plane.epithelium_um * FACTOR / 1000.0 + SKIN_CLEAR_MM
    skin = plane.layer(plane.first_mm, plane.last_mm, 0.0, plane.epithelium_um, lift)
    found.areas.append(Area("epithelium", skin))
    found.strokes.append(Stroke("front", closed(skin)))
    found.places["over"] = 0.0, -lift


def _float(found: Picture, plane: Plane) -> None:
    """The piece floating over the cornea."""
    lift = float(np.max(plane.outline.floor.depth_um)) * FACTOR / 1000.0 + CLEAR_MM
    piece = lifted(plane.piece(), lift)
    found.areas.append(Area("removed", piece))
    found.strokes.append(Stroke("floor", piece))
    found.places.update({"over": (0.0, float(piece[1].min())), "stays": _stays(plane)})


def _open_flap(found: Picture, plane: Plane, taken_out: bool) -> None:
    """The flap opened about its hinge, and the piece under it."""
    o, E, C, ends = plane.outline, plane.epithelium_um, plane.cut_um, (plane.first_mm, plane.last_mm)
    front, skin, under = (_flap_level(o, ends, depth) for depth in (0.0, E, C))
    for tissue, curves in {"above": (skin, under), "epithelium": (front, skin)}.items():
        found.areas.append(Area(tissue, _turned(plane, plane.between(*curves))))
    free = [end for end in ends if o.hinge_mm is None or end != o.hinge_mm]
    edges = [front, *(upright(end, 0.0, C) for end in free)]
    found.strokes.extend(Stroke("front", _turned(plane, plane.at(edge))) for edge in edges)
    found.strokes.append(Stroke("cut", _turned(plane, plane.at(under))))
    towards = np.sign(o.hinge_mm or 1.0)
    top = _turned(plane, plane.at(front))
    near = np.abs(top[0] - towards * FLAP_SHARE * o.high_mm).argmin()
    found.places["layer"] = (float(top[0, near]), float(top[1, near]))
    if o.hinge_mm is not None:
        found.places["hinge"] = plane.place(o.hinge_mm, C / 2.0)
    if taken_out:
        piece = _turned(plane, plane.piece(), PIECE_TURN)
        found.areas.append(Area("removed", piece))
        found.strokes.append(Stroke("floor", piece))
        x = -towards * BESIDE_SHARE * plane.rim_mm[1]
        bare = plane.place(x, C + float(plane.taken_um(x)))
        turned = _turned(plane, np.array(bare)[:, np.newaxis], PIECE_TURN)[:, 0]
        found.places.update({"under": (bare[0], (bare[1] + float(turned[1])) / 2.0), "stays": _stays(plane)})


def _flap_level(o: Outline, ends: tuple[float, float], depth_um: float) -> Curve:
    """A level of the flap, with points close enough where it bends."""
    x = np.array(ends) if o.hinge_mm is None else np.r_[ends, o.hinge_mm - np.sign(o.hinge_mm) * BEND_MM * SHARES]
    return Curve(np.unique(x), np.full(np.unique(x).size, depth_um))


def _turned(plane: Plane, points: Array, share: float = 1.0) -> Array:
    """Points of what is opened, turned about the hinge; straight up where the meridian does not meet it.

    The whole flap (share 1) bends over the first of it, so that it stays joined; the piece under it is turned as it is.
    """
    hinge = plane.outline.hinge_mm
    if hinge is None:
        return lifted(points, share * FLAP_FLOAT_MM)
    free = plane.first_mm if hinge > 0 else plane.last_mm
    pivot, end = plane.place(hinge, plane.cut_um), plane.place(free, 0.0)
    across, down = abs(end[0] - pivot[0]), end[1] - pivot[1]
    rise = np.clip((FLAP_RISE_MM + pivot[1]) / np.hypot(across, down), -1.0, 1.0)
    turn = share * np.degrees(np.arcsin(rise) + np.arctan2(down, across)) * np.sign(hinge)
    return turned_about(points, pivot, turn * eased(np.abs(points[0] - hinge) / BEND_MM) if share == 1.0 else turn)


def _stays(plane: Plane) -> tuple[float, float]:
    """Place of the words for what stays: in the middle of it."""
    floor = plane.cut_um + float(plane.taken_um(0.0))
    return plane.place(0.0, (floor + plane.outline.thickness_um) / 2.0)


def _layer_um(plane: Plane) -> float:
    """Thickness of what lies on top [µm]."""
    return plane.epithelium_um if plane.outline.above is None else plane.cut_um


def _with_sides(planned: Curve, cut: Curve) -> Curve:
    """A settled cut with the side cuts of the planned one."""
    x, y = cut
    first, last = (int(planned.depth_um[end] == 0.0) for end in (0, -1))
    x = np.concatenate([x[:1][:first], x, x[-1:][:last]])
    return Curve(x, np.concatenate([[0.0] * first, y, [0.0] * last]))


def _joined(o: Outline, bare: Curve) -> Curve:
    """The front surface with a bare part in it."""
    x = np.concatenate([[o.low_mm, bare.position_mm[0]], bare.position_mm, [bare.position_mm[-1], o.high_mm]])
    return Curve(x, np.concatenate([[0.0, 0.0], bare.depth_um, [0.0, 0.0]]))


def _fronts(o: Outline, bare: Curve) -> list[Curve]:
    """The same in parts: the front is divided where the hinge joins."""
    whole = _joined(o, bare)
    if o.hinge_mm is None:
        return [whole]
    parts = (slice(0, 2), slice(2, None)) if o.hinge_mm < 0 else (slice(0, -2), slice(-2, None))
    return [Curve(whole.position_mm[part], whole.depth_um[part]) for part in parts]
