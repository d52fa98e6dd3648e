"""A question: the given values, what is asked, the arithmetic line by line, and the tolerance of an answer."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from tissue.budget.comparison import Comparison
from tissue.entry.fields import measure
from tissue.entry.notation import echo, write
from tissue.eye.refraction import Refraction
from tissue.eye.slips import less, size_of
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import rounded
from tissue.rounds.line import Given, Line, Slip, written

FORMS = ("number", "power", "axis", "refraction", "one", "some")
NONE = "none of them"
UNCONFIRMED = {
    "": "",
    "memory": "Unconfirmed: from memory, not read in print.",
    "part": "Unconfirmed: read, but its citation is not whole here.",
}
ALL_OR_NOTHING = {
    "one": "One of the choices is the answer.",
    "some": "Every mark that is there and every one that is not counts.",
}


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
    sources: tuple[str, ...] = ()
    basis: str = ""
    imagined: bool = False

    @property
    def origins(self) -> tuple[str, ...]:
        """The sources of the kind, one line each; an unconfirmed source says why.

        >>> kinds()["equivalent"].origins
        ('Source: Thibos, Wheeler, Horner. Optom Vis Sci 1997;74(6):367-375. PMID 9255814.',)
        """
        if self.basis:
            return (self.basis,)
        return tuple(
            f"Source: {source(key).citation}. {UNCONFIRMED[source(key).doubt]}".rstrip() for key in self.sources
        )


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
        slips: what likely slips would make of the answer; see `slips` for those of any number.
    """

    id: str
    kind: Kind
    eye: str
    side: str
    reported: str
    prompt: str
    given: tuple[Given, ...]
    form: str
    answer: Any
    lines: tuple[Line, ...]
    choices: tuple[str, ...] = ()
    signed: bool = False
    spelling: str = ""
    before: str = ""
    shows: Comparison | None = None
    slips: tuple[Slip, ...] = ()

    @property
    def tolerance(self) -> float:
        """How far an answer may lie from the arithmetic [unit of the kind]."""
        return max(self.kind.tolerance, self.kind.share * self.size_of(self.answer))

    def size_of(self, value: Any) -> float:
        """The size of an answer [unit of the kind]; 0 for an axis and for choices."""
        if self.form in ("number", "power"):
            return abs(value)
        return length_D(value) if self.form == "refraction" else 0.0

    def apart(self, value: Any, other: Any = None) -> float:
        """How far an answer lies from the arithmetic, or from another answer.

        Returns:
            answer less arithmetic [unit of the kind]; for a refraction the length of the difference as a power vector,
            for choices how many marks differ.
        """
        other = self.answer if other is None else other
        if self.form == "one":
            return float(value != other)
        if self.form == "some":
            return float(len(set(value) ^ set(other)))
        if self.form == "refraction":
            return float(size_of(less(value, other)))
        if self.form == "axis":
            return float((value - other + 90.0) % 180.0 - 90.0)
        return float(value - other)

    @property
    def is_choice(self) -> bool:
        """Whether one or some of several choices are the answer."""
        return self.form in ("one", "some")

    @property
    def tolerance_words(self) -> str:
        """The tolerance with its reason.

        >>> from tissue.rounds.kinds import ask
        >>> from tissue.rounds.cases import published_cases
        >>> import numpy as np
        >>> ask("bed", published_cases()[0], np.random.default_rng(1)).tolerance_words[:8]
        '± 2 µm: '
        """
        if self.is_choice:
            return ALL_OR_NOTHING[self.form]
        decimals = 2 if self.kind.unit in ("D", "mm") else int(self.tolerance % 1 > 0)
        unit = self.kind.unit.replace("%", "points")
        return f"± {measure(rounded(self.tolerance, decimals), unit)}: {self.kind.why}."

    @property
    def answer_words(self) -> str:
        """The answer in words."""
        return self.in_words(self.answer)

    def in_words(self, value: Any) -> str:
        """An answer in words, with its unit."""
        if self.form == "one":
            return value
        if self.form == "some":
            return "; ".join(value)
        if self.form == "refraction":
            return refraction_words(value) if self.spelling else echo(value.sphere_D, value.cylinder_D, value.axis_deg)
        return measure(written(value, self.kind.decimals, self.signed), self.kind.unit)


@cache
def kinds() -> dict[str, Kind]:
    """Every Kind by its id, in the order of the data file.

    >>> list(kinds())[:2]
    ['equivalent', 'transpose']
    """
    found = data("rounds")["kinds"]
    return {name: Kind(id=name, **row | {"sources": tuple(row.get("sources", ()))}) for name, row in found.items()}


def refraction_words(refraction: Refraction) -> str:
    """A refraction in the form in which it stands.

    >>> from tissue.eye.refraction import Refraction
    >>> refraction_words(Refraction(-7.25, 1.25, 80.0))
    '−7.25 +1.25 × 80'
    """
    return write(refraction.sphere_D, refraction.cylinder_D, refraction.axis_deg)[int(refraction.cylinder_D > 0)]


def length_D(refraction: Refraction) -> float:
    """Length of a refraction as a power vector [D]: √(SE² + J0² + J45²). Source thibos1997.

    >>> from tissue.eye.refraction import Refraction
    >>> round(float(length_D(Refraction(0.25, -0.5, 20.0))), 3)
    0.25
    """
    return float(size_of(refraction.power_vector()))
