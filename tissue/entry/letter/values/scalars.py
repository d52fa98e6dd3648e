"""Reads one number, or a pair, after a label in the unit of its field, or gives the reason to ask."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from tissue.entry.fields import fields
from tissue.entry.letter.pieces.tokens import Token

# For each kind of quantity: the range accepted without a unit, and the unit it is then in.
THICKNESS = (("um", 300, 900), ("mm", 0.3, 0.9))
CURVATURE = (("dioptre", 33, 60), ("mm", 6.5, 9.5))
PLAUSIBLE = {  # narrower than what the field accepts, because in a letter the number could mean something else
    "vertex_mm": (("mm", 8, 16),),
    "central_thickness_um": THICKNESS,
    "thinnest_um": THICKNESS,
    "K": CURVATURE,
    "K1": CURVATURE,
    "K2": CURVATURE,
    "asphericity": (("", -2, 2),),
    "epithelium_um": (("um", 20, 90),),
    "white_to_white_mm": (("mm", 9, 14),),
    "pupil_mm": (("mm", 1, 10),),
    "target_D": (("dioptre", -4, 2),),
}
SIGNED = ("target_D", "asphericity")
K_AXIS = re.compile(r"[wf]?x?ng|[wf]?xn|\(x?ng\)|\(xn\)")


@dataclass(frozen=True, eq=False)
class Number:
    """One number, or a pair, that follows a label.

    values: one number, or two of a pair, in `unit`. pieces: first and last token of each. end: the token after it. why:
    the reason to ask. axes: whether a meridian stands with a K.
    """

    values: tuple[float, ...]
    unit: str
    pieces: tuple[tuple[int, int], ...]
    end: int
    why: str = ""
    axes: bool = False


def number_at(field: str, letters: str, tokens: Sequence[Token], at: int, dotted: bool) -> Number:
    """The Number of a field that begins at one token.

    Args:
        field: name of the interface, or K, K1, K2.
        letters, tokens: of the clause.
        at: index of the first digit token.
        dotted: whether the letter writes decimals with a point.
    """
    first = _single(field, letters, tokens, at, dotted)
    end, curved = first.end, field.startswith("K")
    axes = _axis(letters, tokens, end) if curved else None
    end = axes or end
    joined = letters[end : end + 1] == "/" or (curved and axes and letters[end : end + 1] == ",")
    if joined and letters[end + 1 : end + 2] in ("n", "N"):
        second = _single(field, letters, tokens, end + 1, dotted)
        second_axes = _axis(letters, tokens, second.end) if curved else None
        if letters[end] == "/" or second_axes:
            return _pair(first, second, second_axes or second.end, letters, bool(axes or second_axes))
    why = first.why or _followed(letters, end)
    return Number(first.values, first.unit, first.pieces, end, why, bool(axes))


def _axis(letters: str, tokens: Sequence[Token], end: int) -> int | None:
    """Index after the meridian that follows a K, or None."""
    match = K_AXIS.match(letters, end)
    if match is None:
        return None
    number = tokens[match.start() + match[0].index("n")]
    return match.end() if number.value <= 180 and not 33 < number.value < 60 or "." not in number.digits else None


def _pair(first: Number, second: Number, end: int, letters: str, axes: bool) -> Number:
    """The Number of a pair; different units are a reason to ask."""
    unit = second.unit or first.unit
    why = first.why if first.why != "range" else ""
    why = why or second.why
    if first.unit != second.unit or first.why == "range":
        why = why or "unit"
    why = why or _followed(letters, end)
    return Number((*first.values, *second.values), unit, (*first.pieces, *second.pieces), end, why, axes)


def _single(field: str, letters: str, tokens: Sequence[Token], at: int, dotted: bool) -> Number:
    """The Number of one number and the unit after it."""
    token = tokens[at]
    if token.kind == "word":
        return Number((0.0,), "dioptre", ((at, at),), at + 1)
    said = _unit(letters, tokens, at + 1)
    last = at + bool(said)
    value = token.value if field in SIGNED else abs(token.value)
    unit, why = _unit_of(field, value, said)
    why = _sign(field, token, letters, at) or why or _comma(field, token, dotted)
    return Number((value,), unit, ((at, last),), last + 1, why)


def _unit(letters: str, tokens: Sequence[Token], at: int) -> str:
    """The unit written after a number; empty where there is none."""
    if letters[at : at + 1] in ("m", "d") and letters[at : at + 1]:
        return tokens[at].means.get("unit", "dioptre")
    return ""


def _unit_of(field: str, value: float, said: str) -> tuple[str, str]:
    """The unit that the size of a number shows, and the reason to ask."""
    for unit, low, high in PLAUSIBLE[field]:
        if low <= value <= high:
            return unit, "unit" if said and said != unit else ""
    return said, "range"


def _sign(field: str, token: Token, letters: str, at: int) -> str:
    """The reason to ask where a number has a sign that it must not have, or lacks one that it must have."""
    if field in SIGNED:
        if token.sign and token.spaced and letters[at - 1 : at] not in (":",):
            return "sign"
        return "sign" if not token.sign and token.value else ""
    if token.sign == "+" or (token.sign == "-" and not token.spaced and (token.tight or letters[at - 1 : at] != "L")):
        return "sign"
    return ""


def _comma(field: str, token: Token, dotted: bool) -> str:
    """The reason to ask where a comma may separate two numbers: 548,551, or 43,44 in a letter that writes points."""
    whole, comma, rest = token.digits.partition(",")
    if not comma or not whole:
        return ""
    if len(rest) >= 3 and whole.lstrip("0"):
        return "decimal"
    if dotted and not _unit_of(field, float(whole), "")[1] and not rest.startswith("0"):
        return "" if _unit_of(field, float(rest or 0), "")[1] else "decimal"
    return ""


def _followed(letters: str, end: int) -> str:
    """The reason to ask where a number or a mark of doubt follows closely."""
    rest = letters[end : end + 1]
    if rest in ("n", "N", "G", "Y", "?") and rest:
        return "range" if rest == "?" else "two-values"
    if rest == "a" or (rest == "-" and letters[end + 1 : end + 2] == "n"):
        return "two-values"
    if rest == "/" and letters[end + 1 : end + 2] in ("", "n", "N", "G"):
        return "two-values"
    if rest == "x" and letters[end + 1 : end + 2] in ("", "n", "N"):
        return "two-values"
    return ""


def in_field(field: str, value: float, unit: str) -> tuple[str, float]:
    """The field of the interface and the value in its unit; None where the unit does not tell.

    >>> in_field("K", 7.835, "mm"), in_field("central_thickness_um", 0.552, "mm")
    (('radius_mm', 7.835), ('central_thickness_um', 552.0))
    """
    if field.startswith("K"):
        return ("radius_mm" if unit == "mm" else "mean_K_D"), value
    if unit == "mm" and fields()[field].unit == "µm":
        return field, round(value * 1000, 6)
    return field, value + 0.0
