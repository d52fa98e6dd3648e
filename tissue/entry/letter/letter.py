"""`tissue letter`: turns the text of a letter into fields of two eyes, questions, matters, and what was not used."""

import re
from collections.abc import Iterable
from typing import Any

from tissue.entry.letter.found import Where
from tissue.entry.letter.pieces.lines import Clause, Line, lines_of
from tissue.entry.letter.settle import EYES, Ask, Fill, settle
from tissue.entry.letter.walk import walk
from tissue.entry.toml_file import Unreadable

SCHEMA = 1
LARGEST_BYTES = 20_000
ACCEPTED = "UTF-8 text up to 20,000 bytes"
NUMBER = re.compile(r"(?<![^\W\d_])\d+(?:[.,]\d+)*")  # digits right after a letter are part of a word, as in K1
WORD = re.compile(r"[^\W\d_]+(?:[-'’][^\W\d_]+)*")
LONG_LINE = 4  # words
LONGEST_WORD = 40  # this many characters are looked at on either side of a number


def letter_text(data: bytes) -> str:
    """The text of the bytes of a letter.

    Args:
        data: bytes.
    Raises:
        Unreadable: too many bytes, no UTF-8, a null character.

    >>> letter_text(b"OD -4.50 DS")
    'OD -4.50 DS'
    """
    if len(data) > LARGEST_BYTES:
        raise Unreadable(f"more than {LARGEST_BYTES:,} bytes", ACCEPTED)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Unreadable(f"bytes that are not UTF-8 at byte {error.start}", ACCEPTED) from None
    if "\0" in text:
        raise Unreadable("a null character", ACCEPTED)
    return text


def read_letter(text: str) -> dict[str, Any]:
    """What a letter says: {"schema", "eyes", "asks", "unused", "matters"} as in the interface.

    A field is filled only where one reading exists; everything else is asked or listed.

    >>> letter = read_letter("OD -4.50 -1.25 x 12, CCT 548 OD")
    >>> {name: field["value"] for name, field in letter["eyes"]["OD"].items()}
    {'sphere_D': -4.5, 'cylinder_D': -1.25, 'axis_deg': 12.0, 'central_thickness_um': 548.0}
    """
    lines = lines_of(text)
    known = walk(lines)
    settled = settle(known.found, known.corrections)
    by_number = {line.number: line for line in lines}
    eyes = {eye: {name: _field(fill, by_number) for name, fill in settled.eyes[eye].items()} for eye in EYES}
    asks = [_ask(ask, by_number) for ask in _once(settled.asks)]
    matters = [_matter(*matter) for matter in known.matters]
    used = [Where(m["line"], m["start"], m["end"]) for m in matters]
    used += [place for eye in EYES for fill in settled.eyes[eye].values() for place in (fill.at, *fill.also)]
    used += [ask.at for ask in settled.asks]
    return {
        "schema": SCHEMA,
        "eyes": eyes,
        "asks": asks,
        "unused": unused(lines, used),
        "matters": [{name: m[name] for name in ("line", "text", "what")} for m in matters],
    }


def _once(asks: list[Ask]) -> list[Ask]:
    """Each question once, in the order of the letter."""
    found = {(a.eye, a.field, a.at.line, a.at.start, a.at.end): a for a in reversed(asks)}
    return sorted(found.values(), key=lambda a: (a.at.line, a.at.start, a.field))


def _slice(place: Where, by_number: dict[int, Line]) -> dict[str, Any]:
    text = by_number[place.line].written[place.start : place.end]
    return {"text": text, "line": place.line, "start": place.start, "end": place.end}


def _field(fill: Fill, by_number: dict[int, Line]) -> dict[str, Any]:
    return {
        "value": fill.value,
        **_slice(fill.at, by_number),
        "also": [_slice(place, by_number) for place in fill.also],
    }


def _ask(ask: Ask, by_number: dict[int, Line]) -> dict[str, Any]:
    return {
        "eye": ask.eye,
        "field": ask.field,
        **_slice(ask.at, by_number),
        "why": ask.why,
        "choices": list(ask.choices),
    }


def _matter(line: Line, clause: Clause, what: str) -> dict[str, Any]:
    text = line.written[clause.start : clause.end]
    return {"line": line.number, "text": text, "what": what, "start": clause.start, "end": clause.end}


def unused(lines: Iterable[Line], used: Iterable[Where]) -> list[Any]:
    """Every number outside the slices that were used, and lines of four words or more without a number.

    Args:
        lines: Lines of the letter.
        used: Where of fields, questions and matters.
    """
    taken: dict[int, list] = {}
    for place in used:
        taken.setdefault(place.line, []).append((place.start, place.end))
    found = []
    for line in lines:
        slices = taken.get(line.number, [])
        numbers = list(NUMBER.finditer(line.written))
        found += [{"line": line.number, "text": text} for text in _left(line.written, numbers, slices)]
        whole = any(start <= _first(line) and end >= _last(line) for start, end in slices)
        if not numbers and not whole and len(WORD.findall(line.written)) >= LONG_LINE:
            found.append({"line": line.number, "text": line.written.strip()})
    return found


def _first(line: Line) -> int:
    return len(line.written) - len(line.written.lstrip())


def _last(line: Line) -> int:
    return len(line.written.rstrip(" .;"))


def _left(text: str, numbers: list[re.Match[str]], slices: list[tuple[int, int]]) -> list[str]:
    """The words that hold a number outside the slices; only the number where part of its word was used."""
    words, at = [], -1
    covered = bytearray(len(text))
    for start, end in set(slices):
        covered[start:end] = b"\1" * (end - start)
    for match in numbers:
        if all(covered[match.start() : match.end()]):
            continue
        start, end = _word_round(text, match)
        if any(covered[start:end]):
            words.append(match[0])
        elif start >= at:
            words.append(text[start:end])
            at = end
    return words


def _word_round(text: str, match: re.Match[str]) -> tuple[int, int]:
    """The word around a number, without spaces and without punctuation at its ends."""
    start, end = match.start(), match.end()
    low, high = max(0, start - LONGEST_WORD), min(len(text), end + LONGEST_WORD)
    while start > low and not _parts_words(text, start - 1):
        start -= 1
    while end < high and not _parts_words(text, end):
        end += 1
    return start, end - (text[end - 1] in ".:!?")


def _parts_words(text: str, at: int) -> bool:
    """Whether a character separates words: a space, a bracket, or a comma that is no decimal sign."""
    if text[at] == ",":
        return not (text[at - 1 : at].isdigit() and text[at + 1 : at + 2].isdigit())
    return text[at].isspace() or text[at] in "()[]|;"
