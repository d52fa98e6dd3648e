"""Seeded eyes with a map: a formula of the thickness, its readings as a plan has them, and the figures by brute force.

The brute force knows the formula, not the map: readings, orientation, surface and search are all under trial. The
removal is that of `brute.py`, from the written model alone.
"""

from typing import NamedTuple

import brute
import numpy as np

from tissue.entry.eye import build
from tissue.entry.own_map.written import WrittenMap

STEP_MM = 0.02
SECTORS_APART_DEG, POLAR_MM = 15.0, 0.5


class Trial(NamedTuple):
    """Values of a plan by name without maps, the side, formulas of thickness and epithelium [µm], tables by name."""

    values: dict
    side: str
    thickness: object
    epithelium: object
    tables: dict

    def with_maps(self):
        """The values of the plan with its maps among them."""
        return self.values | {name: WrittenMap(name, self.side, **table) for name, table in self.tables.items()}


def _dips(rng, count, deepest_um, within_mm):
    """Dips at random places, SD 0.8 to 1.6 mm."""
    made = [
        (rng.uniform(0.2, 1.0) * deepest_um, *rng.uniform(-within_mm, within_mm, 2), rng.uniform(0.8, 1.6))
        for _ in range(count)
    ]

    def depth(x, y):
        return sum(um * np.exp(-((x - u) ** 2 + (y - v) ** 2) / (2.0 * sd**2)) for um, u, v, sd in made) + 0.0 * x

    return depth


def trial(seed):
    """One Trial: myopic or hyperopic, any axis, off centre; grids and rings, x and y running any way."""
    rng = np.random.default_rng(seed)
    centre, u, v = rng.uniform(500.0, 590.0), *rng.uniform(-0.7, 0.7, 2)
    along, across, skew = *rng.uniform(4.2, 6.0, 2), rng.uniform(-0.2, 0.2)
    dips, thin = _dips(rng, int(rng.integers(0, 3)), 28.0, 1.6), _dips(rng, 1, 6.0, 1.5)

    def thickness(x, y):
        rise = along * (x - u) ** 2 + across * (y - v) ** 2 + skew * y * (x**2 + y**2)
        return centre + rise - dips(x, y)

    def epithelium(x, y):
        return 53.0 + 0.2 * y - thin(x, y)

    side = ("OD", "OS")[seed % 2]
    names = ("thickness_map", "epithelium_map") if seed % 3 else ("thickness_map",)
    formulas = {"thickness_map": thickness, "epithelium_map": epithelium}
    form = ("grid", "points", "polar")[int(rng.integers(0, 3))]
    tables = {name: _table(rng, form, side, formulas[name]) for name in names}
    values = {
        "sphere_D": round(float(rng.uniform(-6.0, -1.0) if seed % 5 else rng.uniform(1.0, 3.0)), 2),
        "cylinder_D": round(float(rng.uniform(-2.0, 0.0)), 2),
        "axis_deg": float(rng.integers(1, 181)),
        "zone_mm": round(float(rng.uniform(5.5, 6.6)), 1),
        "centre_x_mm": round(float(rng.uniform(-0.3, 0.3)), 2),
        "centre_y_mm": round(float(rng.uniform(-0.3, 0.3)), 2),
        "flap_um": float(rng.integers(95, 131)),
        "cap_um": float(rng.integers(100, 141)),
    }
    layer = epithelium if len(names) > 1 else (lambda x, y: 53.0 + 0.0 * np.asarray(x))
    return Trial(values, side, thickness, layer, tables)


def _table(rng, form, side, formula):
    """The keys of a map in a plan; its x and y run by chance, and the formula is read accordingly."""
    positive_x, positive_y = str(rng.choice(["right", "nasal"])), str(rng.choice(["up", "down"]))
    right = -1.0 if positive_x == "nasal" and side == "OS" else 1.0
    up = -1.0 if positive_y == "down" else 1.0
    said = {"form": form, "positive_x": positive_x, "positive_y": positive_y}
    line = np.arange(-5.0, 5.01, 0.5 if bool(rng.integers(0, 2)) else 0.25)
    if form == "grid":
        rows = [[formula(right * x, up * y) if np.hypot(x, y) <= 5.2 else None for x in line] for y in line]
        text = "\n".join(" ".join("-" if one is None else f"{one:.3f}" for one in row) for row in rows)
        axis = " ".join(f"{one:g}" for one in line)
        return said | {"x_mm": axis, "y_mm": axis, "values": text}
    if form == "polar":
        places = [(r, a) for r in np.arange(0.0, 5.01, POLAR_MM) for a in np.arange(0.0, 360.0, SECTORS_APART_DEG)]
        places = places[int(360.0 / SECTORS_APART_DEG) - 1 :]  # the vertex once
        flat = [(r * np.cos(np.radians(a)), r * np.sin(np.radians(a))) for r, a in places]
    else:
        x, y = (part.ravel() for part in np.meshgrid(line, line))
        moved = (x + rng.uniform(-0.05, 0.05, x.size), y + rng.uniform(-0.05, 0.05, y.size))
        flat = places = [(round(a, 4), round(b, 4)) for a, b in zip(*moved, strict=True) if np.hypot(a, b) <= 5.2]
    lines = (f"{a:.6g} {b:.6g} {formula(right * x, up * y):.3f}" for (a, b), (x, y) in zip(places, flat, strict=True))
    return said | {"values": "\n".join(lines)}


def by_brute_force(one):
    """By option, least bed [µm] and greatest share [%] of a Trial over the treated disc, on a grid of 0.02 mm."""
    eye = brute.Eye(one.values | {"central_thickness_um": float(one.thickness(0.0, 0.0))})
    ablation, lenticule = brute.removals(eye)
    v, found = eye.values, {}
    for name, taken, cut in (
        ("surface", ablation, None),
        ("flap", ablation, v["flap_um"]),
        ("lenticule", lenticule, v["cap_um"]),
    ):
        reach = taken.a + taken.w
        line = np.arange(-reach, reach + STEP_MM, STEP_MM)
        x, y = (part.ravel() for part in np.meshgrid(line, line))
        x, y = x[np.hypot(x, y) <= reach], y[np.hypot(x, y) <= reach]
        t = taken.t(np.hypot(x, y), np.arctan2(y, x)) + taken.base
        x, y = x + v["centre_x_mm"], y + v["centre_y_mm"]
        above = t + (one.epithelium(x, y) if cut is None else cut)
        T = one.thickness(x, y)
        found[name] = float((T - above).min()), float((100.0 * above / T).max())
    return found


def errors_of(seed):
    """Form of the map, and by option the errors of least bed [µm] and greatest share [points]."""
    one = trial(seed)
    results, wanted = build(one.with_maps(), one.side).compare().results, by_brute_force(one)
    form = next(iter(one.tables.values()))["form"]
    found = [
        (name, results[name].budget.bed_min_um - bed, results[name].budget.altered_max_percent - share)
        for name, (bed, share) in wanted.items()
    ]
    return form, found
