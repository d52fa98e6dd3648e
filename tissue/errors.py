"""The one error of the arithmetic, and how a missing value is written."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


class EyeError(ValueError):
    """A value that no eye can have: names the field, the value and the limit."""

    def __init__(self, field: str, value: object, limit: str) -> None:
        self.field = field
        self.value = value
        self.limit = limit
        super().__init__(f"{field}: read {value}; accepted {limit}")


def number(value: ArrayLike | None) -> NDArray[np.float64]:
    """Value as a float array; None becomes NaN, which means *not given*.

    >>> bool(np.isnan(number(None)))
    True
    """
    return np.asarray(np.nan if value is None else value, dtype=float)


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
