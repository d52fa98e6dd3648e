"""Where the bed is least, and where the greatest share of the thickness is altered.

The removal is the same in the four quadrants of the treated axes, and the thickness map grows with the distance
from the thinnest point: the place sought lies in the quadrant of the thinnest point. There a coarse grid gives one
start in the inner and outer zone and the inner and outer blend each (zone edge and rim included), and Newton steps
bring every start that can matter to its place.
"""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from tissue.budget.place import Place, Wanted
from tissue.budget.steps import Columns, blend_move, blend_terms, descend, distance, edge_terms, zone_move, zone_terms
from tissue.eye.cornea import Cornea
from tissue.ground.vocabulary import Array, Floats, Marks, Places
from tissue.removal.removal import Removal

Start = tuple[Array, Array, Array]  # value and place of the best grid point of each search

RADII = np.array([[0.0, 0.2, 0.4], [0.6, 0.8, 1.0]])  # towards the centre, towards the zone edge
EASING = np.array([[0.0, 0.2, 0.4], [0.6, 0.8, 1.0]])  # towards the zone edge, towards the rim
TURNS = np.radians([0.0, 30.0, 60.0, 90.0])
TIE = 1e-12  # of equal points of the grid the one nearer the treated axis is taken
SAME = 1e-12  # of a value: so much is rounding
FAR_UM, FAR_SHARE = 3.0, 0.15  # a start worse by this, plus this share of the deepest removal, cannot become the best


class Frame(NamedTuple):
    """The treated axes of one removal, turned to the quadrant of the thinnest point."""

    turn: Array
    sign_u: Array
    sign_v: Array
    ut: Array
    vt: Array


def search(cornea: Cornea, wanted: Sequence[Wanted]) -> list[Place]:
    """The least value of each goal over the closed treated disc, and its place.

    Args:
        cornea: Cornea; one with a map of its own is searched over the whole disc.
        wanted: a Wanted for each goal.

    Returns:
        A Place for each; values and places have the common shape of the eyes.
    """
    if cornea.own_map is not None:
        from tissue.budget.over_map import search_map

        return search_map(cornea, wanted)
    return _in_quadrant(cornea, [(one.taken, one.above) for one in wanted])


def _in_quadrant(cornea: Cornea, wanted: Sequence[tuple[Removal, Floats | None]]) -> list[Place]:
    """The same search, in the quadrant of the thinnest point, for a thickness that grows from there to all sides."""
    shape = np.broadcast_shapes(*(np.shape(part) for part in _inputs(cornea, wanted)))
    takens = {id(taken): taken for taken, _ in wanted}
    of_taken = {key: _frame(cornea, taken, shape) for key, taken in takens.items()}
    frames = [of_taken[id(taken)] for taken, _ in wanted]
    columns = [
        _columns(cornea, taken, above, frame, shape) for (taken, above), frame in zip(wanted, frames, strict=True)
    ]
    found: list[list[Start]] = [[]] * len(wanted)
    for key, taken in takens.items():
        mine = [i for i, (other, _) in enumerate(wanted) if id(other) == key]
        for i, starts in zip(mine, _starts([columns[i] for i in mine], taken, shape), strict=True):
            found[i] = starts
    joined_starts = [_joined(side) for side in zip(*found, strict=True)]
    joined = Columns(*(np.concatenate(parts) for parts in zip(*columns, strict=True)))
    deepest = np.concatenate([np.broadcast_to(taken.t_max_um, shape).ravel() for taken, _ in wanted])
    value, u, v = (np.split(part, len(wanted)) for part in _least(joined, joined_starts, FAR_UM + FAR_SHARE * deepest))
    return [
        Place(
            _known(value[i].reshape(shape), above), *_back(taken, frames[i], u[i].reshape(shape), v[i].reshape(shape))
        )
        for i, (taken, above) in enumerate(wanted)
    ]


