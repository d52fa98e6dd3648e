"""Rescue, enhancement and notices of one eye from the written model, for `tests/hard/outside.py`; see outside_model."""

from math import hypot, pi, sqrt

import numpy as np
from outside_model import RELATIONSHIPS, Z95, Plan, Surfaces, Taken, at_cornea, peak, share

STAGES = ("lenticule", "lenticule-side", "cap", "incision")
NONE = {"available": False}


def strong(plan, layers):
    """Relative strength by every relationship of layers (credit, top, bottom)."""
    cct, E = plan.v["central_thickness_um"], plan.v["epithelium_um"]
    return {
        name: 100.0 * sum(g * (share(name, low, cct, E) - share(name, top, cct, E)) for g, top, low in layers)
        for name in RELATIONSHIPS
    }


def least_bed(plan, cut, takens):
    """Least of T − cut − what was taken over all discs, the measured centre among the places."""
    parts = sorted({end for taken in takens for ends in taken.parts for end in ends})
    rings = list(zip(parts[:-1], parts[1:], strict=True))

    def bed(rho, theta):
        taken = sum(one.t(rho, theta) + np.where(rho <= one.radius + 1e-9, one.base, 0.0) for one in takens)
        return -(plan.thickness(rho, theta) - cut - taken)

    return min(-peak(bed, rings)[0], plan.v["central_thickness_um"] - cut - sum(one.centre for one in takens))


def figures(plan, cut, takens, layers, bed=None):
    """Bed, least bed, PTA and strength of a way; not available where no bed is left."""
    cct = plan.v["central_thickness_um"]
    central, least = bed or (cct - cut - sum(one.centre for one in takens), least_bed(plan, cut, takens))
    if least <= 0:
        return NONE
    off = any(one.deepest - one.centre > 5.0 for one in takens)
    strength = dict.fromkeys(RELATIONSHIPS) if off else strong(plan, layers)
    found = {
        "available": True,
        "bed_central_um": central,
        "bed_min_um": least,
        "altered_percent": 100 * (1 - central / cct),
    }
    return found | {f"strength {name}": value for name, value in strength.items()}


def rescue(plan, stage, done):
    """The routes by id, the radius cut so far, the time on the clock, the thickest flap."""
    v, E = plan.v, plan.v["epithelium_um"]
    C = v.get("cap_measured_um", v["cap_um"])
    lenticule, ablation = plan.extracted, plan.ablation
    R = lenticule.radius
    cap_mm = v.get("cap_diameter_mm", 2.0 * R + 1.0)
    swept = [pi * R**2, 2.0 * pi * R * lenticule.base / 1000.0, pi * (cap_mm / 2.0) ** 2, v["incision_mm"] * C / 1000.0]
    cap_first = v["cut_order"] == "cap-first"
    before = {"lenticule": 0, "lenticule-side": 1, "cap": 2, "incision": 3}
    if cap_first:
        before = {"cap": 0, "lenticule": 1, "lenticule-side": 2, "incision": 3}
    k, area = before[stage], dict(zip(STAGES, swept, strict=True))
    earlier = sum(area[name] for name, place in before.items() if place < k)
    seconds = v["clock_s"] * (earlier + done * area[stage]) / sum(swept)
    reached = {"lenticule": R * sqrt(1.0 - done), "cap": cap_mm / 2.0 * sqrt(done)}.get(stage)
    back = plan.v["central_thickness_um"]
    r = lenticule.centre
    as_planned = figures(plan, C, [lenticule], [(v["cap_credit"], E, C), (1.0, C + r, back)]) | {
        "cut_um": C,
        "clearance_min_um": None,
    }
    if lenticule.computed <= 0:
        as_planned = NONE
    if cap_first and stage != "incision":
        ways, thickest = _cap_first(plan, stage, done, C, cap_mm, as_planned)
        return ways, reached, seconds, thickest
    if stage == "lenticule" and done < 0.1:
        return {"restart": as_planned}, reached, seconds, None
    if stage == "lenticule":
        rings = [(max(reached, low), high) for low, high in lenticule.parts if high > reached]
        ways, thickest = _abandoned(plan, C, rings)
        return ways, reached, seconds, thickest
    as_flap = figures(plan, C, [lenticule], [(v["flap_credit"], E, C), (1.0, C + r, back)]) | {
        "cut_um": C,
        "clearance_min_um": None,
    }
    ways = {
        "lenticule-side": {"repeat-side-cut": as_planned},
        "cap": {"repeat-cap": as_planned, "cap-as-flap": as_flap},
        "incision": {"repeat-incision": as_planned, "open-by-hand": as_planned, "cap-as-flap": as_flap},
    }[stage]
    if stage == "lenticule-side" or stage == "cap" and done == 0:
        return ways, reached, seconds, None
    over = ablation.radius if reached is None else min(reached, ablation.radius)
    deepest = peak(ablation.t, [(0.0, over)])[0]
    room = min(-deepest, _room(lenticule, ablation, lenticule.parts))
    ways["flap"], thickest = _flap_over(plan, C, room)
    return ways, reached, seconds, thickest


