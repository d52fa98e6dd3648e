"""Answers as people write them: read, laid beside the arithmetic at the edge of the tolerance, and written down.

Sources: the ways of writing that the entry form accepts; the definition of a tolerance (at it still within).
"""

import csv
import io

import numpy as np
import pytest
from round_cases import asked, case_of, demo_cases

from tissue.rounds.judge import NO_ANSWER, OTHER_FORM, OUTSIDE, WITHIN, judge, unanswered
from tissue.rounds.kinds import ask
from tissue.rounds.question import NONE
from tissue.rounds.results import HEAD, count_words, results_csv

EYE = case_of(sphere_D=-6.0, cylinder_D=-1.25, axis_deg=170.0, central_thickness_um=548.0)


def question_of(kind, wanted="", case=EYE):
    """A question whose id holds the words wanted."""
    for seed in range(60):
        question = ask(kind, case, np.random.default_rng(seed))
        if question is not None and wanted in question.id:
            return question
    raise AssertionError(f"no {kind} with {wanted}")


@pytest.mark.parametrize(
    "kind", ["bed", "thumb", "chance", "turn-share", "zone", "K-after", "altered", "reserve", "second"]
)
def test_at_the_tolerance_is_within_and_a_bit_more_is_outside(kind):
    for _, question in asked(kind)[:12]:
        for side in (-1.0, 1.0):
            edge = question.answer + side * question.tolerance
            assert judge(question, repr(edge)).within
            assert judge(question, repr(edge + side * 0.001)).within is False


@pytest.mark.parametrize("kind", ["vertex", "equivalent"])
def test_a_power_at_the_tolerance_is_within_and_a_bit_more_is_outside(kind):
    for _, question in asked(kind)[:12]:
        for side in (-1.0, 1.0):
            edge = question.answer + side * question.tolerance
            assert judge(question, f"{edge:+.9f}").within
            assert judge(question, f"{edge + side * 0.001:+.9f}").within is False


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("313,5", 313.5),
        ("314 µm", 314.0),
        ("314 microns", 314.0),
        ("0.314 mm", 314.0),
        (" 314 ", 314.0),
        ("+314um", 314.0),
    ],
)
def test_a_thickness_is_read_as_people_write_it(text, read):
    judged = judge(question_of("bed", "flap"), text)
    assert judged.value == pytest.approx(read) and judged.within and judged.text == text


@pytest.mark.parametrize(
    "text", ["", "abc", "314 D", "3 14", "about 314", "nan", "inf", "314;", "1e999", "--3", "−", "314 µm thick"]
)
def test_what_cannot_be_read_is_said_and_does_not_count(text):
    judged = judge(question_of("bed", "flap"), text)
    assert not judged.counts and judged.within is None and np.isnan(judged.difference)
    assert judged.words.startswith("nothing was committed: read ")
    assert judged.words.endswith("accepted a number in µm")


def test_a_power_needs_its_sign_and_may_have_a_unicode_minus():
    """Source: the rule of the entry form: a power without its sign is not read."""
    question = question_of("vertex")
    assert (
        judge(question, "6.67").words
        == "nothing was committed: read 6.67 without a sign, accepted a number in D with its sign"
    )
    for text in ("-6.67", "−6,67 D", "– 6.67 dpt"):
        assert judge(question, text).within
    assert judge(question, "+6.67").within is False


@pytest.mark.parametrize("text", ["34.7", "34,7 %", "34.7%", "34.7 percent"])
def test_a_share_is_read_with_or_without_its_sign(text):
    """Source: 2 · sin 10° = 34.7 %."""
    assert judge(question_of("turn-share", "/10"), text).within


