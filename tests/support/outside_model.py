"""One eye worked out from the written model alone: a second arithmetic for `tests/hard/outside.py`.

Nothing of the tool's arithmetic is used. Every constant is typed from the documents: index 1.376, growth 0.0088 per
mm², the ramps of blend and base, the published depth relationships, the errors. Names are those of the plan file.
"""

from functools import cache, cached_property
from math import cos, radians, sin, sqrt

import numpy as np
from numpy.polynomial.legendre import leggauss
from scipy.optimize import brentq
from scipy.stats import norm

INDEX, GROWTH, Z95 = 1.376, 0.0088, 1.959963984540054
PLAIN = dict(
    cylinder_D=0.0, axis_deg=180.0, vertex_mm=12.0, target_D=0.0, radius_mm=7.8, asphericity=-0.19, epithelium_um=53.0,
    white_to_white_mm=11.8, pupil_mm=6.0, pupil_x_mm=0.0, pupil_y_mm=0.0, zone_mm=6.5, profile="munnerlyn",
    centre_x_mm=0.0, centre_y_mm=0.0, flap_um=110.0, flap_diameter_mm=9.0, cap_um=120.0, incision_mm=3.0,
    bed_line_um=250.0, cap_credit=1.0, flap_credit=0.0, relationship="reinstein2013", margin_um=30.0, clock_s=24.0,
    cut_order="lenticule-first",
    enhancement_flap_um=90.0, thickness_bias_um=0.0, thickness_sd_um=5.0, epithelium_sd_um=4.6, flap_bias_um=4.0,
    flap_sd_um=5.0, cap_bias_um=-0.7, cap_sd_um=4.4, ablation_bias_um=0.0, ablation_sd_um=11.2,
    lenticule_bias_um=-12.1, lenticule_sd_um=9.8,
)  # fmt: skip
STEPS = {  # depth relationships that are steps: (ends as a share of the stroma, heights); labate in µm of stroma
    "uniform": ((1.0,), (1.0,)),
    "nambiar2023": ((1 / 3, 2 / 3, 1.0), (1.0, 0.8475, 0.7246)),
    "petsche2012": ((1 / 3, 2 / 3, 1.0), (7.71, 1.99, 1.31)),
    "mikula2016": ((0.5, 1.0), (4.2, 2.3)),
    "destefano2020": ((0.5, 1.0), (1.135, 1.0)),
}
QUARTIC = (1.8240, -2.2811, -1.5536, 7.3005, -4.9538)


def share(name, depth_um, cct, epithelium):
    """F: the part of the strength in front of a depth [0–1]."""
    stroma = cct - epithelium
    x = min(max((depth_um - epithelium) / stroma, 0.0), 1.0)
    if name == "reinstein2013":
        return polynomial(QUARTIC, x)
    if name == "dias2013":  # 281 falling to 89.5 at half the stroma, then level
        area = lambda at: 281.0 * at - 191.5 * at**2 if at <= 0.5 else 92.625 + 89.5 * (at - 0.5)  # noqa: E731
        return area(x) / area(1.0)
    ends, heights = ((min(140.0 / stroma, 1.0), 1.0), (0.8, 0.3)) if name == "labate2015" else STEPS[name]
    area = lambda at: sum(  # noqa: E731
        height * max(0.0, min(at, end) - begin) for begin, end, height in zip((0.0, *ends), ends, heights, strict=False)
    )
    return area(x) / area(1.0)


def polynomial(coefficients, x):
    """The area of a polynomial up to x, as a part of the whole."""
    return sum(a * x ** (k + 1) / (k + 1) for k, a in enumerate(coefficients)) / sum(
        a / (k + 1) for k, a in enumerate(coefficients)
    )


RELATIONSHIPS = ("reinstein2013", "nambiar2023", "petsche2012", "dias2013", "labate2015", "mikula2016",
                 "destefano2020", "uniform")  # fmt: skip


def at_cornea(power, vertex):
    return power / (1.0 - vertex * power / 1000.0)


def at_spectacles(power, vertex):
    return power / (1.0 + vertex * power / 1000.0)


