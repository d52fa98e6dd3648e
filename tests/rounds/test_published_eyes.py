"""A published eye is asked only about what was done to it: nothing is put on it that it did not have."""

import numpy as np
import pytest

from tissue.ground.sources import eye_name, rows
from tissue.rounds.cases import IMAGINED, published_cases
from tissue.rounds.kinds import MAKERS, ask, round_of

EYES = {row["case_id"]: row for row in rows("published_eyes")}
SEEDS = range(1, 61)
WORDS = {
    "surface": ("surface ablation",),
    "flap": ("flap",),
    "lenticule": ("lenticule", "cap", "extraction"),
}
ACTS = ("recut", "suction", "second", "altered", "ranking", "credits")  # an act more, or several ways beside each other
IMAGINED_KINDS = ("slip", "turn-share", "turn-left", "zone", "thick-flap", "chance", "bed-sd")


def asked():
    """(row of the eye, Question) of every kind, eye and seed."""
    for seed in SEEDS:
        for question in round_of(published_cases(), seed, 40):
            if question.kind.id != "rule":
                yield EYES[question.id.split("/")[1]], question


ASKED = list(asked())


def operations(question):
    """The ways that the texts of a question speak of."""
    texts = (question.prompt, question.before, *question.choices, *(given.label for given in question.given))
    texts += tuple(line.words for line in question.lines)
    said = " ".join(texts).casefold()
    return {way for way, words in WORDS.items() if any(word in said for word in words)}


def test_rounds_of_sixty_seeds_put_no_operation_on_an_eye_that_did_not_have_it():
    assert len(ASKED) > 500
    others = [
        (row["case_id"], question.id)
        for row, question in ASKED
        if operations(question) - {row["procedure"]} or question.kind.id in ACTS or question.shows is not None
    ]
    assert others == []


@pytest.mark.parametrize("kind", MAKERS)
def test_every_kind_keeps_to_the_way_the_eye_had(kind):
    for case in published_cases():
        for seed in range(6):
            question = ask(kind, case, np.random.default_rng(seed))
            if question is not None and kind != "rule":
                assert operations(question) <= {EYES[case.code]["procedure"]}, question.id


def test_what_is_thought_up_says_so():
    found = [question for _, question in ASKED if question.kind.id in IMAGINED_KINDS]
    assert {question.kind.id for question in found} == set(IMAGINED_KINDS)
    assert all(question.before.startswith(IMAGINED) for question in found)


def flap(case):
    return case.cut(case.comparison.under_flap)


def test_a_cut_that_was_not_reported_is_marked_as_a_default_and_a_measured_one_is_called_measured():
    eyes = {case.code: case for case in published_cases()}
    assert flap(eyes["E01a"]).default and not flap(eyes["L01a"]).default
    assert flap(eyes["L01a"]).label == "Flap" and flap(eyes["L01b"]).label == "Flap, as measured"
    assert ask("thick-flap", eyes["L01b"], np.random.default_rng(1)) is None
    planned = {row["case_id"]: row["cut_is"] for row in EYES.values() if row["flap_or_cap_um"]}
    assert set(planned.values()) == {"planned", "measured"}


def test_no_name_of_a_row_and_no_note_to_self_is_read():
    texts = [
        text
        for _, question in ASKED
        for text in (question.eye, question.prompt, *(f"{one.label} {one.text}" for one in question.given))
    ]
    rules = [q for seed in SEEDS for q in round_of(published_cases(), seed, 5, ["rule"])]
    texts += [one for q in rules for one in (*q.choices, *(f"{g.label} {g.text}" for g in q.given))]
    assert rules and not [text for text in texts for name in EYES if name in text.split()]
    notes = ("recompute", "cct", "MEMORY", "DERIVED", "PLUS", "INTENDED", "_")
    assert not [row["outcome"] for row in EYES.values() for word in notes if word in row["outcome"]]
    assert len({eye_name(name) for name in EYES}) == len(EYES)
