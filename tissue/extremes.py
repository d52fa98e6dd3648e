"""Where the bed is least, and where the greatest share of the thickness is altered.

The removal is the same in the four quadrants of the treated axes, and the thickness map grows with the distance
from the thinnest point: the place sought lies in the quadrant of the thinnest point. There a coarse grid gives one
start in the zone and one in the blend (edge and rim included), and Newton steps bring each to its place.
"""

from typing import NamedTuple

import numpy as np

from tissue.steps import Columns, blend_move, blend_terms, descend, edge_terms, zone_move, zone_terms

RADII = np.array([0.0, 0.2, 0.4, 0.55, 0.7, 0.85, 1.0])
EASING = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0])
TURNS = np.radians([0.0, 22.5, 45.0, 67.5, 90.0])
TIE = 1e-9  # of equal points of the grid the one nearer the treated axis is taken
FAR_UM = 6.0  # a start this much worse than the other cannot become the better one between grid points


class Place(NamedTuple):
    """A value [µm for a bed, minus a fraction for a share] and its place from the vertex [mm]."""

    value: object
    x_mm: object
    y_mm: object


class Frame(NamedTuple):
    """The treated axes of one removal, turned to the quadrant of the thinnest point."""

    turn: object
    sign_u: object
    sign_v: object
    ut: object
    vt: object


def search(cornea, wanted):
    """The least value of each goal over the closed treated disc, and its place.

    Args:
        cornea: Cornea.
        wanted: pairs of a Removal and what lies above it [µm] for the greatest share (cut + r)/T,
            or None for the least T − t.

    Returns:
        A Place for each pair; values and places have the common shape of the eyes.
    """
    shape = np.broadcast_shapes(*(np.shape(part) for part in _parts(cornea, wanted)))
    frames = [_frame(cornea, taken, shape) for taken, _ in wanted]
    columns = [
        _columns(cornea, taken, above, frame, shape) for (taken, above), frame in zip(wanted, frames, strict=True)
    ]
    starts = _starts(columns, [taken for taken, _ in wanted])
    joined = Columns(*(np.concatenate(parts) for parts in zip(*columns, strict=True)))
    zone, blend = (
        tuple(np.concatenate(part) for part in zip(*side, strict=True)) for side in zip(*starts, strict=True)
    )
    value, u, v = _better(joined, zone, blend)
    return [
        Place(part[0].reshape(shape)[()], *_back(taken, frame, part[1].reshape(shape), part[2].reshape(shape)))
        for (taken, _), frame, part in zip(
            wanted, frames, zip(*(np.split(whole, len(wanted)) for whole in (value, u, v)), strict=True), strict=True
        )
    ]


def _parts(cornea, wanted):
    """Everything whose shape counts."""
    yield cornea.thinnest_um
    yield cornea.thinnest_x_mm
    yield cornea.thinnest_y_mm
    for taken, above in wanted:
        yield from (taken.max_um, taken.max_x_mm, taken.max_y_mm, taken.radius_mm, 0.0 if above is None else above)


def _frame(cornea, taken, shape):
    """Frame of a Removal; a round removal is turned to the thinnest point."""
    u, v = np.broadcast_arrays(*taken.axes(cornea.thinnest_x_mm, cornea.thinnest_y_mm), np.empty(shape))[:2]
    is_round = taken.profile.along_per_mm == taken.profile.across_per_mm
    turn = np.radians(taken.axis_deg) + np.where(is_round, np.arctan2(v, u), 0.0)
    u, v = np.where(is_round, np.hypot(u, v), u), np.where(is_round, 0.0, v)
    sign_u, sign_v = (np.where(np.abs(part) < 1e-9, 0.0, np.sign(part)) for part in (u, v))
    return Frame(turn, sign_u, sign_v, np.abs(u), np.abs(v))


def _columns(cornea, taken, above, frame, shape):
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
        cornea.thickness_per_mm2,
        np.nan if above is None else above,
    )
    return Columns(*(np.broadcast_to(part, shape).ravel() for part in parts))


def _starts(columns, takens):
    """Best grid points of each goal: ((value, u, v) in the zone, (value, ρ, ψ) in the blend)."""
    grids = {}
    for mine, taken in zip(columns, takens, strict=True):
        if id(taken) not in grids:
            grids[id(taken)] = _zone_grid(mine), _blend_grid(mine)
    return [tuple(_start(mine, grid) for grid in grids[id(taken)]) for mine, taken in zip(columns, takens, strict=True)]


