"""Dates of a letter: which lines a date holds for, and which of two dates is newer."""

import re
from collections.abc import Iterable
from typing import Any

from tissue.entry.letter.pieces.lines import Line
from tissue.entry.letter.pieces.tokens import Token
from tissue.entry.letter.pieces.words import folded, phrases

NUMBERS = re.compile(r"\d+")
WORDS = re.compile(r"[^\W\d_]+")


def date_of(line: Line) -> str | tuple[int, ...] | None:
    """The date that a line sets for itself and for the lines after it; it stands before the first number; or None.

    A date after words such as *since* or *born*, and a date in a clause on surgery, sets nothing.
    """
    if any(clause.matters for clause in line.clauses):
        return None
    before: list[Any] = []
    for token in line.tokens:
        if token.kind in ("number", "misread"):
            return None
        if "today" in token.means and not before:
            return "today"
        if token.kind == "date":
            return _dated(token, before, line)
        before.append(token)
    return next(("today" for token in before if "today" in token.means), None)


def _dated(token: Token, before: list[Token], line: Line) -> tuple[int, ...] | None:
    last = [t for t in before[-3:] if t.kind == "word"]
    if any("undated" in t.means for t in last) or any(t.kind == "*" for t in before[-1:]) or ":" in token.text:
        return None
    if len(token.text) == 4 and token.text.isdigit() and len(before) > 3:
        return None
    return order_of(token.text)


def order_of(text: str) -> tuple[int, ...]:
    """Year, month and day of a written date as far as it says them, for putting dates in order.

    >>> order_of("12.04.2021"), order_of("2025-03-20"), order_of("3 March"), order_of("04/2021")
    ((2021, 4, 12), (2025, 3, 20), (0, 3, 3), (2021, 4, 0))
    """
    numbers = [int(n) for n in NUMBERS.findall(text)]
    month = next((m for word in WORDS.findall(text) if (m := _month(word))), 0)
    year = next((n for n in numbers if n > 1000), 0)
    rest = [n for n in numbers if n <= 1000]
    if month:
        day = rest[0] if rest else 0
        return year or (2000 + rest[1] if len(rest) > 1 else 0), month, day
    if len(rest) == 3:
        return 2000 + rest[2], rest[1], rest[0]
    if len(rest) == 2 and year:
        return (year, *rest) if numbers[0] == year else (year, rest[1], rest[0])
    return year, rest[0] if rest else 0, 0


def _month(word: str) -> int:
    for words, means in phrases().get(folded(word), ()):
        if len(words) == 1 and "month" in means:
            return means["month"]
    return 0


def newest(dates: Iterable[Any]) -> Any:
    """The newest of some dates; None where one of them is None or has no year."""
    known = {d for d in dates if d is not None}
    if "today" in known:
        return "today"
    if not known or any(d[0] == 0 for d in known) and len(known) > 1:
        return None
    return max(known)