def thinnest_in_disc(cornea: Cornea, taken: Removal, uncut: bool) -> Place:
    """Least thickness over the closed treated disc, the centre as measured included: T [µm] and its place [mm].

    On a map of the eye's own the centre is among its readings; uncut: whether its epithelium lies above.
    """
    if cornea.own_map is not None:
        from tissue.budget.over_map import least_thickness

        return least_thickness(cornea, taken, uncut)
    dx, dy = cornea.thinnest_x_mm - taken.centre_x_mm, cornea.thinnest_y_mm - taken.centre_y_mm
    inward = np.minimum(1.0, taken.radius_mm / np.maximum(np.hypot(dx, dy), taken.radius_mm * 1e-9))
    x, y = taken.centre_x_mm + dx * inward, taken.centre_y_mm + dy * inward
    T, CCT = cornea.thickness_um(x, y), cornea.central_thickness_um
    return Place(*(np.where(CCT < T, at_centre, there) for at_centre, there in ((CCT, T), (0.0, x), (0.0, y))))


def worst_places(cornea: Cornea, wanted: Sequence[Wanted]) -> list[Place]:
    """The places of `search`, or the centre as measured where that is worse.

    The thickness map need not pass through the measured centre. There T is the measured CCT and t that of the
    treatment centre, and the place is 0, 0: no bed is said to be thicker at its least than at the centre. A map of the
    eye's own has its centre among its readings: there the search stands as it is.

    Args:
        cornea: Cornea.
        wanted: as in `search`.

    Returns:
        A Place for each.
    """
    found = search(cornea, wanted)
    if not cornea.thickness.from_one_point:
        return found
    return [_or_centre(cornea, *one[:2], place) for one, place in zip(wanted, found, strict=True)]


def _or_centre(cornea: Cornea, taken: Removal, above: Floats | None, place: Place) -> Place:
    """The place, or the measured centre where its value is lower by more than rounding."""
    at_centre = central_value(cornea, taken, above)
    worse = at_centre < place.value - SAME * np.abs(place.value)
    return Place(
        *(np.where(worse, of_centre, found)[()] for of_centre, found in zip((at_centre, 0.0, 0.0), place, strict=True))
    )


def central_value(cornea: Cornea, taken: Removal, above: Floats | None) -> Floats:
    """The goal of `search` at the centre as measured: T − t [µm], or minus the share (above + t)/T."""
    CCT, t = cornea.central_thickness_um, taken.central_um - taken.base_um
    return CCT - t if above is None else -(above + t) / CCT


def _known(value: Array, above: Floats | None) -> Floats:
    """The value, NaN where a share was sought of a cut that is not given."""
    return value[()] if above is None else np.where(np.isnan(above), np.nan, value)[()]


def _inputs(cornea: Cornea, wanted: Sequence[tuple[Removal, Floats | None]]) -> Iterator[Floats]:
    """Everything whose shape counts."""
    yield cornea.thinnest_um
    yield cornea.thinnest_x_mm
    yield cornea.thinnest_y_mm
    for taken, above in wanted:
        yield from (taken.max_um, taken.max_x_mm, taken.max_y_mm, taken.radius_mm, 0.0 if above is None else above)


def _frame(cornea: Cornea, taken: Removal, shape: tuple[int, ...]) -> Frame:
    """Frame of a Removal; a round removal is turned to the thinnest point."""
    u, v = np.broadcast_arrays(*taken.axes(cornea.thinnest_x_mm, cornea.thinnest_y_mm), np.empty(shape))[:2]
    is_round = taken.profile.along_per_mm == taken.profile.across_per_mm
    turn = np.radians(taken.axis_deg) + np.where(is_round, np.arctan2(v, u), 0.0)
    u, v = np.where(is_round, distance(u, v), u), np.where(is_round, 0.0, v)
    sign_u, sign_v = (np.where(np.abs(part) < 1e-9, 0.0, np.sign(part)) for part in (u, v))
    return Frame(turn, sign_u, sign_v, np.abs(u), np.abs(v))


