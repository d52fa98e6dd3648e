"""Words and tables of the Alignment screen and the table of the optics, without a browser."""

from dataclasses import replace

import pytest
from own_maps import map_of, nine

from tissue.explore.zone_buys import one_row
from tissue.optics.figures import optics
from tissue.optics.sight.figures import sight_of
from tissue.report.measures import optics_measures, optics_value_of
from tissue.screens.desk.reading import shown_eye
from tissue.screens.fields.places import read_turn
from tissue.screens.pages.alignment import fields_note, found_part, guard_part, offset_part, rotation_table
from tissue.screens.sight.offset import seen_rows
from tissue.screens.tables.optics import optics_table

EYE = {"refraction": "-6.00 -3.75 x 10", "central_thickness_um": "560"}


def shown_of(side="OD", **more):
    shown, wrong = shown_eye(EYE | more, side)
    assert not wrong
    return shown


def test_a_wrong_axis_is_told_by_what_it_would_leave():
    """Source: arithmetic of a published case: -6.00 -3.75 x 10 treated at 100 leaves +3.75 -7.50 x 10."""
    treated = {"treated_sphere_D": "-6.00", "treated_cylinder_D": "-3.75", "treated_axis_deg": "100"}
    said = guard_part(shown_of(**treated).comparison)
    assert "would leave +3.75 −7.50 × 10 (= −3.75 +7.50 × 100) beside the target" in said
    assert "differ by one digit" in said and "At the cornea" in said


@pytest.mark.parametrize(("target", "words"), [("0", "leaves nothing"), ("-1.25", "leaves the target of −1.25")])
def test_a_plan_that_is_the_measured_refraction_less_the_target_says_so(target, words):
    said = guard_part(shown_of(target_D=target).comparison)
    assert "is the measured one less the target" in said and words in said and "would leave" not in said


def test_with_a_map_the_thinnest_point_is_the_maps():
    """Source: rule of maps: a cornea with a map of thickness takes its thinnest point from it, whatever is typed."""
    cornea = shown_of().comparison.cornea
    assert "the map" not in fields_note(cornea)
    assert fields_note(replace(cornea, own_map=map_of(nine))).endswith("The thinnest point is the map's.")


def test_offset_stands_beside_centred_and_sides_mirror():
    """Source: nasal is the viewer's right in a right eye, the left in a left eye."""
    words = {}
    for side in ("OD", "OS"):
        words[side] = offset_part(shown_of(side, centre_x_mm="0.5").comparison, side)
    assert "Treatment centre 0.5 mm nasal; in brackets" in words["OD"]
    assert "Treatment centre 0.5 mm temporal; in brackets" in words["OS"]
    assert ">5.5 (6.5)<" in words["OD"] and "± 10 %" in words["OD"]
    assert "nothing to compare" in offset_part(shown_of().comparison, "OD")


def test_the_image_stands_beside_what_the_offset_costs():
    """Source: `tissue sight` of the same plan, and of the same plan centred on the vertex."""
    shown = shown_of(centre_x_mm="0.8", pupil_mm="6")
    comparison = shown.comparison
    light, contrast = seen_rows(comparison, True)
    taken = one_row(comparison.results["flap"].option.removal)
    planned = sight_of(comparison.cornea, taken, comparison.pupil)
    centred = sight_of(comparison.cornea, replace(taken, centre_x_mm=0.0), comparison.pupil)
    assert light[2] == f"{planned.light_10_arcmin_percent:.1f} ({centred.light_10_arcmin_percent:.1f})"
    assert contrast[2] == f"{planned.mtf_10:.3f} ({centred.mtf_10:.3f})"
    assert light[0] in offset_part(comparison, "OD") and "not acuity, not satisfaction" in offset_part(comparison, "OD")


def test_an_option_that_is_not_there_has_dashes_and_its_reason():
    thin = shown_of(central_thickness_um="330", refraction="-14.00 -1.00 x 10", thinnest_um="326")
    said = offset_part(thin.comparison, "OD")
    assert "Flap ablation: no bed is left" in said and '<td class="number">–</td>' in said
    assert thin.optics["flap"] is None and thin.optics["surface"] is not None


def test_rotation_table_has_every_degree_in_both_forms():
    """Source: C of the optics: −1.50 × 20 by 4° leaves 0.21 × 157; by 10° 0.52 × 160; SE unchanged."""
    treated = shown_of(refraction="-3.00 -1.50 x 20").comparison.treatment.refraction
    table = rotation_table(treated, 4.0)
    for degrees in range(16):
        assert f"<td>{degrees}°</td>" in table
    plain = table.replace("\u00a0", " ")
    assert "+0.10 −0.21 × 157" in plain and "+0.26 −0.52 × 160" in plain and "14 %" in plain
    assert "SE 0.00" in plain and "does not change" in plain
    assert "<td>−15°</td>" in rotation_table(treated, -4.0)


def test_published_series_stand_with_their_figures():
    """Source: the abstracts of the two series (keys centration_series, cyclotorsion2017)."""
    said = found_part()
    for words in ("57.8 %", "85.4 %", "PMC5406038", "5.64 ± 2.55°", "range 2 to 12", "0.18 mm nasal", "no source"):
        assert words in said


@pytest.mark.parametrize(("text", "turn"), [("5", 5.0), ("−7,5", -7.5), ("+15", 15.0), (" 0° ", 0.0)])
def test_a_rotation_is_read_as_it_is_written(text, turn):
    assert read_turn(text) == (turn, None)


@pytest.mark.parametrize("text", ["15.1", "-20", "", "x", "nan", "inf"])
def test_a_rotation_beyond_its_limits_is_told(text):
    fault = read_turn(text)[1]
    assert fault.accepted == "−15 to 15°" and fault.read == (text or "nothing")


def test_the_table_of_the_optics_is_the_arithmetic_rounded():
    shown = shown_of(refraction="-6.00 -1.25 x 170")
    table, eye = optics_table(shown), shown.comparison
    alone = optics(eye.cornea, eye.treatment, eye.results["lenticule"].option, eye.pupil)
    for measure in optics_measures().values():
        assert table.count(f"<summary>{measure.label}</summary>") == 1
        assert optics_value_of(measure, shown.optics["lenticule"]) == optics_value_of(measure, alone)
        assert f">{optics_value_of(measure, alone)}<" in table
    assert "−5.60 −1.07 × 170" in table and "keeps only about 4 mm" in table


def test_a_kept_plan_stands_beside_in_the_table_of_the_optics():
    other = shown_of(refraction="-3.00 -1.25 x 170")
    assert "kept −2.90" in optics_table(shown_of(), kept=other)


def test_both_spellings_of_what_is_left_are_one_refraction():
    """Source: transposition: the sphere of one form is sphere and cylinder of the other, as printed."""
    treated = shown_of(refraction="-5.50 -0.75 x 12").comparison.treatment.refraction
    table = rotation_table(treated, 5.0).replace("\u00a0", " ")
    assert "<td>+0.07 −0.13 × 149.5</td><td>−0.06 +0.13 × 59.5</td>" in table
    assert "At 5°: +0.07 −0.13 × 149.5 (= −0.06 +0.13 × 59.5)" in table
