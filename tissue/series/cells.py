"""Cells of text read as what people write, column by column; what cannot be read is a fault of its row."""

import re
from functools import cache, lru_cache

import numpy as np

from tissue.entry.checks import Fault, check_one, fault_of
from tissue.entry.fields import fields
from tissue.entry.notation import LONGEST, read, read_refraction, shown
from tissue.errors import EyeError

NUMBER_CELL = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]+)?")
PLAIN_NUMBER = re.compile(r"[+-]?(?:0|[1-9][0-9]*)(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]+)?")
MOST_SPELT = 2_500_000  # characters of spellings that are kept
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
SIDES = ("OD", "OS")


def guard(cell):
    """A cell that a spreadsheet would take for a formula, with an apostrophe before it; numbers stay numbers.

    >>> guard("=1+1"), guard("-4.75"), guard("-4,75 sph")
    ("'=1+1", '-4.75', "'-4,75 sph")
    """
    return f"'{cell}" if cell.startswith(DANGEROUS) and not NUMBER_CELL.fullmatch(cell) else cell


def unguard(cell):
    """A cell without the apostrophe that `guard` put before it.

    >>> unguard("'=1+1"), unguard("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if cell.startswith("'") and cell[1:].startswith(DANGEROUS) else cell


@cache
def _formula(delimiter):
    """A pattern of a cell, after what ends the one before it, that `guard` or `unguard` would change."""
    signs = re.escape("".join(sign for sign in DANGEROUS if sign != delimiter))
    number = rf"{NUMBER_CELL.pattern}[{delimiter}\r\n]"
    return re.compile(rf"[{delimiter}\n](?='?[{signs}])(?!\r\n)(?!{number})")


def has_formula(text, delimiter):
    """Whether in some rows without quotes there is a cell that `guard` or `unguard` would change.

    >>> [has_formula(row, ",") for row in ("a,-4.75,\\r\\n", "a,-1-2", "@home,b", "'=1+1,b", "'tis,b")]
    [False, True, True, True, False]
    """
    return _formula(delimiter).search(f"\n{text}\n") is not None


def read_columns(cells, columns, unsigned_plus=False):
    """Values by name of the interface from columns of text, and faults.

    Args:
        cells: by place in the table, the texts of a column.
        columns: Columns of the header.
        unsigned_plus: whether a power without a sign is taken as plus.

    Returns:
        (values, faults {row: [words]}, unread {name: which cells hold what could not be read}); a written refraction
        as its three numbers, shape (3, rows).
    """
    values, found, unread = {}, {}, {}
    for i, column in enumerate(columns):
        before = {row: len(words) for row, words in found.items()}
        if column.field == "refraction":
            values["refraction"] = _refractions(cells[i], found)
        elif column.field == "side":
            _sides(cells[i], found)
        elif column.field in fields():
            values[column.field] = _column(cells[i], column, unsigned_plus, found)
        fresh = [row for row, words in found.items() if len(words) > before.get(row, 0)]
        if fresh and column.field in fields():
            unread[column.field] = np.isin(np.arange(len(cells[i])), fresh)
    return values, found, unread


def _column(texts, column, unsigned_plus, found):
    """One column of an input."""
    field = fields()[column.field]
    if not field.is_number:
        return _words(texts, field.name, found)
    numbers, odd = fast_numbers(texts, field.kind == "power" and not unsigned_plus)
    values = np.array(field.in_own_unit(in_our_unit(numbers, column.factor)), ndmin=1)
    for row in np.flatnonzero(odd):
        value = _odd(column.field, column.factor, unsigned_plus, _short(texts[row]))
        if isinstance(value, str):
            found.setdefault(int(row), []).append(value)
            value = np.nan
        values[row] = value
    return values


def in_our_unit(numbers, factor):
    """Numbers in the unit that a map gives by its factor; what the factor adds behind the ninth digit is cut.

    >>> float(in_our_unit(0.557, 1000.0))
    557.0
    """
    if factor == 1.0:
        return numbers
    with np.errstate(over="ignore"):
        return np.round(np.asarray(numbers) * factor, 9)[()]


class Spellings(dict):
    """The number that a cell spells plainly, each spelling read once; NaN for an empty cell and an odd one.

    Odd is what only the reading of a single cell can tell: a unit, a sign set apart, zeros in front, and, where a
    sign is needed, a number without one.
    """

    def __init__(self, signed):
        super().__init__({"": np.nan})
        self.signed, self.odd, self.spelt = signed, set(), 0

    def __missing__(self, text):
        plain = len(text) <= LONGEST and PLAIN_NUMBER.fullmatch(text)
        number = float(text.replace(",", ".")) if plain else np.nan
        if np.isnan(number) or (self.signed and number and text[0] not in "+-"):
            self.odd.add(text)
            number = np.nan
        self[text] = number
        self.spelt += len(text)
        return number


@cache
def _spellings(signed):
    return Spellings(signed)


def fast_numbers(texts, signed=False):
    """Numbers of a column of text and which cells are not plainly a number (an empty one is: NaN).

    >>> fast_numbers(["-4.75", "", "551 µm", "4.75"], signed=True)
    (array([-4.75,   nan,   nan,   nan]), array([False, False,  True,  True]))
    """
    known = _spellings(signed)
    if known.spelt > MOST_SPELT:
        known.clear()
        known.__init__(signed)
    numbers = np.fromiter(map(known.__getitem__, texts), float, len(texts))
    if not known.odd or known.odd.isdisjoint(texts):
        return numbers, np.zeros(len(texts), dtype=bool)
    return numbers, np.fromiter(map(known.odd.__contains__, texts), bool, len(texts))


def _short(text):
    """A text, and of one that is too long to be read no more than what a fault shows."""
    return text if len(text) <= LONGEST else text.strip()[: LONGEST + 1]


@lru_cache(maxsize=65536)
def _odd(name, factor, unsigned_plus, text):
    """The number of a cell that is not plainly one, NaN where nothing is written, or the words of the fault."""
    text = text.strip()
    if not text:
        return np.nan
    field = fields()[name]
    if unsigned_plus and field.kind == "power" and text[:1].isdigit():
        text = f"+{text}"
    try:
        if factor != 1.0 and NUMBER_CELL.fullmatch(text) and (field.kind != "power" or text[0] in "+-"):
            return in_our_unit(float(text.replace(",", ".")), factor)
        return read(name, text)
    except EyeError as error:
        return _without_semicolon(fault_of(error))


def _without_semicolon(fault):
    """The words of a Fault; a semicolon in what was written is shown as a comma."""
    return Fault(fault.field, fault.read.replace(";", ","), fault.accepted).text


def _words(texts, name, found):
    """A column of words."""
    known = {text: check_one(name, text) for text in set(texts)}
    wrong = {text: _without_semicolon(value) for text, value in known.items() if isinstance(value, Fault)}
    known |= dict.fromkeys(wrong, "")
    _refuse(texts, wrong, found)
    return np.array([known[text] for text in texts], dtype=None if len(texts) else object)


def _sides(texts, found):
    """Faults of the sides: each is OD, OS or nothing."""
    others = {text for text in set(texts) if text and text.strip().upper() not in SIDES}
    _refuse(texts, {text: f"side: read {shown(text)}, accepted OD or OS" for text in others}, found)


def _refuse(texts, wrong, found):
    """Put the words of the fault to every row in whose cell a wrong text stands."""
    if wrong:
        for row, text in enumerate(texts):
            if text in wrong:
                found.setdefault(row, []).append(wrong[text])


@lru_cache(maxsize=65536)
def _refraction(text):
    """Sphere, cylinder and axis of a written refraction, or the words of the fault."""
    try:
        return read_refraction(text)
    except EyeError as error:
        return _without_semicolon(fault_of(error))


def _refractions(texts, found):
    """Sphere, cylinder and axis of a column of written refractions, shape (3, rows)."""
    numbers = np.full((3, len(texts)), np.nan)
    for row, text in enumerate(texts):
        if not text.strip():
            continue
        value = _refraction(_short(text))
        if isinstance(value, str):
            found.setdefault(row, []).append(value)
        else:
            numbers[:, row] = value
    return numbers