def _columns(cornea: Cornea, taken: Removal, above: Floats | None, frame: Frame, shape: tuple[int, ...]) -> Columns:
    """Columns of one goal, each one-dimensional."""
    profile = taken.profile
    parts = (
        profile.zone_radius_mm,
        profile.blend_mm,
        profile.before_per_mm,
        profile.along_per_mm,
        profile.across_per_mm,
        profile.K_before,
        profile.K_after,
        taken.central_unscaled_um,
        taken.scale,
        frame.ut,
        frame.vt,
        cornea.thinnest_um,
        cornea.paraboloid.per_mm2,
        np.nan if above is None else above,
    )
    return Columns(*(np.broadcast_to(part, shape).ravel() for part in parts))


def _starts(goals: Sequence[Columns], taken: Removal, shape: tuple[int, ...]) -> list[list[Start]]:
    """Best grid points of the goals of one Removal, of each (value, u, v) twice in the zone, (value, ρ, ψ) twice in the
    blend.

    Where nothing in the blend can be better than what the zone's grid has, the blend is not looked at: infinite.
    """
    grids = [_zone_grid(goals[0], radii) for radii in RADII]
    found = [[_start(goal, grid) for grid in grids] for goal in goals]
    ring = np.broadcast_to(taken.scale * taken.profile.ring_um(taken.central_unscaled_um), shape).ravel()
    near = [
        _best_of_ring(goal, ring) < np.minimum(*(start[0] for start in starts))
        for goal, starts in zip(goals, found, strict=True)
    ]
    index = np.flatnonzero(np.any(near, axis=0))
    goals = [goal.take(index) for goal in goals]
    grids = [_blend_grid(goals[0], easing) for easing in EASING]
    for goal, starts in zip(goals, found, strict=True):
        starts += [_spread_out(_start(goal, grid), index, ring.size) for grid in grids]
    return found


def _best_of_ring(goal: Columns, ring_um: Array) -> Array:
    """A bound for the goal in the blend: the most removal on the least thickness of the ring."""
    inward = np.maximum(0.0, goal.radius - distance(goal.ut, goal.vt))
    return goal.goal(goal.thinnest + goal.growth * np.square(inward), ring_um)


def _spread_out(start: Start, index: Places, count: int) -> Start:
    """The start of some searches, spread out over all searches; infinite elsewhere."""
    value, first, second = np.full(count, np.inf), np.zeros(count), np.zeros(count)
    for whole, part in zip((value, first, second), start, strict=True):
        whole[index] = part
    return value, first, second


def _joined(starts: Sequence[Start]) -> Start:
    """The same start of several goals joined, one goal after the other."""
    value, first, second = (np.concatenate(parts) for parts in zip(*starts, strict=True))
    return value, first, second


def _zone_grid(columns: Columns, radii: Array) -> list[Array]:
    """Places (u, v) of the zone's grid, with T and t there; shape (points, searches)."""
    rho = (columns.radius * radii[:, None])[:, None]
    u, v = rho * np.cos(TURNS)[:, None], rho * np.sin(TURNS)[:, None]
    cos2 = (np.cos(TURNS) ** 2)[:, None]
    c = columns.across + (columns.along - columns.across) * cos2
    Kg = columns.K_after * (columns.across**2 + (columns.along**2 - columns.across**2) * cos2)
    rho2 = rho**2
    after = c * rho2 / (1.0 + np.sqrt(1.0 - Kg * rho2))
    before = columns.before * rho2 / (1.0 + np.sqrt(1.0 - columns.K_before * columns.before**2 * rho2))
    t = columns.scale * (columns.central + 1000.0 * (after - before))
    T = columns.thinnest + columns.growth * ((u - columns.ut) ** 2 + (v - columns.vt) ** 2)
    return [_points(part) for part in (u, v, T, t)]


