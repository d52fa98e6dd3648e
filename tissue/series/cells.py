"""Cells of text read as what people write, column by column; what cannot be read is a fault of its row."""

import re
from functools import lru_cache

import numpy as np

from tissue.entry.checks import Fault, check_one, fault_of
from tissue.entry.fields import fields
from tissue.entry.notation import read, read_refraction, shown
from tissue.errors import EyeError

NUMBER_CELL = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?(?:[eE][+-]?[0-9]+)?")
OTHER_SIGN = re.compile(r"[^0-9.eE+-]")
SIGNS_TOGETHER = re.compile(r"[+-][^0-9]|[+-]$")
DANGEROUS = ("=", "+", "-", "@", "\t", "\r")
FIRST_SIGNS = frozenset("=+-@\t\r")
REFRACTION = ("sphere_D", "cylinder_D", "axis_deg")
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


def needs_guard(texts):
    """Whether any cell of a column would be guarded.

    >>> needs_guard(["OD", "-4.75"]), needs_guard(["@home"])
    (False, True)
    """
    if not any(text[:1] in FIRST_SIGNS for text in texts):
        return False
    joined = "".join(texts)
    if not OTHER_SIGN.search(joined) and not SIGNS_TOGETHER.search(joined):
        return False
    return any(text.startswith(DANGEROUS) and not NUMBER_CELL.fullmatch(text) for text in texts)


def read_columns(cells, columns, unsigned_plus=False):
    """Values by name of the interface from columns of text, and faults.

    Args:
        cells: by place in the table, the texts of a column.
        columns: Columns of the header.
        unsigned_plus: whether a power without a sign is taken as plus.

    Returns:
        (values, faults {row: [words]}, unread {name: which cells hold what could not be read}).
    """
    values, found, unread = {}, {}, {}
    for i, column in enumerate(columns):
        before = {row: len(words) for row, words in found.items()}
        if column.field == "refraction":
            values |= _refractions(cells[i], found)
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
    numbers, odd = fast_numbers(texts)
    if field.kind == "power":
        unsigned = np.array([text[:1] not in ("+", "-") for text in texts])
        if not unsigned_plus:
            odd = odd | (unsigned & (numbers != 0))
    values = field.in_own_unit(numbers * column.factor) if column.factor != 1.0 else field.in_own_unit(numbers)
    values = np.array(np.broadcast_to(values, numbers.shape))
    for row in np.flatnonzero(odd):
        values[row] = _odd(texts[row], column, unsigned_plus, found, int(row))
    return values


def fast_numbers(texts):
    """Numbers of a column of text and which cells are not plainly a number (an empty one is: NaN).

    >>> fast_numbers(["-4.75", "", "551 µm"])
    (array([-4.75,   nan,   nan]), array([False, False,  True]))
    """
    if not OTHER_SIGN.search("".join(texts)):
        try:
            return np.array([text or "nan" for text in texts], dtype=float), np.zeros(len(texts), dtype=bool)
        except ValueError:
            pass
    numbers = np.full(len(texts), np.nan)
    odd = np.zeros(len(texts), dtype=bool)
    for row, text in enumerate(texts):
        if NUMBER_CELL.fullmatch(text):
            numbers[row] = float(text.replace(",", ".", 1))
        else:
            odd[row] = bool(text)
    return numbers, odd


def _odd(text, column, unsigned_plus, found, row):
    """A cell that is not plainly a number; NaN and a fault where it cannot be read."""
    text = text.strip()
    if not text:
        return np.nan
    field = fields()[column.field]
    if unsigned_plus and field.kind == "power" and text[:1].isdigit():
        text = f"+{text}"
    try:
        if column.factor != 1.0 and NUMBER_CELL.fullmatch(text):
            return float(text.replace(",", ".", 1)) * column.factor
        return read(field.name, text)
    except EyeError as error:
        found.setdefault(row, []).append(_without_semicolon(fault_of(error)))
        return np.nan


def _without_semicolon(fault):
    """The words of a Fault; a semicolon in what was written is shown as a comma."""
    return Fault(fault.field, fault.read.replace(";", ","), fault.accepted).text


@lru_cache(maxsize=4096)
def _word(name, text):
    """A word of a choice or a text field, or the Fault."""
    return check_one(name, text)


def _words(texts, name, found):
    """A column of words."""
    kept = []
    for row, text in enumerate(texts):
        value = _word(name, text)
        if isinstance(value, Fault):
            found.setdefault(row, []).append(_without_semicolon(value))
            value = ""
        kept.append(value)
    return np.array(kept, dtype=object if not kept else None)


def _sides(texts, found):
    """The side of each eye: OD, OS or nothing."""
    for row, text in enumerate(texts):
        if text and text.strip().upper() not in SIDES:
            found.setdefault(row, []).append(f"side: read {shown(text).replace(';', ',')}, accepted OD or OS")


@lru_cache(maxsize=65536)
def _refraction(text):
    """Sphere, cylinder and axis of a written refraction, or the words of the fault."""
    try:
        return read_refraction(text)
    except EyeError as error:
        return _without_semicolon(fault_of(error))


def _refractions(texts, found):
    """The three numbers of a column of written refractions."""
    numbers = np.full((3, len(texts)), np.nan)
    for row, text in enumerate(texts):
        if not text.strip():
            continue
        value = _refraction(text)
        if isinstance(value, str):
            found.setdefault(row, []).append(value)
        else:
            numbers[:, row] = value
    return dict(zip(REFRACTION, numbers, strict=True))
