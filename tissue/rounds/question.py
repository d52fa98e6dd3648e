"""A question: what is given, what is asked, the arithmetic line by line, and how far an answer may lie from it."""

from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.entry.fields import measure
from tissue.entry.notation import echo, write
from tissue.report.measures import rounded
from tissue.sources import data, source

BESIDE = "·"  # sign of a line that is said beside the sum and is not part of it
SUMMANDS = {"": 1.0, "+": 1.0, "−": -1.0}
FORMS = ("number", "power", "axis", "refraction", "one", "some")
NONE = "none of them"
NO_TOLERANCE = {
    "one": "No tolerance: one of the choices is the answer.",
    "some": "No tolerance: every mark that is there and every one that is not counts.",
}


class Given(NamedTuple):
    """A row of what is given: label, text with its unit, and whether it is a default of the tool."""

    label: str
    text: str
    default: bool = False


class Line(NamedTuple):
    """A line of the arithmetic.

    words: what it is. value: a number [unit]; NaN where `text` stands for it, or nothing does. decimals: as it is
    written. sign: "+" or "−" for a summand, "=" for the result, "·" for what is said beside; empty for the first.
    signed: whether a plus is written.
    """

    words: str
    value: float = np.nan
    unit: str = ""
    decimals: int = 0
    sign: str = ""
    signed: bool = False
    text: str = ""

    @property
    def figure(self):
        """The value as it is written, without its unit.

        >>> Line("power", -5.6, "D", 2).figure, Line("way", text="flap").figure
        ('−5.60', 'flap')
        """
        if self.text or np.isnan(self.value):
            return self.text
        return written(self.value, self.decimals, self.signed)


@dataclass(frozen=True, eq=False)
class Kind:
    """A kind of question; see data/rounds.toml. imagined: it asks what would be, not what was done."""

    id: str
    title: str
    group: str
    unit: str = ""
    decimals: int = 0
    tolerance: float = 0.0
    share: float = 0.0
    why: str = ""
    sources: tuple = ()
    basis: str = ""
    imagined: bool = False

    @property
    def citations(self):
        """Where the kind comes from, a line each."""
        return tuple(source(key).citation for key in self.sources) or (self.basis,)


@dataclass(frozen=True, eq=False)
class Question:
    """One question about one eye.

    Args:
        id: unlike every other question's of a round.
        kind: Kind.
        eye, side, reported: the eye in words, OD or OS, and where it was published; empty where it was not.
        prompt: the question. before: what must be said before it; empty where nothing must.
        given: Given rows, no more than is needed.
        form: what the answer is, one of FORMS: a number, a power with its sign [D], an axis [°], a refraction in
            sphere, cylinder and axis, one of the choices or some of them.
        answer: number, Refraction, choice, or tuple of choices.
        choices: texts.
        lines: Lines; the last without "·" is the result.
        signed: whether a number is written with its plus: it may lie under nothing.
        spelling: cylinder form that the answer must have, "plus" or "minus"; empty where either will do.
        shows: Comparison to be drawn once the answer is in; None where there is nothing to draw.
    """

    id: str
    kind: Kind
    eye: str
    side: str
    reported: str
    prompt: str
    given: tuple
    form: str
    answer: Any
    lines: tuple
    choices: tuple = ()
    signed: bool = False
    spelling: str = ""
    before: str = ""
    shows: Comparison | None = None

    @property
    def tolerance(self):
        """How far an answer may lie from the arithmetic [unit of the kind]."""
        size = 0.0
        if self.form in ("number", "power"):
            size = abs(self.answer)
        elif self.form == "refraction":
            size = length_D(self.answer)
        return max(self.kind.tolerance, self.kind.share * size)

    @property
    def tolerance_words(self):
        """The tolerance with its reason.

        >>> from tissue.rounds.kinds import ask
        >>> from tissue.rounds.cases import published_cases
        >>> import numpy as np
        >>> ask("bed", published_cases()[0], np.random.default_rng(1)).tolerance_words[:8]
        '± 2 µm: '
        """
        if self.form in ("one", "some"):
            return NO_TOLERANCE[self.form]
        decimals = 2 if self.kind.unit == "D" else int(self.tolerance % 1 > 0)
        unit = self.kind.unit.replace("%", "points")
        return f"± {measure(rounded(self.tolerance, decimals), unit)}: {self.kind.why}."

    @property
    def answer_words(self):
        """The answer in words."""
        return self.in_words(self.answer)

    def in_words(self, value):
        """An answer in words, with its unit."""
        if self.form == "one":
            return value
        if self.form == "some":
            return "; ".join(value)
        if self.form == "refraction":
            return refraction_words(value) if self.spelling else echo(value.sphere_D, value.cylinder_D, value.axis_deg)
        return measure(written(value, self.kind.decimals, self.signed), self.kind.unit)


@cache
def kinds():
    """Every Kind by its id, in the order of the data file.

    >>> list(kinds())[:2]
    ['equivalent', 'transpose']
    """
    found = data("rounds")["kinds"]
    return {name: Kind(id=name, **row | {"sources": tuple(row.get("sources", ()))}) for name, row in found.items()}


def refraction_words(refraction):
    """A refraction in the form in which it stands.

    >>> from tissue.eye.refraction import Refraction
    >>> refraction_words(Refraction(-7.25, 1.25, 80.0))
    '−7.25 +1.25 × 80'
    """
    return write(refraction.sphere_D, refraction.cylinder_D, refraction.axis_deg)[int(refraction.cylinder_D > 0)]


def written(value, decimals=0, signed=False):
    """A figure as it is written, with a true minus and, where wanted, its plus.

    >>> written(18.04, 1, signed=True), written(-0.5, 2)
    ('+18.0', '−0.50')
    """
    text = rounded(value, decimals)
    return f"+{text}" if signed and text.strip("0.") and not text.startswith("−") and text != "–" else text


def length_D(refraction):
    """Length of a refraction as a power vector [D]: √(SE² + J0² + J45²). Source thibos1997.

    >>> from tissue.eye.refraction import Refraction
    >>> round(float(length_D(Refraction(0.25, -0.5, 20.0))), 3)
    0.25
    """
    return float(np.sqrt(sum(np.square(part) for part in refraction.power_vector())))
