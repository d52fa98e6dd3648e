"""Every input of the tool, read once from fields.toml: names, units, limits, defaults and help."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from tissue.ground.sources import data, letter
from tissue.ground.vocabulary import TRUE_MINUS, Floats
from tissue.removal.options import procedures

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

READING = "reading"  # this table of fields.toml holds the fields of a reading
DEFAULT_STATUS = {
    "P": "printed",
    "C": "computed",
    "T": "common practice",
    "M": "unconfirmed",
    "convention": "a convention",
    "choice": "our choice",
}


def measure(words: str, unit: str) -> str:
    """A figure followed by its unit: with a space before letters, without one before a degree sign."""
    return f"{words}{unit}" if unit == "°" else f"{words} {unit}".rstrip()


def figure(value: Floats, signed: bool = False) -> str:
    """A number as it stands in a sentence: with a true minus sign and without trailing zeros.

    >>> figure(-0.70), figure(20.0, signed=True), figure(548.0)
    ('−0.7', '+20', '548')
    """
    text = f"{value:+.10g}" if signed and value else f"{value:.10g}"
    return text.translate(TRUE_MINUS)


@dataclass(frozen=True, eq=False)
class AlsoIn:
    """A second unit that a field accepts; the size of the number tells which one was meant."""

    unit: str
    low: float
    high: float
    times: float = np.nan
    divides: float = np.nan

    def convert(self, number: ArrayLike) -> Floats:
        """The number in the unit of the field [any shape]."""
        number = np.asarray(number, dtype=float)
        if not np.isnan(self.divides):
            return np.divide(self.divides, number, out=np.full(number.shape, np.nan), where=number != 0)[()]
        with np.errstate(over="ignore"):
            return np.round(number * self.times, 6)[()]


@dataclass(frozen=True, eq=False)
class Field:
    """One input: its name, what it accepts, and which value is used when it is not given.

    default_unsaid: of an input added later; while its default stands, files and prints are as they were before.
    """

    name: str
    group: str
    label: str
    kind: str
    meaning: str
    unit: str = ""
    low: float = np.nan
    high: float = np.nan
    default: Any = None
    rule: str = ""
    step: float | None = None
    choices: tuple[str, ...] = ()
    also: AlsoIn | None = None
    called: tuple[str, ...] = ()
    folded: bool = False
    default_unsaid: bool = False
    source: str = ""
    status: str = ""

    @property
    def is_number(self) -> bool:
        """True for a power or any other number."""
        return self.kind in ("power", "number")

    @property
    def heading(self) -> str:
        """Label with its unit, as it stands beside the field.

        >>> fields()["zone_mm"].heading
        'Optical zone, mm'
        """
        return f"{self.label}, {self.unit}" if self.unit else self.label

    @property
    def accepted(self) -> str:
        """What the field accepts, in words.

        >>> fields()["sphere_D"].accepted
        '−30 to +20 D, with its sign unless it is 0'
        """
        if self.choices:
            return ", ".join(self.choices[:-1]) + " or " + self.choices[-1]
        if self.kind == "refraction":
            return "sphere, cylinder and axis, as in −5.00 −0.75 × 12, or plano"
        if not self.is_number:
            return "text on one line, at most 200 characters"
        signed = self.kind == "power"
        words = measure(f"{figure(self.low, signed)} to {figure(self.high, signed)}", self.unit)
        if self.also:
            words += f", or {figure(self.also.low)} to {figure(self.also.high)} {self.also.unit}"
        return words + (", with its sign unless it is 0" if signed else "")

    @property
    def default_words(self) -> str:
        """The default in words, or the rule that gives it; empty where the field must be given."""
        if self.default is None:
            return self.rule
        if not self.is_number:
            return str(self.default)
        return measure(figure(self.default), self.unit)

    def is_said(self, value: Any) -> bool:
        """Whether a value is written in a file or on a print.

        >>> fields()["cut_order"].is_said("lenticule-first"), fields()["cut_order"].is_said("cap-first")
        (False, True)
        """
        return not (self.default_unsaid and value == self.default)

    @property
    def help(self) -> str:
        """Meaning, limits and default in plain sentences."""
        words = self.meaning
        if self.is_number or self.choices:
            words += f" Accepted: {self.accepted}."
        if self.default_words:
            words += f" Default: {self.default_words}."
        return words

    def in_own_unit(self, number: ArrayLike) -> Floats:
        """Numbers [any shape] in the unit of the field; numbers in the second unit are converted.

        >>> fields()["central_thickness_um"].in_own_unit([548.0, 0.551]).tolist()
        [548.0, 551.0]
        """
        number = np.asarray(number, dtype=float)
        if self.also is None:
            return number[()]
        other = (number >= self.also.low) & (number <= self.also.high)
        return np.where(other, self.also.convert(number), number)[()] if other.any() else number[()]


def _field(name: str, row: dict[str, Any]) -> Field:
    row = dict(row)
    if "choices_of" in row:
        named = row.pop("choices_of")
        row["choices"] = procedures() if named == "procedures" else data(named)
    for key in ("choices", "called"):
        row[key] = tuple(row.get(key, ()))
    for key in ("low", "high"):
        row[key] = float(row.get(key, np.nan))
    if row.get("default") is not None and row["kind"] in ("power", "number"):
        row["default"] = float(row["default"])
    if row.get("status"):
        row["status"] = letter(row["status"], row.get("source", ""))
    row["also"] = AlsoIn(**row["also"]) if "also" in row else None
    return Field(name=name, **row)


@cache
def _tables() -> dict[str, Any]:
    return tomllib.loads((Path(__file__).parent / "fields.toml").read_text("utf-8"))


@cache
def fields() -> dict[str, Field]:
    """All fields of an eye by name, in the order of the form.

    >>> fields()["zone_mm"].default
    6.5
    """
    return {name: _field(name, row) for name, row in _tables().items() if name != READING}


@cache
def reading_fields() -> dict[str, Field]:
    """All fields of one reading by name, in order; a plan file keeps them in a table of their own under an eye.

    >>> reading_fields()["thickness_um"].accepted
    '200 to 900 µm'
    """
    return {name: _field(name, row) for name, row in _tables()[READING].items()}


@cache
def groups() -> dict[str, list[str]]:
    """Names of the fields by group, in the order of the form.

    >>> list(groups())
    ['refraction', 'cornea', 'treatment', 'flap', 'extraction', 'judgement', 'errors', 'later']
    """
    found: dict[str, list[str]] = {}
    for field in fields().values():
        found.setdefault(field.group, []).append(field.name)
    return found


def nearest(name: str, names: Iterable[str] | None = None) -> str:
    """The known name that is nearest to an unknown one.

    >>> nearest("sphere"), nearest("CCT")
    ('sphere_D', 'central_thickness_um')
    """
    from difflib import get_close_matches

    words = {n.casefold(): n for n in (fields() if names is None else names)}
    if names is None:
        words |= {word: field.name for field in fields().values() for word in field.called}
    found = get_close_matches(str(name)[:80].casefold(), words, n=1, cutoff=0.0)
    return words[found[0]]
