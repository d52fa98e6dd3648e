"""Plans for the tests of sight, the wavefront once more from its definition, and a plain dense image of it."""

import math

import numpy as np
from ray_trace import refracted

from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.removal.removal import Treatment, removal

N = 1.376
GREEN_MM = 555e-6
ARCMIN = math.pi / 10800.0


def sight_plans(count, seed):
    """Eyes, removals and pupils of every kind: profiles, blends, centres, pupils within the zone and past it."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        u = rng.uniform
        eye = Cornea(550.0, radius_mm=u(7.2, 8.5), asphericity=u(-0.8, 0.5))
        plan = Treatment(
            Refraction(u(-9.0, 3.0), u(-3.0, 0.0), u(1.0, 180.0), 12.0),
            u(5.0, 7.5),
            str(rng.choice(["munnerlyn", "conic", "parabolic"])),
            centre_x_mm=u(-0.6, 0.6),
            centre_y_mm=u(-0.6, 0.6),
        )
        yield eye, removal(eye, plan, u(0.1, 1.5)), Pupil(u(2.5, 8.5), u(-0.5, 0.5), u(-0.5, 0.5))


def wave_by_definition(eye, taken, c40, x, y):
    """W [µm] at one place: Fermat's paths as they are written in the definition, number by number."""
    p = taken.profile
    rho2 = x * x + y * y
    R, Q = float(eye.radius_mm), float(eye.asphericity)
    s1 = rho2 / R / (1.0 + math.sqrt(1.0 - (1.0 + Q) * rho2 / R**2))
    t = float(taken.t_um(x, y) / taken.scale)
    t0 = float(taken.t_um(taken.centre_x_mm, taken.centre_y_mm) / taken.scale)
    S = s1 + (t - t0) / 1000.0
    P = [1000.0 * (N - 1.0) * (float(c) - 1.0 / R) for c in (p.along_per_mm, p.across_per_mm)]
    mean = sum(P) / 2.0
    f = 1000.0 * N / (1000.0 * (N - 1.0) / R + mean)
    a = 1000.0 / mean
    after = S + N * (math.sqrt(rho2 + (f - S) ** 2) - f)
    air = -math.copysign(1.0, a) * (math.sqrt(rho2 + (s1 - a) ** 2) - abs(a))
    before = air + N * (math.sqrt(rho2 + (f - s1) ** 2) - f)
    turn = math.radians(float(taken.axis_deg))
    dx, dy = x - float(taken.centre_x_mm), y - float(taken.centre_y_mm)
    u, v = dx * math.cos(turn) + dy * math.sin(turn), dy * math.cos(turn) - dx * math.sin(turn)
    cu, cv = float(p.along_per_mm), float(p.across_per_mm)
    cm = (cu + cv) / 2.0
    toric = 500.0 * (N - 1.0) * ((cu - cm) * u**2 + (cv - cm) * v**2)
    return -1000.0 * (after - before) - toric + c40 * 6.0 * math.sqrt(5.0) / 81.0 * rho2**2


def dense_field(seen, count, parts=4):
    """E of a pupil on `count` squares a side: the share of each by its parts, its middle alone for the wave."""
    step = 2.0 * seen.radius_mm / count
    along = (np.arange(count) - (count - 1) / 2.0) * step
    x, y = np.meshgrid(along, along)
    fine = (np.arange(parts) + 0.5) / parts * step - step / 2.0
    share = np.zeros(x.shape)
    for dx in fine:
        for dy in fine:
            share += (np.hypot(x + dx, y + dy) < seen.radius_mm) / parts**2
    W = np.zeros(x.shape)
    inside = share > 0
    W[inside] = seen(x[inside], y[inside])
    return share * np.exp(2j * np.pi * W / (GREEN_MM * 1e3)), step, along


def dense_light_percent(seen, count, radius_arcmin, pixel_arcmin=0.05):
    """Light within a radius of the axis [%]: a plain transform of a dense field, every pixel whole or not at all."""
    E, step, along = dense_field(seen, count)
    half = int(np.ceil(radius_arcmin / pixel_arcmin))
    angle = pixel_arcmin * np.arange(-half, half + 1)
    turn = np.exp(-2j * np.pi * ARCMIN / GREEN_MM * np.outer(angle, along))
    spread = np.abs(turn @ E @ turn.T) ** 2
    inside = np.hypot(angle[:, None], angle[None, :]) <= radius_arcmin
    scale = (step * pixel_arcmin * ARCMIN / GREEN_MM) ** 2
    return 100.0 * scale * spread[inside].sum() / np.abs(E).sum()


def dense_contrast(seen, frequencies):
    """By frequency (across, up) [whole cycles/degree], the pupil's own overlap at that shift, summed straight.

    The field is three times as fine as the tool's; a cell of it counts where its middle lies in the pupil.
    """
    step = math.degrees(GREEN_MM) / 6.0
    count = math.ceil(2.0 * seen.radius_mm / step) // 2 * 2 + 1
    along = (np.arange(count) - count // 2) * step
    x, y = np.meshgrid(along, along)
    waves = seen(x.ravel(), y.ravel()).reshape(x.shape) / (GREEN_MM * 1e3)
    E = np.where(np.hypot(x, y) <= seen.radius_mm, np.exp(2j * np.pi * waves), 0.0)
    found = {}
    for across, up in frequencies:
        dx, dy = 6 * across, 6 * up
        here = E[dy:, max(dx, 0) : count + min(dx, 0)]
        there = E[: count - dy, max(-dx, 0) : count - max(dx, 0)]
        found[across, up] = (here * np.conj(there)).sum() / (np.abs(E) ** 2).sum()
    return found


def turned_from_focus(eye, taken, x, y):
    """How far rays from far away turn from the line to the focus, along the surface in x [rad]: n·(d − k)·(1, 0, s′).

    The rays d by the vector law of refraction at the planned surface (tests/support/ray_trace.py), k towards the focus.
    """
    h = 1e-5

    def front(a, b):
        return eye.front_mm(a, b) + (taken.t_um(a, b) / taken.scale - taken.central_unscaled_um) / 1000.0

    slope_x, slope_y = (
        (front(x + h * i, y + h * j) - front(x - h * i, y - h * j)) / (2 * h) for i, j in ((1, 0), (0, 1))
    )
    ray = refracted(slope_x, slope_y)
    power = 376.0 * float(taken.profile.along_per_mm - taken.profile.before_per_mm)
    towards = np.stack([-x, -y, 1376.0 / (376.0 / float(eye.radius_mm) + power) - front(x, y)])
    away = ray - towards / np.linalg.norm(towards, axis=0)
    return 1.376 * (away[0] + away[2] * slope_x)


def before_part(eye, taken, x, y):
    """Slope along x that the old surface had for light of the far point [rad], by its path."""
    h, P = 1e-4, 376.0 * float(taken.profile.along_per_mm - taken.profile.before_per_mm)
    focus = 1000.0 * 1.376 / (376.0 / float(eye.radius_mm) + P)

    def path(a):
        s, rho2 = eye.front_mm(a, y), a * a + y * y
        return np.sqrt(rho2 + (s - 1000.0 / P) ** 2) + 1.376 * np.sqrt(rho2 + (focus - s) ** 2)

    return -(path(x + h) - path(x - h)) / (2 * h)