class Surfaces:
    """Before and after, in mm, about the treatment centre; x along the treated axis."""

    def __init__(self, radius, q_before, powers, profile, q_after):
        self.before, self.after = 1.0 / radius, [1.0 / radius + power / 376.0 for power in powers]
        self.bent = {"munnerlyn": (1.0, 1.0), "parabolic": (0.0, 0.0), "conic": (1 + q_before, 1 + q_after)}[profile]

    def gap_um(self, rho, theta):
        """s1 − s2 [µm]."""
        x2, y2 = (rho * np.cos(theta)) ** 2, (rho * np.sin(theta)) ** 2
        first = _sag(self.before, self.before, self.bent[0], x2, y2)
        return 1000.0 * (first - _sag(*self.after, self.bent[1], x2, y2))

    def slope_um(self, rho, theta):
        """Slope of s2 − s1 outwards [µm/mm]: a step of 1e-20 along the imaginary axis, no rounding."""
        return -np.imag(self.gap_um(rho + 1e-20j, theta)) * 1e20

    def reach_mm(self):
        """Radius at which a root comes to nothing."""
        steep = max(self.bent[0] * self.before**2, self.bent[1] * max(c**2 for c in self.after))
        return 1.0 / sqrt(steep) if steep > 0 else np.inf


def _sag(cx, cy, bent, x2, y2):
    return (cx * x2 + cy * y2) / (1.0 + np.sqrt(1.0 - bent * (cx**2 * x2 + cy**2 * y2)))


class Taken:
    """The removal over one zone and blend: t(ρ, θ) with θ from the treated axis, base, and what was reported."""

    def __init__(self, surfaces, zone, blend, base=0.0, reported=None, factor=None):
        self.s, self.a, self.w, self.base = surfaces, zone / 2.0, blend, base
        self.plain = peak(surfaces.gap_um, [(0.0, self.a)], quarter=True)[0]
        turns = np.linspace(0.0, np.pi / 2.0, 361)
        eased = surfaces.gap_um(self.a, turns) + np.maximum(0.0, -surfaces.slope_um(self.a, turns)) * blend / 2.0
        self.eased = max(self.plain, float(eased.max()))
        self.factor = 1.0
        self.computed, self.far, self.turn = peak(self.t, self.parts, quarter=True)
        self.factor = factor or (1.0 if reported is None else (reported - base) / self.computed)

    @property
    def parts(self):
        return [(0.0, self.a)] + ([(self.a, self.a + self.w)] if self.w > 0 else [])

    @property
    def radius(self):
        return self.a + self.w

    def t(self, rho, theta):
        """Without the base [µm]; 0 beyond the blend."""
        edge = np.minimum(rho, self.a)
        depth = self.eased - self.s.gap_um(edge, theta)
        if self.w > 0:
            u = np.clip((rho - self.a) / self.w, 0.0, 1.0)
            outside = (1 - u) ** 2 * ((1 + 2 * u) * depth + u * self.w * self.s.slope_um(self.a, theta))
            depth = np.where(rho > self.a, outside, depth)
        return self.factor * np.where(rho > self.radius + 1e-9, 0.0, depth)

    @property
    def centre(self):
        return self.factor * self.eased + self.base

    @property
    def deepest(self):
        return self.factor * self.computed + self.base

    @property
    def rim(self):
        return self.factor * (self.eased - float(np.min(self.s.gap_um(self.a, np.linspace(0, np.pi / 2, 721)))))

    def volume(self):
        """Of t [mm³]: 32 Gauss nodes across zone and blend, 64 even turns."""
        nodes, weights = leggauss(32)
        turns, total = np.arange(64) * np.pi / 32.0, 0.0
        for low, high in self.parts:
            rho = (low + high + (high - low) * nodes)[:, None] / 2.0
            total += float((weights * (self.t(rho, turns) * rho).mean(axis=1)).sum()) * (high - low) * np.pi
        return total / 1000.0


def peak(goal, parts, quarter=False):
    """(greatest value, ρ, θ) of goal(ρ, θ) over rings: a grid in each part, then its hills followed ever closer."""
    turns = np.linspace(0.0, np.pi / 2.0, 46) if quarter else np.arange(120) * np.pi / 60.0
    best = (-np.inf, 0.0, 0.0)
    for low, high in parts:
        rings = np.linspace(low, high, 61)
        values = np.broadcast_to(goal(rings[:, None], turns), (61, turns.size))
        for k in _hills(values):
            best = max(best, _closer(goal, (low, high), rings, turns, k))
    return best