def _cap_first(plan, stage, done, C, cap_mm, as_planned):
    """The routes and the thickest flap where the cap is cut before the lenticule.

    Cut by then: the disc of the cap at C, out to `disc`; of the lower plane, at C + r, the rings from `inner` to the
    rim. A new cut stays clear of both. r with the base; t the ablation's.
    """
    v, E, back = plan.v, plan.v["epithelium_um"], plan.v["central_thickness_um"]
    lenticule, ablation = plan.extracted, plan.ablation
    if stage == "cap" and done == 0:
        return {"restart": as_planned}, None
    disc = cap_mm / 2.0 * (sqrt(done) if stage == "cap" else 1.0)
    inner = {"cap": lenticule.radius, "lenticule": lenticule.radius * sqrt(1.0 - done)}.get(stage, 0.0)
    rings = [(max(inner, low), high) for low, high in lenticule.parts if high > inner]
    lower = rings if inner < lenticule.radius else []
    r = lambda rho, theta: lenticule.base + lenticule.t(rho, theta)  # noqa: E731
    within = lambda taken: [(low, min(high, disc)) for low, high in taken.parts if low < disc]  # noqa: E731
    deepest = peak(ablation.t, within(ablation))[0]
    over_lower = _room(lenticule, ablation, lower) if lower else np.inf
    flap, thickest = _flap_over(plan, C, min(-max(deepest, 0.0), over_lower))
    if stage == "lenticule-side":
        layers = [(v["flap_credit"], E, C), (1.0, C + lenticule.centre, back)]
        as_flap = figures(plan, C, [lenticule], layers) | {"cut_um": C, "clearance_min_um": None}
        if lenticule.computed <= 0:
            as_flap = NONE
        return {"repeat-side-cut": as_planned, "cap-as-flap": as_flap, "flap": flap}, thickest
    t = ablation.centre
    at_cap = figures(plan, C, [ablation], [(v["flap_credit"], E, C), (1.0, C + t, back)])
    if over_lower < 0 or 2.0 * ablation.radius > cap_mm or ablation.computed <= 0:
        at_cap = NONE
    at_cap = at_cap | {"cut_um": C, "clearance_min_um": over_lower if lower else None}
    bare = figures(plan, E, [ablation], [(v["cap_credit"], E + t, C), (1.0, C, back)])
    left = C - E + min(-max(deepest, 0.0), over_lower)
    if left < 0 or ablation.computed <= 0:
        bare = NONE
    recut = v.get("recut_cap_um")
    thin = recut if recut is not None and recut < C else C - v["margin_um"]
    under = peak(r, lower)[0] if lower else 0.0
    thick = recut if recut is not None and recut > C else C + under + v["margin_um"]
    ways = {
        "flap-at-cap": at_cap,
        "flap": flap,
        "surface": bare | {"cut_um": E, "clearance_min_um": left},
        "thinner-cap": (thin, C - thin - peak(r, within(lenticule))[0]),
        "thicker-cap": (thick, thick - C - under),
    }
    for name in ("thinner-cap", "thicker-cap"):
        cut, clear = ways[name]
        way = figures(plan, cut, [lenticule], [(v["cap_credit"], E, cut), (1.0, cut + lenticule.centre, back)])
        if clear < 0 or cut > 250.0 or cut <= E or lenticule.computed <= 0:
            way = NONE
        ways[name] = way | {"cut_um": cut, "clearance_min_um": clear}
    again = {"cap": "repeat-cap", "lenticule": "repeat-lenticule" if done < 0.1 else None}[stage]
    return ({again: as_planned} if again else {}) | ways, thickest


