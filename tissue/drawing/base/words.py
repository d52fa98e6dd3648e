"""Places and numbers in words: nasal or temporal by the side of the eye, figures rounded at the edge."""

import numpy as np

from tissue.ground.vocabulary import Floats, rounded

SIDES = {"OD": "right eye", "OS": "left eye"}
NASAL_SIGN = {"OD": 1.0, "OS": -1.0}  # nasal is the viewer's right in a right eye
AT_VERTEX_MM = 0.05  # distances below this round to 0.0 mm
WORDS_TURN_DEG = 22.5  # a direction this near to an axis has a single word


def direction_word(x: Floats, y: Floats, side: str) -> str:
    """Word for a direction seen from the front: nasal, superotemporal, inferior …

    Args:
        x, y: any length; x to the viewer's right, y up.
        side: `OD` or `OS`.

    Raises:
        KeyError: another side.

    >>> direction_word(-0.6, -0.5, "OD"), direction_word(1.0, 0.1, "OS")
    ('inferotemporal', 'temporal')
    """
    steep = np.degrees(np.arctan2(np.abs(y), np.abs(x)))
    across = "nasal" if x * NASAL_SIGN[side] >= 0 else "temporal"
    if steep <= WORDS_TURN_DEG:
        return across
    if steep >= 90.0 - WORDS_TURN_DEG:
        return "superior" if y > 0 else "inferior"
    return ("supero" if y > 0 else "infero") + across


def place_words(x_mm: Floats, y_mm: Floats, side: str) -> str:
    """Place from the vertex in words, one decimal.

    Args:
        x_mm, y_mm: place from the vertex [mm]; a place that is not known gives an empty text.
        side: `OD` or `OS`.

    >>> place_words(-0.25, -0.21, "OD"), place_words(0.01, 0.02, "OS")
    ('0.3 mm inferotemporal', 'at the vertex')
    """
    distance = np.hypot(x_mm, y_mm)
    if np.isnan(distance):
        return ""
    if distance < AT_VERTEX_MM:
        return "at the vertex"
    return f"{distance:.1f} mm {direction_word(x_mm, y_mm, side)}"


def whole(value: Floats) -> str:
    """Figure in whole units, minus as a minus sign; an en dash where there is none.

    >>> whole(303.6), whole(-2.2), whole(float("nan"))
    ('304', '−2', '–')
    """
    return rounded(value)


def length(value: Floats) -> str:
    """Length in mm: one decimal, a second where it is needed.

    >>> length(6.5), length(7.25)
    ('6.5', '7.25')
    """
    text = f"{float(value):.2f}"
    return text[:-1] if text.endswith("0") else text


def degrees(value: float) -> str:
    """Direction in whole degrees with its sign, written 1–180 or as given up to 360.

    >>> degrees(90.0)
    '90°'
    """
    return f"{rounded(value)}°"
