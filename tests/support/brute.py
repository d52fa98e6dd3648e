"""The figures of one eye from the written model alone, by brute force: dense polar grids, no arithmetic of the tool.

Every number here is typed from the model: index 1.376, thickness growth 0.0088 per mm², default blends and base.
Values are read by the names of the plan file; angles in radians inside.
"""

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr
from scipy.stats import norm

N = 1.376
GROWTH = 0.0088
DEFAULTS = {
    "cylinder_D": 0.0,
    "axis_deg": 180.0,
    "vertex_mm": 12.0,
    "target_D": 0.0,
    "radius_mm": 7.8,
    "asphericity": -0.19,
    "epithelium_um": 53.0,
    "white_to_white_mm": 11.8,
    "zone_mm": 6.5,
    "profile": "munnerlyn",
    "centre_x_mm": 0.0,
    "centre_y_mm": 0.0,
    "flap_um": 110.0,
    "flap_diameter_mm": 9.0,
    "cap_um": 120.0,
    "bed_line_um": 250.0,
    "thickness_bias_um": 0.0,
    "thickness_sd_um": 5.0,
    "epithelium_sd_um": 4.6,
    "flap_bias_um": 4.0,
    "flap_sd_um": 5.0,
    "cap_bias_um": -0.7,
    "cap_sd_um": 4.4,
    "ablation_bias_um": 0.0,
    "ablation_sd_um": 11.2,
    "lenticule_bias_um": -12.1,
    "lenticule_sd_um": 9.8,
}
TURNS = np.radians(np.arange(0, 360, 2))


def at_cornea(F, vertex_mm):
    """A power of the spectacle plane at the cornea."""
    return F / (1.0 - vertex_mm * F / 1000.0)


def treated(v):
    """Sphere, cylinder and axis to be treated, spectacle plane: as given, else measured less target at the cornea."""
    if "treated_sphere_D" in v:
        return v["treated_sphere_D"], v["treated_cylinder_D"], v.get("treated_axis_deg", 180.0)
    S, C, A, d = v["sphere_D"], v["cylinder_D"], v["axis_deg"], v["vertex_mm"]
    along, across = (at_cornea(F, d) - at_cornea(v["target_D"], d) for F in (S, S + C))
    along, across = (F / (1.0 + d * F / 1000.0) for F in (along, across))
    return along, across - along, A


class Eye:
    """Surfaces of one planned eye."""

    def __init__(self, values):
        v = self.values = {**DEFAULTS, **values}
        if "mean_K_D" in v:
            v["radius_mm"] = 337.5 / v["mean_K_D"]
        S, C, A = treated(v)
        self.C, self.A = C, np.radians(A)
        self.along, self.across = (at_cornea(F, v["vertex_mm"]) for F in (S, S + C))
        self.c1 = 1.0 / v["radius_mm"]
        self.cu, self.cv = (self.c1 + P / (1000.0 * (N - 1.0)) for P in (self.along, self.across))
        Q1 = v["asphericity"]
        Q2 = v.get("target_asphericity", Q1)
        self.K1, self.K2 = {"munnerlyn": (1.0, 1.0), "parabolic": (0.0, 0.0), "conic": (1 + Q1, 1 + Q2)}[v["profile"]]
        self.Z = v["zone_mm"]

    def before_mm(self, rho):
        return self.c1 * rho**2 / (1.0 + np.sqrt(1.0 - self.K1 * self.c1**2 * rho**2))

    def after_mm(self, rho, theta):
        u2, v2 = (rho * np.cos(theta - self.A)) ** 2, (rho * np.sin(theta - self.A)) ** 2
        return (self.cu * u2 + self.cv * v2) / (1.0 + np.sqrt(1.0 - self.K2 * (self.cu**2 * u2 + self.cv**2 * v2)))

    def drop_um(self, rho, theta):
        """s1 − s2."""
        return 1000.0 * (self.before_mm(rho) - self.after_mm(rho, theta))

    def edge_slope(self, theta, a):
        """Slope of t at the zone edge [µm/mm], by a complex step: exact, and no derivative is written down."""
        return -np.imag(self.drop_um(a + 1e-30j, theta)) / 1e-30

    def exists(self, zone):
        """Whether both roots are real and not zero over the closed zone."""
        steepest = max(self.K1 * self.c1**2, self.K2 * self.cu**2, self.K2 * self.cv**2)
        return steepest * (zone / 2.0) ** 2 < 1.0

    def default_blends(self):
        h = min(1.0, max(0.0, self.along, self.across))
        return 0.5 + 0.5 * h, max(h, 0.1 * min(1.0, abs(self.C) / 0.25)), 15.0 + 15.0 * h

    def thickness_um(self, x, y):
        v = self.values
        thinnest = v.get("thinnest_um", v["central_thickness_um"])
        xt, yt = v.get("thinnest_x_mm", 0.0), v.get("thinnest_y_mm", 0.0)
        return thinnest * (1.0 + GROWTH * ((x - xt) ** 2 + (y - yt) ** 2))


