"""What a letter says about one eye beside the plan: rows to tick, and the plan's texts once they are taken."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from tissue.entry.fields import fields
from tissue.entry.notation import echo
from tissue.entry.typed import EITHER, REFRACTION, read_fields
from tissue.report.letter_terminal import places, value_words
from tissue.screens.desk.plan import ONE_QUANTITY
from tissue.screens.desk.reading import number_text

Texts = dict[str, str]
NOTHING_THERE = "–"


@dataclass(frozen=True, eq=False)
class Row:
    """One thing that was read: its name, label, value in words, where it stands, and the plan's value now.

    name: field, or refraction for its three numbers. places: every line with the words it was read from. typed: the
    text that goes into the plan. differs: whether the plan holds another value.
    """

    name: str
    label: str
    value: str
    places: str
    now: str
    typed: str
    differs: bool


def rows_of(read: dict[str, Any], texts: Texts, side: str) -> list[Row]:
    """The Rows of one eye, in the order of its form.

    Args:
        read: by field, what the letter says of the eye.
        texts: by name, what the plan holds as typed.
        side: OD or OS.
    """
    values, _ = read_fields(texts, side)
    found = [_refraction(read, values)] if "sphere_D" in read else []
    found += [_row(name, read[name], values) for name in fields() if name in read and name not in REFRACTION]
    return found


def _refraction(read: dict[str, Any], values: dict[str, Any]) -> Row:
    """The refraction whole, in both forms."""
    three = _three({name: read[name]["value"] for name in REFRACTION if name in read})
    where = _where(*(read[name] for name in REFRACTION if name in read))
    has = "sphere_D" in values
    now = echo(*_three(values)) if has else NOTHING_THERE
    typed = _typed_refraction(read)
    value = echo(*three)
    return Row("refraction", "Refraction", value, where, now, typed, has and now != value)


def _where(*found: dict[str, Any]) -> str:
    """Every line that the fields were read from, with its words."""
    return "; ".join(f"line {line}: “{'”, “'.join(texts)}”" for line, texts in places(*found))


def _three(values: dict[str, Any]) -> tuple[float, float, float]:
    return values["sphere_D"], values.get("cylinder_D", 0.0), values.get("axis_deg", 180.0)


def _typed_refraction(read: dict[str, Any]) -> str:
    """The refraction as a plan file spells it, in the form of the letter."""
    sphere, cylinder, axis = _three({name: read[name]["value"] for name in REFRACTION if name in read})
    text = number_text("sphere_D", sphere)
    return f"{text} {number_text('cylinder_D', cylinder)} × {axis:g}" if cylinder else text


def _row(name: str, field: dict[str, Any], values: dict[str, Any]) -> Row:
    """One field."""
    now = values.get(name)
    held = now is not None and not (isinstance(now, float) and np.isnan(now))
    typed = number_text(name, field["value"]) if fields()[name].is_number else _choice(name, field["value"])
    words = value_words(name, field["value"])
    if not held and fields()[name].choices:
        now, held = fields()[name].default, True
    differs = bool(held and value_words(name, now) != words)
    said = value_words(name, now) if held else NOTHING_THERE
    return Row(name, fields()[name].heading, words, _where(field), said, typed, differs)


def _choice(name: str, value: str) -> str:
    """A choice as the form holds it: the default counts as not given."""
    return "" if value == fields()[name].default else value


def taken(texts: Texts, filled: Texts) -> Texts:
    """The texts of one eye with what was taken put in; another spelling of the same quantity is removed.

    Args:
        texts: by name, what the plan holds as typed.
        filled: by name, what is taken; a refraction as one text.

    >>> taken({"sphere_D": "-3", "zone_mm": "6.5", "radius_mm": "7.8"}, {"refraction": "−4.50", "mean_K_D": "43"})
    {'zone_mm': '6.5', 'refraction': '−4.50', 'mean_K_D': '43'}
    """
    gone = set(REFRACTION) if "refraction" in filled else set()
    gone |= {EITHER[name] for name in filled if name in EITHER} | set(filled)
    kept = {name: text for name, text in texts.items() if name not in gone}
    return kept | {name: text for name, text in filled.items() if text}


def put_back(now: dict[str, Any], before: dict[str, Any], after: dict[str, Any]) -> dict[str, Any]:
    """The texts of one eye with those of a letter undone; a quantity that was changed since stays as it is now.

    Args:
        now, before, after: by name, what the plan holds now, and what it held before and after the letter was taken.

    >>> put_back({"refraction": "-4", "flap_um": "95"}, {"sphere_D": "-3"}, {"refraction": "-4"})
    {'flap_um': '95', 'sphere_D': '-3'}
    >>> put_back({"sphere_D": "-5"}, {"sphere_D": "-3"}, {"refraction": "-4"})
    {'sphere_D': '-5'}
    """
    found = dict(now)
    groups = [*ONE_QUANTITY, *((name,) for name in before | after if not any(name in one for one in ONE_QUANTITY))]
    for group in groups:
        here, was, letter = ({name: of[name] for name in group if name in of} for of in (now, before, after))
        if here == letter:
            found = {name: text for name, text in found.items() if name not in group} | was
    return found