def _room(lenticule, ablation, rings):
    """Least of what was cut under the cap less the new ablation [µm]."""
    return -peak(lambda p, th: -(lenticule.base + lenticule.t(p, th) - ablation.t(p, th)), rings)[0]


def _abandoned(plan, C, rings):
    """Over an abandoned lower plane: flap, thinner cap, thicker cap; and the thickest flap with its margin."""
    v, E, back = plan.v, plan.v["epithelium_um"], plan.v["central_thickness_um"]
    lenticule, ablation, margin = plan.extracted, plan.ablation, v["margin_um"]
    flap, thickest = _flap_over(plan, C, _room(lenticule, ablation, rings))
    ways = {"flap": flap}
    recut, r = v.get("recut_cap_um"), lenticule.centre
    thin = recut if recut is not None and recut < C else C - margin
    old = peak(lambda p, th: lenticule.base + lenticule.t(p, th), rings)[0]
    thick = recut if recut is not None and recut > C else C + old + margin
    for name, cut, clear in (("thinner-cap", thin, C - thin), ("thicker-cap", thick, thick - C - old)):
        way = figures(plan, cut, [lenticule], [(v["cap_credit"], E, cut), (1.0, cut + r, back)])
        if clear < 0 or cut > 250.0 or cut <= E:
            way = NONE
        ways[name] = way | {"cut_um": cut, "clearance_min_um": clear}
    return ways, thickest


def _flap_over(plan, C, room):
    """The way over a flap and the thickest flap; `room` lies over the cap's plane for what must stay clear [µm]."""
    v, E, back, ablation = plan.v, plan.v["epithelium_um"], plan.v["central_thickness_um"], plan.ablation
    thickest, F2 = C + room - v["margin_um"], v.get("rescue_flap_um")
    if F2 is None:
        F2 = v["flap_um"] if v["flap_um"] <= thickest else max(90.0, thickest)
    t, clearance = ablation.centre, C + room - F2
    flap = figures(plan, F2, [ablation], [(v["flap_credit"], E, F2), (1.0, F2 + t, back)])
    if clearance < 0 or 2.0 * ablation.radius > v["flap_diameter_mm"] or ablation.computed <= 0:
        flap = NONE
    return flap | {"cut_um": F2, "clearance_min_um": clearance}, thickest if thickest >= 60.0 else None


