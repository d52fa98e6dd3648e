"""The one error of the arithmetic, and how a missing value is written."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

NUMBERS, MAY_BE_NUMBERS = "fiub", "OUS"  # kinds of NumPy that are numbers, and those that may hold them


class EyeError(ValueError):
    """A value that no eye can have: names the field, the value and the limit."""

    def __init__(self, field: str, value: object, limit: str) -> None:
        self.field = field
        self.value = value
        self.limit = limit
        super().__init__(f"{field}: read {value}; accepted {limit}")


def number(value: ArrayLike | None, field: str = "value") -> NDArray[np.float64]:
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
    if isinstance(known, np.ma.MaskedArray):
        return np.asarray(np.ma.filled(known.astype(float), np.nan))
    if hasattr(known, "iloc") and list(known.index) != list(range(len(known))):
        raise EyeError(field, "a column whose rows have names", "a column with its rows in order from 0, or an array")
    array = np.asarray(np.nan if value is None else value)
    if array.dtype.kind in NUMBERS:
        return array.astype(float, copy=False)
    try:
        if array.dtype.kind not in MAY_BE_NUMBERS:
            raise TypeError
        return array.astype(float)
    except (TypeError, ValueError):
        raise EyeError(field, f"{array.flat[0]}" if array.size else "nothing", "a number") from None


def given(value: ArrayLike | None, default: ArrayLike) -> float | NDArray[np.float64]:
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
