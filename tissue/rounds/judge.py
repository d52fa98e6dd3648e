"""Reads an answer as people write it and compares it with the arithmetic."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tissue.entry.fields import AlsoIn, Field, figure, measure
from tissue.entry.notation import read_number, read_refraction, shown
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError, require
from tissue.rounds.line import Slip
from tissue.rounds.question import NONE, Question, refraction_words
from tissue.rounds.slips import named

ROUNDING = 1e-9
WITHIN, OUTSIDE, NO_ANSWER = "within the tolerance", "outside the tolerance", "no answer"
CHOSEN, NOT_CHOSEN = "as the arithmetic has it", "not as the arithmetic has it"  # a choice has no tolerance
OTHER_FORM = "It is the same refraction, in the form in which it was given."
PERCENT = ("%", "percent", "points", "point")
SPELLINGS = {"%": PERCENT, "points": PERCENT, "arcmin": ("arcmin", "minutes of arc", "′", "'")}
ALSO = {"µm": AlsoIn("mm", np.nan, np.nan, times=1000.0)}  # units that may be written behind an answer
BETWEEN = ";"  # parts several choices in one text


@dataclass(frozen=True, eq=False)
class Judged:
    """An answer compared with the arithmetic.

    Args:
        question: Question.
        text: the answer as it was written.
        value: as it was read: number, Refraction, choice or tuple of choices; None where it could not be, or where none
            was given.
        difference: answer minus arithmetic [unit of the question]; for a refraction the length of the difference as a
            power vector, for choices how many marks differ; NaN without a value.
        within: whether it lies within the tolerance; None without a value.
        fault: why it could not be read; empty where it could.
        said: one more sentence about it.
        slips: those that explain it, the likeliest first.
    """

    question: Question
    text: str
    value: Any = None
    difference: float = np.nan
    within: bool | None = None
    fault: str = ""
    said: str = ""
    slips: tuple[Slip, ...] = ()

    @property
    def counts(self) -> bool:
        """Whether the answer could be read."""
        return self.within is not None

    @property
    def read_words(self) -> str:
        """The answer as it was read, a number as exactly as it was written."""
        if not self.counts:
            return ""
        if self.question.form in ("number", "power", "axis"):
            value = figure(round(self.value, 3) + 0.0, signed=self.question.signed)
            return measure(value, self.question.kind.unit)
        return (
            refraction_words(self.value) if self.question.form == "refraction" else self.question.in_words(self.value)
        )

    @property
    def words(self) -> str:
        """How the answer compares with the arithmetic, in words."""
        if not self.counts:
            return f"nothing was committed: {self.fault}" if self.fault else NO_ANSWER
        if self.question.is_choice:
            return CHOSEN if self.within else NOT_CHOSEN
        return WITHIN if self.within else OUTSIDE


def judge(question: Question, answer: str | Sequence[str]) -> Judged:
    """An answer read and compared; one that cannot be read does not count.

    Args:
        question: Question.
        answer: a text; for several choices a text with semicolons between them, or the choices.

    >>> from tissue.rounds.cases import published_cases
    >>> from tissue.rounds.kinds import ask
    >>> thumb = ask("thumb", published_cases()[0], np.random.default_rng(1))
    >>> [judge(thumb, text).words for text in ("86,5 µm", "0.086 mm", "60")]
    ['within the tolerance', 'within the tolerance', 'outside the tolerance']
    >>> judge(thumb, "ninety").words
    'nothing was committed: read ninety, accepted a number in µm'
    """
    text = answer if isinstance(answer, str) else f"{BETWEEN} ".join(answer)
    try:
        value = READERS[question.form](question, text)
    except EyeError as error:
        return Judged(question, text, fault=f"read {error.value}, accepted {error.limit}")
    difference = question.apart(value)
    within = bool(abs(difference) <= question.tolerance + ROUNDING)
    if question.spelling and within and not _spelled(value, question.spelling):
        return Judged(question, text, value, difference, False, said=OTHER_FORM)
    slips = () if within else named(question, value)
    said = _marks(question, value) if question.form == "some" else ""
    return Judged(question, text, value, difference, within, said=said, slips=slips)


def _marks(question: Question, value: tuple[str, ...]) -> str:
    """Which choices are missing, and which are too many, in words."""
    missing = [one for one in question.answer if one not in value]
    over = [one for one in value if one not in question.answer]
    said = (f"{words}: {'; '.join(marks)}." for words, marks in (("Missing", missing), ("Too many", over)) if marks)
    return " ".join(said)


def unanswered(question: Question) -> Judged:
    """A question that was given up."""
    return Judged(question, "")


def _number(question: Question, text: str) -> float:
    """A number in the unit of the question, with or without its unit."""
    unit = question.kind.unit
    words = text.strip()
    if unit in SPELLINGS:
        words = _without(words, SPELLINGS[unit])
        unit = ""
    kind = "power" if question.form == "power" else "number"
    field = Field("answer", "", "", kind, "", unit, low=-np.inf, high=np.inf, also=ALSO.get(unit))
    try:
        value = read_number(field, words)
        require(np.isfinite(value), "answer", value, "a number")
        return value
    except EyeError as error:
        sign = " with its sign" if kind == "power" else ""
        raise EyeError("answer", error.value, f"a number in {question.kind.unit}{sign}") from None


def _without(text: str, endings: Sequence[str]) -> str:
    """The text without one of the endings."""
    for ending in endings:
        if text.casefold().endswith(ending):
            return text[: -len(ending)].rstrip()
    return text


def _axis(question: Question, text: str) -> float:
    """An axis, 1 to 180."""
    value = _number(question, text)
    if not 0.0 <= value <= 180.0:
        raise EyeError("answer", shown(text), "an axis of 0 to 180°")
    return value or 180.0


def _refraction(question: Question, text: str) -> Refraction:
    """A refraction in either form."""
    sphere, cylinder, axis = read_refraction(text, "answer")
    return Refraction(sphere, cylinder, 180.0 if np.isnan(axis) else axis, 0.0)


def _one(question: Question, text: str) -> str:
    """One of the choices."""
    for choice in question.choices:
        if text.strip().casefold() == choice.casefold():
            return choice
    raise EyeError("answer", shown(text), "one of the choices")


def _some(question: Question, text: str) -> tuple[str, ...]:
    """Some of the choices, in their order."""
    parts = {_one(question, part) for part in text.split(BETWEEN) if part.strip()}
    if not parts:
        raise EyeError("answer", shown(text), "one mark or more")
    if NONE in parts and len(parts) > 1:
        raise EyeError("answer", shown(text), f"{NONE}, or others")
    return tuple(choice for choice in question.choices if choice in parts)


READERS: dict[str, Callable[[Question, str], Any]] = {
    "number": _number,
    "power": _number,
    "axis": _axis,
    "refraction": _refraction,
    "one": _one,
    "some": _some,
}


def _spelled(refraction: Refraction, form: str) -> bool:
    """Whether a refraction is in that cylinder form; without a cylinder it is in both."""
    return bool(refraction.cylinder_D <= 0 if form == "minus" else refraction.cylinder_D >= 0)
