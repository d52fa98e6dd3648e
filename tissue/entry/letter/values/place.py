"""The place of the thinnest point, as in `0.6 temporal 0.5 inferior`: read whole, or asked."""

import re
from dataclasses import dataclass
from typing import Any

from tissue.entry.letter.pieces.tokens import Token

BEHIND = re.compile(r"(?P<a>n)m?[fz]*(?P<A>p)[,f/]*(?P<b>n)m?[fz]*(?P<B>p)")
BEFORE = re.compile(r"(?P<A>p):?(?P<a>n)m?[,f/]*(?P<B>p):?(?P<b>n)m?")
HALF = re.compile(r"nm?f*p|p:?nm?")
LEAD = "fw,:z-"
ACROSS, UPWARDS = ("nasal", "temporal"), ("up", "down")


@dataclass(frozen=True, eq=False)
class Place:
    """A place as written: how far to which side, and how far up or down; or the reason to ask.

    across, upwards: (distance [mm], direction). pieces: first and last token of each.
    """

    across: tuple[Any, ...]
    upwards: tuple[Any, ...]
    pieces: tuple[tuple[int, int], ...]
    first: int
    end: int
    why: str = ""


def place_at(letters: str, tokens: tuple[Token, ...], at: int) -> Place | None:
    """The Place that begins at a token or after some words that may stand between; or None."""
    start = at
    while letters[start : start + 1] and letters[start] in LEAD:
        start += 1
    for pattern in (BEHIND, BEFORE):
        match = pattern.match(letters, start)
        if match:
            return _whole(match, tokens, letters, pattern is BEHIND)
    bare = _bare(letters, tokens, start)
    if bare:
        return bare
    half = HALF.match(letters, start)
    if half:
        return Place((), (), ((half.start(), half.end() - 1),), half.start(), half.end(), "place")
    return None


def _whole(match: re.Match[str], tokens: tuple[Token, ...], letters: str, behind: bool) -> Place:
    parts = {}
    for number, direction in (("a", "A"), ("b", "B")):
        token, word = tokens[match.start(number)], tokens[match.start(direction)]
        first, last = sorted((match.start(number), match.start(direction)))
        if not behind and letters[last + 1 : last + 2] == "m":
            last += 1
        said = word.means["place"]
        key = "across" if said in ACROSS else "upwards" if said in UPWARDS else "other"
        parts[key] = (token.value, said, (first, last))
    units = {tokens[i].means.get("unit") for i in range(match.start(), match.end()) if letters[i] == "m"}
    sound = set(parts) == {"across", "upwards"} and units <= {"mm"}
    sound = sound and all(part[0] <= 3 for part in parts.values())
    pieces = tuple(part[2] for part in parts.values())
    if not sound:
        return Place((), (), pieces, match.start(), match.end(), "place")
    across, upwards = parts["across"], parts["upwards"]
    return Place(across[:2], upwards[:2], (across[2], upwards[2]), match.start(), match.end())


def _bare(letters: str, tokens: tuple[Token, ...], start: int) -> Place | None:
    """The Place of a bare x and y without directions: both are asked."""
    names = [
        start + i
        for i in range(7)
        if letters[start + i : start + i + 1] and tokens[start + i].text.lower() in ("x", "y")
    ]
    if not names or tokens[names[0]].text.lower() != "x" or names[0] > start + 1:
        return None
    pieces, end = [], names[0]
    for name in names[:2]:
        number = name + 1 + (letters[name + 1 : name + 2] == ":")
        if letters[number : number + 1] not in ("n", "N") or not letters[number : number + 1]:
            return None
        last = number + (letters[number + 1 : number + 2] == "m")
        pieces.append((number, last))
        end = last + 1
    return Place((), (), tuple(pieces), names[0], end, "place")
