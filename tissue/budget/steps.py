"""Removal and thickness map with their derivatives in the quadrant of the thinnest point, and a Newton descent on them.

The zone is walked in Cartesian places (u, v), the blend with both its edges in polar ones (ρ, ψ).
"""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np

from tissue.ground.vocabulary import Array, Floats, Marks, Places

STEPS = 14
DONE_MM = 1e-7
SINGULAR = 1e-9


Terms = tuple[Array, Sequence[Array], Sequence[Floats], Array, Sequence[Array], Sequence[Array]]  # of T, then of t


class Columns(NamedTuple):
    """What a search needs to know of an eye, a removal and a goal: one-dimensional arrays, one entry for each search.

    Radius and blend [mm], curvatures [1/mm], conic factors, central removal [µm], scale, thinnest point in the
    treated axes [mm], its thickness [µm], the growth of the map [µm/mm²], and what lies above the removal [µm]
    where the share is sought (NaN: the bed).
    """

    radius: Array
    blend: Array
    before: Array
    along: Array
    across: Array
    K_before: Array
    K_after: Array
    central: Array
    scale: Array
    ut: Array
    vt: Array
    thinnest: Array
    growth: Array
    above: Array

    def take(self, index: Places | Marks) -> "Columns":
        """The searches selected by an index."""
        return Columns(*(column[index] for column in self))

    def goal(self, thickness: Array, removed: Array) -> Array:
        """The quantity to minimise: T − t [µm] for a bed, −(above + t)/T for a share."""
        return np.where(np.isnan(self.above), thickness - removed, -(self.above + removed) / thickness)

    def weight(self, value: Array) -> Array:
        """Weight of T against t in a step; the share itself, for (above + t) − share·T is stationary where it is."""
        return np.where(np.isnan(self.above), 1.0, -value)


def descend(
    columns: Columns,
    value: Array,
    place: Sequence[Array],
    derivatives: Callable[[Columns, Sequence[Array]], Terms],
    move: Callable[[Columns, Sequence[Array], Sequence[Array], Sequence[Array], Array], tuple[list[Array], Array]],
) -> tuple[Array, list[Array]]:
    """Newton steps from a place; a step that does not improve the value is taken back and shortened.

    Done where a step is at most DONE_MM long, or where the steps shorten so fast that no more than that is left to go.

    Args:
        columns: Columns.
        value: the goal at the start.
        place: the start, a pair of arrays.
        derivatives: columns, place → thickness, its slope and curvature, removal, its slope and curvature.
        move: columns, place, slope, curvature, reach → next place and the length of the step [mm].

    Returns:
        value, place.
    """
    best_value, best = value.copy(), [part.copy() for part in place]
    active, reach, last = np.arange(value.size), np.ones(value.size), np.full(value.size, SINGULAR)
    slope, curve = _slope_and_curve(columns, value, derivatives(columns, place))
    for _ in range(STEPS):
        tried, far = move(columns, place, slope, curve, reach)
        terms = derivatives(columns, tried)
        there = columns.goal(terms[0], terms[3])
        better = there < value
        value = np.where(better, there, value)
        place = [np.where(better, new, old) for new, old in zip(tried, place, strict=True)]
        reach = np.where(better, 1.0, reach / 4.0)
        best_value[active] = value
        for kept, part in zip(best, place, strict=True):
            kept[active] = part
        going = far * np.minimum(1.0, far / last) > DONE_MM
        last = np.where(better, np.maximum(far, SINGULAR), SINGULAR)
        if not going.any():
            break
        new_slope, new_curve = _slope_and_curve(columns, there, terms)
        slope = [np.where(better, new, old) for new, old in zip(new_slope, slope, strict=True)]
        curve = [np.where(better, new, old) for new, old in zip(new_curve, curve, strict=True)]
        if not going.all():
            active, reach, last, value = active[going], reach[going], last[going], value[going]
            columns, place = columns.take(going), [part[going] for part in place]
            slope, curve = [part[going] for part in slope], [part[going] for part in curve]
    return best_value, best


def _slope_and_curve(columns: Columns, value: Array, terms: tuple[Any, ...]) -> tuple[list[Array], list[Array]]:
    """Slope and curvature of weight·T − t."""
    _, T1, T2, _, t1, t2 = terms
    weight = columns.weight(value)
    return [weight * T - t for T, t in zip(T1, t1, strict=True)], [weight * T - t for T, t in zip(T2, t2, strict=True)]


