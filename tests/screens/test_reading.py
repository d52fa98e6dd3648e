"""What stands in the fields of one eye: read, refused in the words of the command, and shown in the other spelling."""

import numpy as np
import pytest

from tissue.entry.checks import check_one
from tissue.entry.eye import used
from tissue.entry.fields import fields
from tissue.entry.typed import read_fields
from tissue.screens.desk.reading import displayed, number_text, placeholder, shown_eye

EYE = {"sphere_D": "-6.00", "cylinder_D": "-1.25", "axis_deg": "170", "central_thickness_um": "548"}


def test_a_written_refraction_and_its_numbers_give_the_same_figures():
    """Source: a refraction has one meaning, however it is spelled (interface)."""
    written = {"refraction": "−7,25 / +1,25 x 80", "central_thickness_um": "0,548 mm"}
    beds = [
        [float(r.budget.bed_central_um) for r in shown_eye(texts, "OD")[0].comparison.results.values()]
        for texts in (EYE, written)
    ]
    assert beds[0] == pytest.approx(beds[1], abs=1e-9)


@pytest.mark.parametrize("name", [name for name, field in fields().items() if field.is_number])
def test_a_value_out_of_range_is_refused_in_the_words_of_its_field(name):
    """Source: the limits of the field list, which the command uses as well."""
    field = fields()[name]
    beyond = f"{field.high + 1:+g}" if field.kind == "power" else f"{field.high * 2 + 1000:g}"
    _, wrong = read_fields(EYE | {name: beyond})
    assert wrong[name].text == check_one(name, beyond).text
    assert field.accepted in wrong[name].accepted


def test_what_must_agree_between_fields_is_refused_beside_one_of_them():
    """Source: interface, refusals: a thinnest point thicker than the centre; a flap within the epithelium."""
    assert "thinnest_um" in read_fields(EYE | {"thinnest_um": "560"})[1]
    assert "flap_um" in read_fields(EYE | {"flap_um": "60", "epithelium_um": "70"})[1]
    assert "axis_deg" in read_fields({k: v for k, v in EYE.items() if k != "axis_deg"})[1]


def test_an_impossible_eye_gives_a_fault_and_no_figures():
    """Source: definition: a surface that does not exist refuses the eye, field zone_mm.

    +20 D at 20 mm is +33.3 D at the cornea; with K 60 the curvature after is 0.27/mm, no sphere reaches 4.5 mm out.
    """
    extreme = {"vertex_mm": "20", "zone_mm": "9", "mean_K_D": "60", "sphere_D": "+20.00"}
    shown, wrong = shown_eye(extreme | {"central_thickness_um": "548"}, "OD")
    assert shown is None and list(wrong) == ["zone_mm"]


def test_both_spellings_are_shown_and_a_plus_cylinder_stays_plus():
    """Source: worked by hand: −7.25 +1.25 × 80 is −6.00 −1.25 × 170."""
    typed = {"sphere_D": "-7.25", "cylinder_D": "+1.25", "axis_deg": "80"}
    assert displayed(typed, read_fields(typed)[0])["refraction"] == "−7.25 +1.25 × 80"
    typed = {"refraction": "-7.25 +1.25 x 80"}
    assert displayed(typed, read_fields(typed)[0])["cylinder_D"] == "+1.25"


def test_what_stands_in_for_an_empty_field_is_what_is_used():
    """Source: definition: base 15 µm for myopia, lenticule blend 0.1 mm with a cylinder; field list: zone 6.5 mm."""
    shown, _ = shown_eye(EYE, "OD")
    known = used(shown.inputs, shown.comparison)
    found = {name: placeholder(name, known) for name in ("base_um", "lenticule_blend_mm", "zone_mm", "profile")}
    assert found == {"base_um": "15", "lenticule_blend_mm": "0.1", "zone_mm": "6.5", "profile": "munnerlyn"}
    assert placeholder("reported_ablation_um", known) == ""


@pytest.mark.parametrize("value", [-30.0, -0.25, 0.0, 0.25, 20.0])
def test_a_power_in_its_field_reads_back(value):
    """Source: the field list: a power carries its sign unless it is zero."""
    assert check_one("sphere_D", number_text("sphere_D", value)) == value


def test_costs_of_a_step_belong_to_the_plan_shown():
    """Source: definition: 10 µm more of cap take 10 µm of bed, 10 µm less of flap give 10 µm."""
    shown, _ = shown_eye(EYE, "OD")
    assert shown.costs["cap_um"][1]["lenticule"]["bed_central_um"] == pytest.approx(-10.0, abs=1e-9)
    assert shown.costs["flap_um"][1]["flap"]["bed_central_um"] == pytest.approx(10.0, abs=1e-9)
    assert shown.costs["zone_mm"][1]["surface"]["bed_central_um"] < 0
    assert np.isclose(shown.costs["cap_um"][1]["surface"]["bed_central_um"], 0.0)
