"""Reads cells of text as people write them, column by column; a cell that cannot be read is a fault of its row."""

import re
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.entry.checks import Fault, check_one, fault_of
from tissue.entry.eye_text import read_of_eye
from tissue.entry.fields import fields
from tissue.entry.notation import LONGEST, shown
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import EYES
from tissue.series.tables.distinct import Distinct
from tissue.series.tables.header import Column, cell_readings

Faults = dict[int, list[str]]  # the words of each row
NUMBER_CELL = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]+)?")
PLAIN_NUMBER = re.compile(r"[+-]?(?:0|[1-9][0-9]*)(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]+)?")
DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\n")
BEGINS, FORMULA = r"(?<=[,;\t\r\n])", r"(?=[=+\-@])(?![+-][0-9.]+(?:[,;\t\r\n]|$))"  # part numbers within a cell
WITHIN, WITHIN_GUARDED = re.compile(BEGINS + FORMULA), re.compile(f"{BEGINS}'{FORMULA}")


def guarded(cell: str) -> str:
    """A cell with an apostrophe in front where a spreadsheet would see a formula; numbers stay as they are.

    A spreadsheet may split cells at another sign than the table does: one of its cells can begin in the middle of ours.

    >>> guarded("=1+1"), guarded("-4.75"), guarded("-4,75 sph"), guarded("x,=1+1")
    ("'=1+1", '-4.75', "'-4,75 sph", "x,'=1+1")
    """
    cell = WITHIN.sub("'", cell)
    return f"'{cell}" if cell.startswith(DANGEROUS) and not NUMBER_CELL.fullmatch(cell) else cell


def unguard(cell: str) -> str:
    """A cell without the apostrophes that `guarded` put into it.

    >>> unguard("'=1+1"), unguard("'tis"), unguard("x,'=1+1")
    ('=1+1', "'tis", 'x,=1+1')
    """
    cell = WITHIN_GUARDED.sub("", cell)
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(DANGEROUS) else cell


def has_formula(texts: list[str]) -> bool:
    """Whether `guarded` or `unguard` would change any of some texts.

    >>> [has_formula([text]) for text in ("-4.75", "", "-1-2", "@home", "'=1+1", "'tis", "x;=1+1")]
    [False, False, True, True, True, False, True]
    """
    marked = [text for text in texts if text.startswith(("'", *DANGEROUS))]
    together = "\0".join(texts)
    if WITHIN.search(together) or WITHIN_GUARDED.search(together):
        return True
    return any(guarded(text) != text or unguard(text) != text for text in marked)


def read_columns(
    cells: Sequence[Distinct], columns: Iterable[Column], unsigned_plus: bool = False
) -> tuple[dict[str, NDArray[Any]], Faults, dict[str, NDArray[np.bool_]]]:
    """Values by name of the interface from columns of text, and faults.

    Args:
        cells: by place in the table, the Distinct texts of a column.
        columns: Columns of the header.
        unsigned_plus: whether a power without a sign is taken as plus.

    Returns:
        (values, faults {row: [words]}, unread {name: which cells hold what could not be read}); a written refraction
        as its three numbers, shape (3, rows).
    """
    values: dict = {}
    found: dict[int, list[str]] = {}
    unread: dict = {}
    for i, column in cell_readings(columns):
        name = column.field
        if name is None:
            continue
        before = {row: len(words) for row, words in found.items()}
        if name == "refraction":
            values["refraction"] = _refractions(cells[i], found)
        elif name == "side":
            _sides(cells[i], found)
        elif name in fields():
            values[name] = _column(cells[i], name, column.factor, unsigned_plus, found)
        fresh = [row for row, words in found.items() if len(words) > before.get(row, 0)]
        if fresh and name in fields():
            unread[name] = np.isin(np.arange(len(cells[i])), fresh)
    return values, found, unread


def _column(texts: Distinct, name: str, factor: float, unsigned_plus: bool, found: Faults) -> NDArray[Any]:
    """One column of an input."""
    field = fields()[name]
    if not field.is_number:
        return _words(texts, field.name, found)
    numbers, odd = fast_numbers(texts.distinct, field.kind == "power" and not unsigned_plus)
    values, wrong = np.array(field.in_own_unit(in_our_unit(numbers, factor)), ndmin=1), {}
    for i in np.flatnonzero(odd):
        value = _odd(name, factor, unsigned_plus, _short(texts.distinct[i]))
        if isinstance(value, str):
            wrong[int(i)], value = value, np.nan
        values[i] = value
    _refuse(texts, wrong, found)
    return values[texts.index]


