"""Cuts a line of a letter into numbers, signs, and words with all that they may mean; nothing is decided here."""

import re
import unicodedata
from collections.abc import Sequence
from typing import Any, NamedTuple

from tissue.entry.letter.pieces.words import capitals, folded, phrases
from tissue.entry.notation import DASHES, DEGREES, INVISIBLE, TIMES

SIGNS = str.maketrans(DASHES | INVISIBLE | DEGREES | TIMES | dict.fromkeys("\u00a0\u202f\u2007\u2009", " "))
LOOKS_LIKE_DIGITS = "OoIl|SBZ"
DATE = re.compile(
    r"(?<![\w.,/-])(?:\d{4}-\d{1,2}-\d{1,2}|\d{1,2}\.\s?\d{1,2}\.\s?(?:\d{4}|\d{2})|\d{1,2}/\d{1,2}/(?:\d{4}|\d{2})"
    r"|\d{1,2}-\d{1,2}-\d{4}|(?:0?[1-9]|1[0-2])[/.](?:19|20)\d{2}|(?:[01]?\d|2[0-3]):[0-5]\d)(?![\w/-]|[.,]\d)"
)
CODE = re.compile(r"(?P<letters>[^\W\d_]+)(?:[-_]\d+(?:[.,]\d+)?[\w-]{0,40})")
DIGITS_BEHIND = re.compile(r"\d{1,40}[^\W_]{0,40}")
DOTTED_EYE = re.compile(r"O\.\s?([DSGIU])\.?(?!\w)")
WORD = re.compile(r"[^\W\d_]+")
SIGNED = re.compile(r"[+-](?P<space>[ ]{0,2})(?=\d|[.,]\d)")
DIGITS = re.compile(r"\d+(?:[.,]\d+)?|[.,]\d+")
BROKEN = re.compile(r"[.,:'’·]{1,2}\d")
MALFORMED = re.compile(r"[\d.,:'’·]*\d")
MISREAD = re.compile(
    rf"(?<![\w.,])(?=[{LOOKS_LIKE_DIGITS}\d.,]{{0,40}}\d)[\dOoIl|][{LOOKS_LIKE_DIGITS}\d]*(?:[.,][{LOOKS_LIKE_DIGITS}\d]+)?(?!\w)"
)
ARROW = re.compile(r"[-=]{1,3}>|[→⇒➔➜>]{1,2}(?=\s*[+\-\d])|⟶")
BETWEEN_WORDS = re.compile(r"[ \-'’.]{1,2}")
YEAR = re.compile(r"(?:19|20)\d\d")


NOTHING: dict[str, Any] = {}  # of a token that is no known word


class Token(NamedTuple):
    """A piece of a line.

    kind: number, misread (a number with letters in it), date, code, word, or the sign itself.
    start, end: characters of the line. text: that slice. means: what a word may mean, by meaning.
    sign, digits: of a number. spaced: a space after its sign. tight: no space before its sign. gap: two spaces or a
    tab before. attached: no space before. line: its number.
    """

    kind: str
    start: int
    end: int
    text: str = ""
    means: dict[str, Any] = NOTHING
    sign: str = ""
    digits: str = ""
    spaced: bool = False
    tight: bool = False
    gap: bool = False
    attached: bool = False
    line: int = 0

    @property
    def value(self) -> float:
        """The number with its sign; an unsigned one is positive."""
        return (-1.0 if self.sign == "-" else 1.0) * float(self.digits.replace(",", ".")) + 0.0


def plain_line(line: str) -> str:
    """The line with plain signs, each character where it was; leading quotation marks become spaces.

    >>> plain_line("> OD −4,50")
    '  OD -4,50'
    """
    text = line.translate(SIGNS)
    rest = text.lstrip(" \t>")
    return text[: len(text) - len(rest)].replace(">", " ") + rest


