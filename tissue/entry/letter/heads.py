"""What holds for several lines: the eye, label or kind of a heading; a part on old values or on another person."""

from collections.abc import Iterator
from typing import Any

from tissue.entry.letter.found import Where
from tissue.entry.letter.pieces.letters import letters_of
from tissue.entry.letter.pieces.lines import Line
from tissue.entry.letter.pieces.tokens import Token

KNOWN = set("MeLVklfz:TZ,.-()xscqmdg/f")
SET_ASIDE = ("old", "decided", "person")


class Heads:
    """What the headings above a line say; it holds up to a blank line, unless that follows right below the heading."""

    def __init__(self) -> None:
        self.block = 0
        self.date: Any = None
        self.clear()

    def clear(self) -> None:
        """Forget everything that the headings said."""
        self.eye: Any = None
        self.kind_at: Where | None = None
        self.label, self.kind = "", ""
        self.aside, self.aside_doubt, self.fresh = False, False, False
        self.columns: Any = None
        self.block += 1


def is_heading(line: Line) -> bool:
    """Whether a line is a heading: it has no number outside brackets, and ends with a colon or has known words only."""
    letters = _outside(letters_of(line.tokens))
    if not letters or set(letters) & set("NnGYP") or any("denied" in clause.said for clause in line.clauses):
        return False
    if line.tokens[-1].kind == ":":
        return True
    return all(c in KNOWN or _says_old(token) for c, token in zip(letters, _tokens_outside(line), strict=False))


def _outside(letters: str) -> str:
    kept, depth = "", 0
    for c in letters:
        depth -= c == ")" and depth > 0
        kept += c if not depth and c not in "()" else ""
        depth += c == "("
    return kept


def _tokens_outside(line: Line) -> Iterator[Token]:
    letters, depth = letters_of(line.tokens), 0
    for token, c in zip(line.tokens, letters, strict=True):
        depth -= c == ")" and depth > 0
        if not depth and c not in "()":
            yield token
        depth += c == "("


def _says_old(token: Token) -> bool:
    return any(name in token.means for name in ("words", "decided", "person", "today"))


def take_heading(heads: Any, line: Line) -> None:
    """Take over what a heading says; a heading with an eye alone leaves the rest as it was."""
    letters = letters_of(line.tokens)
    tokens = line.tokens
    eyes = {t.means["eye"] for t, c in zip(tokens, letters, strict=True) if c == "M"}
    if eyes:
        eye = eyes.pop()
        heads.eye = eye if not eyes and eye in ("OD", "OS", "both") else None
    aside = any(set(clause.said) & set(SET_ASIDE) or clause.matters for clause in line.clauses)
    words = [c for c in letters if c in "LVk"]
    if not words and not aside and eyes and not set(letters) & set("X"):
        heads.fresh = True
        return
    if heads.aside and heads.fresh and not aside:
        return
    heads.block += 1
    heads.aside, heads.aside_doubt = aside, False
    heads.label, heads.kind, heads.kind_at = "", "", None
    for token, c in zip(tokens, letters, strict=True):
        if c == "k":
            heads.kind, heads.kind_at = token.means["kind"], Where(token.line, token.start, token.end)
            heads.label = "refraction"
        elif c == "V":
            heads.label = "never"
        elif c == "L":
            heads.label = token.means["label"]
    if words.count("L") > 1:
        heads.label = ""
    heads.fresh = True


def take_prose(heads: Any, line: Line) -> None:
    """Take a line that has no value and is no heading: a line about the past casts doubt on what follows it."""
    letters = letters_of(line.tokens)
    if "M" in letters:
        heads.eye = None
    last = line.clauses[-1] if line.clauses else None
    closed = line.plain.rstrip()[-1:] in ".!?"
    numbers = any(t.kind in ("number", "misread") for t in line.tokens)
    if last and "denied" not in last.said and set(last.said) & set(SET_ASIDE) and not closed and not numbers:
        heads.aside, heads.aside_doubt, heads.fresh = True, True, True
        heads.block += 1
