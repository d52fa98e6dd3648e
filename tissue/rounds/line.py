"""The parts of a question: the given values, the arithmetic line by line with its formulas, and slips."""

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import numpy as np

from tissue.ground.vocabulary import TRUE_MINUS, rounded

BESIDE = "·"  # sign of a line that stands beside the sum and is no part of it
SUMMANDS = {"": 1.0, "+": 1.0, "−": -1.0}
MINUS = "−"


class Given(NamedTuple):
    """A row of what is given: label, text with its unit, and whether it is a default of the tool."""

    label: str
    text: str
    default: bool = False


class Line(NamedTuple):
    """A line of the arithmetic.

    words: what it is. value: a number [unit]; NaN where `text` takes its place, or there is none. decimals: as it is
    written. sign: "+" or "−" for a summand, "=" for the result, "·" for what is said beside; empty for the first.
    signed: whether a plus is written. formula: what the value is worked out by, each quantity in braces; empty where
    it is read off. put: (quantity, its figure as it is written) for each of them.
    """

    words: str
    value: float = np.nan
    unit: str = ""
    decimals: int = 0
    sign: str = ""
    signed: bool = False
    text: str = ""
    formula: str = ""
    put: tuple[tuple[str, str], ...] = ()

    @property
    def beside(self) -> bool:
        """Whether it stands beside the sum and is no part of it."""
        return self.sign == BESIDE

    @property
    def written_sign(self) -> str:
        """The sign before it in the sum; none beside it."""
        return "" if self.beside else self.sign

    @property
    def figure(self) -> str:
        """The value as it is written, without its unit.

        >>> Line("power", -5.6, "D", 2).figure, Line("way", text="flap").figure
        ('−5.60', 'flap')
        """
        if self.text or np.isnan(self.value):
            return self.text
        return written(self.value, self.decimals, self.signed)

    @property
    def formula_words(self) -> str:
        """The formula with the names of its quantities."""
        return self.formula.replace("{", "").replace("}", "")

    @property
    def numbers(self) -> str:
        """The formula with the figures of this eye in their place; a negative one in brackets unless it stands first.

        >>> Line("at the cornea", -5.6).by("{F} / (1 − {d} · {F} / 1000)", F=(-6, 2), d=(12, 0)).numbers
        '−6.00 / (1 − 12 · (−6.00) / 1000)'
        """
        found = self.formula
        for name, text in self.put:
            if found.startswith(f"{{{name}}}"):
                found = text + found[len(name) + 2 :]
            found = found.replace(f"({{{name}}})", f"({text})")
            found = found.replace(f"{{{name}}}", f"({text})" if text.startswith(MINUS) else text)
        return found

    def by(
        self,
        formula: str,
        quantities: Mapping[str, tuple[float, int]] | None = None,
        **named: tuple[float, int],
    ) -> "Line":
        """The line with the formula of its value.

        Args:
            formula: with each quantity in braces.
            quantities, named: (value, decimals) of each quantity; what the formula does not name is left out.
        """
        found = {**(quantities or {}), **named}
        put = tuple((name, written(*one)) for name, one in found.items() if f"{{{name}}}" in formula)
        return self._replace(formula=formula, put=put)


class Slip(NamedTuple):
    """A slip: its sort, see `slips.SORTS`, and the wrong answer it leads to, in the form of the right one.

    words: what was done wrong, where more can be said than the words of its sort.
    """

    sort: str
    answer: Any
    words: str = ""


def written(value: float, decimals: int = 0, signed: bool = False) -> str:
    """A figure as it is written, with a true minus and, where wanted, its plus.

    >>> written(18.04, 1, signed=True), written(-0.5, 2)
    ('+18.0', '−0.50')
    """
    text = rounded(value, decimals)
    return f"+{text}" if signed and text.strip("0.") and not text.startswith(MINUS) and text != "–" else text


def summed(lines: Iterable[Line]) -> tuple[Line, ...]:
    """The lines, each sum with its formula: the words of its summands, and their figures in their place.

    >>> summed([Line("Thickness", 548.0), Line("Flap", 110.0, sign="−"), Line("Bed", 438.0, sign="=")])[-1].numbers
    '548 − 110'
    """
    found: list[Line] = []
    for line in lines:
        if line.sign == "=" and not line.formula:
            line = _as_sum(line, [one for one in found if one.sign in SUMMANDS and not np.isnan(one.value)])
        found.append(line)
    return tuple(found)


def _as_sum(line: Line, summands: list[Line]) -> Line:
    """A line with the sum of those before it as its formula."""
    formula = " ".join(f"{one.sign} {{{_low(one.words)}}}".strip() for one in summands)
    return line._replace(formula=formula, put=tuple((_low(one.words), _plain(one)) for one in summands))


def _low(words: str) -> str:
    """Words inside a formula: without a capital at their beginning, unless it is a symbol."""
    return words[0].lower() + words[1:] if words[1:2].islower() else words


def _plain(line: Line) -> str:
    """The figure of a summand without its plus."""
    return rounded(line.value, line.decimals).translate(TRUE_MINUS)
