"""One input changed at a time on every screen: what stands there must be what a new session shows of the same texts."""

from dataclasses import replace

from streamlit.testing.v1 import AppTest

from tissue.entry.typed import EITHER, REFRACTION
from tissue.screens.desk.state import FIRST_DEMO, Day, Desk, open_demo

SCREENS = (
    "plan", "explain", "tradeoffs", "alignment", "suction", "enhancement", "mechanics", "evidence", "rounds", "series",
)  # fmt: skip
CHANGES = {  # every field, to a value that the first demo eye does not have
    "refraction": "-4.25 -0.50 x 15", "sphere_D": "-5.00", "cylinder_D": "-2.00", "axis_deg": "35",
    "refraction_kind": "cycloplegic", "vertex_mm": "14", "target_D": "-0.50", "treated_sphere_D": "-5.50",
    "treated_cylinder_D": "-0.75", "treated_axis_deg": "160", "central_thickness_um": "570", "thinnest_um": "531",
    "thinnest_x_mm": "0.4", "thinnest_y_mm": "0.3", "mean_K_D": "41.5", "radius_mm": "7.6", "asphericity": "0.1",
    "epithelium_um": "58", "white_to_white_mm": "12.4", "thickness_method": "by hand", "pupil_mm": "7.2",
    "pupil_x_mm": "0.3", "pupil_y_mm": "-0.3", "zone_mm": "6.1", "profile": "parabolic", "target_asphericity": "0.2",
    "ablation_blend_mm": "1.1", "lenticule_blend_mm": "0.7", "centre_x_mm": "0.3", "centre_y_mm": "0.2",
    "reported_ablation_um": "88", "reported_lenticule_um": "131", "flap_um": "104", "flap_diameter_mm": "8.4",
    "hinge_deg": "180", "flap_measured_um": "151", "rescue_flap_um": "95", "enhancement_flap_um": "101",
    "cap_um": "135", "cap_diameter_mm": "8.1", "base_um": "22", "incision_mm": "2.2", "incision_deg": "40",
    "cap_measured_um": "112", "recut_cap_um": "171", "bed_line_um": "281", "relationship": "uniform",
    "cap_credit": "0.4", "flap_credit": "0.3", "margin_um": "41", "clock_s": "33", "thickness_bias_um": "6",
    "thickness_sd_um": "11", "epithelium_sd_um": "9", "flap_bias_um": "12", "flap_sd_um": "13", "cap_bias_um": "5",
    "cap_sd_um": "9", "ablation_bias_um": "4", "ablation_sd_um": "5", "lenticule_bias_um": "3", "lenticule_sd_um": "3",
    "epithelium_gain_bias_um": "2", "epithelium_gain_sd_um": "7",
    "procedure": "flap", "residual": "-0.50 sphere", "suction_stage": "cap", "suction_done": "0.35",
    "done": "flap", "cut_order": "cap-first",
}  # fmt: skip
CHOSEN = ("set_value", "value", "values", "raw_value", "raw_values")  # sent again only where it was set by the program
TREATED = ("treated_sphere_D", "treated_cylinder_D", "treated_axis_deg")
CONIC = ("target_asphericity",)
SPELT = {"refraction": REFRACTION, **dict.fromkeys(REFRACTION, ("refraction",)), **{k: (v,) for k, v in EITHER.items()}}


def changed(texts, name):
    """The texts of one eye with one field changed, and with it what that field cannot stand without or beside."""
    found = {key: text for key, text in texts.items() if key not in SPELT.get(name, ())}
    if name in REFRACTION:
        found = {"sphere_D": "-6.00", "cylinder_D": "-1.25", "axis_deg": "170"} | found
    if name in TREATED:
        found |= {one: CHANGES[one] for one in TREATED}
    if name in CONIC:
        found |= {"profile": "conic"}
    return found | {name: CHANGES[name]}


def screen(name):
    """What AppTest runs: one screen."""
    from importlib import import_module

    import_module(f"tissue.screens.pages.{name}").show()


def opened(name, texts):
    """A screen in a session of its own, of a plan whose right eye has these texts."""
    on_desk = Desk()
    open_demo(on_desk, FIRST_DEMO)
    on_desk.code, on_desk.texts["OD"] = f"{on_desk.code}-copy", dict(texts)
    app = AppTest.from_function(screen, args=(name,), default_timeout=120)
    on_desk.id = "the plan"
    app.session_state["day"] = replace(Day.of(on_desk), name="the day")  # else a random word, sent with the fields
    app.run()
    assert not app.exception, (name, app.exception)
    return app


def stands(app):
    """What is sent to the browser, element by element, but for what names the session and not the eye."""
    return [_sent(one.proto) for one in app if getattr(one, "proto", None) is not None and one.key != "quiet"]


def _sent(proto):
    kind, sent = type(proto).__name__, type(proto)()
    sent.CopyFrom(proto)
    for name in CHOSEN:
        if hasattr(sent, "set_value") and name in sent.DESCRIPTOR.fields_by_name:
            sent.ClearField(name)
    return kind, sent.SerializeToString(deterministic=True)


def first_texts(side="OD"):
    """The texts of an eye of the first demo profile."""
    on_desk = Desk()
    open_demo(on_desk, FIRST_DEMO)
    return dict(on_desk.texts[side])


def faults(name, field):
    """What differs, in words, between a session in which a field is changed and a new one; empty where nothing does."""
    before = first_texts()
    after = changed(before, field)
    app, fresh = opened(name, before), opened(name, after)
    on_desk = app.session_state["day"].desk
    assert on_desk.figures("OD")[0].drawn  # with everything there that is worked out when it is quiet
    app.run()
    on_desk.replace("OD", dict(after))
    app.run()
    assert not app.exception, (name, field, app.exception)
    mine, new = stands(app), stands(fresh)
    words = [f"{name}, {field}: {len(mine)} elements, {len(new)} in a new session"] if len(mine) != len(new) else []
    pairs = enumerate(zip(mine, new, strict=False))
    return words + [
        f"{name}, {field}: {one[0]} {i} is another in a new session" for i, (one, two) in pairs if one != two
    ]
