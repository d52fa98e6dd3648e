"""The one error of the arithmetic, and how a missing value is written."""

import numpy as np


class EyeError(ValueError):
    """A value that no eye can have: names the field, the value and the limit."""

    def __init__(self, field, value, limit):
        self.field = field
        self.value = value
        self.limit = limit
        super().__init__(f"{field}: read {value}; accepted {limit}")


def number(value):
    """Value as a float array; None becomes NaN, which means *not given*.

    >>> bool(np.isnan(number(None)))
    True
    """
    return np.asarray(np.nan if value is None else value, dtype=float)


def given(value, default):
    """The value where there is one, else the default [same unit, any shape].

    >>> float(given(None, 9.0)), float(given(8.5, 9.0))
    (9.0, 8.5)
    """
    value = number(value)
    return np.where(np.isnan(value), default, value)[()]


def require(good, field, value, limit):
    """Raise EyeError for the first value that is not good; NaN in a row stays in that row."""
    good = np.asarray(good)
    if good.all():
        return
    value = np.broadcast_to(value, good.shape)
    raise EyeError(field, f"{value[~good].flat[0]:g}", limit)
