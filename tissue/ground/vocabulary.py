"""Words and types that every room uses, each written once; and how a figure is written."""

from typing import Any

import numpy as np

# Spelled out because `numpy.typing` takes longer to load than this whole room.
Array = np.ndarray[Any, np.dtype[np.float64]]
Marks = np.ndarray[Any, np.dtype[np.bool_]]  # yes or no
Places = np.ndarray[Any, np.dtype[np.int_]]  # in another array
Floats = float | Array  # one eye or a column of eyes
Flags = bool | Marks
Words = str | np.ndarray[Any, np.dtype[np.str_]]
Figure = dict[str, Any]  # a picture, or a part of one, as the plain dictionary that the chart library reads

NOT_GIVEN: Any = None  # default of an input; the arithmetic turns it into NaN
VERSION = "0.2.0"
STAGES = ("lenticule", "lenticule-side", "cap", "incision")  # as the cuts are made, unless the user says otherwise
CUT, SIDE, CAP, INCISION = STAGES
LENTICULE_FIRST, CAP_FIRST = "lenticule-first", "cap-first"
CUT_ORDERS = {LENTICULE_FIRST: STAGES, CAP_FIRST: (CAP, CUT, SIDE, INCISION)}
EYES = ("OD", "OS")
REFRACTION = ("sphere_D", "cylinder_D", "axis_deg")  # the three numbers of one, by the names of the interface
TRUE_MINUS = str.maketrans("-", "−")  # for a figure in print
STEP_HAIR = 1e-6  # of a step: a figure this near to a whole step counts as lying on it
NO_FIGURE = "–"  # shown in place of a missing figure


def rounded(value: Floats, decimals: int = 0) -> str:
    """A figure rounded for reading, with a true minus sign; an en dash where there is none.

    >>> rounded(303.51), rounded(-0.04, 1), rounded(float("nan"))
    ('304', '0.0', '–')
    """
    if np.isnan(value):
        return NO_FIGURE
    text = f"{float(value):.{decimals}f}"
    return (text.removeprefix("-") if not text.strip("-0.") else text).translate(TRUE_MINUS)


def signed(value: Floats, decimals: int = 0) -> str:
    """A figure rounded for reading, with its sign; a zero has none, an en dash stands where there is no figure.

    >>> signed(0.24, 1), signed(-0.24, 1), signed(-0.04, 1), signed(float("nan"))
    ('+0.2', '−0.2', '0.0', '–')
    """
    text = rounded(value, decimals)
    return f"+{text}" if value > 0 and text.strip("0.") else text


def least_written(value: Floats, decimals: int = 0) -> str:
    """A lower limit, rounded up so that the written figure satisfies it.

    >>> least_written(156.2), least_written(156.0000000001), least_written(6.04, 1)
    ('157', '156', '6.1')
    """
    steps = 10.0**decimals
    return rounded(np.ceil(value * steps - STEP_HAIR) / steps, decimals)


def most_written(value: Floats, decimals: int = 0) -> str:
    """An upper limit, rounded down so that the written figure satisfies it.

    >>> most_written(156.8), most_written(155.9999999999), most_written(6.04, 1)
    ('156', '156', '6.0')
    """
    steps = 10.0**decimals
    return rounded(np.floor(value * steps + STEP_HAIR) / steps, decimals)


def percent(value: Floats) -> str:
    """A share with one decimal; one that is too small for it is written "< 0.1".

    >>> percent(0.02), percent(0.0), percent(12.34)
    ('< 0.1', '0.0', '12.3')
    """
    return "< 0.1" if 1e-9 < value < 0.05 else rounded(value, 1)


def span(low: Floats, high: Floats, decimals: int = 0) -> str:
    """Two ends of a range; empty where there is none.

    >>> span(291.6, 333.2)
    '292–333'
    """
    return "" if np.isnan(low) or np.isnan(high) else f"{rounded(low, decimals)}–{rounded(high, decimals)}"
