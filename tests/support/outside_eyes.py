"""Seeded eyes for `tests/hard/outside.py`: values, how they are written, and mistakes that must be refused."""

import random

STAGES = ("lenticule", "lenticule-side", "cap", "incision")
MISTAKES = (  # what is written instead or beside, and the field that must be named
    ({"sphere_D": "4.75"}, "sphere_D"),
    ({"sphere_D": "-31"}, "sphere_D"),
    ({"sphere_D": '"-6.00x"'}, "sphere_D"),
    ({"cylinder_D": "1.25", "axis_deg": "20"}, "cylinder_D"),
    ({"cylinder_D": "-12.5", "axis_deg": "20"}, "cylinder_D"),
    ({"cylinder_D": "-1.25", "axis_deg": "181"}, "axis_deg"),
    ({"cylinder_D": "-1.25", "axis_deg": None}, "axis_deg"),
    ({"central_thickness_um": "5480"}, "central_thickness_um"),
    ({"central_thickness_um": "99"}, "central_thickness_um"),
    ({"central_thickness_um": "nan"}, "central_thickness_um"),
    ({"central_thickness_um": None}, "central_thickness_um"),
    ({"thinnest_um": "260"}, "thinnest_um"),
    ({"epithelium_um": "0"}, "epithelium_um"),
    ({"epithelium_um": "85", "flap_um": "80"}, "flap_um"),
    ({"zone_mm": "3.9"}, "zone_mm"),
    ({"zone_mm": "65"}, "zone_mm"),
    ({"flap_um": "59"}, "flap_um"),
    ({"flap_um": "301"}, "flap_um"),
    ({"cap_um": "79"}, "cap_um"),
    ({"cap_um": "999"}, "cap_um"),
    ({"base_um": "-1"}, "base_um"),
    ({"cap_credit": "1.01"}, "cap_credit"),
    ({"flap_credit": "-0.1"}, "flap_credit"),
    ({"relationship": '"reinstein2014"'}, "relationship"),
    ({"profile": '"spherical"'}, "profile"),
    ({"target_D": "0.50"}, "target_D"),
    ({"target_D": "-4.25"}, "target_D"),
    ({"vertex_mm": "21"}, "vertex_mm"),
    ({"mean_K_D": "61"}, "mean_K_D"),
    ({"mean_K_D": "43.25", "radius_mm": "7.8"}, "radius_mm"),
    ({"flapp_um": "110"}, "flapp_um"),
    ({"pupil_mm": "inf"}, "pupil_mm"),
    ({"treated_sphere_D": "-5.00"}, "treated_cylinder_D"),
    ({"reported_lenticule_um": "10", "base_um": "15"}, "reported_lenticule_um"),
    ({"flap_sd_um": "61"}, "flap_sd_um"),
    ({"hinge_deg": "361"}, "hinge_deg"),
    ({"clock_s": "4"}, "clock_s"),
    ({"cut_order": '"flap-first"'}, "cut_order"),
    ({"margin_um": "101"}, "margin_um"),
)


def quarter(rng, low, high):
    return round(rng.uniform(low, high) * 4) / 4


def an_eye(seed):
    """Values of one eye by the names of the plan file."""
    rng = random.Random(seed)
    kind = seed % 6
    sphere = (quarter(rng, -10, -0.5), quarter(rng, -8, 0), quarter(rng, 0.5, 3), quarter(rng, 0.25, 5),
              quarter(rng, -3, 0), quarter(rng, -14, 6))[kind]  # fmt: skip
    cylinder = (0.0, -quarter(rng, 0.25, 4), -quarter(rng, 3.25, 5), -quarter(rng, 0, 1.5), -quarter(rng, 0, 2),
                -quarter(rng, 0, 6))[kind]  # fmt: skip
    axis = float(rng.randint(1, 180))
    if cylinder and rng.random() < 0.4:
        sphere, cylinder, axis = sphere + cylinder, -cylinder, (axis + 90.0) % 180.0 or 180.0
    v = {"sphere_D": sphere, "central_thickness_um": float(rng.randint(430, 660))}
    if cylinder:
        v |= {"cylinder_D": cylinder, "axis_deg": axis}
    some = lambda chance, make, *names: v.update({n: make() for n in names}) if rng.random() < chance else None  # noqa: E731
    if rng.random() < 0.5:
        v["thinnest_um"] = v["central_thickness_um"] - rng.randint(0, 25)
        some(0.8, lambda: round(rng.uniform(-1.3, 1.3), 2), "thinnest_x_mm", "thinnest_y_mm")
    some(0.4, lambda: round(rng.uniform(5.0, 8.0), 1), "zone_mm")
    some(0.3, lambda: rng.choice(["conic", "parabolic", "munnerlyn"]), "profile")
    some(0.2, lambda: round(rng.uniform(-0.7, 0.3), 2), "asphericity")
    if v.get("profile") == "conic":
        some(0.4, lambda: round(rng.uniform(-0.8, 0.5), 2), "target_asphericity")
    some(0.3, lambda: round(rng.uniform(38, 49), 2), "mean_K_D")
    some(0.25, lambda: rng.choice([-0.5, -1.0, -1.5, 0.5]), "target_D")
    some(0.25, lambda: float(rng.choice([0, 10, 13, 13.5, 14])), "vertex_mm")
    some(0.25, lambda: float(rng.randint(48, 60)), "epithelium_um")
    some(0.3, lambda: float(rng.randint(90, 140)), "flap_um")
    some(0.3, lambda: float(rng.randint(100, 160)), "cap_um")
    some(0.1, lambda: float(rng.randint(85, 150)), "flap_measured_um")
    some(0.1, lambda: float(rng.randint(95, 160)), "cap_measured_um")
    some(0.15, lambda: round(rng.uniform(-0.6, 0.6), 2), "centre_x_mm", "centre_y_mm")
    some(0.2, lambda: round(rng.uniform(0, 1.6), 1), "ablation_blend_mm")
    some(0.2, lambda: round(rng.uniform(0, 1.2), 1), "lenticule_blend_mm")
    some(0.2, lambda: float(rng.randint(0, 40)), "base_um")
    some(0.15, lambda: round(rng.uniform(7.5, 10.0), 1), "flap_diameter_mm")
    some(0.1, lambda: round(rng.uniform(7.0, 9.0), 1), "cap_diameter_mm")
    some(0.2, lambda: round(rng.uniform(3, 9), 1), "pupil_mm")
    some(0.15, lambda: float(rng.randint(200, 320)), "bed_line_um")
    some(0.15, lambda: round(rng.random(), 2), "cap_credit", "flap_credit")
    some(0.1, lambda: float(rng.randint(-12, 12)), "lenticule_bias_um")
    some(0.1, lambda: float(rng.randint(0, 20)), "lenticule_sd_um", "ablation_sd_um")
    some(0.1, lambda: float(rng.randint(0, 12)), "thickness_sd_um", "flap_sd_um", "cap_sd_um")
    some(0.1, lambda: float(rng.randint(10, 60)), "margin_um")
    some(0.1, lambda: float(rng.randint(90, 150)), "rescue_flap_um")
    some(0.1, lambda: float(rng.randint(80, 240)), "recut_cap_um")
    some(0.15, lambda: float(rng.randint(80, 110)), "enhancement_flap_um")
    some(0.08, lambda: float(rng.randint(60, 200)), "reported_ablation_um")
    some(0.08, lambda: float(rng.randint(90, 220)), "reported_lenticule_um")
    if rng.random() < 0.15:
        _treated(rng, v)
    order = random.Random(seed + 3 * 10**6).random()
    if order < 0.6:
        v["cut_order"] = "cap-first" if order < 0.5 else "lenticule-first"
    return v


