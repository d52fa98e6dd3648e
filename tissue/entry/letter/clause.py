"""Reads a clause from left to right: its values, the label of each, and the marks of an eye beside them."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from tissue.entry.letter.labels import block, take_label, take_said
from tissue.entry.letter.pieces.lines import Clause, clause_of
from tissue.entry.letter.pieces.tokens import Token
from tissue.entry.letter.reader import Label, Mark, Reader, Value
from tissue.entry.letter.values.place import place_at
from tissue.entry.letter.values.powers import Power, part_at, power_at
from tissue.entry.letter.values.scalars import SIGNED, number_at

NEAR = 12  # this many tokens are looked at on either side
PARTS = ("sphere", "cylinder", "axis")
WEAK = (
    "flat",
    "steep",
    "min",
    "thin",
    "minimum",
    "minimal",
    "minima",
    "minimo",
    "mínimo",
    "mínima",
    "apex",
    "aim",
    "mince",
)


def read_clause(tokens: Sequence[Token], dotted: bool, label: str = "", kind: str = "", table: bool = False) -> Reader:
    """The Reader of a clause: its Marks and Values in order, its letters, and the kind and label in force at its end.

    Args:
        tokens: of the clause.
        dotted: whether the letter writes decimals with a point.
        label: name of the label given by a heading or by the clause before.
        kind: of refraction, given in the same way.
        table: whether the clause is a cell of a table, where a lone axis counts as a part of a refraction.
    """
    reader = Reader(tokens, dotted, label, kind, table)
    at = 0
    while at < len(reader.tokens):
        at = _step(reader, at)
    return reader


def _step(reader: Reader, at: int) -> int:
    """Read what begins at one token; returns the index of the token after it."""
    letter = reader.letters[at]
    if letter == "(":
        return _bracket(reader, at)
    if letter == "M":
        return _mark(reader, at)
    if letter in "LV":
        return take_label(reader, at)
    if letter in "kl":
        return take_said(reader, at)
    if letter in "NnPscxGYp":
        return _value(reader, at)
    _between(reader, at, letter)
    return at + 1


def _between(reader: Reader, at: int, letter: str) -> None:
    """Handle a word or sign that is no value: it may end the label, cast doubt, or cancel the mark before it."""
    label = reader.label
    if letter in "q~?":
        reader.doubt = at
    elif letter == ",":
        label.comma = True
        label.marked = False
    elif letter == "z" and label.name == "thinnest_um" or letter in "XmdtuY)":
        block(reader)
    if "eye_unnamed" in reader.tokens[at].means:
        reader.items.append(Mark(None, at, at))


def _bracket(reader: Reader, at: int) -> int:
    """Read a bracket: it holds a mark, words that qualify, or a clause of its own."""
    close = reader.letters.find(")", at)
    if close < 0 or "(" in reader.letters[at + 1 : close]:
        block(reader)
        return at + 1
    inside = reader.letters[at + 1 : close]
    if inside.strip("ef,./M") == "" and "M" in inside:
        _mark(reader, at + 1 + inside.index("M"))
        return close + 1
    if inside and all(c in "klLVfzmdgxe,:/-c" for c in inside) and not _flagged(reader, at, close):
        _qualify(reader, at, close)
        return close + 1
    last = reader.items[-1] if reader.items else None
    if isinstance(last, Value) and last.name == "thinnest_um" and last.last >= at - 2:
        end = _place(reader, at + 1, close)
        if end:
            return close + 1
    reader.inner.append((at + 1, close, len(reader.items), last))
    return close + 1


def _qualify(reader: Reader, at: int, close: int) -> None:
    """Read the words in a bracket that qualify the label, or the value before the bracket."""
    last: Any = reader.items[-1] if reader.items else None
    behind = isinstance(last, Value) and last.last == at - 1
    for inner in range(at + 1, close):
        if reader.letters[inner] in "LV" and behind:
            reader.items[-1] = _renamed(last, reader.tokens[inner])
        elif reader.letters[inner] in "klLV":
            _step(reader, inner)


def _renamed(value: Value, token: Token) -> Value:
    """A value renamed by the word after it: the thinnest point for the centre; any other name makes it doubtful."""
    name = token.means.get("label", "never")
    if name == value.name:
        return value
    thinnest = value.name == "central_thickness_um" and name == "thinnest_um"
    return replace(value, name=name) if thinnest else replace(value, why=value.why or "kind")


def _flagged(reader: Reader, at: int, close: int) -> bool:
    """Whether a word of the bracket says old, denied or the like; the caller decides what follows from it."""
    return any(
        name in token.means
        for token in reader.tokens[at + 1 : close]
        for name in ("words", "denied", "decided", "person")
    )


def _mark(reader: Reader, at: int) -> int:
    """Read a mark of an eye with its noun; `OD/OS` gives an order of two values, `OD and OS` means both eyes."""
    letters, tokens = reader.letters, reader.tokens
    eye, last = tokens[at].means["eye"], at
    while letters[last + 1 : last + 2] == "e" and letters[last + 1 : last + 2]:
        last += 1
    joined, other = letters[last + 1 : last + 2], letters[last + 2 : last + 3]
    if other == "M" and joined in ("/", ",", ":", "w") and joined:
        second = tokens[last + 2].means["eye"]
        between = tokens[last + 1].text
        if {eye, second} == {"OD", "OS"} and between != ",":
            eye = (eye, second) if between == "/" else "both"
            last += 2
            while letters[last + 1 : last + 2] == "e":
                last += 1
    previous = reader.items[-1] if reader.items else None
    if isinstance(previous, Mark) and previous.eye == eye and set(letters[previous.last + 1 : at]) <= set("(e:/-"):
        reader.items[-1] = Mark(eye, previous.first, last)
    else:
        reader.items.append(Mark(eye, at, last))
    reader.label.marked = True
    if not reader.label.values:
        reader.label.spreads = True
    return last + 1


def _value(reader: Reader, at: int) -> int:
    """Read a number or a word of a refraction under the label in force."""
    label, letters = reader.label, reader.letters
    if label.name == "never":
        return _never(reader, at)
    if label.name in PARTS and letters[at] in "NnP":
        return _part(reader, at)
    if letters[at] in "scx" and _heads_marks(reader, at):
        reader.count += 1
        name = {"s": "sphere", "c": "cylinder", "x": "axis"}[letters[at]]
        reader.label = Label(name, reader.count, at, reader.tokens[at])
        return at + 1
    if letters[at] == "p":
        block(reader)
        return at + 1
    if label.name in ("", "blocked", "refraction", "light") or letters[at] in "sc" or _signed_elsewhere(reader, at):
        return _light_only(reader, at) or _refraction(reader, at)
    if letters[at] == "x":
        return at + 1
    return _scalar(reader, at)


def _heads_marks(reader: Reader, at: int) -> bool:
    """Whether a word for sphere, cylinder or axis stands before marks of an eye, as in `Axis OD 12 OS 170`."""
    return len(reader.tokens[at].text) > 1 and reader.letters[at + 1 : at + NEAR].lstrip(":f")[:1] == "M"


def _part(reader: Reader, at: int) -> int:
    """Read a part of a refraction that follows its word."""
    power = part_at(reader.label.name, reader.letters, reader.tokens, at)
    _add(reader, _refraction_value(reader, at, power, power.why))
    return power.end


def _marked_before(reader: Reader, at: int) -> bool:
    """Whether a mark stands right before a token; a colon or a bracket may stand between."""
    before = reader.letters[max(0, at - NEAR) : at]
    return "M" in (before.rstrip(":(fe")[-1:], before.rstrip(":fe-)")[-1:])


def _signed_elsewhere(reader: Reader, at: int) -> bool:
    """Whether a signed power under a label for unsigned values is a refraction: after a new mark, or whole."""
    label = reader.label
    if reader.letters[at] not in "NP":
        return False
    power = power_at(reader.letters, reader.tokens, at)
    whole = power is not None and power.form == "whole" and "cylinder" in power.pieces
    if label.name in SIGNED:
        clear = power is not None and not power.why
        return whole and clear or bool(label.values and label.marked and not label.spreads)
    return whole or (_marked_before(reader, at) and (label.values > 0 or label.at < 0))


def _never(reader: Reader, at: int) -> int:
    """Skip a number under a label that is never read; after a comma a whole refraction with its own mark may begin."""
    label, letters = reader.label, reader.letters
    power = power_at(letters, reader.tokens, at) if letters[at] in "NPs" else None
    whole = power is not None and ("cylinder" in power.pieces or letters[at] == "s")
    fresh = label.comma and label.values and not label.of_power
    if whole and (fresh or _marked_before(reader, at) and not label.of_power):
        reader.label = Label()
        return _refraction(reader, at)
    if power and "cylinder" in power.pieces and "axis" in power.pieces:
        reader.items.append(_refraction_value(reader, at, power, "kind"))
        return power.end
    if fresh and letters[at] in "NP" and _marked_before(reader, at):
        reader.label = Label()
        return _refraction(reader, at)
    _add(reader, Value("never", None, at, at, label.number))
    return at + 1


def _light_only(reader: Reader, at: int) -> int | None:
    """Read a number under a light without the word pupil: it is asked where it may be a pupil."""
    if reader.label.name != "light" or reader.letters[at] != "n":
        return None
    number = number_at("pupil_mm", reader.letters, reader.tokens, at, reader.dotted)
    if number.why == "range":
        return at + 1
    _add(reader, Value("pupil_mm", number, at, number.end - 1, why="kind"))
    return number.end


def _refraction(reader: Reader, at: int) -> int:
    """Read a refraction, a part of one, or a number that belongs to nothing."""
    letters = reader.letters
    if letters[at] in "GY":
        if letters[at] == "G":
            _add(reader, Value("unread", None, at, at))
        elif reader.label.name:
            block(reader)
        return at + 1
    power = power_at(letters, reader.tokens, at)
    if power is None or (power.form == "axis" and not reader.table):
        if letters[at] == "c" and not reader.table:
            return at + 1
        if letters[at] == "n":
            reader.plain_before = at
            return _plain_pair(reader, at)
        return at + 1
    if power.form == "cylinder" and reader.label.name.startswith("K"):
        return power.end
    unsure = reader.label.name == "blocked" or _named_behind(letters, power.end)
    why = power.why or _alone(reader, at, power) or ("kind" if unsure else "")
    _add(reader, _refraction_value(reader, at, power, why))
    return power.end


def _plain_pair(reader: Reader, at: int) -> int:
    """The index after a bare number; a fraction is taken as one, and as an acuity where an eye stands before it."""
    if reader.letters[at + 1 : at + 3] != "/n":
        return at + 1
    if _marked_before(reader, at):
        reader.items.append(Value("never", None, at, at + 2))
    return at + 3


def _refraction_value(reader: Reader, at: int, power: Power, why: str) -> Value:
    label = reader.label
    return Value("refraction", power, at, power.end - 1, label.number, reader.kind, "", why, label.at)


def _alone(reader: Reader, at: int, power: Power) -> str:
    """Why a lone sphere without a word for it must be asked: no mark right before it, or more words after it."""
    if not power.bare:
        return ""
    behind = reader.letters[power.end : power.end + 1]
    named = reader.label.name == "refraction"
    before = _marked_before(reader, at) or named
    return "" if before and behind in ("", ",", "L", ")", "M", "V", "T", "(", "k", ":") else "kind"


def _named_behind(letters: str, end: int) -> bool:
    """Whether a label without a value of its own follows a value right away, so that it may name this value."""
    labelled = letters[end : end + 1] in ("L", "V")
    return labelled and not letters[end + 1 : end + NEAR].lstrip("fz:(")[:1].strip(",)")


def _add(reader: Reader, value: Value) -> None:
    """Add a Value to the items; a sign of doubt right before it is a reason to ask."""
    if reader.doubt >= 0 and set(reader.letters[reader.doubt + 1 : value.first]) <= set("f:q~?"):
        value = replace(value, why=value.why or "two-values")
    reader.label.values += 1
    reader.items.append(value)


def _scalar(reader: Reader, at: int) -> int:
    """Read a number under the label of a field."""
    label, letters = reader.label, reader.letters
    if letters[at] in "GY":
        _add(reader, Value(label.name, None, at, at, label.number, "", reader.light, "range", label.at))
        return at + 1
    if letters[at] == "P" and label.name != "target_D":
        return at + 1
    number = number_at(label.name, letters, reader.tokens, at, reader.dotted)
    weak = label.token is not None and label.token.text.lower() in WEAK
    if weak and number.why == "range" and letters[number.end : number.end + 1] != "?":
        label.values += 1
        return number.end
    why = number.why or ("kind" if _between_labels(reader, at) or _named_behind(letters, number.end) else "")
    if label.name == "central_thickness_um" and _has_place(reader, number.end):
        why = why or "kind"
    if label.comma and not label.values and not label.marked:
        why = why or "kind"
    value = Value(label.name, number, at, number.end - 1, label.number, "", reader.light, why, label.at)
    _add(reader, value)
    if label.name == "thinnest_um":
        return _place(reader, number.end, len(letters)) or number.end
    return number.end


def _has_place(reader: Reader, end: int) -> bool:
    """Whether a place follows a thickness, in a bracket or not: the thickness is then not that of the centre."""
    letters = reader.letters
    start = end + (letters[end : end + 1] == "(")
    close = letters.find(")", start) if start > end else -1
    return place_at(letters[:close] if close >= 0 else letters, reader.tokens, start) is not None


def _between_labels(reader: Reader, at: int) -> bool:
    """Whether a bare number stands right before the label, so that the label may belong to that one."""
    return reader.label.at >= 1 and reader.plain_before == reader.label.at - 1 and not reader.label.values


def _place(reader: Reader, at: int, close: int) -> int | None:
    """Read the place that follows a thinnest point; returns the index after it, or None where there is no place."""
    found = place_at(reader.letters[:close], reader.tokens, at)
    if found is None:
        return None
    reader.items.append(Value("place", found, found.first, found.end - 1, reader.label.number, why=found.why))
    return found.end


def inner_clauses(reader: Reader, plain: str) -> Iterator[tuple[Clause, int, Mark | Value | None]]:
    """The brackets that are clauses of their own, with the item before each."""
    for first, close, place, last in reader.inner:
        some = reader.tokens[first:close]
        if some:
            yield clause_of(some, plain), place, last
