"""Likely slips, and which of them explains an answer outside the tolerance."""

from typing import Any

import numpy as np

from tissue.eye.refraction import Refraction
from tissue.ground.limits import with_computed
from tissue.rounds.line import SUMMANDS, Slip
from tissue.rounds.question import Question

SORTS = {
    "form": "the cylinder forms are mixed",
    "sign": "a sign is turned round",
    "plane": "the power at the spectacle plane is taken in place of the one at the cornea",
    "epithelium": "the epithelium is forgotten",
    "radius": "a radius and a diameter are taken for each other",
    "ten": "the decimal point stands one place off",
    "other-eye": "the other eye is taken",
    "two": "a factor of 2 is left out",
    "left-out": "a part is left out",
}
MOST_NAMED = 2
EPITHELIUM = "epithelium"


def slips_of(question: Question) -> tuple[Slip, ...]:
    """The Slips of a question that lead outside its tolerance: its own first, then those of any number."""
    found = [*question.slips, *_of_sum(question), *_of_number(question)]
    return tuple(one for one in found if abs(question.apart(one.answer)) > question.tolerance)


def named(question: Question, value: Any) -> tuple[Slip, ...]:
    """The slips that lead to an answer: at most two, of different sorts, the nearest first.

    Args:
        question: Question.
        value: an answer in its form.

    >>> from tissue.rounds.cases import published_cases
    >>> from tissue.rounds.kinds import ask
    >>> thumb = ask("thumb", published_cases()[0], np.random.default_rng(1))
    >>> [one.sort for one in named(thumb, thumb.answer / 4.0)], named(thumb, 53.0)
    (['radius'], ())
    """
    near = [(abs(question.apart(value, one.answer)) / _within(question, one), one) for one in slips_of(question)]
    first: dict[str, Slip] = {}
    for _, one in sorted((pair for pair in near if pair[0] <= 1.0), key=lambda pair: pair[0]):
        first.setdefault(one.sort, one)
    return tuple(first.values())[:MOST_NAMED]


def slip_words(slips: tuple[Slip, ...]) -> str:
    """The slips that would explain an answer, in one sentence; empty without any.

    >>> slip_words((Slip("sign", -2.0), Slip("ten", 20.0)))
    'It is what comes out when a sign is turned round, or when the decimal point stands one place off.'
    """
    said = [f"when {one.words or SORTS[one.sort]}" for one in slips]
    return f"It is what comes out {', or '.join(said)}." if said else ""


def _within(question: Question, slip: Slip) -> float:
    """How far an answer may lie from that of a slip [unit of the question]."""
    size = question.size_of(slip.answer)
    within = max(question.kind.tolerance, question.kind.share * size)
    if slip.sort != "ten" or not size:
        return max(within, 1e-9)
    return within * size / question.size_of(question.answer)


def _of_sum(question: Question) -> list[Slip]:
    """The Slips of a sum: a summand left out, or taken with the other sign."""
    ends = [at for at, line in enumerate(question.lines) if line.sign == "="]
    if not ends or question.form not in ("number", "power"):
        return []
    parts = [line for line in question.lines[: ends[0]] if line.sign in SUMMANDS and np.isfinite(line.value)]
    whole, found = question.lines[ends[0]].value, []
    for line in parts[1:]:
        value = SUMMANDS[line.sign] * line.value
        rest = question.answer - whole  # the step after the sum, if there is one
        sort = EPITHELIUM if line.words.casefold().startswith(EPITHELIUM) else "left-out"
        what = f"“{line.words}”"
        found.append(Slip(sort, rest + whole - value, f"{what} is left out"))
        found.append(Slip("sign", rest + whole - 2.0 * value, f"{what} is taken with the other sign"))
    return found


def _of_number(question: Question) -> list[Slip]:
    """The Slips of any number: the decimal point moved by one place, or the opposite sign."""
    answer = question.answer
    if question.form in ("number", "power"):
        return [Slip("ten", 10.0 * answer), Slip("ten", answer / 10.0), Slip("sign", -answer)]
    if question.form == "refraction":
        return [Slip("ten", _times(answer, 10.0)), Slip("ten", _times(answer, 0.1)), Slip("sign", _times(answer, -1.0))]
    return []


def _times(refraction: Refraction, factor: float) -> Refraction:
    """A refraction with both powers times a factor."""
    powers = {"sphere_D": factor * refraction.sphere_D, "cylinder_D": factor * refraction.cylinder_D}
    return with_computed(refraction, **powers)