def _treated(rng, v):
    """A treated refraction that is typed: the plain difference to the target, or another."""
    away = rng.choice([0.0, 0.0, 0.75])
    v["treated_sphere_D"] = v["sphere_D"] - v.get("target_D", 0.0) + away
    v["treated_cylinder_D"] = v.get("cylinder_D", 0.0)
    if v["treated_cylinder_D"]:
        v["treated_axis_deg"] = v["axis_deg"]


POWERS = ("sphere_D", "cylinder_D", "treated_sphere_D", "treated_cylinder_D", "target_D")


def lines_of(v, seed):
    """The eye as lines of a plan file, the refraction in one of the spellings that people use."""
    rng = random.Random(seed + 10**6)
    rest = dict(v)
    lines = []
    if rng.random() < 0.7:
        lines.append(f'refraction = "{spelled(rng, v)}"')
        for name in ("sphere_D", "cylinder_D", "axis_deg"):
            rest.pop(name, None)
    for name, value in rest.items():
        if isinstance(value, str):
            lines.append(f'{name} = "{value}"')
        elif name in POWERS:
            lines.append(f"{name} = {value:+.2f}" if value else f"{name} = 0")
        else:
            lines.append(f"{name} = {_number(rng, name, value)}")
    rng.shuffle(lines)
    return lines


def _number(rng, name, value):
    """A plain number, or a text with its unit or a decimal comma."""
    how = rng.random()
    if name.endswith("thickness_um") and how < 0.15:
        return f'"{value / 1000:.3f} mm"'
    if name.endswith("_um") and how < 0.3:
        return f'"{value:g} {rng.choice(["µm", "um", chr(0x3BC) + "m"])}"'
    if how < 0.4:
        return f'"{value:g}"'.replace(".", ",")
    return f"{value:g}"


def spelled(rng, v):
    """Sphere, cylinder and axis as somebody would write them, in either cylinder form."""
    S, C, A = v["sphere_D"], v.get("cylinder_D", 0.0), v.get("axis_deg", 0.0)
    if C and rng.random() < 0.4:
        S, C, A = S + C, -C, (A + 90.0) % 180.0 or 180.0
    minus, dot = rng.choice(["-", "−", "–"]), rng.choice([".", ".", ","])

    def power(value):
        if value == 0:
            return rng.choice(["plano", "pl", "0.00", "0"])
        digits = f"{abs(value):.2f}".replace(".", dot)
        if digits[0] == "0" and rng.random() < 0.3:
            digits = digits[1:]
        return ("+" if value > 0 else minus) + rng.choice(["", "", " "]) + digits

    unit = rng.choice(["", "", " D", " DS", " sph"])
    if S == 0:
        unit = ""
    if not C:
        return power(S) + unit
    between = rng.choice([" ", " / "]) if S else rng.choice([" ", " / "])
    axis = rng.choice(["x", "X", "×", "@", " axis ", " ax ", "*"])
    turn = f"{A:03.0f}" if rng.random() < 0.3 else f"{A:.0f}"
    cylinder = power(C) + rng.choice(["", " D", " DC", " cyl"])
    return f"{power(S)}{unit}{between}{cylinder} {axis} {turn}{rng.choice(['', '°'])}"


def a_mistake(seed):
    """(lines with one mistake in them, the field that must be named)."""
    changed, field = MISTAKES[seed % len(MISTAKES)]
    v = {"sphere_D": "-5.00", "cylinder_D": "-1.00", "axis_deg": "20", "central_thickness_um": "548"} | changed
    if "sphere_D" in changed:
        v |= {"cylinder_D": None, "axis_deg": None}
    return [f"{name} = {value}" for name, value in v.items() if value is not None], field