def _zone_grid(columns):
    """Places (u, v) of the zone's grid, with T and t there; shape (points, searches)."""
    rho = (columns.radius * RADII[:, None])[:, None]
    u, v = rho * np.cos(TURNS)[:, None], rho * np.sin(TURNS)[:, None]
    cos2 = (np.cos(TURNS) ** 2)[:, None]
    c = columns.across + (columns.along - columns.across) * cos2
    Kg = columns.K_after * (columns.across**2 + (columns.along**2 - columns.across**2) * cos2)
    rho2 = rho**2
    after = c * rho2 / (1.0 + np.sqrt(1.0 - Kg * rho2))
    before = columns.before * rho2 / (1.0 + np.sqrt(1.0 - columns.K_before * columns.before**2 * rho2))
    t = columns.scale * (columns.central + 1000.0 * (after - before))
    T = columns.thinnest + columns.growth * ((u - columns.ut) ** 2 + (v - columns.vt) ** 2)
    return [part.reshape(-1, part.shape[-1]) for part in (u, v, T, t)]


def _blend_grid(columns):
    """Places (ρ, ψ) of the blend's grid, with T and t there; shape (points, searches)."""
    edge, rise, _, _ = edge_terms(columns, (np.cos(TURNS) ** 2)[:, None])
    s = EASING[:, None, None]
    t = columns.scale * (1.0 - s) ** 2 * (edge + (2.0 * edge + rise) * s)
    rho = np.broadcast_to(columns.radius + columns.blend * s, t.shape)
    cos, sin = np.cos(TURNS)[:, None], np.sin(TURNS)[:, None]
    T = columns.thinnest + columns.growth * ((rho * cos - columns.ut) ** 2 + (rho * sin - columns.vt) ** 2)
    psi = np.broadcast_to(TURNS[:, None], t.shape)
    return [part.reshape(-1, part.shape[-1]) for part in (rho, psi, T, t)]


def _start(columns, grid):
    """Value and place of the best grid point."""
    value = columns.goal(grid[2], grid[3])
    later = TIE * (np.arange(value.shape[0]) % TURNS.size)[:, None] * np.where(np.isnan(columns.above), 1.0, 1e-3)
    pick = np.argmin(value + later, axis=0)[np.newaxis]
    return tuple(np.take_along_axis(part, pick, axis=0)[0] for part in (value, grid[0], grid[1]))


def _better(columns, zone, blend):
    """Both starts brought to their places where they can matter; the better: value, u, v."""
    far = np.where(np.isnan(columns.above), FAR_UM, FAR_UM / columns.thinnest)
    value, u, v = (part.copy() for part in zone)
    mine = np.flatnonzero(~(zone[0] > blend[0] + far))
    value[mine], (u[mine], v[mine]) = descend(
        columns.take(mine), value[mine], [u[mine], v[mine]], zone_terms, zone_move
    )
    mine = np.flatnonzero(blend[0] <= value + far)
    other, (rho, psi) = descend(
        columns.take(mine), blend[0][mine], [blend[1][mine], blend[2][mine]], blend_terms, blend_move
    )
    nearer = other < value[mine]
    value[mine] = np.where(nearer, other, value[mine])
    u[mine] = np.where(nearer, rho * np.cos(psi), u[mine])
    v[mine] = np.where(nearer, rho * np.sin(psi), v[mine])
    return value, u, v


def _back(taken, frame, u, v):
    """Place from the vertex [mm]; of mirrored equal points the one at the smallest angle from +x."""
    best = None
    for su in (1.0, -1.0):
        for sv in (1.0, -1.0):
            x = su * u * np.cos(frame.turn) - sv * v * np.sin(frame.turn)
            y = su * u * np.sin(frame.turn) + sv * v * np.cos(frame.turn)
            allowed = (frame.sign_u * su >= 0) & (frame.sign_v * sv >= 0)
            angle = np.where(allowed, (np.arctan2(y, x) + 1e-9) % (2.0 * np.pi), np.inf)
            if best is None:
                best = [angle, x, y]
            nearer = angle < best[0]
            best = [np.where(nearer, new, old) for new, old in zip((angle, x, y), best, strict=True)]
    return taken.centre_x_mm + best[1], taken.centre_y_mm + best[2]
