"""Newton steps of weight·T − t in the quadrant of the thinnest point: in the zone, and in the blend."""

import numpy as np

SINGULAR = 1e-9


def zone_step(field, u, v, weight, reach):
    """Next place [mm] in the zone, never outside it; Cartesian."""
    g, H = _zone_derivatives(field, u, v, weight)
    du, dv = _downhill(g, H)
    a = field.shape.zone_radius_mm
    u, v = u + reach * du, v + reach * dv
    inward = np.minimum(1.0, a / np.maximum(np.hypot(u, v), SINGULAR))
    return np.abs(u * inward), np.abs(v * inward)


def blend_step(field, u, v, weight, reach):
    """Next place [mm] in the closed ring from zone edge to rim; polar, each bound held where the slope leans on it."""
    a, w = field.shape.zone_radius_mm, field.shape.blend_mm
    rho, psi = np.hypot(u, v), np.arctan2(v, u)
    g, H = _blend_derivatives(field, rho, psi, weight)
    tiny = 1e-12 * a
    held_rho = ((rho <= a + tiny) & (g[0] > 0)) | ((rho >= a + w - tiny) & (g[0] < 0)) | (w <= 0)
    held_psi = ((psi <= 0) & (g[1] > 0)) | ((psi >= np.pi / 2) & (g[1] < 0))
    g = np.where(held_rho, 0.0, g[0]), np.where(held_psi, 0.0, g[1])
    across = np.where(held_rho | held_psi, 0.0, H[1])
    H = np.where(held_rho, 1.0, H[0]), across, np.where(held_psi, 1.0, H[2])
    scaled = (g[0], g[1] / rho), (H[0], H[1] / rho, H[2] / rho**2)
    drho, darc = _downhill(*scaled)
    rho = np.clip(rho + reach * drho, a, a + w)
    psi = np.clip(psi + reach * darc / rho, 0.0, np.pi / 2)
    return rho * np.cos(psi), rho * np.sin(psi)


def _downhill(g, H):
    """Step down the slope g for the curvature H = (uu, uv, vv); |H| where it is not positive; at most 1 mm."""
    mean, half = (H[0] + H[2]) / 2.0, (H[0] - H[2]) / 2.0
    spread = np.hypot(half, H[1])
    high, low = np.abs(mean + spread), np.abs(mean - spread)
    high, low = np.maximum(high, SINGULAR), np.maximum(low, SINGULAR)
    with np.errstate(divide="ignore", invalid="ignore"):
        cos2 = np.where(spread > 0, half / spread, 1.0)
        sin2 = np.where(spread > 0, H[1] / spread, 0.0)
    # inverse of |H|: eigenvalues 1/high and 1/low along the same axes
    even, odd = (1.0 / high + 1.0 / low) / 2.0, (1.0 / high - 1.0 / low) / 2.0
    du = -((even + odd * cos2) * g[0] + odd * sin2 * g[1])
    dv = -(odd * sin2 * g[0] + (even - odd * cos2) * g[1])
    shorten = 1.0 / np.maximum(1.0, np.hypot(du, dv))
    return du * shorten, dv * shorten


def _zone_derivatives(field, u, v, weight):
    """Gradient and second derivatives [µm/mm, µm/mm²] of weight·T + scale·(s_before − s_after)."""
    shape, scale = field.shape, 1000.0 * field.taken.scale
    c0 = shape.before_per_mm
    before = _sag_derivatives(u, v, c0, c0, shape.K_before)
    after = _sag_derivatives(u, v, shape.along_per_mm, shape.across_per_mm, shape.K_after)
    k = 2.0 * weight * field.growth
    g = k * (u - field.ut) + scale * (before[0] - after[0]), k * (v - field.vt) + scale * (before[1] - after[1])
    H = (
        k + scale * (before[2] - after[2]),
        scale * (before[3] - after[3]),
        k + scale * (before[4] - after[4]),
    )
    return g, H


def _sag_derivatives(u, v, cu, cv, K):
    """First and second derivatives of s = N/(1 + y), N = c_u·u² + c_v·v², y = √(1 − K·(c_u²u² + c_v²v²))."""
    nu, nv = cu * u, cv * v
    N = nu * u + nv * v
    y = np.sqrt(1.0 - K * (nu**2 + nv**2))
    yu, yv = -K * cu * nu / y, -K * cv * nv / y
    b = 1.0 / (1.0 + y)
    yuu, yuv, yvv = -(K * cu**2 + yu**2) / y, -yu * yv / y, -(K * cv**2 + yv**2) / y
    su, sv = (2.0 * nu - N * b * yu) * b, (2.0 * nv - N * b * yv) * b
    suu = (2.0 * cu - (4.0 * nu * yu + N * yuu) * b + 2.0 * N * yu**2 * b**2) * b
    suv = (-(2.0 * nu * yv + 2.0 * nv * yu + N * yuv) * b + 2.0 * N * yu * yv * b**2) * b
    svv = (2.0 * cv - (4.0 * nv * yv + N * yvv) * b + 2.0 * N * yv**2 * b**2) * b
    return su, sv, suu, suv, svv


def _blend_derivatives(field, rho, psi, weight):
    """Gradient and second derivatives by (ρ, ψ) of weight·T − t in the blend; c and g taken linear in cos²ψ twice."""
    shape, scale = field.shape, field.taken.scale
    a, w = shape.zone_radius_mm, shape.blend_mm
    cos, sin = np.cos(psi), np.sin(psi)
    edge, rise, edge_q, rise_q = _edge_values(field, cos**2)
    q1, q2 = -2.0 * sin * cos, -2.0 * (cos**2 - sin**2)
    narrow = np.maximum(w, SINGULAR)
    s = np.clip((rho - a) / narrow, 0.0, 1.0)
    B, B_q = 2.0 * edge + rise, 2.0 * edge_q + rise_q
    left = 1.0 - s
    t_s = left * (B - 2.0 * edge - 3.0 * B * s)
    t_ss = -4.0 * B + 2.0 * edge + 6.0 * B * s
    t_q = left**2 * (edge_q + B_q * s)
    t_sq = left * (B_q - 2.0 * edge_q - 3.0 * B_q * s)
    k = 2.0 * weight * field.growth
    towards = field.ut * cos + field.vt * sin
    aside = field.ut * sin - field.vt * cos
    g = k * (rho - towards) - scale * t_s / narrow, k * rho * aside - scale * t_q * q1
    H = k - scale * t_ss / narrow**2, k * aside - scale * t_sq * q1 / narrow, k * rho * towards - scale * t_q * q2
    return g, H


def _edge_values(field, q):
    """t at the zone edge and its slope × w [µm], and their rates with q = cos²ψ."""
    shape = field.shape
    a, w, K, c0 = shape.zone_radius_mm, shape.blend_mm, shape.K_after, shape.before_per_mm
    cu, cv = shape.along_per_mm, shape.across_per_mm
    c, g = shape.mixed(q)
    y = np.sqrt(1.0 - K * g * a**2)
    y0 = np.sqrt(1.0 - shape.K_before * c0**2 * a**2)
    c_q, y_q = cu - cv, -K * (cu**2 - cv**2) * a**2 / (2.0 * y)
    edge = field.taken.central_unscaled_um + 1000.0 * a**2 * (c / (1.0 + y) - c0 / (1.0 + y0))
    edge_q = 1000.0 * a**2 * (c_q - c * y_q / (1.0 + y)) / (1.0 + y)
    rise = 1000.0 * a * w * (c / y - c0 / y0)
    rise_q = 1000.0 * a * w * (c_q - c * y_q / y) / y
    return edge, rise, edge_q, rise_q
