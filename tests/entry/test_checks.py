"""The checks on what is given: every range at its ends, what must agree, and columns as single eyes."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tissue.entry.checks import Fault, check_one, fault_of, faults, is_given
from tissue.entry.fields import fields
from tissue.ground.errors import EyeError

NUMBERS = [field for field in fields().values() if field.is_number]
EYE = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0}


def named(values, **more):
    """Fields at fault for the demonstration eye with these values put in."""
    return [finding.field for finding in faults({**EYE, **values, **more})]


def texts(values):
    return [finding.fault().text for finding in faults({**EYE, **values})]


def test_a_sound_eye_has_no_fault():
    assert named({}) == []


def alone(field, value):
    """Whether the range of one field refuses a value; what must agree with other fields is not asked."""
    return [f.fault().accepted for f in faults({field.name: value}) if f.field == field.name]


@pytest.mark.parametrize("field", NUMBERS, ids=lambda field: field.name)
def test_ends_of_a_range_are_in_and_what_lies_beyond_is_out(field):
    # Source: the interface; its ranges are compared with the fields in test_fields.py
    for end, beyond in ((field.low, -1e-6), (field.high, 1e-6)):
        assert field.accepted not in alone(field, end)
        assert field.accepted in alone(field, end + beyond)


@pytest.mark.parametrize("code", [0.0, 99.0, 999.0, -1.0, -999.0])
def test_codes_for_missing_values_fall_where_they_cannot_be_real(code):
    # Source: the interface of the tool
    for name in ("central_thickness_um", "thinnest_um", "radius_mm", "mean_K_D", "zone_mm", "flap_um", "cap_um"):
        if not (name in ("flap_um", "cap_um") and code == 99.0):  # 99 µm is a flap and a cap that can be
            assert name in [f.field for f in faults({name: code})]


# name of the case, values put into the demonstration eye, fields at fault. Source: the refusals of the interface.
AGREEMENT = [
    ("cylinder without an axis", {"axis_deg": math.nan}, ["axis_deg"]),
    ("no cylinder needs no axis", {"cylinder_D": 0.0, "axis_deg": math.nan}, []),
    ("axis beside a zero cylinder", {"cylinder_D": 0.0}, []),
    ("text and numbers", {"refraction": "-6.00 -1.25 x 170"}, ["sphere_D", "cylinder_D", "axis_deg"]),
    ("radius and K", {"radius_mm": 7.8, "mean_K_D": 43.25}, ["mean_K_D"]),
    ("treated whole", {"treated_sphere_D": -6.0, "treated_cylinder_D": -1.0, "treated_axis_deg": 170.0}, []),
    ("treated sphere, no astigmatism", {"treated_sphere_D": -6.0, "treated_cylinder_D": 0.0}, []),
    ("treated without cylinder", {"treated_sphere_D": -6.0}, ["treated_cylinder_D"]),
    ("treated without sphere", {"treated_cylinder_D": 0.0}, ["treated_sphere_D"]),
    ("treated axis alone", {"treated_axis_deg": 5.0}, ["treated_sphere_D", "treated_cylinder_D"]),
    ("treated without axis", {"treated_sphere_D": -6.0, "treated_cylinder_D": -1.0}, ["treated_axis_deg"]),
    ("thinnest is thickest", {"thinnest_um": 549.0}, ["thinnest_um"]),
    ("thinnest as thick", {"thinnest_um": 548.0}, []),
    ("a place without thickness", {"thinnest_x_mm": 0.5, "thinnest_y_mm": 0.0}, ["thinnest_um"]),
    ("half a place", {"thinnest_um": 540.0, "thinnest_x_mm": 0.5}, ["thinnest_y_mm"]),
    ("other half", {"thinnest_um": 540.0, "thinnest_y_mm": 0.5}, ["thinnest_x_mm"]),
    ("flap in the epithelium", {"flap_um": 60.0, "epithelium_um": 60.0}, ["flap_um"]),
    ("flap below it", {"flap_um": 61.0, "epithelium_um": 60.0}, []),
    ("measured flap, usual epithelium", {"flap_measured_um": 53.0}, ["flap_measured_um"]),
    ("cap in the epithelium", {"cap_um": 85.0, "epithelium_um": 86.0}, ["cap_um"]),
    ("measured cap", {"cap_measured_um": 45.0}, ["cap_measured_um"]),
    ("default flap is never compared", {"epithelium_um": 90.0}, []),
    ("wild epithelium is one fault", {"flap_um": 100.0, "epithelium_um": 530.0}, ["epithelium_um"]),
    ("infinite", {"zone_mm": math.inf, "flap_um": -math.inf}, ["zone_mm", "flap_um"]),
]


@pytest.mark.parametrize(("case", "values", "at_fault"), AGREEMENT, ids=[row[0] for row in AGREEMENT])
def test_what_must_agree(case, values, at_fault):
    assert named(values) == at_fault


def test_refraction_and_thickness_are_required():
    assert [f.field for f in faults({})] == ["sphere_D", "central_thickness_um"]
    assert [f.field for f in faults({"refraction": "plano", "central_thickness_um": 548.0})] == []


def test_what_could_not_be_read_counts_as_given():
    assert faults({"central_thickness_um": 548.0}, unread={"sphere_D": True}) == []
    assert [f.field for f in faults({"radius_mm": 7.8}, unread={"mean_K_D": True, "sphere_D": True})] == [
        "central_thickness_um",
        "mean_K_D",
    ]


def test_faults_say_field_what_was_read_and_what_is_accepted():
    assert texts({"zone_mm": 65.0}) == ["zone_mm: read 65, accepted 4 to 9 mm"]
    assert texts({"sphere_D": 21.5}) == ["sphere_D: read +21.5, accepted −30 to +20 D, with its sign unless it is 0"]
    assert texts({"thinnest_um": 560.0}) == [
        "thinnest_um: read 560, accepted at most the thickness at the centre (548 µm)"
    ]
    assert texts({"flap_um": 60.0, "epithelium_um": 62.0}) == [
        "flap_um: read 60, accepted deeper than the epithelium (62 µm)"
    ]
    finding = faults({**EYE, "zone_mm": 65.0})[0]
    assert finding.fault(written="65; mm").text == "zone_mm: read 65, mm, accepted 4 to 9 mm"


def test_an_eye_error_of_the_arithmetic_becomes_the_same_words():
    assert fault_of(EyeError("zone_mm", 9, "up to 8.5 mm; no more")).text == (
        "zone_mm: read 9, accepted up to 8.5 mm, no more"
    )


def test_columns_are_checked_row_by_row():
    nan = math.nan
    columns = {
        "sphere_D": np.array([-4.0, nan, -4.0, -31.0]),
        "central_thickness_um": np.array([548.0, 548.0, nan, 548.0]),
        "thinnest_um": np.array([560.0, nan, nan, 540.0]),
        "refraction": np.array(["", "plano", "-4.00", None], dtype=object),
        "zone_mm": 3.0,
    }
    found = {}
    for finding in faults(columns):
        found.setdefault(finding.field, []).append(finding.mask.tolist())
    assert found == {
        "sphere_D": [[False, False, False, True], [False, False, True, False]],  # out of range; spelled twice
        "zone_mm": [[True] * 4],
        "central_thickness_um": [[False, False, True, False]],
        "thinnest_um": [[True, False, False, False]],
    }
    thick = next(f for f in faults(columns) if f.field == "thinnest_um")
    assert thick.fault(0).text == "thinnest_um: read 560, accepted at most the thickness at the centre (548 µm)"


@given(st.integers(0, 2**32 - 1))
def test_a_column_of_eyes_has_the_faults_of_each_eye(seed):
    random = np.random.default_rng(seed)
    columns = {}
    for field in NUMBERS:  # a quarter not given, some beyond either end
        values = random.uniform(field.low, field.high, 3) + (field.high - field.low) * random.normal(0.0, 0.2, 3)
        columns[field.name] = np.where(random.random(3) < 0.25, np.nan, np.round(values, 2))
    for i in range(3):
        together = [f.fault(i).text for f in faults(columns) if f.mask[i]]
        assert together == [f.fault().text for f in faults({name: column[i] for name, column in columns.items()})]
        assert all(";" not in text and "\n" not in text for text in together)


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        ("zone_mm", "6,4", 6.4),
        ("sphere_D", "-6.00", -6.0),
        ("refraction", "-6.00 -1.25 x 170", (-6.0, -1.25, 170.0)),
        ("relationship", "Uniform", "uniform"),
        ("mean_K_D", "7.50 mm", 45.0),
        ("thickness_method", "", ""),
        ("zone_mm", "65", Fault("zone_mm", "65", "4 to 9 mm")),
        ("zone_mm", "1e999", Fault("zone_mm", "1e999", "4 to 9 mm")),
        ("radius_mm", "55 D", Fault("radius_mm", "55 D", "6.5 to 9.5 mm, or 35.53 to 51.92 D")),
        ("central_thickness_um", "551 mm", Fault("central_thickness_um", "551 mm", "300 to 900 µm, or 0.3 to 0.9 mm")),
        (
            "central_thickness_um",
            "0.55 µm",
            Fault("central_thickness_um", "0.55 µm", "300 to 900 µm, or 0.3 to 0.9 mm"),
        ),
    ],
)
def test_one_field_of_the_form(name, text, expected):
    assert check_one(name, text) == expected


def test_an_empty_field_of_the_form_is_not_given():
    assert math.isnan(check_one("zone_mm", "  "))


@given(st.sampled_from(sorted(fields())), st.text(max_size=20))
def test_one_field_gives_a_value_in_range_or_a_fault(name, text):
    found = check_one(name, text)
    if isinstance(found, Fault):
        assert found.field == name
    elif fields()[name].is_number and not math.isnan(found):
        assert fields()[name].low <= found <= fields()[name].high


def test_given_by_element():
    assert is_given(np.array(["", None, "x", math.nan], dtype=object)).tolist() == [False, False, True, False]
    assert is_given([0.0, math.nan]).tolist() == [True, False]
    assert not is_given(None)
    assert is_given(3)
