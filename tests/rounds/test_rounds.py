"""Questions of a round: every kind on every eye, lines that make the answer, a seed that makes the round again.

Sources: the written model (definitions of the figures), rules of look and words (no verdict on an eye).
"""

import re

import numpy as np
import pytest
from round_cases import KINDS, OF_MAPS, all_cases, asked, case_of, demo_cases, map_cases

from tissue.ground.errors import EyeError
from tissue.ground.sources import readme
from tissue.rounds.cases import published_cases
from tissue.rounds.judge import judge
from tissue.rounds.kinds import LARGEST_SEED, ask, round_of
from tissue.rounds.line import BESIDE, SUMMANDS
from tissue.rounds.question import FORMS, kinds

VERDICTS = re.compile(
    r"\b(safe|unsafe|suitable|candidate|pass(es|ed)?|fail(s|ed)?|recommend\w*|score|risk of this eye|good|bad)\b", re.I
)
NEEDS_A_WAY = set(KINDS) - {
    "target",
    "equivalent",
    "transpose",
    "meridian",
    "vertex",
    "slip",
    "turn-share",
    "turn-left",
    "rule",
}
SUMS_OF_THE_GIVEN = {
    # which of the given numbers are added, which taken off, by the definition of the figure
    "bed": lambda n: n[0] - sum(n[1:]),
    "thick-flap": lambda n: n[0] - n[2] - sum(n[3:]),
    "altered": lambda n: 100.0 * (n[3] + n[4] - n[1] - n[2]) / n[0],
    "reserve": lambda n: n[0] - sum(n[1:]),
    "thumb": lambda n: n[0] ** 2 * abs(n[1]) / 3.0,
    "vertex": lambda n: n[0] / (1.0 - n[1] * n[0] / 1000.0),
    "K-after": lambda n: n[0] + 0.9 * n[1],
}


def texts(question):
    """Every word of a question that is read before or after the answer."""
    rows = [f"{row.label} {row.text}" for row in question.given]
    lines = [f"{line.words} {line.figure} {line.unit}" for line in question.lines]
    said = (question.prompt, question.before, question.answer_words, question.tolerance_words, question.eye)
    return [*said, *rows, *lines, *question.choices, question.kind.title]


def given_numbers(question):
    """The first number of every row of what is given."""
    return [float(re.search(r"-?\d+(\.\d+)?", row.text.replace("−", "-"))[0]) for row in question.given]


def test_there_are_as_many_kinds_as_the_readme_says_and_each_has_words_and_a_source():
    assert f"in {len(kinds())} kinds of question" in readme() and tuple(kinds()) == KINDS
    for kind in kinds().values():
        assert kind.title and kind.group and all(kind.origins)
        assert bool(kind.unit) == bool(kind.tolerance) == bool(kind.why)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_asked_and_its_answer_can_be_given(kind):
    """The answer as it is written lies within the tolerance; what is wanted has its form."""
    assert len({case.label for case, _ in asked(kind)}) >= (3 if kind in OF_MAPS else 4)
    for _, question in asked(kind):
        assert question.kind.id == kind and question.form in FORMS and question.prompt.endswith(("?", "one."))
        answer = question.answer_words
        answer = answer.split(" = ")[0] if question.form == "refraction" else answer
        judged = judge(question, answer)
        assert judged.within, (question.id, judged.words, answer)
        if question.form in ("one", "some"):
            answers = {question.answer} if question.form == "one" else set(question.answer)
            assert answers and answers <= set(question.choices) and len(set(question.choices)) == len(question.choices)
        if question.form in ("number", "power", "axis"):
            assert np.isfinite(question.answer)


@pytest.mark.parametrize("kind", KINDS)
def test_the_lines_make_the_answer(kind):
    """Lines with a plus or a minus add up to the line with "=", and the last line that is not beside is the answer."""
    for _, question in asked(kind):
        results = [line for line in question.lines if line.sign == "="]
        if results:
            lines = question.lines[: question.lines.index(results[0])]
            total = sum(SUMMANDS[line.sign] * line.value for line in lines)
            assert total == pytest.approx(results[0].value, abs=1e-9), question.id
        if question.form in ("number", "power", "axis"):
            *_, result = (line for line in question.lines if line.sign != BESIDE)
            assert result.value == pytest.approx(question.answer, abs=1e-9), question.id


@pytest.mark.parametrize("kind", SUMS_OF_THE_GIVEN)
def test_what_is_given_is_enough(kind):
    """The rounded figures that are given, by the definition of the figure, lead to an answer within the tolerance."""
    for _, question in asked(kind):
        reckoned = SUMS_OF_THE_GIVEN[kind](given_numbers(question))
        assert abs(reckoned - question.answer) <= question.tolerance, (question.id, reckoned, question.answer)


@pytest.mark.parametrize("kind", KINDS)
def test_no_word_judges_the_eye(kind):
    """Source: rules of look and words."""
    for _, question in asked(kind):
        assert not [text for text in texts(question) if VERDICTS.search(text)], question.id


def test_the_pattern_of_verdicts_finds_one():
    assert VERDICTS.search("this eye is Suitable") and not VERDICTS.search("unsuitably passive")