def distance(x: Floats, y: Floats) -> Any:
    """√(x² + y²); of lengths near a millimetre ten times faster than np.hypot."""
    return np.sqrt(np.square(x) + np.square(y))


def zone_move(
    columns: Columns, place: Sequence[Array], slope: Sequence[Array], curve: Sequence[Array], reach: Array
) -> tuple[list[Array], Array]:
    """Next place (u, v) [mm], never outside the zone."""
    du, dv = _downhill(slope, curve, reach)
    u, v = place[0] + du, place[1] + dv
    inward = np.minimum(1.0, columns.radius / np.maximum(distance(u, v), SINGULAR))
    u, v = np.abs(u * inward), np.abs(v * inward)
    return [u, v], distance(u - place[0], v - place[1])


def blend_move(
    columns: Columns, place: Sequence[Array], slope: Sequence[Array], curve: Sequence[Array], reach: Array
) -> tuple[list[Array], Array]:
    """Next place (ρ [mm], ψ) in the closed ring; a bound the slope leans on is held."""
    rho, psi = place
    a, w = columns.radius, columns.blend
    held_rho = ((rho <= a) & (slope[0] > 0)) | ((rho >= a + w) & (slope[0] < 0)) | (w <= 0)
    held_psi = ((psi <= 0) & (slope[1] > 0)) | ((psi >= np.pi / 2) & (slope[1] < 0))
    held = held_rho | held_psi
    slope = np.where(held_rho, 0.0, slope[0]), np.where(held_psi, 0.0, slope[1] / rho)
    curve = (
        np.where(held_rho, 1.0, curve[0]),
        np.where(held, 0.0, curve[1] / rho),
        np.where(held_psi, 1.0, curve[2] / rho**2),
    )
    drho, darc = _downhill(slope, curve, reach)
    new_rho, new_psi = np.clip(rho + drho, a, a + w), np.clip(psi + darc / rho, 0.0, np.pi / 2)
    return [new_rho, new_psi], distance(new_rho - rho, rho * (new_psi - psi))


def _downhill(slope: Sequence[Array], curve: Sequence[Array], reach: Array) -> tuple[Array, Array]:
    """Step down for the curvature (uu, uv, vv), its absolute value where it is not positive; at most 1 mm × reach."""
    mean, half = (curve[0] + curve[2]) / 2.0, (curve[0] - curve[2]) / 2.0
    spread = np.maximum(distance(half, curve[1]), SINGULAR)
    high = 1.0 / np.maximum(np.abs(mean + spread), SINGULAR)
    low = 1.0 / np.maximum(np.abs(mean - spread), SINGULAR)
    even, odd = (high + low) / 2.0, (high - low) / (2.0 * spread)
    du = (even + odd * half) * slope[0] + odd * curve[1] * slope[1]
    dv = odd * curve[1] * slope[0] + (even - odd * half) * slope[1]
    reach = -reach / np.maximum(1.0, distance(du, dv))
    return du * reach, dv * reach


def zone_terms(columns: Columns, place: Sequence[Array]) -> Terms:
    """Thickness map and removal in the zone with slopes and curvatures by (u, v)."""
    u, v = place
    scale = 1000.0 * columns.scale
    before = _round_sag_terms(u, v, columns.before, columns.K_before)
    after = _sag_terms(u, v, columns.along, columns.across, columns.K_after)
    t, tu, tv, tuu, tuv, tvv = (scale * (second - first) for first, second in zip(before, after, strict=True))
    du, dv = u - columns.ut, v - columns.vt
    twice = 2.0 * columns.growth
    T = columns.thinnest + columns.growth * (du**2 + dv**2)
    return (
        T,
        (twice * du, twice * dv),
        (twice, 0.0, twice),
        columns.scale * columns.central + t,
        (tu, tv),
        (tuu, tuv, tvv),
    )


