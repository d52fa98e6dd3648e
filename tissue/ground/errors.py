"""The one error of the arithmetic, and how a missing value is written."""

from __future__ import annotations

from datetime import date
from numbers import Number
from typing import TYPE_CHECKING, Any

import numpy as np

from tissue.ground.vocabulary import Array, Floats

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

NUMBERS, MAY_BE_NUMBERS = "fiub", "OUS"  # kinds of NumPy that are numbers, and those that may hold them
IN_ORDER = "a column with its rows in order from 0, or an array"
LONGEST_SHOWN = 60


class EyeError(ValueError):
    """A value that no eye can have; the error names the field, the value and the limit."""

    def __init__(self, field: str, value: object, limit: str) -> None:
        self.field = field
        self.value = value
        self.limit = limit
        super().__init__(f"{field}: read {value}; accepted {limit}")


def number(value: ArrayLike | None, field: str = "value") -> Array:
    """Value as a float array; None and a masked place become NaN, which means *not given*.

    Args:
        value: a number, a column of them, or None.
        field: what an error calls it.

    Raises:
        EyeError: a date or anything else that is no number; a pandas Series whose rows are not named from 0
            on: its rows would be matched by their order and not by their names.

    >>> bool(np.isnan(number(None))), number(np.ma.masked_equal([548.0, 0.0], 0.0)).tolist()
    (True, [548.0, nan])
    """
    if type(value) is float:
        return np.asarray(value)
    known: Any = value
    try:
        if hasattr(known, "iloc") and (known.ndim != 1 or list(known.index) != list(range(len(known)))):
            raise EyeError(field, "a table or a column whose rows have names", IN_ORDER)
        if hasattr(known, "mask") and hasattr(known, "filled"):  # a masked array, whose own module is slow to load
            return np.asarray(known.astype(float).filled(np.nan))
        array = np.asarray(np.nan if value is None else value)
        if array.dtype.kind in NUMBERS:
            return array.astype(float, copy=False)
        if array.dtype.kind in MAY_BE_NUMBERS:
            return array.astype(float)
    except EyeError:
        raise
    except Exception:  # a foreign object may raise anything when it is asked for its numbers
        pass
    raise EyeError(field, as_read(value), "a number")


def as_read(value: object) -> str:
    """A refused value as an error shows it: the first of a column, or the kind of object where it is no number.

    >>> as_read("6,5"), as_read(["x", "y"]), as_read({}), as_read([])
    ('6,5', 'x', 'a dict', 'nothing')
    """
    try:
        array = np.asarray(value)
        first = array.flat[0] if array.size else "nothing"
        plain = isinstance(first, str | bytes | Number | np.generic | date)
        text = f"{first}" if plain else ""
    except Exception:  # as above
        text = ""
    return text[:LONGEST_SHOWN] or f"a {type(value).__name__}"


def given(value: ArrayLike | None, default: ArrayLike) -> Floats:
    """The value where there is one, else the default [same unit, any shape].

    >>> float(given(None, 9.0)), float(given(8.5, 9.0))
    (9.0, 8.5)
    """
    known = number(value)
    return np.where(np.isnan(known), default, known)[()]


def require(good: ArrayLike, field: str, value: ArrayLike, limit: str) -> None:
    """Raise EyeError for the first value that is not good; NaN in a row stays in that row."""
    met = np.asarray(good)
    if met.all():
        return
    values = np.broadcast_to(value, met.shape)
    raise EyeError(field, f"{values[~met].flat[0]:g}", limit)
