"""The JSON of a plan: names exactly as the interface has them, null where nothing can be given, strict JSON.

Source of every name: the interface of the tool, typed here from its text.
"""

import json
import math

import numpy as np
import pytest
from helpers import comparison_of, eye_of, plan_of, plan_text
from hypothesis import given, settings
from hypothesis import strategies as st

import tissue
from tissue.budget.strength.relationship import relationships
from tissue.entry.fields import fields
from tissue.report.contract import plain_json

OPTION = (
    "available why_not cut_um cut_planned_um bed_planned_um removal_central_um removal_parts_um "
    "removal_computed_um removal_max_um removal_max_x_mm removal_max_y_mm removal_volume_mm3 optical_volume_mm3 "
    "rim_step_um bed_central_um bed_min_um bed_min_x_mm bed_min_y_mm bed_percent altered_percent "
    "altered_max_percent removed_percent stromal_altered_percent uncut_stroma_um healed_thickness_um "
    "strength_percent strength_low_percent strength_high_percent bed_mean_um bed_sd_um bed_low_um bed_high_um "
    "bed_below_line_percent bed_min_below_line_percent altered_low_percent altered_high_percent K_after_D "
    "radius_after_mm um_per_D zone_cost_um optics"
).split()
OPTICS = (
    "refraction_sphere_D refraction_cylinder_D refraction_axis_deg asphericity_after c40_before_um c40_change_um "
    "apex_shift_D zone_kept_before_mm zone_kept_after_mm pupil_outside_zone_percent"
).split()
REFRACTION = (
    "sphere_D cylinder_D axis_deg SE_D J0_D J45_D plus corneal_sphere_D corneal_cylinder_D corneal_SE_D"
).split()
INPUT = (
    "refraction sphere_D cylinder_D axis_deg vertex_mm refraction_kind treated_sphere_D treated_cylinder_D "
    "treated_axis_deg target_D central_thickness_um thinnest_um thinnest_x_mm thinnest_y_mm thickness_method "
    "radius_mm mean_K_D asphericity epithelium_um white_to_white_mm pupil_mm pupil_x_mm pupil_y_mm zone_mm "
    "profile target_asphericity ablation_blend_mm lenticule_blend_mm centre_x_mm centre_y_mm "
    "reported_ablation_um reported_lenticule_um flap_um flap_diameter_mm hinge_deg flap_measured_um "
    "rescue_flap_um enhancement_flap_um cap_um cap_diameter_mm base_um incision_mm incision_deg "
    "cap_measured_um recut_cap_um bed_line_um cap_credit flap_credit relationship margin_um clock_s "
    "thickness_bias_um thickness_sd_um epithelium_sd_um flap_bias_um flap_sd_um cap_bias_um cap_sd_um "
    "ablation_bias_um ablation_sd_um lenticule_bias_um lenticule_sd_um epithelium_gain_bias_um epithelium_gain_sd_um "
    "procedure residual suction_stage suction_done done"
).split()
EYE = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0}


def test_names_of_a_plan():
    plan = plan_of('code = "harbour-03"\n' + plan_text(OD=EYE, OS=EYE))
    assert list(plan) == ["schema", "version", "code", "eyes"]
    assert (plan["schema"], plan["version"], plan["code"]) == (1, tissue.__version__, "harbour-03")
    assert list(plan["eyes"]) == ["OD", "OS"]
    for eye in plan["eyes"].values():
        assert list(eye) == ["input", "refraction", "options", "notices", "guard", "errors_source"]
        assert list(eye["options"]) == ["surface", "flap", "lenticule"]
        assert sorted(eye["input"]) == sorted(INPUT) == sorted(set(fields()) - {"cut_order"})
        assert sorted(eye["refraction"]) == sorted(REFRACTION)
        assert list(eye["refraction"]["plus"]) == ["sphere_D", "cylinder_D", "axis_deg"]
        assert all(list(notice) == ["id", "option", "field", "text"] for notice in eye["notices"])


def test_names_of_an_option():
    for option in eye_of(**EYE)["options"].values():
        assert sorted(option) == sorted(OPTION)
        assert list(option["removal_parts_um"]) == ["refraction", "blend", "base"]
        assert list(option["strength_percent"]) == list(relationships())
        assert sorted(option["optics"]) == sorted(OPTICS)


def test_what_is_not_available_has_the_same_names_and_only_its_cuts():
    eye = eye_of(sphere_D=0.0, central_thickness_um=548.0)
    for name, cut in (("surface", 53.0), ("flap", 110.0), ("lenticule", 120.0)):
        option = eye["options"][name]
        assert sorted(option) == sorted(OPTION) and option["available"] is False and option["why_not"]
        assert (option.pop("cut_um"), option.pop("cut_planned_um")) == (cut, cut)
        assert option.pop("strength_percent") == dict.fromkeys(relationships())
        assert option.pop("removal_parts_um") == {"refraction": None, "blend": None, "base": None}
        rest = {key for key, value in option.items() if value is not None}
        assert rest <= {"available", "why_not", "optics"}
        assert not option["optics"] or set(option["optics"].values()) == {None}