def _sag_terms(u: Array, v: Array, cu: Array, cv: Array, K: Array) -> tuple[Array, Array, Array, Array, Array, Array]:
    """s = N/(1 + y) with N = c_u·u² + c_v·v², y = √(1 − K·(c_u²u² + c_v²v²)), and its first and second derivatives."""
    nu, nv = cu * u, cv * v
    N = nu * u + nv * v
    y = np.sqrt(1.0 - K * (nu**2 + nv**2))
    down = -1.0 / y
    Ku, Kv = K * cu, K * cv
    yu, yv = Ku * nu * down, Kv * nv * down
    b = 1.0 / (1.0 + y)
    s = N * b
    yuu, yuv, yvv = (Ku * cu + yu**2) * down, yu * yv * down, (Kv * cv + yv**2) * down
    su, sv = (2.0 * nu - s * yu) * b, (2.0 * nv - s * yv) * b
    suu = (2.0 * cu - 2.0 * su * yu - s * yuu) * b
    suv = -(su * yv + sv * yu + s * yuv) * b
    svv = (2.0 * cv - 2.0 * sv * yv - s * yvv) * b
    return s, su, sv, suu, suv, svv


def _round_sag_terms(u: Array, v: Array, c: Array, K: Array) -> tuple[Array, Array, Array, Array, Array, Array]:
    """`_sag_terms` of a surface of one curvature: ds/dρ = c·ρ/y."""
    rho2, Kc2 = np.square(u) + np.square(v), K * np.square(c)
    y2 = 1.0 - Kc2 * rho2
    y = np.sqrt(y2)
    su_u = c / y
    bend = su_u * Kc2 / y2
    bend_u = bend * u
    return (
        c * rho2 / (1.0 + y),
        su_u * u,
        su_u * v,
        su_u + bend_u * u,
        bend_u * v,
        su_u + bend * np.square(v),
    )


def edge_terms(columns: Columns, cos2: Array) -> tuple[Array, Array, Array, Array]:
    """t at the zone edge and slope × blend [µm, unscaled], and their rates with cos²ψ."""
    a, w, K, c0 = columns.radius, columns.blend, columns.K_after, columns.before
    c_q, g_q = columns.along - columns.across, columns.along**2 - columns.across**2
    c, g = columns.across + c_q * cos2, columns.across**2 + g_q * cos2
    y, y0 = np.sqrt(1.0 - K * g * a**2), np.sqrt(1.0 - columns.K_before * c0**2 * a**2)
    y_q = -K * g_q * a**2 / (2.0 * y)
    edge = columns.central + 1000.0 * a**2 * (c / (1.0 + y) - c0 / (1.0 + y0))
    edge_q = 1000.0 * a**2 * (c_q - c * y_q / (1.0 + y)) / (1.0 + y)
    rise = 1000.0 * a * w * (c / y - c0 / y0)
    rise_q = 1000.0 * a * w * (c_q - c * y_q / y) / y
    return edge, rise, edge_q, rise_q


def blend_terms(columns: Columns, place: Sequence[Array]) -> Terms:
    """Thickness map and removal in the blend with slopes and curvatures by (ρ, ψ).

    The edge values are taken as linear in cos²ψ for the curvature; the slopes are exact.
    """
    rho, psi = place
    cos, sin = np.cos(psi), np.sin(psi)
    edge, rise, edge_q, rise_q = (columns.scale * part for part in edge_terms(columns, cos**2))
    narrow = np.maximum(columns.blend, SINGULAR)
    s = np.clip((rho - columns.radius) / narrow, 0.0, 1.0)
    left, B, B_q = 1.0 - s, 2.0 * edge + rise, 2.0 * edge_q + rise_q
    q1, q2 = -2.0 * sin * cos, 2.0 - 4.0 * cos**2
    t_q = left**2 * (edge_q + B_q * s)
    t_s = left * (rise - 3.0 * B * s)
    t_ss = 6.0 * B * s - 4.0 * B + 2.0 * edge
    t_sq = left * (rise_q - 3.0 * B_q * s)
    t2 = t_ss / narrow**2, t_sq * q1 / narrow, t_q * q2
    twice = 2.0 * columns.growth
    towards, aside = columns.ut * cos + columns.vt * sin, columns.ut * sin - columns.vt * cos
    T = columns.thinnest + columns.growth * ((rho - towards) ** 2 + aside**2)
    T1, T2 = (twice * (rho - towards), twice * rho * aside), (twice, twice * aside, twice * rho * towards)
    return T, T1, T2, left**2 * (edge + B * s), (t_s / narrow, t_q * q1), t2