class Tissue:
    """The removal of an eye for one zone, blend, base and reported depth."""

    def __init__(self, eye, zone, blend, base=0.0, reported=None, scale=None):
        self.eye, self.a, self.w, self.base = eye, zone / 2.0, blend, base
        self.turns = eye.A + TURNS
        rings = np.linspace(0.0, self.a, 60)
        self.plain_um = -_least_of_rings(lambda rho, theta: -eye.drop_um(rho, eye.A + theta), rings)[0]
        edge, slope = eye.drop_um(self.a, self.turns), eye.edge_slope(self.turns, self.a)
        eased = (edge + np.maximum(0.0, -slope) * self.w / 2.0).max()
        self.central_um = max(self.plain_um, eased)
        self.scale = 1.0
        self.deepest_um, self.deepest_x, self.deepest_y = self._deepest()
        if scale is not None:
            self.scale = scale
        elif reported is not None:
            self.scale = (reported - base) / self.deepest_um

    def t(self, rho, theta):
        """t over zone and blend, 0 beyond; the blend by the two Hermite polynomials that meet (t_e, slope)."""
        inside = np.minimum(rho, self.a)
        t = self.central_um - self.eye.drop_um(inside, theta)
        if self.w > 0:
            s = np.clip((rho - self.a) / self.w, 0.0, 1.0)
            eased = (2 * s**3 - 3 * s**2 + 1) * t + (s**3 - 2 * s**2 + s) * self.w * self.eye.edge_slope(theta, self.a)
            t = np.where(rho > self.a, eased, t)
        return self.scale * np.where(rho > self.a + self.w + 1e-12, 0.0, t)

    def _deepest(self):
        """Largest t and its place about the treatment centre, grid then finer grids."""
        return least(lambda rho, theta: -self.t(rho, theta), self.a, self.w, sign=-1.0)

    def volume_mm3(self):
        """∬ t over zone and blend: 40 Gauss–Legendre rings in each of zone and blend, 180 directions."""
        total = 0.0
        for low, high in ((0.0, self.a), (self.a, self.a + self.w)):
            x, weight = np.polynomial.legendre.leggauss(40)
            rho = ((high - low) * x + high + low)[:, None] / 2.0
            ring = (self.t(rho, TURNS) * rho).mean(axis=1) * 2.0 * np.pi
            total += (ring * weight).sum() * (high - low) / 2.0
        return total / 1000.0


def least(goal, a, w, sign=1.0):
    """(value, x, y) of the least goal(ρ, θ) over the closed disc; the value comes back with `sign`.

    Zone and blend are looked at apart, each on a grid of rings: every valley of the grid (no neighbour lower) within
    3 units of its best is followed by ever finer grids in (ρ, θ).
    """
    found = [_least_of_rings(goal, np.linspace(0.0, a, 60))]
    if w > 0:
        found.append(_least_of_rings(goal, np.linspace(a, a + w, 31)))
    value, rho, theta = min(found, key=lambda place: place[0])
    return sign * value, rho * np.cos(theta), rho * np.sin(theta)


def _least_of_rings(goal, rings):
    """The least goal between the first and the last ring: value, ρ, θ."""
    value = np.broadcast_to(goal(rings[:, None], TURNS), (rings.size, TURNS.size))
    walled = np.pad(value, ((1, 1), (0, 0)), constant_values=np.inf)
    around = (walled[:-2], walled[2:], np.roll(value, 1, axis=1), np.roll(value, -1, axis=1))
    valleys = np.flatnonzero(np.logical_and.reduce([value <= other for other in around]) & (value <= value.min() + 3.0))
    order = valleys[np.argsort(value.flat[valleys], kind="stable")]
    return min((_closer(goal, rings, *place) for place in _apart(order, rings)), key=lambda place: place[0])