@pytest.mark.parametrize(
    "kind", ["bed", "thick-flap", "altered", "recut", "second", "reserve", "chance", "thumb", "vertex"]
)
def test_the_answer_is_not_among_what_is_given(kind):
    for _, question in asked(kind):
        before = " ".join([question.prompt, *(row.text for row in question.given)])
        assert question.answer_words not in before or question.answer_words in ("0 µm", "+0 µm"), question.id


def test_nothing_is_asked_of_a_way_that_is_not_there():
    """A cornea that no way leaves a bed of, and one with nothing to treat: only the refraction is asked about."""
    gone = case_of(sphere_D=-25.0, zone_mm=7.0, cylinder_D=-1.0, axis_deg=10.0, central_thickness_um=300.0)
    none = case_of(sphere_D=0.0, central_thickness_um=548.0)
    assert not any(result.available for result in gone.comparison.results.values())
    for kind in KINDS:
        for seed in range(6):
            assert ask(kind, none, np.random.default_rng(seed)) is None
            question = ask(kind, gone, np.random.default_rng(seed))
            assert question is None or kind not in NEEDS_A_WAY


def test_only_ways_that_are_there_are_asked_about():
    """A cornea that keeps a bed under a surface ablation alone."""
    thin = case_of(sphere_D=-9.0, central_thickness_um=300.0, flap_um=160.0, cap_um=160.0)
    assert [name for name, result in thin.comparison.results.items() if result.available] == ["surface"]
    for kind in KINDS:
        for seed in range(6):
            question = ask(kind, thin, np.random.default_rng(seed))
            assert question is None or kind not in {
                "thick-flap",
                "altered",
                "ranking",
                "credits",
                "suction",
                "recut",
                "second",
            }
            if question is not None and kind in ("bed", "reserve", "chance"):
                assert "/surface" in question.id


def test_a_ways_figures_are_not_ranked_where_one_depth_was_reported():
    """A laser's depth for the flap beside a computed lenticule is not one plan."""
    reported = next(case for case in published_cases() if case.code == "L07")
    assert [ask(kind, reported, np.random.default_rng(1)) for kind in ("altered", "ranking", "credits")] == [None] * 3


def test_the_published_eyes_give_their_printed_beds():
    """Source: tests/published/eyes.csv, beds of L01a, L01b, L07, S01 and E01b."""
    printed = {
        "L01a": ("flap", 264),
        "L01b": ("flap", 224),
        "L07": ("flap", 339),
        "S01": ("lenticule", 274),
        "E01b": ("lenticule", 273),
    }
    found = {case.code: case for case in published_cases()}
    for code, (way, bed) in printed.items():
        assert float(found[code].comparison.results[way].budget.bed_central_um) == pytest.approx(bed, abs=1e-6)


def test_a_seed_makes_a_round_again_and_another_one_another():
    rounds = [[question.id for question in round_of(all_cases(), seed, 12)] for seed in (2024, 2024, 2025)]
    assert rounds[0] == rounds[1] != rounds[2]


def test_the_questions_of_a_round_are_unlike_and_every_kind_comes_once_first():
    questions = round_of((*all_cases(), *map_cases()), 3, 60)
    assert len({question.id for question in questions}) == len(questions) == 60
    assert {question.kind.id for question in questions[: len(KINDS)]} == set(KINDS)


def test_what_a_question_varies_does_not_depend_on_the_eye():
    """The same seed asks other eyes about the same turn, moment and residual."""
    for kind in ("turn-share", "suction", "zone", "thick-flap", "slip"):
        settings = set()
        for case in demo_cases()[4:7]:
            (question,) = round_of([case], 77, 1, [kind])
            settings.add(question.id.rsplit("/", 1)[1])
        assert len(settings) == 1


def test_a_round_has_the_kinds_that_are_wanted_and_ends_where_the_eyes_carry_no_more():
    case = demo_cases()[4]
    questions = round_of([case], 1, 50, ["K-after", "thumb"])
    assert sorted(question.kind.id for question in questions) == ["K-after", "thumb"]
    assert round_of([], 1, 5) == () and round_of([case], 1, 0) == ()


def test_wrong_kinds_and_seeds_are_refused_by_name():
    case = demo_cases()[0]
    with pytest.raises(EyeError, match="kind: read lens; accepted equivalent, transpose"):
        ask("lens", case, np.random.default_rng(1))
    with pytest.raises(EyeError, match="kind: read lens"):
        round_of([case], 1, 2, ["lens"])
    for seed in (-1, LARGEST_SEED + 1):
        with pytest.raises(EyeError, match="seed"):
            round_of([case], seed, 2)


def test_defaults_are_marked_and_what_was_measured_is_not():
    """Source: the plan file gives the thickness and no flap."""
    (case,) = [case for case in demo_cases() if case.code == "harbour-03" and case.side == "OD"]
    assert not case.given("central_thickness_um").default and case.given("flap_um").default
    assert case.given("central_thickness_um").text == "548 µm" and case.given("sphere_D").text == "−6.00 D"