def _blend_grid(columns: Columns, easing: Array) -> list[Array]:
    """Places (ρ, ψ) of the blend's grid, with T and t there; shape (points, searches)."""
    edge, rise, _, _ = edge_terms(columns, (np.cos(TURNS) ** 2)[:, None])
    s = easing[:, None, None]
    t = columns.scale * (1.0 - s) ** 2 * (edge + (2.0 * edge + rise) * s)
    rho = np.broadcast_to(columns.radius + columns.blend * s, t.shape)
    cos, sin = np.cos(TURNS)[:, None], np.sin(TURNS)[:, None]
    T = columns.thinnest + columns.growth * ((rho * cos - columns.ut) ** 2 + (rho * sin - columns.vt) ** 2)
    psi = np.broadcast_to(TURNS[:, None], t.shape)
    return [_points(part) for part in (rho, psi, T, t)]


def _points(part: Array) -> Array:
    """Rings and turns of a grid on one axis; also where there is no search at all."""
    return part.reshape(part.shape[0] * part.shape[1], part.shape[2])


def _start(columns: Columns, grid: Sequence[Array]) -> Start:
    """Value and place of the best grid point; the bed is sought where nothing is said to lie above."""
    first, second, T, t = grid
    value = T - t if np.isnan(columns.above).all() else -(columns.above + t) / T
    least = value.min(axis=0)
    point = (value <= least + TIE * np.abs(least)).argmax(axis=0)
    searches = np.arange(point.size)
    return value[point, searches], first[point, searches], second[point, searches]


def _least(columns: Columns, starts: Sequence[Start], far_um: Floats) -> Start:
    """Bring every start that can matter to its place; returns the best value and its place u, v."""
    far = np.where(np.isnan(columns.above), far_um, far_um / columns.thinnest)
    value, u, v = (part.copy() for part in starts[0])
    hope = np.minimum.reduce([start[0] for start in starts]) + far
    for i, start in enumerate(starts):
        terms, move = (zone_terms, zone_move) if i < len(RADII) else (blend_terms, blend_move)
        mine = np.flatnonzero(start[0] <= np.minimum(hope, value + far))
        near, first, second = (part[mine] for part in start)
        near, (first, second) = descend(columns.take(mine), near, [first, second], terms, move)
        if move is blend_move:
            first, second = first * np.cos(second), first * np.sin(second)
        better = near < value[mine]
        for kept, new in ((value, near), (u, first), (v, second)):
            kept[mine] = np.where(better, new, kept[mine])
    return value, u, v


def _back(taken: Removal, frame: Frame, u: Array, v: Array) -> tuple[Floats, Floats]:
    """Place from the vertex [mm]; of mirrored equal points the one at the smallest angle from +x."""
    su, sv = np.where(frame.sign_u < 0, -u, u), np.where(frame.sign_v < 0, -v, v)
    either_u, either_v = frame.sign_u == 0, frame.sign_v == 0
    x, y = (np.array(part) for part in _turned(frame.turn, su, sv))
    mirrored = either_u | either_v
    if mirrored.any():
        parts = (part[mirrored] for part in (frame.turn, su, sv, either_u, either_v))
        x[mirrored], y[mirrored] = _first_of_mirrored(*parts)
    return taken.centre_x_mm + x, taken.centre_y_mm + y


def _turned(turn: Array, u: Array, v: Array) -> tuple[Array, Array]:
    """Places in the treated axes turned back [mm]."""
    cos, sin = np.cos(turn), np.sin(turn)
    return u * cos - v * sin, u * sin + v * cos


def _first_of_mirrored(turn: Array, u: Array, v: Array, either_u: Marks, either_v: Marks) -> tuple[Array, Array]:
    """Of the mirror images of each place the one at the smallest angle from +x [mm]."""
    x, y = _turned(turn, u, v)
    for flip_u, flip_v in ((either_u, False), (False, either_v), (either_u, either_v)):
        other = _turned(turn, np.where(flip_u, -u, u), np.where(flip_v, -v, v))
        nearer = _angle(*other) < _angle(x, y) - 1e-9
        x, y = np.where(nearer, other[0], x), np.where(nearer, other[1], y)
    return x, y


def _angle(x: Array, y: Array) -> Array:
    """Angle from +x, 0 to 2π, a hair under 2π counted as 0."""
    return (np.arctan2(y, x) + 1e-9) % (2.0 * np.pi)
