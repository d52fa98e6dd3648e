"""Candidates: what one place of a letter says about one field of one eye, before all places are compared."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import nan
from typing import Any

from tissue.entry.letter.eyes import Owned
from tissue.entry.letter.pieces.tokens import Token
from tissue.entry.letter.reader import Value
from tissue.entry.letter.values.powers import Power, spelled
from tissue.entry.letter.values.scalars import PLAUSIBLE, Number, in_field
from tissue.ground.vocabulary import EYES

PARTS = {"sphere": "sphere_D", "cylinder": "cylinder_D", "axis": "axis_deg"}


@dataclass(frozen=True, eq=False)
class Where:
    """A slice of a line: lines are counted from 1, characters from 0."""

    line: int
    start: int
    end: int


@dataclass(frozen=True, eq=False)
class Said:
    """What a letter says about a value: its kind, date and block, and whether its clause is denied or doubtful."""

    kind: str = ""
    kind_at: Where | None = None
    date: Any = None
    block: int = 0
    doubt: str = ""
    correction: bool = False


@dataclass(frozen=True, eq=False)
class Candidate:
    """One reading of one place.

    eye: OD, OS or None. name: field, or refraction, part, K1, K2, pair, place. value: number, or numbers of a
    refraction. places: by part, where it stands. why: reason to ask, empty where it is sure.
    """

    eye: str | None
    name: str
    value: Any
    places: dict[str, Where]
    said: Said
    why: str = ""
    choices: tuple[str, ...] = ()
    light: str = ""
    form: str = ""
    also: tuple[Any, ...] = field(default=())


def where(tokens: tuple[Token, ...], first: int, last: int) -> Where:
    """The slice of a line from one token to another."""
    return Where(tokens[first].line, tokens[first].start, tokens[last].end)


def candidates(item: Owned, tokens: tuple[Token, ...], said: Said) -> list[Candidate]:
    """The Candidates of one Value with its eye.

    Args:
        item: Owned.
        tokens: of its clause.
        said: Said, of the place where it stands.
    """
    value = item.value
    eyes = EYES if item.eye == "both" else (item.eye,)
    if value.name == "unread":
        return [
            Candidate(e, "refraction", None, {"all": where(tokens, value.first, value.last)}, said, "decimal")
            for e in _sides(eyes)
        ]
    if isinstance(value.what, Power):
        return [_power(e, item, tokens, said) for e in _sides(eyes)]
    if isinstance(value.what, Number):
        return _numbers(item, eyes, tokens, said)
    if value.name == "place":
        return [_place(e, value, tokens, said) for e in _sides(eyes)]
    at = where(tokens, value.first, value.last)
    return [
        Candidate(e, plain_name(value.name), None, {"all": at}, said, "range", light=value.light) for e in _sides(eyes)
    ]


def _sides(eyes: tuple[Any, ...]) -> list[str | None]:
    """Each eye once; an order of two eyes is no eye."""
    return [None if isinstance(eye, tuple) else eye for eye in eyes]


def plain_name(name: str) -> str:
    """The field that a question asks about."""
    return "mean_K_D" if name in ("K", "K1", "K2", "pair") else name


def _power(eye: str | None, item: Owned, tokens: tuple[Token, ...], said: Said) -> Candidate:
    value, power = item.value, item.value.what
    why = value.why or ("eye" if eye is None or item.asked else "")
    places = {part: where(tokens, *piece) for part, piece in power.pieces.items()}
    places["all"] = Where(tokens[value.first].line, *_span(places))
    numbers = power.numbers
    if numbers[2] == 0:
        numbers = (*numbers[:2], 180.0)
    if power.form == "whole" and (numbers[1] == 0):
        numbers = (numbers[0], numbers[1], nan)
    choices = power.choices or ((spelled(numbers),) if why in ("kind", "two-values") and _full(numbers) else ())
    if why == "eye":
        choices = EYES
    name = "refraction" if power.form == "whole" else "part"
    return Candidate(eye, name, numbers, places, said, why, choices, form=power.form)


def _full(numbers: tuple[float, float, float]) -> bool:
    sphere, cylinder, axis = numbers
    return sphere == sphere and (cylinder != cylinder or cylinder == 0 or axis == axis)


def _span(places: Mapping[str, Where]) -> tuple[int, int]:
    return min(w.start for w in places.values()), max(w.end for w in places.values())


def _numbers(item: Owned, eyes: tuple[Any, ...], tokens: tuple[Token, ...], said: Said) -> list[Candidate]:
    """One number, a pair of one eye (K only), or a pair in an order of the two eyes."""
    value, number = item.value, item.value.what
    if len(number.values) == 1:
        return [_scalar(e, item, 0, tokens, said) for e in _sides(eyes)]
    if isinstance(item.eye, tuple):
        return [_scalar(e, item, n, tokens, said) for n, e in enumerate(item.eye)]
    if value.name.startswith("K"):
        return [_pair(e, item, tokens, said) for e in _sides(eyes)]
    why = "eye" if item.eye is None else "two-values"
    return [_scalar(None if why == "eye" else e, item, n, tokens, said, why) for n in (0, 1) for e in _sides(eyes)]


def _scalar(eye: str | None, item: Owned, n: int, tokens: tuple[Token, ...], said: Said, why: str = "") -> Candidate:
    value, number = item.value, item.value.what
    name, amount = in_field(value.name, number.values[n], number.unit)
    why = value.why or number.why or why
    if not why and (eye is None or item.asked) and not (value.name == "vertex_mm" and not item.asked):
        why = "eye"
    if not why and value.name == "K" and number.axes:
        why = "two-values"
    if value.name in ("K1", "K2"):
        name = value.name
    places = {"all": where(tokens, *number.pieces[n])}
    choices = EYES if why == "eye" else _spellings(name, amount, number, why)
    return Candidate(eye, name, amount, places, said, why, choices, value.light, form=number.unit)


def _spellings(name: str, amount: float, number: Number, why: str) -> tuple[str, ...]:
    """The value as a plan file spells it, where the number itself is not in doubt."""
    if why == "sign" and name in ("target_D", "asphericity"):
        return tuple(f"{sign}{abs(amount):.2f}" for sign in "-+")
    return (spelled_value(name, amount),) if why in ("kind", "two-values", "light") else ()


def spelled_value(name: str, amount: float) -> str:
    """A value as a plan file spells it.

    >>> spelled_value("central_thickness_um", 548.0), spelled_value("target_D", -1.5)
    ('548 µm', '-1.50')
    """
    if name == "target_D":
        return f"{amount:+.2f}" if amount else "0"
    unit = {"um": " µm", "mm": " mm", "dioptre": " D", "D": " D"}.get(name.rpartition("_")[2], "")
    return f"{amount:g}{unit}"


def _pair(eye: str | None, item: Owned, tokens: tuple[Token, ...], said: Said) -> Candidate:
    """The mean of the two K of one eye."""
    value, number = item.value, item.value.what
    first, second = (where(tokens, *piece) for piece in number.pieces)
    why = value.why or number.why or ("eye" if eye is None or item.asked else "")
    beside = number.pieces[1][0] - number.pieces[0][1] == 2
    all_of = Where(first.line, first.start, second.end) if beside else first
    mean = round((number.values[0] + number.values[1]) / 2, 9)
    also = () if beside else (second,)
    return Candidate(
        eye, "pair", mean, {"all": all_of}, said, why, EYES if why == "eye" else (), form=number.unit, also=also
    )


def _place(eye: str | None, value: Value, tokens: tuple[Token, ...], said: Said) -> Candidate:
    """The place of the thinnest point; x counts to the viewer's right."""
    place = value.what
    names = ("thinnest_x_mm", "thinnest_y_mm")
    places = {name: where(tokens, *piece) for name, piece in zip(names, place.pieces, strict=False)}
    why = place.why or ("eye" if eye is None else "")
    if why:
        return Candidate(eye, "place", None, places, said, why)
    (across, side), (up, height) = place.across, place.upwards
    x = across if (side == "nasal") == (eye == "OD") else -across
    y = up if height == "up" else -up
    return Candidate(eye, "place", (x + 0.0, y + 0.0), places, said)


def known(name: str) -> bool:
    """Whether a field of this name is read from letters as one number."""
    return name in PLAUSIBLE