def enhancement(plan, S, C_D, A):
    """The routes of a residual refraction by id, and the reserve."""
    v, E, back = plan.v, plan.v["epithelium_um"], plan.v["central_thickness_um"]
    C = v.get("cap_measured_um", v["cap_um"])
    first, gf, g = plan.extracted, v["flap_credit"], v["cap_credit"]
    powers = at_cornea(S, v["vertex_mm"]), at_cornea(S + C_D, v["vertex_mm"])
    mine = 1.0 / (1.0 / v["radius_mm"] + sum(plan.powers) / 2.0 / 376.0)
    high = min(1.0, max(0.0, *powers))
    surfaces = Surfaces(mine, v["asphericity"], powers, v["profile"], v["asphericity"])
    blend = v.get("ablation_blend_mm", 0.5 + 0.5 * high)
    thin = v.get("lenticule_blend_mm", max(high, 0.1 * min(1.0, abs(C_D) / 0.25)))
    second = _Turned(Taken(surfaces, v["zone_mm"], blend), np.radians(A) if C_D else 0.0, plan.axis)
    deeper = _Turned(Taken(surfaces, v["zone_mm"], thin, v.get("base_um", 15.0 + 15.0 * high)), second.turn0, plan.axis)
    bed = back - C - first.centre, least_bed(plan, C, [first])
    if first.computed <= 0 or bed[1] <= 0:
        return dict.fromkeys(("surface", "thin-flap", "cap-to-flap", "deeper-lenticule"), NONE), None
    F2, t, floor = v["enhancement_flap_um"], second.centre, C + first.centre
    cap_mm = v.get("cap_diameter_mm", 2.0 * first.radius + 1.0)
    bias = (0.0 if "cap_measured_um" in v else v["cap_bias_um"]) - Z95 * v["cap_sd_um"]
    fits = F2 + second.deepest + v["margin_um"] <= C + bias and F2 >= E + 15.0 + Z95 * v["epithelium_sd_um"]
    off = first.deepest - first.centre > 5.0

    def way(there, cut, takens, layers, kept=None):
        if not there or second.computed <= 0:
            return NONE
        found = figures(plan, cut, takens, layers, kept)
        weak = {name: None for name in found if name.startswith("strength")} if off else {}
        new = takens[-1]
        if found["available"] and new.deepest - new.centre > 5.0:
            weak = {name: None for name in found if name.startswith("strength")}
        return found | weak

    return {
        "surface": way(C - E - second.deepest > 0, E, [second], [(g, E + t, C), (1, floor, back)], bed),
        "thin-flap": way(
            fits and 2 * second.radius <= v["flap_diameter_mm"], F2, [second],
            [(gf, E, F2), (g, F2 + t, C), (1, floor, back)], bed,
        ),
        "cap-to-flap": way(
            2 * second.radius <= cap_mm, C, [first, second], [(gf, E, C), (1, floor + t, back)]
        ),
        "deeper-lenticule": way(
            2 * deeper.radius <= cap_mm, C, [first, deeper], [(g, E, C), (1, floor + deeper.centre, back)]
        ),
    }, bed[0] - v["bed_line_um"]  # fmt: skip


class _Turned:
    """A removal whose axis is another than the plan's: θ is counted from the plan's axis."""

    def __init__(self, taken, axis, plan_axis):
        self.taken, self.turn0, self.apart = taken, axis, plan_axis - axis

    def __getattr__(self, name):
        return getattr(self.taken, name)

    def t(self, rho, theta):
        return self.taken.t(rho, theta + self.apart)


def notices(plan, options):
    """Ids with their option, as a set; what only a rounding decides is in the second set."""
    v, found, near = plan.v, set(), set()

    def note(told, id, option=None, *apart):
        if told:
            found.add((id, option))
        if any(abs(one) < 0.02 for one in apart):
            near.add((id, option))

    _of_eye(plan, note)
    W = v["white_to_white_mm"]
    for name, one in options.items():
        if not one["available"]:
            note(True, "not-available", name)
            continue
        taken, Z, w = one["taken"], v["zone_mm"], one["taken"].w
        computed, per_D = one["removal_computed_um"], one["um_per_D"]
        note(
            abs(one["removal_max_um"] - computed) > 10,
            "reported-differs",
            name,
            abs(one["removal_max_um"] - computed) - 10,
        )
        low, high = 0.19 * Z**2, 0.52 * Z**2
        note(
            per_D is None or not low <= per_D <= high,
            "depth-per-dioptre",
            name,
            *(() if per_D is None else (per_D - low, per_D - high)),
        )
        step, ablates = one["rim_step_um"], name != "lenticule"
        note(step > 40 and w < 0.3, "rim-step", name, step - 40, w - 0.3)
        note(ablates and w > 0 and step / w > 150, "steep-blend", name, *((step / w - 150,) if w else ()))
        if name != "surface":
            cut = v["flap_diameter_mm"] if name == "flap" else v.get("cap_diameter_mm", 2 * taken.radius + 1.0)
            room = cut - (0.3 if name == "flap" else 0.2) - 2 * taken.radius
            note(room < 0 or cut > W - 1.0, "does-not-fit", name, room, cut - W + 1.0)
        line, beds = v["bed_line_um"], (one["bed_central_um"], one["bed_min_um"])
        note(min(beds) < line <= max(beds), "line-between", name, *(bed - line for bed in beds))
        note(min(beds) < line, "under-line", name, min(beds) - line)
        note(one["off_centre"] > 5, "off-centre", name, one["off_centre"] - 5)
        note(name == "lenticule" and v["lenticule_bias_um"] < 0, "extraction-bias", name)
        note(name == "lenticule" and one["removal_max_um"] < 50, "thin-lenticule", name, one["removal_max_um"] - 50)
        note(min(beds) < 200, "low-bed", name, min(beds) - 200)
    flap, lenticule = options["flap"], options["lenticule"]
    if flap["available"] and lenticule["available"]:
        deeper = flap["removal_max_um"] - lenticule["removal_max_um"]
        note(deeper > 0, "base-deeper", None, deeper)
    return found, near