def composed(line: str) -> tuple[str, list[int] | None]:
    """The line with each letter and its accents as one character, and where each of them stood.

    >>> composed("e\\u0301 1")[1]
    [0, 2, 3, 4]
    """
    if line.isascii() or unicodedata.is_normalized("NFC", line):
        return line, None
    pieces, places = [], []
    start = 0
    for at in range(1, len(line) + 1):
        if at == len(line) or not unicodedata.combining(line[at]):
            whole = unicodedata.normalize("NFC", line[start:at])
            pieces.append(whole)
            places += [start] * len(whole)
            start = at
    return "".join(pieces), [*places, len(line)]


def tokens(line: str, number: int = 0) -> list[Token]:
    """The Tokens of a line that `plain_line` gave.

    >>> [t.text for t in tokens("OD -4.50/-1.25x12 hb-101")]
    ['OD', '-4.50', '/', '-1.25', 'x', '12', 'hb-101']
    """
    found: list[Token] = []
    at = 0
    dates = {match.start(): match for match in DATE.finditer(line)}
    while at < len(line):
        if line[at].isspace():
            at += 1
            continue
        token = _date(line, at, dates) or _number(line, at) or _word(line, at) or _sign(line, at)
        found.append(_placed(token, line, found))
        at = token.end
    merged = _months(_signed_words(_years(found)))
    return [t._replace(text=line[t.start : t.end], line=number) for t in merged]


def _placed(token: Token, line: str, found: Sequence[Token]) -> Token:
    """The token with what is known of the space before it."""
    before = line[found[-1].end if found else 0 : token.start]
    gap = bool(found) and ("\t" in before or len(before) >= 2)
    return token._replace(gap=gap, attached=bool(found) and not before)


def _date(line: str, at: int, dates: dict[int, re.Match[str]]) -> Token | None:
    match = dates.get(at)
    return match and Token("date", at, match.end(), match[0])


def _number(line: str, at: int) -> Token | None:
    """A number with the sign before it, or a misread number."""
    sign = SIGNED.match(line, at)
    before = line[at - 1] if at else " "
    start = sign.end() if sign else at
    misread = MISREAD.match(line, start)
    if misread and any(c in LOOKS_LIKE_DIGITS for c in misread[0]) and not _known_letters(misread[0]):
        return Token("misread", at, misread.end(), line[at : misread.end()])
    digits = DIGITS.match(line, start)
    if digits is None or (digits[0][0] in ".," and not sign and before not in " \t(|/"):
        return None
    end = digits.end()
    broken = MALFORMED.match(line, start)
    if BROKEN.match(line, end) and broken:
        end = broken.end()
        return Token("misread", at, end, line[at:end])
    letters = WORD.match(line, end)
    if letters and not _may_follow(letters[0]) or line[end : end + 1] in ("%", "‰") or (sign and before in "+-±~"):
        end = letters.end() if letters else end + (line[end : end + 1] in ("%", "‰"))
        return Token("odd", at, end, line[at:end])
    tight, spaced = bool(sign) and not before.isspace(), bool(sign and sign["space"])
    return Token("number", at, end, sign=sign[0][0] if sign else "", digits=digits[0], spaced=spaced, tight=tight)


def _known_letters(text: str) -> bool:
    """Whether the letters in a number are its unit or an eye, as in 548OS."""
    return re.fullmatch(r"\d+(?:[.,]\d+)?(?:OS|S|L|OD)", text) is not None and text[-2:] in ("OS", "OD")


def _may_follow(letters: str) -> bool:
    """Whether letters may follow a number without a space: a unit, an eye, an axis word."""
    means = _meanings((folded(letters),), letters)[1]
    return any(name in means for name in ("unit", "of_sphere", "of_cylinder", "axis", "eye", "cylinder", "sphere"))


