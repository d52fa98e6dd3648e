"""Plans as someone types them, mostly sound and at times refused, and the text of their plan files."""

import re

from tissue.entry.fields import fields

USUAL = {  # ranges in which most plans are sound, narrower than what is accepted; step
    "thinnest_um": (430, 500, 1), "mean_K_D": (40, 47, 0.05), "zone_mm": (5.5, 7.5, 0.1), "flap_um": (90, 150, 5),
    "cap_um": (100, 160, 5), "base_um": (0, 30, 5), "epithelium_um": (40, 60, 1), "asphericity": (-0.6, 0.3, 0.05),
    "centre_x_mm": (-0.5, 0.5, 0.05), "centre_y_mm": (-0.5, 0.5, 0.05), "bed_line_um": (250, 350, 10),
    "pupil_mm": (3, 8, 0.5), "reported_ablation_um": (60, 160, 1), "reported_lenticule_um": (60, 160, 1),
    "flap_measured_um": (90, 140, 1), "cap_measured_um": (90, 150, 1), "target_D": (-1, 0.5, 0.25),
    "vertex_mm": (10, 14, 0.5), "target_asphericity": (-0.8, 0.6, 0.1), "thickness_sd_um": (0, 12, 0.5),
}  # fmt: skip


SLIPS = (  # each is refused, whatever else is typed
    {"sphere_D": "4.75", "axis_deg": "170"}, {"cylinder_D": "-1.25", "axis_deg": ""}, {"axis_deg": "181"},
    {"refraction": "-4.00 -1.00", "sphere_D": ""}, {"refraction": "-4.00", "sphere_D": "-4.00"},
    {"central_thickness_um": "999"}, {"central_thickness_um": ""}, {"central_thickness_um": "0,9 µm; 3"},
    {"thinnest_um": "640"}, {"thinnest_x_mm": "0.3", "thinnest_y_mm": ""}, {"mean_K_D": "43", "radius_mm": "7.8"},
    {"flap_um": "60", "epithelium_um": "65"}, {"profile": "sphere"}, {"treated_sphere_D": "-3.00"},
    {"zone_mm": "9", "profile": "conic", "target_asphericity": "5"}, {"reported_lenticule_um": "15"},
    {"zone_mm": "inf"}, {"zone_mm": "6.5 µm"}, {"cap_um": "=1+1"}, {"thickness_method": "a" * 300},
)  # fmt: skip


def typed(r):
    """What is typed for one plan: by side, texts by name; mostly sound, at times refused."""
    return {side: _eye(r) for side in r.choice((("OD",), ("OS",), ("OD", "OS"), ("OD", "OS")))}


def _eye(r):
    sphere, cylinder, axis = (
        r.randrange(-48, 21) / 4,
        r.choice((0, 0, -1, 1)) * r.randrange(1, 17) / 4,
        r.randint(1, 180),
    )
    if r.random() < 0.4:
        eye = {"refraction": f"{sphere:+.2f} {cylinder:+.2f} x {axis}" if cylinder else f"{sphere:+.2f}"}
    else:
        eye = {"sphere_D": f"{sphere:+.2f}"}
        eye |= {"cylinder_D": f"{cylinder:+.2f}", "axis_deg": f"{axis}"} if cylinder else {}
    eye["central_thickness_um"] = _spelt(r, "central_thickness_um", r.randint(500, 620))
    for name in r.sample([*USUAL, "profile", "relationship", "thickness_method"], r.randint(0, 6)):
        eye[name] = _value(r, name)
    if "thinnest_um" in eye and r.random() < 0.7:
        eye |= {"thinnest_x_mm": _spelt(r, "thinnest_x_mm", -0.6), "thinnest_y_mm": _spelt(r, "thinnest_y_mm", -0.45)}
    if r.random() < 0.1:
        eye |= r.choice(SLIPS)
    return eye


def _value(r, name):
    field = fields()[name]
    if field.choices:
        return r.choice(field.choices)
    if not field.is_number:
        return r.choice(("OCT", "ultrasound, mean of 5", "Scheimpflug"))
    low, high, step = USUAL[name]
    value = round(low + step * r.randint(0, round((high - low) / step)), 3)
    if r.random() < 0.02:
        value = r.choice((field.high * 2 + 1, 0))
    return _spelt(r, name, value)


def _spelt(r, name, value):
    """A number as someone writes it: signed, with a comma, with its unit, with a true minus."""
    words = f"{value:+.2f}" if fields()[name].kind == "power" and value else f"{value:g}"
    kind = r.random()
    if kind < 0.15:
        words = words.replace(".", ",")
    elif kind < 0.3:
        words = f"{words} {fields()[name].unit}".rstrip()
    return words.replace("-", "−") if kind > 0.9 else words


def plan_file(r, code, eyes):
    """The text of the plan file: plain numbers bare or in quotes, all else in quotes."""
    lines = ["schema = 1", f'code = "{code}"']
    for side, texts in eyes.items():
        lines.append(f"[{side}]")
        for name, text in texts.items():
            if not text:
                continue
            bare = re.fullmatch(r"[+-]?[0-9]+(\.[0-9]+)?", text) and name != "refraction" and r.random() < 0.5
            lines.append(f"{name} = {text}" if bare else f'{name} = "{text}"')
    return "\n".join(lines) + "\n"
