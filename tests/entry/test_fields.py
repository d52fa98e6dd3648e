"""Every input defined once: names, ranges and defaults of the interface, and agreement with the arithmetic."""

import dataclasses
import re

import pytest

from tissue.budget.strength.strength import relationships
from tissue.entry.fields import fields, groups, nearest
from tissue.eye.cornea import Cornea, Pupil
from tissue.ground.sources import keys
from tissue.ground.vocabulary import CUT_ORDERS, STAGES
from tissue.removal.options import CapCut, Errors, FlapCut, Judgement
from tissue.removal.removal import PROFILES, Treatment

# name, default (- where none or a rule), low, high. Source: the interface of the tool, plan file.
CONTRACT = """
sphere_D - -30 20
cylinder_D 0 -12 12
axis_deg - 0 180
vertex_mm 12 0 20
target_D 0 -4 2
treated_sphere_D - -30 20
treated_cylinder_D - -12 12
treated_axis_deg - 0 180
central_thickness_um - 300 900
thinnest_um - 300 900
thinnest_x_mm - -3 3
thinnest_y_mm - -3 3
radius_mm 7.8 6.5 9.5
mean_K_D - 33 60
asphericity -0.19 -2 2
epithelium_um 53 20 90
white_to_white_mm 11.8 9 14
pupil_mm 6.0 1 10
pupil_x_mm 0 -1.5 1.5
pupil_y_mm 0 -1.5 1.5
zone_mm 6.5 4 9
target_asphericity - -3 5
ablation_blend_mm - 0 3
lenticule_blend_mm - 0 3
centre_x_mm 0 -2 2
centre_y_mm 0 -2 2
reported_ablation_um - 1 300
reported_lenticule_um - 1 300
flap_um 110 60 300
flap_diameter_mm 9.0 5 11
hinge_deg 90 0 360
flap_measured_um - 40 400
rescue_flap_um - 60 300
enhancement_flap_um 90 60 300
cap_um 120 80 250
cap_diameter_mm - 5 11
base_um - 0 60
incision_mm 3 1 12
incision_deg 90 0 360
cap_measured_um - 40 400
recut_cap_um - 80 250
bed_line_um 250 100 500
cap_credit 1 0 1
flap_credit 0 0 1
margin_um 30 0 100
clock_s 24 5 120
thickness_bias_um 0 -60 60
thickness_sd_um 5 0 60
epithelium_sd_um 4.6 0 60
flap_bias_um 4 -60 60
flap_sd_um 5 0 60
cap_bias_um -0.7 -60 60
cap_sd_um 4.4 0 60
ablation_bias_um 0 -60 60
ablation_sd_um 11.2 0 60
lenticule_bias_um -12.1 -60 60
lenticule_sd_um 9.8 0 60
epithelium_gain_bias_um 0 -20 20
epithelium_gain_sd_um 3.3 0 20
suction_done - 0 1
"""
ROWS = [line.split() for line in CONTRACT.split("\n") if line]
WORDS = {
    "refraction": None,
    "refraction_kind": "manifest",
    "thickness_method": None,
    "profile": "munnerlyn",
    "relationship": "reinstein2013",
    "procedure": None,
    "residual": None,
    "suction_stage": None,
    "done": None,
    "cut_order": "lenticule-first",
}


@pytest.mark.parametrize(("name", "default", "low", "high"), ROWS, ids=[row[0] for row in ROWS])
def test_number_is_that_of_the_interface(name, default, low, high):
    field = fields()[name]
    assert (field.low, field.high) == (float(low), float(high))
    assert field.default == (None if default == "-" else float(default))


@pytest.mark.parametrize(("name", "default"), WORDS.items())
def test_word_is_that_of_the_interface(name, default):
    assert fields()[name].default == default


def test_no_other_name_exists():
    assert set(fields()) == {row[0] for row in ROWS} | set(WORDS)


@pytest.mark.parametrize("kind", [Cornea, Pupil, Treatment, FlapCut, CapCut, Judgement, Errors])
def test_defaults_are_those_of_the_arithmetic(kind):
    for item in dataclasses.fields(kind):
        if item.init and item.default is not dataclasses.MISSING and item.name not in ("refraction", "own_map"):
            default = fields()[item.name].default
            assert item.default == default, item.name


