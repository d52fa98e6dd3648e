"""The languages a patient can read: one file of sentences each, and how figures are written in them."""

import re
from typing import Any

from tissue.ground.sources import data
from tissue.ground.vocabulary import Floats, rounded

NO_BREAK = "\u00a0"
LANGUAGES = ("en", "de", "fr", "es", "it")
FIRST = LANGUAGES[0]


def words(language: str) -> dict[str, Any]:
    """The sentences of one language as plain dictionaries; not to be changed by the caller.

    Args:
        language: one of LANGUAGES.
    """
    return data(f"words/{language}")


def with_sign(text: str, language: str) -> str:
    """A figure that was written with a point, with the decimal sign of a language.

    >>> with_sign("0.55", "en")
    '0.55'
    """
    return text.replace(".", words(language)["about"]["decimal"])


def mm(value_um: Floats, language: str) -> str:
    """A thickness in mm with two decimals, as a patient reads it.

    Args:
        value_um: thickness [µm]; NaN gives an en dash.
        language: one of LANGUAGES.

    >>> mm(303.5, "en"), mm(548.0, "de"), mm(float("nan"), "en")
    ('0.30', '0,55', '–')
    """
    return with_sign(rounded(value_um / 1000.0, 2), language)


def mm_or_less(value_um: Floats, language: str) -> str:
    """The same for a thickness that may be too small to be written: 0.00 is never shown.

    >>> mm_or_less(124.0, "en"), mm_or_less(3.0, "en")
    ('0.12', 'less than 0.01')
    """
    if 0.0 < value_um and float(rounded(value_um / 1000.0, 2)) == 0.0:
        return words(language)["said"]["under"].format(smallest=with_sign("0.01", language))
    return mm(value_um, language)


def unbroken(text: str) -> str:
    """A text in which no line break parts a figure from its mm or its thousands, or a sign from the word before it.

    >>> unbroken("0.55 mm, 1 000 ?").count(NO_BREAK)
    3
    """
    return re.sub(r" (?=mm\b|[?!:;])|(?<=\d) (?=\d{3})", NO_BREAK, text)


def unread(language: str) -> str:
    """A note that no clinician has read the sentences of a language; empty once one has."""
    about = words(language)["about"]
    return "" if about["read_by"] else about["unread"]
