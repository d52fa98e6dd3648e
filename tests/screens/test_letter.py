"""Rows, texts and marks of a letter on screen, without a browser. Source: the rules of the letter dialog."""

from letter_cases import forty

from tissue.entry.letter.letter import read_letter
from tissue.entry.typed import read_fields
from tissue.eye.slips import SLIPS
from tissue.report.letter_terminal import letter_table
from tissue.screens.desk.reading import shown_eye
from tissue.screens.letter.marked import marked_letter
from tissue.screens.letter.questions import questions_of
from tissue.screens.letter.rows import rows_of, taken
from tissue.screens.plan.below import notices_part

PLAN = {
    "sphere_D": "-3.00",
    "cylinder_D": "-0.50",
    "axis_deg": "10",
    "radius_mm": "7.8",
    "refraction_kind": "cycloplegic",
}


def test_the_text_stays_whole_under_its_marks():
    for _, text, _ in forty():
        shown = marked_letter(text, read_letter(text))
        assert shown.striptags().split() == shown.__class__(text).unescape().split()


def test_what_is_taken_reads_back_as_what_was_read():
    for _, text, _ in forty():
        letter = read_letter(text)
        for side, read in letter["eyes"].items():
            rows = rows_of(read, PLAN, side)
            texts = taken(PLAN, {row.name: row.typed for row in rows})
            values, wrong = read_fields(texts, side)
            assert {name: fault.text for name, fault in wrong.items() if name != "central_thickness_um"} == {}
            for name, field in read.items():
                assert values.get(name, "manifest") == field["value"], (side, name)


def test_the_refraction_is_taken_whole():
    read = read_letter("OD -4.50 DS")["eyes"]["OD"]
    (row,) = rows_of(read, PLAN, "OD")
    assert row.differs and "−3.00 −0.50 × 10" in row.now
    assert not {"sphere_D", "cylinder_D", "axis_deg"} & set(taken(PLAN, {row.name: row.typed}))


def test_both_values_of_a_pair_are_quoted_with_their_lines():
    """43.25 and 44.50 D have the mean 43.875 D: whoever ticks it sees both, as they stand in the letter."""
    for text, where in (
        ("OD K1 43.25, K2 44.50", "line 1: “43.25”, “44.50”"),
        ("OD flat 43.25\nOD steep 44.50", "line 1: “43.25”; line 2: “44.50”"),
    ):
        letter = read_letter(text)
        (row,) = rows_of(letter["eyes"]["OD"], PLAN, "OD")
        assert (row.value, row.places) == ("43.875", where)
        assert all(value in letter_table(letter) for value in ("43.875", "43.25", "44.50"))


def test_one_question_for_one_field_of_one_eye():
    letter = read_letter(dict((number, text) for number, text, _ in forty())["15"])
    (question,) = questions_of(letter)
    assert (question.eye, question.field, question.why, len(question.words)) == ("OD", "refraction", "kind", 2)
    assert question.choices == ("-5.00 -0.75 x 12", "-4.50 -0.75 x 12")


def test_the_notice_on_plan_knows_the_other_eye():
    eye = {"central_thickness_um": "548", "refraction": "-4.00 -1.00 x 20"}
    other = {"central_thickness_um": "548", "refraction": "-2.50 -0.50 x 160"}
    treated = {"treated_sphere_D": "-2.50", "treated_cylinder_D": "-0.50", "treated_axis_deg": "160"}
    here, there = (shown_eye(texts, side)[0] for texts, side in ((eye | treated, "OD"), (other, "OS")))
    assert SLIPS["fellow-eye"] in notices_part(here, fellow=there)
    assert SLIPS["fellow-eye"] in notices_part(here, there)
    assert SLIPS["fellow-eye"] not in notices_part(here)