def test_an_axis_is_judged_around_the_circle():
    """An axis of 0 is 180: 1° and 180° lie 1° apart."""
    case = case_of(sphere_D=-4.0, cylinder_D=-2.0, axis_deg=90.0, central_thickness_um=548.0)
    question = question_of("meridian", case=case)
    assert question.answer == 180.0
    assert [judge(question, text).within for text in ("180", "0", "1", "179°", "2", "90")] == [True] * 4 + [False] * 2
    assert judge(question, "181").words == "nothing was committed: read 181, accepted an axis of 0 to 180°"


def test_a_refraction_is_taken_in_either_form():
    question = question_of("turn-left", "/10")
    assert judge(question, "+0.22 -0.43 x 130").within
    assert judge(question, "-0.21 +0.43 x 40").within
    assert judge(question, "+0.22 -0.43 x 145").within is False
    assert judge(question, "0.22 0.43 130").fault.startswith(
        "read 0.22 0.43 130, accepted sphere and cylinder each with its sign"
    )


def test_the_other_form_is_wanted_where_it_was_asked_for():
    question = question_of("transpose", "plus")
    assert judge(question, "-7.25 +1.25 x 80").within
    same = judge(question, "-6.00 -1.25 x 170")
    assert same.within is False and same.said == OTHER_FORM and same.difference < 0.01
    assert judge(question, "-7.25 +1.25 x 170").within is False


def test_choices_are_read_by_their_words():
    question = question_of("deepest")
    assert judge(question, " At the treatment centre ").within
    assert judge(question, question.choices[1]).within is False
    assert judge(question, "somewhere").words == "nothing was committed: read somewhere, accepted one of the choices"


def test_several_choices_all_count():
    question = question_of("suction", "lenticule 0.44")
    assert judge(question, ["Flap", "Thinner cap", "Thicker cap"]).within
    assert judge(question, "thicker cap; flap; Thinner cap").within
    few, more = judge(question, ["Flap"]), judge(question, [*question.choices])
    assert (few.within, few.difference) == (False, 2.0) and (more.within, more.difference) == (False, 6.0)
    assert judge(question, []).words == "nothing was committed: read nothing, accepted one mark or more"


def test_none_of_them_stands_alone():
    (question,) = [one for _, one in asked("ranking") if one.answer == (NONE,)][:1]
    assert judge(question, [NONE]).within
    assert judge(question, [NONE, question.choices[0]]).counts is False


def test_the_table_of_results_reads_back():
    bed, slip = question_of("bed", "flap"), question_of("slip", "cylinder")
    results = [
        (1, 7, 1, judge(bed, "314 µm")),
        (1, 7, 2, judge(slip, "0.00 -2.50 x 170")),
        (1, 7, 3, unanswered(question_of("suction"))),
    ]
    head, *rows = csv.reader(io.StringIO(results_csv(results)))
    assert tuple(head) == HEAD and len(rows) == 3
    first, second, third = (dict(zip(head, row, strict=True)) for row in rows)
    assert (first["answered"], first["read"], first["unit"], first["result"]) == ("314 µm", "314 µm", "µm", WITHIN)
    assert float(first["difference"]) == pytest.approx(314.0 - bed.answer, abs=5e-4)
    assert float(first["tolerance"]) == 2.0
    assert second["read"] == "0.00 −2.50 × 170" and second["answer"] == "0.00 −2.50 × 170 = −2.50 +2.50 × 80"
    assert (third["result"], third["read"], third["difference"]) == (NO_ANSWER, "", "")
    assert count_words(results) == "Right: 2 of 3." and count_words([]) == ""


def test_an_answer_outside_is_called_so_and_nothing_more():
    assert judge(question_of("bed", "flap"), "200").words == OUTSIDE == "outside the tolerance"


def test_a_text_that_a_spreadsheet_would_work_out_stays_a_text():
    """A file's own name for an eye is not a formula."""
    question = question_of("bed", "flap")
    rows = list(csv.reader(io.StringIO(results_csv([(1, 7, 1, judge(question, "=1+1"))]))))
    assert rows[1][HEAD.index("answered")] == "'=1+1"
    assert demo_cases()[0].label.startswith("OD")