def _apart(order, rings):
    """Places (ρ, θ) of the grid in that order, those within 0.3 mm of an earlier one left out, eight at most."""
    kept = []
    for k in order:
        rho, theta = rings[k // TURNS.size], TURNS[k % TURNS.size]
        if all(abs(rho * np.exp(1j * theta) - r * np.exp(1j * t)) > 0.3 for r, t in kept):
            kept.append((rho, theta))
        if len(kept) == 8:
            break
    return kept


def _closer(goal, rings, rho, theta):
    """Grids of 13 × 13 about a place, each a third of the one before."""
    value = np.inf
    for part in 2.0 / 3.0 ** np.arange(12):
        step = np.linspace(-part, part, 13)
        r = np.clip(rho + step * (rings[1] - rings[0]), rings[0], rings[-1])[:, None]
        t = theta + step * TURNS[1] * (30.0 if rho < 3.0 * rings[1] else 1.0)
        values = np.broadcast_to(goal(r, t), (13, 13))
        k = np.argmin(values)
        if values.flat[k] < value:
            value, rho, theta = float(values.flat[k]), float(r.flat[k // 13]), float(t[k % 13])
    return value, rho, theta


def figures(values):
    """The figures of surface, flap and lenticule by their names in the JSON."""
    eye = Eye(values)
    v = eye.values
    ablation, extracted = removals(eye)
    found = {}
    for name, taken, planned, measured in (
        ("surface", ablation, v["epithelium_um"], None),
        ("flap", ablation, v["flap_um"], v.get("flap_measured_um")),
        ("lenticule", extracted, v["cap_um"], v.get("cap_measured_um")),
    ):
        cut = planned if measured is None else measured
        depths, sure = _depths(eye, taken, cut, planned, name), _spread(v, taken, cut, measured, name)
        thinnest = _thinnest(eye, taken)
        sure["bed_min_below_line_percent"] = _below_of_least(v, thinnest, depths["bed_min_um"], cut, measured, name)
        found[name] = {**depths, **sure}
    return found


def removals(eye):
    """The ablation and the lenticule of an eye, blends and base by the ramps where they are not given."""
    v = eye.values
    ablation, lenticule, base = eye.default_blends()
    return (
        Tissue(eye, eye.Z, v.get("ablation_blend_mm", ablation), 0.0, v.get("reported_ablation_um")),
        Tissue(
            eye, eye.Z, v.get("lenticule_blend_mm", lenticule), v.get("base_um", base), v.get("reported_lenticule_um")
        ),
    )


def _depths(eye, taken, cut, planned, name):
    v = eye.values
    CCT, E, r = v["central_thickness_um"], v["epithelium_um"], taken.scale * taken.central_um + taken.base
    x0, y0 = v["centre_x_mm"], v["centre_y_mm"]

    def T(rho, theta):
        return eye.thickness_um(x0 + rho * np.cos(theta), y0 + rho * np.sin(theta))

    def removed(rho, theta):
        return taken.t(rho, theta) + taken.base

    bed, bed_x, bed_y = least(lambda rho, theta: T(rho, theta) - cut - removed(rho, theta), taken.a, taken.w)
    share = least(lambda rho, theta: -1e3 * (cut + removed(rho, theta)) / T(rho, theta), taken.a, taken.w, sign=-0.1)[0]
    at_centre = CCT - cut - r
    if at_centre < bed - 1e-6:
        bed, bed_x, bed_y = at_centre, -x0, -y0
    share = max(share, 100.0 * (cut + r) / CCT)
    wider = Tissue(eye, eye.Z + 0.1, taken.w, taken.base, scale=taken.scale) if eye.exists(eye.Z + 0.1) else None
    span = max(0.0, eye.along, eye.across) - min(0.0, eye.along, eye.across)
    deepest = taken.scale * taken.deepest_um
    volume, c = taken.volume_mm3(), eye.c1 + (eye.along + eye.across) / 2.0 / (1000.0 * (N - 1.0))
    return {
        "cut_um": cut,
        "cut_planned_um": planned,
        "bed_planned_um": CCT - planned - r,
        "removal_central_um": r,
        "removal_parts_um": {
            "refraction": taken.scale * taken.plain_um,
            "blend": taken.scale * (taken.central_um - taken.plain_um),
            "base": taken.base,
        },
        "removal_computed_um": taken.deepest_um + taken.base,
        "removal_max_um": deepest + taken.base,
        "max_radius_mm": np.hypot(taken.deepest_x, taken.deepest_y),
        "removal_volume_mm3": volume + np.pi * (taken.a + taken.w) ** 2 * taken.base / 1000.0,
        "optical_volume_mm3": volume,
        "rim_step_um": taken.t(taken.a, taken.turns).max(),
        "bed_central_um": CCT - cut - r,
        "bed_min_um": bed,
        "bed_min_place": (x0 + bed_x, y0 + bed_y),
        "bed_percent": 100.0 * (CCT - cut - r) / CCT,
        "altered_percent": 100.0 * (cut + r) / CCT,
        "altered_max_percent": share,
        "removed_percent": 100.0 * r / CCT,
        "stromal_altered_percent": 100.0 * (cut - E + r) / (CCT - E),
        "uncut_stroma_um": CCT - (cut if name == "flap" else E) - r,
        "healed_thickness_um": CCT - r,
        "K_after_D": 337.5 * c,
        "radius_after_mm": 1.0 / c,
        "um_per_D": deepest / span if span > 0 else None,
        "zone_cost_um": taken.scale * (wider.deepest_um - taken.deepest_um) if wider else None,
    }


def _thinnest(eye, taken):
    """Least thickness over the treated disc and at the centre as measured [µm]."""
    x0, y0 = eye.values["centre_x_mm"], eye.values["centre_y_mm"]

    def T(rho, theta):
        return eye.thickness_um(x0 + rho * np.cos(theta), y0 + rho * np.sin(theta))

    return min(least(T, taken.a, taken.w)[0], eye.values["central_thickness_um"])


def _errors(v, measured, name):
    """Bias and SD of the cut and of the removal [µm]."""
    cut_bias = (
        0.0 if name == "surface" or measured is not None else v[{"flap": "flap", "lenticule": "cap"}[name] + "_bias_um"]
    )
    cut_sd = v[{"surface": "epithelium", "flap": "flap", "lenticule": "cap"}[name] + "_sd_um"]
    kind = "lenticule" if name == "lenticule" else "ablation"
    return cut_bias, cut_sd, v[kind + "_bias_um"], v[kind + "_sd_um"]


def _taken(planned, bias, sd):
    """Values of a removal under its error, never under nothing, and the weight of each."""
    z = (np.arange(4001) + 0.5) / 4001 * 16.0 - 8.0 if sd > 0 else np.zeros(1)
    weights = norm.pdf(z) / norm.pdf(z).sum()
    return np.maximum(0.0, planned + bias + sd * z), weights


def _under(line, mean, sd, removal):
    """P(thickness − removal < line), the removal as `_taken` gives it."""
    values, weights = removal
    room = line + values - mean
    return float(weights @ (ndtr(room / sd) if sd > 0 else (room > 0).astype(float)))


def _below_of_least(v, thinnest, bed_min, cut, measured, name):
    """Chance [%] of a least bed under the line: of the least thickness the removal takes what the least bed lacks."""
    cut_bias, cut_sd, bias, sd = _errors(v, measured, name)
    removal = _taken(thinnest - cut - bed_min, bias, sd)
    mean = thinnest + v["thickness_bias_um"] - cut - cut_bias
    return 100.0 * _under(v["bed_line_um"], mean, np.hypot(v["thickness_sd_um"], cut_sd), removal)


def _spread(v, taken, cut, measured, name):
    """The spread of the bed and of the percent altered, the removal summed over its values, ends by root finding."""
    cut_bias, cut_sd, bias, sd = _errors(v, measured, name)
    r, CCT = taken.scale * taken.central_um + taken.base, v["central_thickness_um"]
    removal = _taken(r, bias, sd) if r > 1e-9 else (np.zeros(1), np.ones(1))
    mean, rest = CCT + v["thickness_bias_um"] - cut - cut_bias, np.hypot(v["thickness_sd_um"], cut_sd)
    away = removal[1] @ removal[0]
    spread = np.sqrt(max(0.0, removal[1] @ removal[0] ** 2 - away**2))
    sigma, T, c, tail = np.hypot(rest, spread), CCT + v["thickness_bias_um"], cut + cut_bias, norm.cdf(-1.96)

    def beyond(p, share):
        return 1.0 - _under(0.0, p * T - c, np.hypot(p * v["thickness_sd_um"], cut_sd), removal) - share

    wide = 9.0 * (sigma + 1e-3)
    beds = [
        brentq(lambda y, q: _under(y, mean, rest, removal) - q, mean - away - wide, mean - away + wide, args=(q,))
        for q in (tail, 1.0 - tail)
    ]
    ends = [brentq(beyond, (c + away - wide) / T, (c + away + wide) / T, args=(q,)) for q in (tail, 1.0 - tail)]
    return {
        "bed_mean_um": mean - away,
        "bed_sd_um": sigma,
        "bed_low_um": beds[0],
        "bed_high_um": beds[1],
        "bed_below_line_percent": 100.0 * _under(v["bed_line_um"], mean, rest, removal),
        "altered_low_percent": 100.0 * ends[0],
        "altered_high_percent": 100.0 * ends[1],
    }