def test_a_plan_without_code_has_null():
    assert plan_of(plan_text(OS=EYE))["code"] is None


def test_refraction_in_both_forms():
    # Source: −7.00 +3.00 × 100 is −4.00 −3.00 × 10 (Kraff 2007, tests/published/refraction.csv)
    eye = eye_of(refraction="-7.00 +3.00 x 100", central_thickness_um=548.0)
    r = eye["refraction"]
    assert (r["sphere_D"], r["cylinder_D"], r["axis_deg"]) == (-4.0, -3.0, 10.0)
    assert r["plus"] == {"sphere_D": -7.0, "cylinder_D": 3.0, "axis_deg": 100.0}
    assert r["corneal_sphere_D"] == pytest.approx(-4.0 / 1.048) and r["corneal_cylinder_D"] < 0.0
    assert r["corneal_SE_D"] == pytest.approx(r["corneal_sphere_D"] + r["corneal_cylinder_D"] / 2.0)
    assert eye["input"]["refraction"] == "-7.00 +3.00 x 100"


def test_no_axis_without_a_cylinder():
    eye = eye_of(sphere_D=-3.0, central_thickness_um=548.0)
    assert eye["refraction"]["axis_deg"] is eye["refraction"]["plus"]["axis_deg"] is eye["input"]["axis_deg"] is None
    assert eye["input"]["treated_axis_deg"] is None and eye["input"]["refraction"] is None


def test_the_treated_refraction_is_what_goes_to_the_cornea():
    treated = {"treated_sphere_D": -5.0, "treated_cylinder_D": 0.0}
    eye = eye_of(**EYE, **treated)
    assert eye["refraction"]["corneal_SE_D"] == pytest.approx(-5.0 / 1.06)
    assert (eye["refraction"]["sphere_D"], eye["refraction"]["cylinder_D"]) == (-6.0, -1.25)
    aimed = eye_of(**EYE, target_D=-1.0)
    # the vertex formula on each meridian, at 12 mm: measured less target at the cornea
    along, across = (F / (1.0 - 0.012 * F) + 1.0 / 1.012 for F in (-6.0, -7.25))
    assert aimed["refraction"]["corneal_sphere_D"] == pytest.approx(along)
    assert aimed["refraction"]["corneal_cylinder_D"] == pytest.approx(across - along)
    assert aimed["input"]["treated_sphere_D"] == pytest.approx(along / (1.0 + 0.012 * along))


def test_every_input_comes_back_with_the_value_used():
    # Source: the defaults and rules of the interface and the model's ramps
    used = eye_of(**EYE)["input"]
    expected = {
        "vertex_mm": 12.0, "refraction_kind": "manifest", "target_D": 0.0, "thinnest_um": 548.0, "thinnest_x_mm":
        0.0, "radius_mm": 7.8, "asphericity": -0.19, "epithelium_um": 53.0, "pupil_mm": 6.0, "zone_mm": 6.5,
        "profile": "munnerlyn", "target_asphericity": -0.19, "ablation_blend_mm": 0.5, "lenticule_blend_mm": 0.1,
        "base_um": 15.0, "reported_ablation_um": None, "flap_um": 110.0, "flap_measured_um": None,
        "enhancement_flap_um": 90.0, "cap_um": 120.0, "bed_line_um": 250.0, "relationship": "reinstein2013",
        "margin_um": 30.0, "clock_s": 24.0, "cap_bias_um": -0.7,
    }  # fmt: skip
    assert {name: used[name] for name in expected} == expected
    assert used["cap_diameter_mm"] == pytest.approx(7.7) and used["mean_K_D"] == pytest.approx(337.5 / 7.8)
    steep = eye_of(**EYE, mean_K_D=45.0)["input"]
    assert steep["radius_mm"] == pytest.approx(7.5) and steep["mean_K_D"] == 45.0


@settings(max_examples=20)
@given(
    st.floats(-14.0, 6.0),
    st.floats(-4.0, 4.0),
    st.floats(300.0, 900.0),
    st.sampled_from(["munnerlyn", "conic", "parabolic"]),
)
def test_every_plan_is_strict_json(sphere, cylinder, thickness, profile):
    values = {"sphere_D": sphere, "cylinder_D": cylinder, "axis_deg": 30.0, "central_thickness_um": thickness}
    text = json.dumps(eye_of(**values, profile=profile), allow_nan=False)
    assert json.loads(text)["input"]["central_thickness_um"] == thickness


def test_plain_values():
    odd = {"a": np.float64("inf"), "b": [np.nan, np.int64(3), np.bool_(False)], "c": np.array(2.5), "d": ("", "x")}
    assert plain_json(odd) == {"a": None, "b": [None, 3, False], "c": 2.5, "d": [None, "x"]}


def test_figures_are_those_of_the_comparison():
    options, results = eye_of(**EYE)["options"], comparison_of(**EYE).results
    for name, result in results.items():
        for figure, value in vars(result.budget).items():
            if not figure.startswith("removal_part_"):
                assert options[name][figure] == (None if math.isnan(value) else value)