def test_choices_are_those_of_the_arithmetic():
    assert set(fields()["profile"].choices) == set(PROFILES)
    assert set(fields()["relationship"].choices) == set(relationships())
    assert fields()["cut_order"].choices == tuple(CUT_ORDERS) and fields()["suction_stage"].choices == STAGES


def test_defaults_that_are_printed_name_a_known_source():
    for field in fields().values():
        if field.status == "P" and field.name != "radius_mm":  # its source is a range of publications, in words
            assert field.source in keys(), field.name


def test_every_default_says_where_it_comes_from():
    for field in fields().values():
        assert field.status in ("", "P", "C", "T", "M", "convention", "choice")
        assert bool(field.source) == bool(field.status) == (field.default is not None), field.name


STEPS = {"D": 0.25, "mm": 0.1, "µm": 1, "°": 1, "s": 1}  # source: the rules of the screens


def test_steps_follow_the_unit():
    for field in fields().values():
        if field.is_number and field.unit:
            assert field.step == STEPS[field.unit], field.name


def test_powers_are_those_whose_sign_must_be_written():
    powers = {name for name, field in fields().items() if field.kind == "power"}
    assert powers == {"sphere_D", "cylinder_D", "treated_sphere_D", "treated_cylinder_D", "target_D"}


def test_unit_in_the_name_is_the_unit_of_the_field():
    endings = {"um": "µm", "mm": "mm", "D": "D", "deg": "°", "s": "s"}
    for name, field in fields().items():
        assert field.unit == endings.get(name.rsplit("_", 1)[-1], ""), name


def test_labels_and_help_are_plain():
    labels = [field.heading for field in fields().values()]
    assert len(set(labels)) == len(labels)
    for field in fields().values():
        assert field.meaning.endswith(".")
        assert field.label[0].isupper()
        assert not re.search(r"[;_]|\b(safe|unsafe|pass|fail|suitable|candidate)\b", field.label + field.help.lower())
        assert not re.search(r"nan|None", field.help + field.accepted), field.name


def test_help_tells_limits_and_default():
    assert "4 to 9 mm" in fields()["zone_mm"].help
    assert "Default: 6.5 mm." in fields()["zone_mm"].help
    assert "the zone, its blend on both sides, and 1.0 mm" in fields()["cap_diameter_mm"].help


def test_groups_hold_every_field_once():
    names = [name for group in groups().values() for name in group]
    assert sorted(names) == sorted(fields())
    assert list(groups()) == ["refraction", "cornea", "treatment", "flap", "extraction", "judgement", "errors", "later"]


@pytest.mark.parametrize(
    ("wrong", "right"),
    [
        ("sphere", "sphere_D"),
        ("sphere_d", "sphere_D"),
        ("cilinder_D", "cylinder_D"),
        ("CCT", "central_thickness_um"),
        ("central_thickness", "central_thickness_um"),
        ("thinnest_x", "thinnest_x_mm"),
        ("center_x_mm", "centre_x_mm"),
        ("optical_zone", "zone_mm"),
        ("cap_thickness_um", "central_thickness_um"),
        ("lenticule_blend", "lenticule_blend_mm"),
        ("mean_k", "mean_K_D"),
    ],
)
def test_unknown_name_is_answered_with_the_nearest(wrong, right):
    assert nearest(wrong) == right


def test_second_unit_neither_overlaps_the_first_nor_leads_out_of_range():
    for field in fields().values():
        if field.also:
            assert field.also.high < field.low or field.also.low > field.high
            for end in (field.also.low, field.also.high):
                assert field.low <= field.also.convert(end) <= field.high, field.name


def test_size_tells_the_second_unit():
    # 337.5 is the keratometer's constant (convention): 7.50 mm is 45 D
    assert fields()["mean_K_D"].in_own_unit(7.5) == 45.0
    assert fields()["radius_mm"].in_own_unit(45.0) == 7.5
    assert fields()["central_thickness_um"].in_own_unit([0.57, 570.0]).tolist() == [570.0, 570.0]
    assert fields()["flap_um"].in_own_unit(0.11) == 0.11
