"""Reads one field of one eye in the way of a letter: loaded only when the plain reader of a field refuses a text."""

import re
from typing import Any

from tissue.entry.fields import fields
from tissue.entry.letter.clause import read_clause
from tissue.entry.letter.pieces.letters import letters_of
from tissue.entry.letter.pieces.tokens import plain_line, tokens
from tissue.entry.letter.reader import Mark
from tissue.entry.letter.values.place import ACROSS, UPWARDS
from tissue.entry.letter.values.powers import Power
from tissue.entry.letter.values.scalars import number_at
from tissue.entry.notation import shown
from tissue.ground.errors import EyeError

PAIRS = ("mean_K_D", "radius_mm")
PLACES = re.compile(r"(?P<number>n)m?f*(?P<way>p)|(?P<way2>p):?(?P<number2>n)m?")
# R is a refraction, W a vertex distance; around them only marks, kinds and acuity may stand
SENTENCE = re.compile(r"[Me:kf()]*R[,:]?(?:V*[:(]?(?:n/n|n)[)]?)?,?W?[()]*(?:[,(]*M[e)]*)?")
ACUITY = re.compile(r"[0-2][.,]\d{1,2}")
KERATOMETER = 337.5


def as_in_a_letter(name: str, text: str, side: str | None) -> tuple[Any, dict[str, float]] | None:
    """The value and what else the text says; None where it cannot be read. Arguments as in `read_of_eye`."""
    if name == "refraction":
        return _refraction(text, side)
    value = None
    if name in PAIRS:
        value = _mean_of_pair(name, text)
    elif name.endswith(("_x_mm", "_y_mm")):
        value = _direction(name, text, side)
    return None if value is None else (value, {})


def _refraction(text: str, side: str | None) -> tuple[Any, dict[str, float]] | None:
    """A refraction with the mark of its eye, its acuity, its vertex distance."""
    pieces = tokens(plain_line(text))
    reader = read_clause(pieces, dotted=True)
    _own_eye({item.eye for item in reader.items if isinstance(item, Mark)}, text, side)
    values = [item for item in reader.items if not isinstance(item, Mark) and item.name != "never"]
    powers = [value for value in values if isinstance(value.what, Power)]
    others = [value for value in values if value not in powers]
    if len(powers) != 1 or powers[0].what.form == "cylinder" or powers[0].what.why:
        return None
    if [value.name for value in others] not in ([], ["vertex_mm"]) or any(value.what.why for value in others):
        return None
    outline = _outline(reader.letters, powers[0], others)
    rest = [piece.digits for piece, letter in zip(pieces, outline, strict=True) if letter == "n"]
    if not SENTENCE.fullmatch("".join(outline)) or ("/" not in outline and not all(map(ACUITY.fullmatch, rest))):
        return None
    sphere, cylinder, axis = powers[0].what.numbers
    whole = (sphere, 0.0 if cylinder != cylinder else cylinder, axis or 180.0)
    return whole, {value.name: value.what.values[0] for value in others}


def _outline(letters: str, power: Any, others: list[Any]) -> list[str]:
    """The letters with R for the refraction and W for a vertex distance with its label."""
    outline = list(letters)
    for value in others:
        outline[value.labelled_at : value.last + 1] = ["W"] + [""] * (value.last - value.labelled_at)
    outline[power.first : power.last + 1] = ["R"] + [""] * (power.last - power.first)
    return outline


def _own_eye(marked: set[Any], text: str, side: str | None) -> None:
    """Refuse a mark of the other eye, or of both."""
    if not marked or marked == {side}:
        return
    accepted = f"a refraction of this eye ({side})" if side else "a refraction without a mark of its eye"
    raise EyeError("refraction", shown(text), accepted)


def _mean_of_pair(name: str, text: str) -> float | None:
    """The mean of a pair of K in the unit of the field; both must have the same unit."""
    pieces = tokens(plain_line(text))
    letters = letters_of(pieces)
    at = next((i for i, letter in enumerate(letters) if letter == "n"), None)
    if at is None or letters[:at].strip("L:f"):
        return None
    pair = number_at("K", letters, pieces, at, dotted="." in text)
    if len(pair.values) != 2 or pair.why or pair.end != len(letters):
        return None
    mean = round(sum(pair.values) / 2, 9)
    own = "mm" if fields()[name].unit == "mm" else "dioptre"
    return mean if pair.unit == own else KERATOMETER / mean


def _direction(name: str, text: str, side: str | None) -> float | None:
    """A distance with its direction in words; nasal is to the right in a right eye, to the left in a left one."""
    pieces = tokens(plain_line(text))
    match = PLACES.fullmatch(letters_of(pieces))
    if match is None:
        return None
    number = pieces[match.start("number" if match["number"] else "number2")]
    way = pieces[match.start("way" if match["way"] else "way2")].means["place"]
    if way in UPWARDS and name.endswith("_y_mm"):
        return number.value if way == "up" else -number.value
    if way in ACROSS and name.endswith("_x_mm") and side:
        return number.value if (way == "nasal") == (side == "OD") else -number.value
    return None
