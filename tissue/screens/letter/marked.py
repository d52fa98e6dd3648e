"""The text of a letter with marks, not colours, under what was read, what is asked and what matters."""

from typing import Any

from markupsafe import Markup

from tissue.entry.letter.pieces.lines import LINE_ENDS
from tissue.screens.html import NOTHING, joined, tag

Letter = dict[str, Any]
READ, ASKED, MATTERS = "read", "asked", "matters"
WORDS = {READ: "read", ASKED: "asked", MATTERS: "matters"}


def marked_letter(text: str, letter: Letter) -> Markup:
    """The text of a letter as markup, marks under its slices.

    Args:
        text: of the letter.
        letter: what `read_letter` gives for it.

    >>> sphere = {"line": 1, "start": 3, "end": 8, "also": []}
    >>> marked_letter("OD -4.50 DS", {"eyes": {"OD": {"sphere_D": sphere}}, "asks": [], "matters": []})
    Markup('<pre class="letter">OD <mark class="read" title="read">-4.50</mark> DS</pre>')
    """
    slices = _slices(text, letter)
    lines = [_line(line, slices.get(number, [])) for number, line in enumerate(LINE_ENDS.split(text), 1)]
    return tag("pre", joined(*(part for line in lines for part in (line, "\n")))[:-1], class_="letter")


def key() -> Markup:
    """What the marks mean."""
    return tag("p", *(tag("mark", words, class_=kind) for kind, words in WORDS.items()), class_="letter-key")


def _slices(text: str, letter: Letter) -> dict[int, list[tuple[int, int, str]]]:
    """Start, end and kind of every slice, by line; where two overlap, the earlier kind of the list wins."""
    found: dict[int, list[tuple[int, int, str]]] = {}
    lines = LINE_ENDS.split(text)
    for ask in letter["asks"]:
        found.setdefault(ask["line"], []).append((ask["start"], ask["end"], ASKED))
    for values in letter["eyes"].values():
        for field in values.values():
            for one in (field, *field["also"]):
                found.setdefault(one["line"], []).append((one["start"], one["end"], READ))
    for matter in letter["matters"]:
        at = lines[matter["line"] - 1].find(matter["text"])
        found.setdefault(matter["line"], []).append((at, at + len(matter["text"]), MATTERS))
    return found


def _line(line: str, slices: list[tuple[int, int, str]]) -> Markup:
    """One line with its marks."""
    kinds = [""] * len(line)
    for start, end, kind in reversed(slices):
        kinds[start:end] = [kind] * (end - start)
    parts, at = [NOTHING], 0
    while at < len(line):
        end = next((i for i in range(at, len(line)) if kinds[i] != kinds[at]), len(line))
        piece = line[at:end]
        parts.append(tag("mark", piece, class_=kinds[at], title=WORDS[kinds[at]]) if kinds[at] else joined(piece))
        at = end
    return joined(*parts)
