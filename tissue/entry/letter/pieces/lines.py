"""Cuts a letter into lines and lines into clauses, and notes what a whole clause is: old, denied, decided, a matter."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from tissue.entry.letter.pieces.tokens import Token, composed, plain_line, tokens
from tissue.entry.letter.pieces.words import folded, stems

LINE_ENDS = re.compile(r"\r\n|\r|\n")
STRUCK = re.compile(r"~~.*?~~")
DROPPED = ('"', "“", "”", "„", "«", "»", "'", "’", "_", "#", "•", "·", "`", "–", "!")
ABBREVIATED = ("eye", "sphere", "cylinder", "axis", "label", "doubt", "of_sphere", "ages", "unit", "kind")
EYES = ("re", "li", "ra", "la")  # abbreviated marks that are written with a dot


@dataclass(frozen=True, eq=False)
class Clause:
    """A part of a line: its Tokens, what is said about all of it, and the matters in it.

    said: of old, denied, decided, person, correction. matters: kinds of matter. start, end: characters of the line.
    """

    tokens: tuple[Token, ...]
    said: frozenset[str]
    matters: tuple[str, ...]
    start: int
    end: int


@dataclass(frozen=True, eq=False)
class Line:
    """A line of a letter: its number from 1, its text as written, its plain text, Tokens and Clauses."""

    number: int
    written: str
    plain: str
    tokens: tuple[Token, ...]
    clauses: tuple[Clause, ...] = field(default=())


def lines_of(text: str) -> list[Line]:
    """The Lines of a text; LF, CRLF or CR ends a line."""
    return [_line(number, written) for number, written in enumerate(LINE_ENDS.split(text), 1)]


def _line(number: int, written: str) -> Line:
    whole, places = composed(written)
    plain = plain_line(whole)
    struck = STRUCK.sub(lambda m: " " * len(m[0]), plain) if "~~" in plain else plain
    found = tokens(struck, number)
    if places:
        found = [_moved(token, places, written) for token in found]
        plain = plain_line(written)
    kept = tuple(_without_dots(found))
    return Line(number, written, plain, kept, tuple(_clauses(kept, plain)))


def _moved(token: Token, places: Sequence[int], written: str) -> Token:
    """A Token of the composed line, moved to its place in the line as written."""
    start, end = places[token.start], places[token.end]
    return token._replace(start=start, end=end, text=written[start:end])


def _without_dots(found: Sequence[Token]) -> Iterator[Token]:
    """The tokens without quotation marks and without the dots of abbreviations and ends."""
    for at, token in enumerate(found):
        if token.kind in DROPPED:
            continue
        if token.kind == "." and token.attached and at and _abbreviates(found, at):
            continue
        yield token


def _abbreviates(found: Sequence[Token], at: int) -> bool:
    """Whether a dot belongs to the word before it: that is a known short word, or no capital follows."""
    before, after = found[at - 1], found[at + 1 : at + 2]
    if not after:
        return False
    if before.kind == "word" and any(name in before.means for name in ABBREVIATED) and len(before.text) <= 5:
        return not _new_sentence(before, after[0])
    return before.kind == "word" and not after[0].text[:1].isupper() and after[0].kind != "number"


def _new_sentence(before: Token, after: Token) -> bool:
    """Whether a capital after a short word begins a sentence; an axis letter does not, as in `zyl. A 12`."""
    short = any(name in before.means for name in ("sphere", "cylinder", "axis")) or before.text.lower() in EYES
    return after.text[:1].isupper() and not short


def _ends_clause(found: Sequence[Token], at: int) -> bool:
    """Whether a clause ends with a token: a semicolon, or a dot before a capital or at the end."""
    token = found[at]
    if token.kind == ";":
        return True
    if token.kind != ".":
        return False
    after = found[at + 1 : at + 2]
    return (
        not after
        or not after[0].attached
        and (after[0].text[:1].isupper() or after[0].kind in ("number", "code", "date"))
    )


def _clauses(found: tuple[Token, ...], plain: str) -> Iterator[Clause]:
    """The Clauses of a line."""
    begin, depth = 0, 0
    for at, token in enumerate(found):
        depth += (token.kind in "([") - (token.kind in ")]" and depth > 0)
        if _ends_clause(found, at) and depth == 0:
            if at > begin:
                yield clause_of(found[begin:at], plain)
            begin = at + 1
    if begin < len(found):
        yield clause_of(found[begin:], plain)


def clause_of(some: Sequence[Token], plain: str) -> Clause:
    """The Clause of some Tokens of one line; words in its brackets say nothing about the clause itself."""
    start, end = some[0].start, some[-1].end
    outside = list(_outside(some))
    words = [token for token in outside if token.kind == "word"]
    said = {name for name in ("old", "denied", "decided", "person") if any(_says(name, t, outside) for t in words)}
    text = _blanked(some, plain, start, end)
    found = {name for name, pattern in stems().items() if pattern.search(text)}
    if "correction" in found:
        said.add("correction")
    matters = found - {"correction"} | {t.means["matters"] for t in words if "matters" in t.means}
    return Clause(tuple(some), frozenset(said), tuple(sorted(matters)), start, end)


def _outside(some: Sequence[Token]) -> Iterator[Token]:
    """The tokens that stand in no bracket."""
    depth = 0
    for token in some:
        depth -= token.kind in (")", "]") and depth > 0
        if not depth:
            yield token
        depth += token.kind in ("(", "[")


def _blanked(some: Sequence[Token], plain: str, start: int, end: int) -> str:
    """The plain text of the clause in lower case, with spaces in place of brackets."""
    text, depth = list(folded(plain[start:end])), 0
    for at, character in enumerate(text):
        depth -= character in ")]" and depth > 0
        if depth:
            text[at] = " "
        depth += character in "(["
    return "".join(text)


NAMES = {"old": ("words",), "denied": ("denied",), "decided": ("decided",), "person": ("person",)}


def _says(name: str, token: Token, outside: Sequence[Token]) -> bool:
    """Whether a word says that its clause is old, denied, decided or about another person; "years old" is an age."""
    if not any(meaning in token.means for meaning in NAMES[name]):
        return False
    if "after_age" not in token.means:
        return True
    before = next((b for b, t in zip(outside, outside[1:], strict=False) if t is token), None)
    return not (before and ("ages" in before.means or before.kind in ("odd", "code") or before.text == "-"))
