"""The reasons after an answer: every formula worked out again from the figures that stand in it, and from outside.

Sources: arithmetic, by a reckoner of its own (tests/support/reckoning.py); the written model; printed numbers.
"""

import re

import numpy as np
import pytest
from reckoning import half_a_digit, number, reckoned
from round_cases import KINDS, asked
from round_models import model, setting, values_of

from tissue.rounds.line import BESIDE, Line

READ_OFF = {"rule", "suction", "ranking", "deepest"}  # kinds whose answer is compared, not worked out
WIDE = 3.0  # a reason is no looser than this times the tolerance: up to six figures, each half a micrometre off


def reasons(question):
    return [line for line in question.lines if line.formula]


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_says_why_with_the_figures_of_the_eye(kind):
    """A formula is there, each of its quantities has a figure, and no brace is left."""
    found = [line for _, question in asked(kind) for line in reasons(question)]
    assert found
    for _, question in asked(kind):
        if kind not in READ_OFF:
            assert reasons(question), question.id
    for line in found:
        assert not re.search(r"[{}]", line.formula_words + line.numbers), line
        assert {name for name in re.findall(r"{([^}]*)}", line.formula)} == {name for name, _ in line.put}


@pytest.mark.parametrize("kind", KINDS)
def test_every_formula_gives_its_figure(kind):
    """Source: arithmetic. Where every quantity lies within its last written digit, the result lies there too."""
    for _, question in asked(kind):
        for line in reasons(question):
            low, high = reckoned(line)
            half = half_a_digit(line.figure.split("+")[-1]) + 1e-9
            assert low - half <= line.value <= high + half, (question.id, line.formula, line.numbers, line.figure)


@pytest.mark.parametrize("kind", sorted(set(KINDS) - READ_OFF))
def test_no_formula_is_loose(kind):
    """The figures of the last formula lead to the answer within a small multiple of the tolerance."""
    for _, question in asked(kind):
        if question.form not in ("number", "power"):
            continue
        *_, last = (line for line in reasons(question) if line.sign != BESIDE)
        low, high = reckoned(last)
        assert high - low <= WIDE * question.tolerance, (question.id, last.numbers, low, high)


@pytest.mark.parametrize("kind", KINDS)
def test_every_figure_of_a_reason_was_given_or_worked_out_or_belongs_to_the_eye(kind):
    """Nothing comes out of thin air: a figure stands in what is given, in another line, or is one of the eye's."""
    for _, question in asked(kind):
        known = [float(found) for row in question.given for found in _numbers(row.text)]
        known += [float(found) for found in _numbers(question.prompt)]
        known += [line.value for line in question.lines if line.figure]
        known += [float(found) for line in question.lines for found in _numbers(line.text)]
        for line in reasons(question):
            for name, text in line.put:
                near = [one for one in known if abs(abs(one) - abs(number(text))) <= _slack(text, one)]
                nothing = number(text) == 0.0  # a cylinder that is not there is not written
                assert near or nothing or (kind, name) in OF_THE_EYE, (question.id, line.words, name, text)


OF_THE_EYE = {  # figures that the plan holds and the question does not need
    ("deepest", "d"), ("deepest", "F"), ("deepest", "x"), ("deepest", "y"),
    ("thumb-apart", "a"), ("thumb-apart", "K₁"), ("thumb-apart", "K₂"), ("thumb-apart", "n"),
    ("ranking", "credit"), ("ranking", "in front of the cut"), ("ranking", "behind the removal"),
    ("credits", "credit"), ("credits", "in front of the cut"), ("credits", "behind the removal"),
    ("suction", "rim"),
    ("rule", "thickness"), ("rule", "cut"), ("rule", "removed"),
    ("zone", "zone"),
}  # fmt: skip


def _numbers(text):
    return [found.replace("−", "-") for found in re.findall(r"[−-]?\d+(?:\.\d+)?", text)]


def _slack(text, one):
    """Both are rounded: by the last digit of the one that has fewer."""
    return max(half_a_digit(text), 0.01 if one % 1 else 0.5) + 1e-9


def test_the_reckoner_finds_a_wrong_figure():
    good = Line("Bed", 354.0, "µm").by("{t} − {c} − {r}", t=(548, 0), c=(110, 0), r=(84, 0))
    assert reckoned(good) == (352.5, 355.5)
    low, high = reckoned(good._replace(put=(("t", "548"), ("c", "110"), ("r", "48"))))
    assert not low <= 354.0 <= high
    assert reckoned(Line("x").by("100 · Φ({z})", z=(-1.0, 2)))[0] == pytest.approx(
        15.74, abs=0.01
    )  # printed tables: 15.87


def test_the_reason_of_a_bed_is_that_of_the_written_model():
    """Source: the written model, by brute force: the figures that stand in the reason, one after another."""
    for case, question in asked("bed")[::3]:
        found = model(values_of(case))[setting(question)]
        (line,) = [line for line in reasons(question) if line.sign == "="]
        first, cut, *parts = (number(text) for _, text in line.put)
        assert first == pytest.approx(values_of(case)["central_thickness_um"], abs=0.5)
        assert cut == pytest.approx(found["cut_um"], abs=0.56)
        assert sum(parts) == pytest.approx(found["removal_central_um"], abs=2.1)


def test_the_reason_of_a_turn_is_that_of_two_vectors():
    """Source: the difference of two vectors of equal length at twice the angle, 2·sin of half of it."""
    for _, question in asked("turn-share"):
        turn = 2.0 * np.radians(float(setting(question)))
        apart = np.hypot(np.cos(turn) - 1.0, np.sin(turn))
        assert 100.0 * apart == pytest.approx(reckoned(reasons(question)[-1])[0], abs=1e-9)
