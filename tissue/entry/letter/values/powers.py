"""Reads a refraction, or a labelled part of one, at one place of a clause, or gives the reason to ask."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from math import nan

from tissue.entry.fields import fields
from tissue.entry.letter.pieces.tokens import Token
from tissue.ground.vocabulary import REFRACTION

# A letter a token, see `letters_of`: N signed number, n bare number, P plano, s c x the words of sphere, cylinder
# and axis, t DS, u DC, d dioptres, g degrees, w a word such as "with".
SPHERE = r"(?:(?P<of_sphere>s):?)?(?P<sphere>[NnP])(?P<said>[st])?(?P<unit>d)?"
CYLINDER = r"(?:(?P<of_cylinder>c):?)?(?P<cylinder>N|n(?!/n))[du]?c?"
AXIS = r"[/,]?w?(?:(?P<mark>x):?)?(?P<axis>n)(?P<degree>g)?"
INNER, INNER_AXIS = CYLINDER.replace("?P<", "?P<b_"), AXIS.replace("?P<", "?P<b_")
BEHIND = r"\)(?P<behind_mark>x)?(?P<behind>n)(?P<behind_degree>g)?"
WHOLE = re.compile(rf"{SPHERE}(?:(?:[/,]?w?|:(?=c)){CYLINDER}(?:{AXIS})?|\({INNER}(?:{INNER_AXIS}\)|{BEHIND}|\)))?")
PART_CYLINDER = re.compile(rf"(?=c){CYLINDER}(?:{AXIS})?")
PART_AXIS = re.compile(r"(?P<mark>x):?(?P<axis>n)g?")
FRACTION = re.compile(r":?n/n")
NEAR = 6  # within this many tokens after a sphere its cylinder may begin
NUMERATORS = ("20", "6", "5", "4", "3")


@dataclass(frozen=True, eq=False)
class Power:
    """A refraction at one place: its numbers, the tokens they come from, and the reason to ask, if there is one.

    form: whole, sphere (a labelled sphere that parts may follow), cylinder or axis. numbers: sphere, cylinder, axis;
    NaN where none is given. pieces: by part, first and last token. end: the token after it. bare: a lone sphere that no
    word calls one.
    """

    form: str
    numbers: tuple[float, ...]
    pieces: dict[str, tuple[int, int]]
    end: int
    why: str = ""
    choices: tuple[str, ...] = ()
    bare: bool = False


def power_at(letters: str, tokens: tuple[Token, ...], at: int) -> Power | None:
    """The Power that begins at one token, or None.

    Args:
        letters: of the clause, one for each token.
        tokens: of the clause.
        at: index of the first token.
    """
    match = WHOLE.match(letters, at)
    if match and _is_refraction(match, letters):
        return _whole(match, letters, tokens)
    part = PART_CYLINDER.match(letters, at)
    if part:
        return _named_part(part, letters, tokens, "cylinder")
    part = PART_AXIS.match(letters, at)
    return _named_part(part, letters, tokens, "axis") if part else None


def _is_refraction(match: re.Match[str], letters: str) -> bool:
    """Whether the match is more than a bare number: a sign, a word, or a cylinder with its axis."""
    if match["sphere"] in "NP" or match["of_sphere"] or match["said"]:
        return True
    second = match["cylinder"] or match["b_cylinder"]
    return bool(second and (match["axis"] or match["b_axis"] or match["behind"] or second == "N"))


def _whole(match: re.Match[str], letters: str, tokens: tuple[Token, ...]) -> Power:
    """A match of WHOLE as a Power."""
    place = {"sphere": match.start("sphere")}
    second = next((n for n in ("cylinder", "b_cylinder") if match[n]), None)
    end = match.end()
    if second:
        place["cylinder"] = match.start(second)
        third = next((n for n in ("axis", "b_axis", "behind") if match[n]), None)
        if third:
            axis, end = _axis_or_acuity(match, third, letters, tokens)
            if axis is not None:
                place["axis"] = axis
    numbers = tuple(_number(tokens[place[part]]) if part in place else nan for part in ("sphere", "cylinder", "axis"))
    said = bool(match["said"] or match["of_sphere"])
    labelled_only = bool(match["of_sphere"]) and not second
    why = _why(match, letters, tokens, place, numbers, end=end, said=said)
    return Power(
        "sphere" if labelled_only else "whole",
        numbers,
        {part: _piece(part, at, letters) for part, at in place.items()},
        end,
        why,
        _choices(why, numbers),
        bare=not second and not said and match["sphere"] != "P",
    )


def _axis_or_acuity(
    match: re.Match[str], third: str, letters: str, tokens: tuple[Token, ...]
) -> tuple[int | None, int]:
    """The token of the axis and the end; no axis where the number begins a fraction, as in 20/25."""
    at = match.start(third)
    marked = match["mark"] or match["b_mark"] or match["degree"] or match["b_degree"] or match["behind_mark"]
    marked = marked or match["behind_degree"]
    slash = letters[at - 1] == "/"
    if not marked and (letters[at + 1 : at + 3] == "/n" or not slash):
        return None, at - (letters[at - 1] in "/,w")
    return at, match.end()


def _piece(part: str, at: int, letters: str) -> tuple[int, int]:
    """First and last token of a number with its unit."""
    follows = letters[at + 1 : at + 2]
    units = {"sphere": "dt", "cylinder": "du", "axis": "g"}[part]
    return at, at + (follows != "" and follows in units)


def _number(token: Token) -> float:
    return 0.0 if token.kind == "word" else token.value


def _why(
    match: re.Match[str],
    letters: str,
    tokens: tuple[Token, ...],
    place: dict[str, int],
    numbers: tuple[float, ...],
    *,
    end: int,
    said: bool,
) -> str:
    """The reason to ask for a refraction; empty where there is only one reading."""
    why = _sign_or_decimal(letters, tokens, place)
    if why:
        return why
    if "axis" not in place and numbers[1] == numbers[1] and numbers[1] != 0:
        return "axis"
    if "axis" in place and tokens[place["axis"]].sign:
        return "axis"
    if not _in_range(numbers):
        return "range"
    return _followed(letters, tokens, place, end, said, match)


def _sign_or_decimal(letters: str, tokens: tuple[Token, ...], place: dict[str, int]) -> str:
    """The reason to ask where a power lacks its sign or its decimal point, or has a dash that may be no sign."""
    for part in ("sphere", "cylinder"):
        token = tokens[place[part]] if part in place else None
        if token is None or token.kind == "word":
            continue
        digits = token.digits.replace(",", ".")
        if "." not in digits and (len(digits) > 2 or digits[0] == "0" and len(digits) > 1):
            return "decimal"
        if not token.sign and token.value != 0:
            return "sign"
        if "." not in digits and abs(token.value) >= (20 if part == "sphere" else 10):
            return "decimal"
        if token.sign and token.spaced and _behind_label(letters, place[part], part):
            return "sign"
    return ""


def _behind_label(letters: str, at: int, part: str) -> bool:
    """Whether a dash with spaces follows an eye or a label, or begins the clause, where it may be no minus sign."""
    before = letters[at - 1] if at else ""
    return before in ("", "M", "L", "e", "f", "k", "s", "c", ")", "w", ",") if part == "sphere" else before == "c"


def _in_range(numbers: tuple[float, ...]) -> bool:
    names = REFRACTION
    return all(v != v or fields()[n].low <= v <= fields()[n].high for n, v in zip(names, numbers, strict=True))


def _followed(
    letters: str, tokens: tuple[Token, ...], place: dict[str, int], end: int, said: bool, match: re.Match[str]
) -> str:
    """The reason to ask where a number close after a refraction may belong to it."""
    rest = letters[end : end + 1]
    if "cylinder" not in place and re.match(r"[,/wf:]*[cx]", letters[end : end + NEAR]):
        return "axis"
    if rest == "n" and not _acuity(letters, tokens, end) and not _looks_like_acuity(tokens[end], place, said):
        return "axis" if "cylinder" in place else "sign"
    if rest in ("N", "G", "Y", "?", "a", "x", "c") and rest:
        return {"N": "two-values", "a": "two-values", "x": "axis", "c": "axis"}.get(rest, "decimal")
    if rest == "/" and letters[end + 1 : end + 2] in ("", "n", "N", "G") and not _acuity(letters, tokens, end + 1):
        return "axis" if "axis" not in place else "two-values"
    return ""


def _acuity(letters: str, tokens: tuple[Token, ...], at: int) -> bool:
    """Whether a fraction such as 20/25, 6/6 or 8/10 stands at a token."""
    match = FRACTION.match(letters, at)
    if match is None:
        return False
    above, below = tokens[match.end() - 3].digits, tokens[match.end() - 1].digits
    return above.isdigit() and (above in NUMERATORS or below == "10")


def _looks_like_acuity(token: Token, place: dict[str, int], said: bool) -> bool:
    """Whether a number such as 0,8 or 1.25 after a whole refraction is a decimal acuity."""
    if not ("axis" in place or said):
        return False
    return bool(re.fullmatch(r"[01][.,]\d{1,2}|2[.,]0", token.digits)) and not token.sign


def _named_part(match: re.Match[str], letters: str, tokens: tuple[Token, ...], form: str) -> Power:
    """The Power of a labelled cylinder, with or without its axis, or of a labelled axis."""
    groups = match.groupdict()
    place = {part: match.start(part) for part in ("cylinder", "axis") if groups.get(part)}
    end = match.end()
    if form == "cylinder" and "axis" in place and not (groups.get("mark") or groups.get("degree")):
        if letters[place["axis"] - 1] != "/" or letters[place["axis"] + 1 : place["axis"] + 3] == "/n":
            end = place.pop("axis")
    numbers = (nan, *(_number(tokens[place[p]]) if p in place else nan for p in ("cylinder", "axis")))
    why = _sign_or_decimal(letters, tokens, place)
    if not why and not _in_range(numbers):
        why = "range"
    if not why and letters[end : end + 1] in ("n", "N", "G", "Y", "?") and letters[end : end + 1]:
        if not (_acuity(letters, tokens, end) or ("axis" in place and _looks_like_acuity(tokens[end], place, True))):
            why = "axis"
    return Power(form, numbers, {part: _piece(part, at, letters) for part, at in place.items()}, end, why)


def part_at(form: str, letters: str, tokens: tuple[Token, ...], at: int) -> Power:
    """The Power of a number whose part is named by an earlier word, as in `Axis OD 12 OS 170`.

    Args:
        form: sphere, cylinder or axis.
        letters, tokens: of the clause.
        at: index of the number.
    """
    numbers = tuple(_number(tokens[at]) if part == form else nan for part in ("sphere", "cylinder", "axis"))
    piece = _piece(form, at, letters)
    why = _sign_or_decimal(letters, tokens, {form: at}) or ("" if _in_range(numbers) else "range")
    if form == "axis" and tokens[at].sign:
        why = "axis"
    if (
        letters[piece[1] + 1 : piece[1] + 2] in ("n", "N", "G", "Y", "?", "x", "/")
        and letters[piece[1] + 1 : piece[1] + 2]
    ):
        why = why or "two-values"
    return Power(form, numbers, {form: piece}, piece[1] + 1, why)


def spelled(numbers: Sequence[float]) -> str:
    """A refraction as a plan file spells it.

    >>> spelled((-4.5, -1.25, 12.0)), spelled((2.75, nan, nan)), spelled((0.0, -0.5, 180.0))
    ('-4.50 -1.25 x 12', '+2.75', 'plano -0.50 x 180')
    """
    sphere, cylinder, axis = numbers
    text = f"{sphere:+.2f}" if sphere else "plano"
    return text if cylinder != cylinder or cylinder == 0 else f"{text} {cylinder:+.2f} x {axis:g}"


def _choices(why: str, numbers: tuple[float, ...]) -> tuple[str, ...]:
    """The refractions that may have been meant, where a sign or a decimal point is in doubt."""
    sphere, cylinder, axis = numbers
    if sphere != sphere or (cylinder == cylinder and cylinder and axis != axis):
        return ()
    if why == "decimal":
        meant = [v / 100 if v == v and abs(v) >= 10 else v for v in (sphere, cylinder)]
        found = [(*meant, axis)] if any(v == v and abs(v) >= 10 for v in (sphere, cylinder)) else []
    elif why == "sign":
        found = [
            (a * abs(sphere), b * abs(cylinder), axis)
            for a, b in product((-1, 1) if sphere else (1,), (-1, 1) if cylinder == cylinder and cylinder else (1,))
        ]
    else:
        found = []
    return tuple(spelled(numbers) for numbers in found if _in_range(numbers))