def _word(line: str, at: int) -> Token | None:
    """A word with the digits that belong to it, or the longest known phrase that begins here."""
    dotted = DOTTED_EYE.match(line, at)
    if dotted:
        return Token("word", at, dotted.end(), means=_meanings((f"o{dotted[1].lower()}",), f"O{dotted[1]}")[1])
    first = WORD.match(line, at)
    if first is None:
        return None
    code = CODE.match(line, at)
    if code and not (_may_carry_number(code["letters"]) or code["letters"] in "KQ"):
        return Token("code", at, code.end(), code[0])
    behind = DIGITS_BEHIND.match(line, first.end())
    if behind:
        whole = line[at : behind.end()]
        means = _meanings((folded(whole),), whole)[1]
        if means:
            return Token("word", at, behind.end(), whole, means)
        if not _may_carry_number(first[0]):
            return Token("code", at, behind.end(), whole)
    parts, ends = [folded(first[0])], [first.end()]
    while len(parts) < 5 and (gap := BETWEEN_WORDS.match(line, ends[-1])):
        following = WORD.match(line, gap.end())
        if following is None:
            break
        parts.append(folded(following[0]))
        ends.append(following.end())
    length, means = _meanings(tuple(parts), first[0])
    end = ends[max(length, 1) - 1]
    return Token("word", at, end, line[at:end], means)


def _may_carry_number(letters: str) -> bool:
    """Whether a number may follow a word without a space, as in x180 or OD-4.50: an eye, an axis or a label."""
    means = _meanings((folded(letters),), letters)[1]
    return "axis" in means or (
        len(letters) > 1 and any(name in means for name in ("eye", "label", "sphere", "cylinder"))
    )


def _meanings(parts: tuple[str, ...], first_word: str) -> tuple[int, dict[str, Any]]:
    """The number of words in the longest known phrase at the start, and what it may mean."""
    for words, means in phrases().get(parts[0], ()):
        if parts[: len(words)] == words:
            means = dict(means)
            if len(words) == 1 and first_word in capitals():
                means["eye"] = capitals()[first_word]
            return len(words), means
    return (1, {"eye": capitals()[first_word]}) if first_word in capitals() else (0, {})


def _sign(line: str, at: int) -> Token:
    arrow = ARROW.match(line, at)
    if arrow:
        return Token("arrow", at, arrow.end(), arrow[0])
    text = line[at]
    means = (
        {"axis": True}
        if text in "@*"
        else {"unit": "degree"}
        if text == "°"
        else {"comma": True}
        if text == "&"
        else {}
    )
    return Token(text, at, at + 1, text, means)


def _years(found: list[Token]) -> list[Token]:
    """The tokens with each bare year as a date."""
    return [
        Token("date", t.start, t.end, t.text, gap=t.gap)
        if t.kind == "number" and not t.sign and YEAR.fullmatch(t.digits)
        else t
        for t in found
    ]


def _signed_words(found: list[Token]) -> list[Token]:
    """The tokens with `minus 5.50` as one number."""
    merged: list[Token] = []
    for token in found:
        word = merged[-1] if merged else token
        sign = "-" if "minus" in word.means else "+" if "plus" in word.means else ""
        if sign and word is not token and token.kind == "number" and not token.sign and not token.attached:
            merged[-1] = Token("number", word.start, token.end, "", sign=sign, digits=token.digits, gap=word.gap)
        else:
            merged.append(token)
    return merged


def _months(found: list[Token]) -> list[Token]:
    """The tokens with a month and the numbers around it as one date."""
    merged: list[Token] = []
    at = 0
    while at < len(found):
        token = found[at]
        if token.kind == "word" and "month" in token.means:
            start, end = token.start, None
            before = merged[-1] if merged else None
            if before and before.kind == "." and len(merged) > 1 and _is_day(merged[-2]):
                start, end = merged[-2].start, token.end
                merged = merged[:-2]
            elif before and _is_day(before):
                start, end = before.start, token.end
                merged.pop()
            after = at + 1
            while (
                after < len(found)
                and after < at + 5
                and (found[after].kind in (".", ",", "date") or _is_day(found[after]) or found[after].text == "de")
            ):
                if found[after].kind == "date" or (_is_day(found[after]) and end is None):
                    end, at = found[after].end, after
                after += 1
            merged.append(Token("date", start, end, "", gap=token.gap) if end else token)
        else:
            merged.append(token)
        at += 1
    return merged


def _is_day(token: Token) -> bool:
    return token.kind == "number" and not token.sign and token.digits.isdigit() and 1 <= int(token.digits) <= 31
