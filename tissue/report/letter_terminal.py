"""What a letter says, as text for the terminal: fields by eye, questions, matters, what was not used."""

from collections.abc import Mapping
from typing import Any

from tissue.entry.fields import fields, figure
from tissue.ground.vocabulary import TRUE_MINUS
from tissue.report.measures import STANDING_LINE

SIDES = {"OD": "OD (right eye)", "OS": "OS (left eye)", None: "eye not said"}
WIDE, COLUMN = 48, 14
QUESTIONS = {  # the reasons to ask, in words
    "eye": "which eye?",
    "sign": "plus or minus?",
    "axis": "which axis?",
    "unit": "in which unit?",
    "decimal": "where is the decimal point?",
    "range": "what is it? It lies outside what the field takes, or is in doubt",
    "two-values": "which of the values?",
    "kind": "which refraction, or which quantity, is it?",
    "date": "does it still hold? It stands under an older date, or beside a newer value",
    "light": "in which light?",
    "place": "where does it lie? Both directions in words are needed",
}
MATTERS = {
    "surgery": "surgery on an eye",
    "cornea": "a disease or scar of the cornea",
    "lenses": "contact lenses",
    "monovision": "monovision",
}


def field_words(name: str) -> str:
    """A field in words, with its unit.

    >>> field_words("vertex_mm")
    'Vertex distance, mm'
    """
    return fields()[name].heading


def value_words(name: str, value: Any) -> str:
    """A value as people read it.

    >>> value_words("sphere_D", -4.5), value_words("central_thickness_um", 548.0)
    ('−4.50', '548')
    """
    if not isinstance(value, float):
        return str(value)
    if fields()[name].kind == "power":
        return f"{value:+.2f}".translate(TRUE_MINUS) if value else "0.00"
    return figure(value)


def places(*found: dict[str, Any]) -> list[tuple[int, tuple[str, ...]]]:
    """Every place that fields were read from, in the order of the letter: (line, texts there).

    Args:
        found: fields as `read_letter` gives them; a pair that was averaged stands at two places.

    >>> places({"line": 2, "start": 5, "text": "43.25", "also": [{"line": 2, "start": 11, "text": "44.50"}]})
    [(2, ('43.25', '44.50'))]
    """
    each = sorted({(one["line"], one["start"], one["text"]) for field in found for one in (field, *field["also"])})
    lines = dict.fromkeys(line for line, _, _ in each)
    return [(line, tuple(text for at, _, text in each if at == line)) for line in lines]


def question(ask: dict[str, Any]) -> str:
    """A question in words."""
    choices = f": {' or '.join(ask['choices'])}" if ask["choices"] else ""
    return f"{QUESTIONS[ask['why']]}{choices}"


def letter_table(letter: dict[str, Any]) -> str:
    """The text of a letter that was read.

    Args:
        letter: what `read_letter` gives.
    """
    blocks = [_eye(side, values) for side, values in letter["eyes"].items()]
    blocks.append("\n".join(["Questions", *map(_asked, letter["asks"])]) if letter["asks"] else "No questions")
    if letter["matters"]:
        lines = [f"  line {m['line']}: {MATTERS[m['what']]}: {m['text'].strip()}" for m in letter["matters"]]
        blocks.append("\n".join(["Not read, matters", *lines]))
    if letter["unused"]:
        lines = [f"  line {u['line']}: {u['text']}" for u in letter["unused"]]
        blocks.append("\n".join(["Not used", *lines]))
    return "\n\n".join([*blocks, STANDING_LINE])


def _eye(side: str, values: Mapping[str, Any]) -> str:
    """The fields of one eye, each with its words in the letter."""
    if not values:
        return f"{SIDES[side]}\n  nothing read"
    rows = [
        f"  {field_words(name):<{WIDE}}{value_words(name, field['value']):<{COLUMN}}{_read_at(field)}"
        for name, field in values.items()
    ]
    return "\n".join([SIDES[side], *rows])


def _read_at(field: dict[str, Any]) -> str:
    return "; ".join(f"line {line}: {', '.join(texts)}" for line, texts in places(field))


def _asked(ask: dict[str, Any]) -> str:
    return f"  line {ask['line']}: {SIDES[ask['eye']]}, {field_words(ask['field'])}: {ask['text']}: {question(ask)}"
