"""A read-back in words and for machines, and the words of the record on the read-back of a plan."""

import math
from typing import Any

from tissue.budget.comparison import Comparison
from tissue.entry.eye import Inputs, used
from tissue.entry.fields import fields
from tissue.entry.own_map.names import MAPS
from tissue.entry.readback import Difference, ReadEye, agrees, identity, read_back, words_of
from tissue.eye.slips import SLIPS
from tissue.ground.vocabulary import REFRACTION
from tissue.report.contract import plain_json, residual_figures
from tissue.report.measures import STANDING_LINE

SCHEMA = 1
NAMES = {"refraction": "Refraction", "treated": "Treated refraction", "eye": "Eye"}
NOT_READ_BACK = "Not read back."


def used_to_compare(eyes: dict[str, tuple[Inputs, Comparison, str]]) -> dict[str, Any]:
    """By side, the values a plan uses with its maps, and the fields of its cuts: of the planned procedure, else of all.

    Args:
        eyes: by side, (Inputs, Comparison, refraction as typed).
    """
    found = {}
    for side, (inputs, comparison, typed) in eyes.items():
        values = used(inputs, comparison, typed)
        values |= {name: one for name in MAPS if (one := inputs.values.get(name)) is not None}
        results = comparison.results
        ways = [results[values["procedure"]]] if values["procedure"] else results.values()
        found[side] = values, tuple(sorted(way.option.cut_field for way in ways if way.option.cut_field))
    return found


def readback_report(eyes: dict[str, Any], typed: dict[str, Any]) -> dict[str, Any]:
    """What `tissue readback --json` prints.

    Args:
        eyes: by side, (Inputs, Comparison, refraction as typed).
        typed: by side, the values that were typed, by name.
    """
    plan = used_to_compare(eyes)
    found = read_back(plan, typed)
    return {
        "schema": SCHEMA,
        "agrees": agrees(found),
        "of": identity(plan),
        "eyes": {side: _eye(eye) for side, eye in found.items()},
    }


def _eye(eye: ReadEye) -> dict[str, Any]:
    return {
        "agrees": eye.agrees,
        "compared": eye.compared,
        "not_typed": eye.not_typed,
        "differences": [_difference(one) for one in eye.differences],
    }


def _difference(one: Difference) -> dict[str, Any]:
    """One difference; a refraction as its three numbers."""
    residual = None if one.residual is None else plain_json(residual_figures(one.residual))
    return {
        "field": one.field,
        "plan": _value(one.plan),
        "typed": _value(one.typed),
        "names": list(one.names),
        "text": difference_words(one),
        "residual": residual,
    }


def _value(value: Any) -> Any:
    return plain_json(dict(zip(REFRACTION, value, strict=True)) if isinstance(value, tuple) else value)


def name_words(name: str) -> str:
    """The name of what is compared, in words.

    >>> name_words("zone_mm"), name_words("refraction")
    ('Optical zone', 'Refraction')
    """
    return NAMES.get(name) or fields()[name].label


def value_words_of(one: dict[str, Any], which: str) -> str:
    """The planned or the typed value of a difference of a report, in words.

    Args:
        one: difference, as `readback_report` gives it.
        which: plan or typed.
    """
    value = one[which]
    if isinstance(value, dict):
        value = tuple(math.nan if part is None else part for part in value.values())
    return words_of(one["field"], value)


def difference_words(one: Difference) -> str:
    """One difference in a sentence, with the slip that it looks like.

    Args:
        one: Difference.
    """
    if one.field == "eye":
        text = f"Eye: {one.typed} was typed, the plan has no such eye."
    else:
        plan, typed = words_of(one.field, one.plan), words_of(one.field, one.typed)
        text = f"{name_words(one.field)}: planned {plan}, typed {typed}."
    return " ".join([text, *(SLIPS[name] for name in one.names)])


def difference_lines(report: dict[str, Any]) -> list[str]:
    """Every difference and every value that was not typed, one line each with its eye.

    Args:
        report: of `readback_report`.
    """
    found = []
    for side, eye in report["eyes"].items():
        found += [f"{side} {one['text']}" for one in eye["differences"]]
        found += [f"{side} {name_words(name)}: not typed." for name in eye["not_typed"]]
    return found


def readback_table(report: dict[str, Any]) -> str:
    """The text of a read-back for the terminal."""
    lines = difference_lines(report)
    compared = [
        f"{side}: compared {', '.join(map(name_words, eye['compared']))}"
        for side, eye in report["eyes"].items()
        if eye["compared"]
    ]
    head = "Read back: agrees" if report["agrees"] else "Read back: does not agree"
    return "\n".join([head, *lines, "", *compared, f"of {report['of']}", "", STANDING_LINE])


def note_of(report: dict[str, Any], date: str = "") -> dict[str, Any]:
    """The table [readback] that a plan keeps of a read-back.

    Args:
        report: of `readback_report`.
        date: as written, empty where none is given.
    """
    return {"date": date} | {
        "of": report["of"],
        "agrees": report["agrees"],
        "differences": difference_lines(report),
    }


def changed_since(note: dict[str, Any], eyes: dict[str, Any]) -> bool:
    """Whether the plan has changed since it was read back. Arguments as in `readback_words`."""
    return note["of"] != identity(used_to_compare(eyes))


def readback_words(note: dict[str, Any] | None, eyes: dict[str, Any]) -> str:
    """The words of the record on the read-back of a plan.

    Args:
        note: table [readback] of the plan, None where there is none.
        eyes: by side, (Inputs, Comparison, refraction as typed).
    """
    if not note:
        return NOT_READ_BACK
    head = " ".join(filter(None, ("Read back", note.get("date", ""))))
    said = "agrees" if note["agrees"] else " ".join(note.get("differences", [])) or "does not agree"
    later = " The plan was changed since." if changed_since(note, eyes) else ""
    return f"{head}: {said.rstrip('.')}.{later}"