def _of_eye(plan, note):
    """Notices of what was measured and of the target."""
    v, given = plan.v, plan.given
    note("thinnest_um" in given and "thinnest_x_mm" not in given, "thinnest-no-place")
    x, y = v.get("thinnest_x_mm", 0.0), v.get("thinnest_y_mm", 0.0)
    at_vertex = v.get("thinnest_um", v["central_thickness_um"]) * (1 + 0.0088 * (x * x + y * y))
    apart = abs(at_vertex - v["central_thickness_um"]) - 10
    note(apart > 0, "map-differs", None, apart)
    note(hypot(x, y) > 1, "thinnest-far", None, hypot(x, y) - 1)
    K = 337.5 / v["radius_mm"]
    note(not 39 <= K <= 48, "K-unusual", None, K - 39, K - 48)
    off = hypot(v["pupil_x_mm"] - v["centre_x_mm"], v["pupil_y_mm"] - v["centre_y_mm"])
    over = off + v["pupil_mm"] / 2 - v["zone_mm"] / 2
    note(over > 0, "pupil-over-zone", None, *((0.0,) if -0.02 < over < 0.12 else ()))  # a share that rounds to nothing
    if "treated_sphere_D" in given:
        _typed(plan, note)


def _typed(plan, note):
    """A treated refraction that was typed: far from what it should be, or the plain difference to a target."""
    v = plan.v
    typed = _vector(*plan.treated[:3])
    bare = Plan({name: value for name, value in plan.given.items() if not name.startswith("treated_")})
    wanted = _vector(*bare.treated[:3])
    size = float(np.linalg.norm(np.subtract(typed, wanted)))
    note(
        size > 0.5, "treated-differs", None, *((0.0,) if 0.24 < size < 0.51 else ())
    )  # a known slip tells from 0.25 on
    plain = _vector(v["sphere_D"] - v["target_D"], v["cylinder_D"], v["axis_deg"])
    if np.abs(np.subtract(typed, plain)).max() < 1e-6 and v["target_D"] != 0:
        left = [at_cornea(S, v["vertex_mm"]) for S in (v["sphere_D"], v["sphere_D"] + v["cylinder_D"])]
        ends = np.mean([F - P for F, P in zip(left, plan.powers, strict=True)])
        missed = ends / (1 + v["vertex_mm"] * ends / 1000.0) - v["target_D"]
        note(
            abs(missed) > 0.12,
            "target-shortfall",
            None,
            (abs(missed) - 0.12) * (1 if abs(abs(missed) - 0.12) > 0.01 else 0),
        )


def _vector(S, C, A):
    turn = np.radians(2 * A)
    return S + C / 2, -C / 2 * np.cos(turn), -C / 2 * np.sin(turn)