def in_our_unit(numbers: Any, factor: float) -> Any:
    """Numbers in the unit that a map gives by its factor; rounding errors of the factor are cut after the ninth digit.

    >>> float(in_our_unit(0.557, 1000.0))
    557.0
    """
    if factor == 1.0:
        return numbers
    with np.errstate(over="ignore"):
        return np.round(np.asarray(numbers) * factor, 9)[()]


def fast_numbers(texts: list[str], signed: bool = False) -> tuple[NDArray[Any], NDArray[Any]]:
    """The numbers of some texts, NaN for empty and odd ones, and which are odd.

    Odd texts must be read one by one: with a unit, a separate sign, leading zeros, or without a sign
    where one is needed.

    >>> fast_numbers(["-4.75", "", "551 µm", "4.75"], signed=True)
    (array([-4.75,   nan,   nan,   nan]), array([False, False,  True,  True]))
    """
    numbers = np.array([_plain_number(text, signed) for text in texts], dtype=float)
    return numbers, np.isnan(numbers) & np.array([text != "" for text in texts], dtype=bool)


def _plain_number(text: str, signed: bool) -> float:
    """The number of a text that holds a plain number, otherwise NaN."""
    if len(text) > LONGEST or not PLAIN_NUMBER.fullmatch(text):
        return np.nan
    number = float(text.replace(",", "."))
    return np.nan if signed and number and text[0] not in "+-" else number


def _short(text: str) -> str:
    """A text; one that is too long to be read is cut to what a fault shows."""
    return text if len(text) <= LONGEST else text.strip()[: LONGEST + 1]


@lru_cache(maxsize=65536)
def _odd(name: str, factor: float, unsigned_plus: bool, text: str) -> float | str:
    """The number in an odd cell, NaN where nothing is written, or the words of the fault."""
    text = text.strip()
    if not text:
        return np.nan
    field = fields()[name]
    if unsigned_plus and field.kind == "power" and text[:1].isdigit():
        text = f"+{text}"
    try:
        if factor != 1.0 and NUMBER_CELL.fullmatch(text) and (field.kind != "power" or text[0] in "+-"):
            return in_our_unit(float(text.replace(",", ".")), factor)
        return read_of_eye(name, text, None)[0]
    except EyeError as error:
        return _without_semicolon(fault_of(error))


def _without_semicolon(fault: Fault) -> str:
    """The words of a Fault, with a comma in place of each written semicolon."""
    return Fault(fault.field, fault.read.replace(";", ","), fault.accepted).text


def _words(texts: Distinct, name: str, found: Faults) -> NDArray[Any]:
    """A column of words."""
    read_ = [check_one(name, text) for text in texts.distinct]
    wrong = {i: _without_semicolon(value) for i, value in enumerate(read_) if isinstance(value, Fault)}
    _refuse(texts, wrong, found)
    known = ["" if i in wrong else value for i, value in enumerate(read_)]
    return np.array(known, dtype=None if known else object)[texts.index]


def _sides(texts: Distinct, found: Faults) -> None:
    """Faults of the sides: each must be OD, OS or empty."""
    others = {i: text for i, text in enumerate(texts.distinct) if text and text.strip().upper() not in EYES}
    _refuse(texts, {i: f"side: read {shown(text)}, accepted OD or OS" for i, text in others.items()}, found)


def _refuse(texts: Distinct, wrong: dict[int, str], found: Faults) -> None:
    """Give the words of a fault, found for a distinct text, to every row with that text in its cell."""
    if wrong:
        for row in np.flatnonzero(np.isin(texts.index, list(wrong))):
            found.setdefault(int(row), []).append(wrong[int(texts.index[row])])


@lru_cache(maxsize=65536)
def _refraction(text: str) -> Any:
    """Sphere, cylinder and axis of a written refraction, or the words of the fault."""
    try:
        value, besides = read_of_eye("refraction", text, None)
        if besides:
            raise EyeError("refraction", shown(text), "a vertex distance in a column of its own")
        return value
    except EyeError as error:
        return _without_semicolon(fault_of(error))


def _refractions(texts: Distinct, found: Faults) -> NDArray[np.float64]:
    """Sphere, cylinder and axis of a column of written refractions, shape (3, rows)."""
    numbers, wrong = np.full((3, len(texts.distinct)), np.nan), {}
    for i, text in enumerate(texts.distinct):
        value = _refraction(_short(text)) if text.strip() else np.nan
        if isinstance(value, str):
            wrong[i], value = value, np.nan
        numbers[:, i] = value
    _refuse(texts, wrong, found)
    return numbers[:, texts.index]