def _hills(values):
    """Flat places of the grid that no neighbour overtops, near the greatest; five at most."""
    walled = np.pad(values, ((1, 1), (0, 0)), constant_values=-np.inf)
    around = (walled[:-2], walled[2:], np.roll(values, 1, axis=1), np.roll(values, -1, axis=1))
    tops = np.flatnonzero(np.logical_and.reduce([values >= one for one in around]) & (values > values.max() - 4.0))
    return tops[np.argsort(-values.flat[tops], kind="stable")][:5]


def _closer(goal, ends, rings, turns, k):
    """Follow one hill: grids of 9 × 9, each at 0.4 of the one before."""
    rho, theta = rings[k // turns.size], turns[k % turns.size]
    step, turn = rings[1] - rings[0], turns[1] - turns[0]
    best, wide = -np.inf, np.linspace(-1.0, 1.0, 9)
    for _ in range(16):
        r = np.clip(rho + wide * step, *ends)[:, None]
        th = theta + wide * turn * (1.0 if rho > step else 20.0)
        values = np.broadcast_to(goal(r, th), (9, 9))
        i = int(np.argmax(values))
        if values.flat[i] > best:
            best, rho, theta = float(values.flat[i]), float(r.flat[i // 9]), float(th.flat[i % 9])
        step, turn = 0.4 * step, 0.4 * turn
    return best, rho, theta


class Left:
    """What stays, X − R: X normal; R the removal with its error, never under nothing, none where nothing is taken."""

    def __init__(self, mean, sd, taken, bias, taken_sd):
        self.mean, self.sd, self.certain = mean, sd, taken <= 0
        self.m, self.s = taken + bias, taken_sd

    def below(self, x, mean=None, sd=None):
        """P(X − R < x)."""
        mean, sd = self.mean if mean is None else mean, self.sd if sd is None else sd
        step = lambda at: norm.cdf((at - mean) / sd) if sd > 0 else np.heaviside(at - mean, 0.5)  # noqa: E731
        if self.certain:
            return float(step(x))
        if self.s == 0:
            return float(step(x + max(self.m, 0.0)))
        if sd == 0:  # max(R, 0) over what is certain
            return float(norm.sf((mean - x - self.m) / self.s)) if mean >= x else 1.0
        if self.m > 9.0 * self.s:
            return float(norm.cdf((x - mean + self.m) / np.hypot(sd, self.s)))
        y, weight = _nodes(max(0.0, self.m - 9.0 * self.s), max(self.m, 0.0) + 9.0 * self.s)
        inside = float((weight * norm.pdf((y - self.m) / self.s) / self.s * step(x + y)).sum())
        return float(norm.cdf(-self.m / self.s)) * float(step(x)) + inside

    def quantile(self, p):
        spread = 8.0 * (self.sd + self.s) + 1.0
        middle = self.mean - max(0.0, self.m if not self.certain else 0.0)
        return brentq(lambda x: self.below(x) - p, middle - spread - 60.0, middle + spread + 60.0, xtol=1e-9)

    def moments(self):
        """Mean and standard deviation."""
        if self.certain:
            return self.mean, self.sd
        if self.s == 0:
            return self.mean - max(self.m, 0.0), self.sd
        a = self.m / self.s
        first = self.m * norm.cdf(a) + self.s * norm.pdf(a)
        second = (self.m**2 + self.s**2) * norm.cdf(a) + self.m * self.s * norm.pdf(a)
        return self.mean - first, sqrt(self.sd**2 + second - first**2)


@cache
def _rule():
    return leggauss(400)


def _nodes(low, high):
    nodes, weights = _rule()
    return (low + high + (high - low) * nodes) / 2.0, weights * (high - low) / 2.0


class Plan:
    """An eye by the names of the plan file; what is not given stands at its documented default."""

    def __init__(self, given):
        self.given, self.v = given, PLAIN | given
        v = self.v
        if "mean_K_D" in given:
            v["radius_mm"] = 337.5 / v["mean_K_D"]
        S, C, A, d = self.treated
        self.powers = at_cornea(S, d), at_cornea(S + C, d)
        self.axis = radians(A) if C != 0 else 0.0
        high = min(1.0, max(0.0, *self.powers))
        self.blends = (
            v.get("ablation_blend_mm", 0.5 + 0.5 * high),
            v.get("lenticule_blend_mm", max(high, 0.1 * min(1.0, abs(C) / 0.25))),
        )
        self.base = v.get("base_um", 15.0 + 15.0 * high)
        q = v["asphericity"]
        self.surfaces = Surfaces(v["radius_mm"], q, self.powers, v["profile"], v.get("target_asphericity", q))

    @property
    def treated(self):
        v = self.v
        if "treated_sphere_D" in v:
            return v["treated_sphere_D"], v["treated_cylinder_D"], v.get("treated_axis_deg", 180.0), v["vertex_mm"]
        S, C, A, d, goal = (v[n] for n in ("sphere_D", "cylinder_D", "axis_deg", "vertex_mm", "target_D"))
        along, across = (at_spectacles(at_cornea(F, d) - at_cornea(goal, d), d) for F in (S, S + C))
        return along, across - along, A, d

    @cached_property
    def ablation(self):
        return Taken(self.surfaces, self.v["zone_mm"], self.blends[0], 0.0, self.v.get("reported_ablation_um"))

    @cached_property
    def extracted(self):
        reported = self.v.get("reported_lenticule_um")
        return Taken(self.surfaces, self.v["zone_mm"], self.blends[1], self.base, reported)

    def thickness(self, rho, theta):
        """Of the map, at places about the treatment centre; θ from the treated axis."""
        v = self.v
        x = v["centre_x_mm"] + rho * np.cos(theta + self.axis)
        y = v["centre_y_mm"] + rho * np.sin(theta + self.axis)
        thinnest = v.get("thinnest_um", v["central_thickness_um"])
        off = (x - v.get("thinnest_x_mm", 0.0)) ** 2 + (y - v.get("thinnest_y_mm", 0.0)) ** 2
        return thinnest * (1.0 + GROWTH * off)

    def ways(self):
        """(name, removal, planned cut, measured cut or None, errors, credit, depth spared) of the three options."""
        v = self.v
        error = lambda part: (v[f"{part}_bias_um"], v[f"{part}_sd_um"])  # noqa: E731
        E = v["epithelium_um"]
        yield "surface", self.ablation, E, None, (0.0, v["epithelium_sd_um"]), error("ablation"), 0.0, E
        measured = v.get("flap_measured_um")
        cut = v["flap_um"] if measured is None else measured
        yield "flap", self.ablation, v["flap_um"], measured, error("flap"), error("ablation"), v["flap_credit"], cut
        measured = v.get("cap_measured_um")
        yield "lenticule", self.extracted, v["cap_um"], measured, error("cap"), error("lenticule"), v["cap_credit"], E

    def options(self, curves):
        """The figures of every option by name; `available` alone where there are none."""
        return {name: self._option(name, *rest, curves) for name, *rest in self.ways()}

    def _option(self, name, taken, planned, measured, cut_error, removal_error, credit, spared, curves):
        v, cct, E = self.v, self.v["central_thickness_um"], self.v["epithelium_um"]
        cut = planned if measured is None else measured
        if measured is not None:
            cut_error = 0.0, cut_error[1]
        r = taken.centre
        bed_at = lambda p, th: self.thickness(p, th) - cut - taken.base - taken.t(p, th)  # noqa: E731
        least = min(-peak(lambda p, th: -bed_at(p, th), taken.parts)[0], cct - cut - r)
        thinnest = min(-peak(lambda p, th: -self.thickness(p, th), taken.parts)[0], cct)
        most = peak(lambda p, th: 100.0 * (cut + taken.base + taken.t(p, th)) / self.thickness(p, th), taken.parts)[0]
        bed = cct - cut - r
        if taken.computed <= 0 or least <= 0:
            return {"available": False, "cut_um": cut, "cut_planned_um": planned, "certain": abs(least) > 0.02}
        span = max(0.0, *self.powers) - min(0.0, *self.powers)
        corneal_SE = sum(self.powers) / 2.0
        radius = 1.0 / (1.0 / v["radius_mm"] + corneal_SE / 376.0)
        figures = {
            "available": True, "cut_um": cut, "cut_planned_um": planned, "bed_planned_um": cct - planned - r,
            "removal_central_um": r, "refraction": taken.factor * taken.plain,
            "blend": taken.factor * (taken.eased - taken.plain), "base": taken.base,
            "removal_computed_um": taken.computed + taken.base, "removal_max_um": taken.deepest,
            "far_mm": taken.far, "rim_step_um": taken.rim, "optical_volume_mm3": taken.volume(),
            "removal_volume_mm3": taken.volume() + np.pi * taken.radius**2 * taken.base / 1000.0,
            "bed_central_um": bed, "bed_min_um": least, "bed_percent": 100.0 * bed / cct,
            "altered_percent": 100.0 * (cut + r) / cct, "altered_max_percent": max(most, 100.0 * (cut + r) / cct),
            "removed_percent": 100.0 * r / cct, "stromal_altered_percent": 100.0 * (cut - E + r) / (cct - E),
            "uncut_stroma_um": cct - spared - r, "healed_thickness_um": cct - r, "K_after_D": 337.5 / radius,
            "radius_after_mm": radius, "um_per_D": taken.deepest - taken.base, "zone_cost_um": self._wider(taken),
        }  # fmt: skip
        figures["um_per_D"] = figures["um_per_D"] / span if span > 1e-9 else None
        off_centre = taken.deepest - r
        figures |= self._strength(name, cut, r, credit, curves if off_centre <= 5.0 else ())
        figures |= self._sure(cut, r, (least, thinnest - cut - least), cut_error, removal_error)
        return figures | {"off_centre": off_centre, "taken": taken, "cut_error": cut_error}

    def _wider(self, taken):
        """Rise of the deepest removal for 0.1 mm of zone."""
        zone = 2.0 * taken.a + 0.1
        if zone / 2.0 >= self.surfaces.reach_mm():
            return None
        return taken.factor * (Taken(self.surfaces, zone, taken.w).computed - taken.computed)

    def _strength(self, name, cut, r, credit, curves):
        """By every relationship, and the band of the curves; none without curves. Without a cut above it the removal
        begins under the epithelium that a curve was fitted with."""
        cct, E = self.v["central_thickness_um"], self.v["epithelium_um"]
        names = [f"strength {one}" for one in RELATIONSHIPS] + ["strength_low_percent", "strength_high_percent"]
        if not curves:
            return dict.fromkeys(names)
        strong = lambda f, at: 100.0 * (credit * f(at) + 1.0 - f(at + r))  # noqa: E731
        found = [strong(lambda z, n=n: share(n, z, cct, E), cut) for n in RELATIONSHIPS]
        band = []
        for fitted, *curve in curves:
            e = E + fitted - 53.0
            f = lambda z, c=curve, e=e: polynomial(c, min(max((z - e) / (cct - e), 0.0), 1.0))  # noqa: E731
            band.append(strong(f, e if name == "surface" else cut))
        return dict(zip(names, [*found, min(band), max(band)], strict=True))

    def _sure(self, cut, r, least, cut_error, removal_error):
        v, cct, line = self.v, self.v["central_thickness_um"], self.v["bed_line_um"]
        sd = sqrt(v["thickness_sd_um"] ** 2 + cut_error[1] ** 2)
        above = v["thickness_bias_um"] - cut_error[0]
        left = Left(cct - cut + above, sd, r, *removal_error)
        mean, whole = left.moments()
        below = lambda bed, t: 100.0 * Left(bed + t + above, sd, t, *removal_error).below(line)  # noqa: E731
        # min(T − max(0, r + e)) = min T − max(0, what the least bed lacks of it + e): an error acts wherever r > 0
        lacks = max(least[1], 1e-9)
        cuts = cut + cut_error[0]
        thick = cct + v["thickness_bias_um"]

        def altered(p):  # P((cut + R)/T > p) = P(pT − cut − R < 0)
            return left.below(0.0, p * thick - cuts, sqrt((p * v["thickness_sd_um"]) ** 2 + cut_error[1] ** 2))

        ends = [100.0 * brentq(lambda p, q=q: altered(p) - q, -1.0, 3.0, xtol=1e-12) for q in (0.975, 0.025)]
        return {
            "bed_mean_um": mean, "bed_sd_um": whole, "bed_low_um": left.quantile(0.025),
            "bed_high_um": left.quantile(0.975), "bed_below_line_percent": below(cct - cut - r, r),
            "bed_min_below_line_percent": below(least[0], lacks), "altered_low_percent": ends[0],
            "altered_high_percent": ends[1],
        }  # fmt: skip


def power_vector(S, C, A):
    return S + C / 2.0, -C / 2.0 * cos(radians(2 * A)), -C / 2.0 * sin(radians(2 * A))
