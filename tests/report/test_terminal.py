"""The table of the terminal: figures as in the JSON, rounded; both forms; marks, spans, notices, standing lines."""

import re

import pytest
from helpers import comparison_of, eye_of

from tissue.report.measures import NOT_STUDIED, STANDING_LINE, measures
from tissue.report.terminal import plan_table

EYE = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0, "thinnest_um": 543.0,
       "thinnest_x_mm": -0.6, "thinnest_y_mm": -0.5}  # fmt: skip
VERDICTS = ("safe", "unsafe", "pass", "fail", "suitable", "candidate", "recommend")


def table(code="harbour-03", **values):
    return plan_table(code, {"OD": (None, comparison_of(**{**EYE, **values}), "")})


def row(text, label):
    """The cells of a row: what two spaces and more hold apart."""
    (line,) = (line for line in text.splitlines() if line.startswith(label))
    return re.split(r"\s{3,}", line)[1:]


def test_heading_has_both_forms_of_the_refraction():
    # Source: −6.00 −1.25 × 170 is −7.25 +1.25 × 80 (transposition: add, change the sign, turn by 90)
    lines = table().splitlines()
    assert lines[0] == "Plan harbour-03"
    assert lines[2] == "OD (right eye)   −6.00 −1.25 × 170   = −7.25 +1.25 × 80"
    assert "at the cornea −5.60 −1.07 × 170" in lines[3] and "thickness at centre 548 µm, thinnest 543 µm" in lines[3]


IN_THE_BUDGET = [m for m in measures().values() if m.figure not in ("strength", "bed_below_line_percent")]


@pytest.mark.parametrize("measure", IN_THE_BUDGET, ids=lambda measure: measure.id)
def test_a_row_is_the_figure_of_the_json_rounded(measure):
    cells = row(table(), measure.label.split("{")[0])
    for cell, option in zip(cells, eye_of(**EYE)["options"].values(), strict=True):
        shown = float(re.match(r"[−\d.]+", cell)[0].replace("−", "-"))
        assert shown == pytest.approx(option[measure.figure], abs=0.5 * 10.0**-measure.decimals + 1e-9)


def test_every_measure_has_one_row_in_the_order_of_the_list():
    lines, found = table().splitlines(), []
    for measure in measures().values():
        heading = measure.label.format(line="250 µm")
        found += [i for i, line in enumerate(lines) if line.startswith(f"{heading}, {measure.unit} ")]
    assert len(found) == len(measures()) and found == sorted(found)


def test_shares_not_studied_for_a_procedure_carry_a_mark():
    # Source: the percent altered was derived for flaps (Santhiago 2014)
    surface, flap, lenticule = row(table(), "Tissue altered, PTA")
    assert "†" in surface and "†" not in flap and "†" in lenticule


def test_intervals_stand_beside():
    options = eye_of(**EYE)["options"]
    for cell, option in zip(row(table(), "Residual bed (RSB), centre"), options.values(), strict=True):
        assert f"({option['bed_low_um']:.0f}–{option['bed_high_um']:.0f})" in cell


def test_every_relationship_has_a_row_with_its_strength():
    text, options = table(), eye_of(**EYE)["options"]
    assert "In-plane tensile modulus" in text and "Plain thickness" in text
    uniform = row(text, "  Plain thickness")
    assert [float(cell) for cell in uniform] == [
        pytest.approx(o["strength_percent"]["uniform"], abs=0.05) for o in options.values()
    ]


def test_nothing_to_give_is_a_dash():
    assert row(table(sphere_D=0.0, cylinder_D=0.0), "Residual bed, least") == ["–", "–", "–"]


def test_notices_stand_once_each_and_end_with_the_standing_lines():
    text = table(sphere_D=-9.0, central_thickness_um=543.0)
    assert text.count("The bias makes the bed look thicker") == 1
    assert text.endswith(STANDING_LINE) and NOT_STUDIED in text


def test_no_verdict_in_any_table():
    # Source: the rule of the tool; the standing line is the one place that speaks of fitness, to deny it
    for values in (
        {},
        {"sphere_D": -12.0},
        {"sphere_D": 4.0},
        {"sphere_D": 0.0, "cylinder_D": 0.0},
        {"central_thickness_um": 900.0},
    ):
        words = set(re.findall(r"[a-z]+", table(**values).replace(STANDING_LINE, "").lower()))
        assert not words & set(VERDICTS)


def test_a_plan_without_a_code():
    assert table(code="").startswith("Plan\n")
