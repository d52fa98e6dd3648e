"""Reads what people write: numbers, signed powers, units, and a refraction in either cylinder form."""

import re
from math import isnan, nan

from tissue.entry.fields import Field, fields, figure
from tissue.entry.plan_text import Bare
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import TRUE_MINUS, Floats

EXAMPLE = "as in −5.00 −0.75 × 12"
DASHES = dict.fromkeys("−–—‐‑‒―﹣－", "-") | {"＋": "+", "﹢": "+"}
INVISIBLE = dict.fromkeys("\u200b\u200e\u200f\u2060\ufeff", " ")
TIMES: dict[str, str | int | None] = dict.fromkeys("×✕⨯╳х", "x")
DEGREES = dict.fromkeys("º˚", "°")
PLAIN = str.maketrans(DASHES | INVISIBLE | DEGREES)

NUMBER = r"(?:[0-9]+(?:[.,][0-9]+|\.(?![0-9]))?|[.,][0-9]+)"
WHOLE_NUMBER = re.compile(rf"(?P<sign>[+-]?)\s*(?P<number>{NUMBER}(?:e[+-]?[0-9]+)?)\s*(?P<unit>[^0-9.,+-][^0-9]*)?")
LONGEST, LOOKED_AT = 200, 4000  # most characters in a field, and most of them that a fault looks at
SHORTHAND = re.compile(r"0[0-9]{2,}")
UNITS = {
    "µm": ("µm", "um", "micron", "microns"),
    "mm": ("mm",),
    "D": ("d", "ds", "dc", "dpt", "sph", "sphere", "cyl", "diopter", "diopters", "dioptre", "dioptres"),
    "°": ("°", "deg", "degree", "degrees"),
    "%": ("%", "percent"),
    "s": ("s", "sec", "second", "seconds"),
}
UNIT_OF = {word.casefold(): unit for unit, words in UNITS.items() for word in words}

TOKEN = re.compile(
    rf"\s*(?:(?P<signed>[+-]\s*{NUMBER})|(?P<bare>{NUMBER})|(?P<plano>plano|pl)(?![a-z])"
    r"|(?P<degree>degrees?|deg|°)|(?P<sph>dsph|ds|sphere|sph)|(?P<cyl>dcyl|dc|cylinder|cyl)"
    r"|(?P<dioptre>dioptres?|diopters?|dpt|d)|(?P<axis>(?:axis|ax)\.?|x|@|\*)|(?P<between>[/,])|(?P<colon>[:=]))"
    r"(?:(?<=[a-z])\.(?![0-9]))?\s*"
)
LETTER = {
    "signed": "N",
    "bare": "n",
    "plano": "P",
    "sph": "s",
    "cyl": "c",
    "dioptre": "d",
    "axis": "x",
    "degree": "g",
    "between": "/",
    "colon": ":",
}
SENTENCE = re.compile(
    r"(?:s:?)?(?P<sphere>[NnP])d?s?"
    r"(?:/?(?:c:?)?(?P<cylinder>[Nn])d?c?)?"
    r"(?:/?(?P<marker>x:?)?(?P<axis>n)g?)?"
)


def plain_text(text: str | Bare) -> str:
    """The text in lower case with plain signs and single spaces.

    >>> plain_text(" – 5.50\\xa0D ")
    '- 5.50 d'
    """
    return " ".join(text.translate(PLAIN).casefold().split())


def one_line(text: str) -> str:
    """The text on one line, with spaces in place of what cannot be printed.

    >>> one_line("a\\n\\x1b[31mb")
    'a [31mb'
    """
    return " ".join("".join(c if c.isprintable() else " " for c in str(text)).split())


def shown(text: object, most: int = 60) -> str:
    """What was written, made fit for one line of a message: short, and without a semicolon.

    >>> shown(" 5;\\n 6 ")
    '5, 6'
    """
    words = one_line(str(text)[:LOOKED_AT]).replace(";", ",")
    return (words[:most] + "…" if len(words) > most else words) or "nothing"


def _value(sign: str, number: str) -> float:
    return (-1.0 if sign == "-" else 1.0) * float(number.replace(",", ".")) + 0.0


def _in_unit(field: Field, number: float, unit: str | None, text: str) -> float:
    """The number in the unit of the field; without a written unit its size may tell the unit."""
    if not unit:
        return float(field.in_own_unit(number))
    meant = UNIT_OF.get(unit.strip())
    if meant and meant == field.unit:
        return number
    if meant and field.also and meant == field.also.unit and number > 0:
        return float(field.also.convert(number))
    raise EyeError(field.name, shown(text), field.accepted)


def read_number(field: Field, text: str | Bare) -> float:
    """The number that a text says, in the unit of the field; its range is not checked.

    A power needs its sign unless it is zero.

    Args:
        field: the field it is for, see `fields`.
        text: what was written.
    Raises:
        EyeError: no number, another unit, or a power without its sign.

    >>> read_number(fields()["central_thickness_um"], "0,551 mm")
    551.0
    >>> read_number(fields()["sphere_D"], "− 4.75 DS")
    -4.75
    """
    if len(text) > LONGEST:
        raise EyeError(field.name, shown(text), field.accepted)
    words = plain_text(text)
    power = field.kind == "power"
    if power and re.fullmatch(r"(plano|pl)( ?(d|ds|sph|sphere))?", words):
        return 0.0
    match = WHOLE_NUMBER.fullmatch(words)
    if match is None:
        raise EyeError(field.name, shown(text), field.accepted)
    if power and SHORTHAND.fullmatch(match["number"]):
        raise EyeError(field.name, f"{shown(text)} without a decimal point", field.accepted)
    value = _value(match["sign"], match["number"])
    if power and value and not match["sign"]:
        raise EyeError(field.name, f"{shown(text)} without a sign", _signs(field, value))
    return _in_unit(field, value, match["unit"], text)


def _signs(field: Field, value: float) -> str:
    """The spellings with a sign that would have been accepted."""
    kept = [figure(v, signed=True) for v in (value, -value) if field.low <= v <= field.high]
    return f"{' or '.join(kept)} ({field.accepted})" if kept else field.accepted


def read_choice(field: Field, text: str) -> str:
    """One of the choices of a field, in upper or lower case.

    >>> read_choice(fields()["profile"], " Conic ")
    'conic'
    """
    word = text.strip().casefold()
    if word not in field.choices:
        raise EyeError(field.name, shown(text), field.accepted)
    return word


def read_line(name: str, text: str, most: int = LONGEST) -> str:
    """A free text on one line, without spaces at its ends.

    >>> read_line("thickness_method", " OCT ")
    'OCT'
    """
    line = text.strip()
    if not line or len(line) > most or not line.isprintable():
        raise EyeError(name, shown(text), f"text on one line, at most {most} characters")
    return line


def _tokens(text: str) -> tuple[str, list[str]]:
    """Kinds (a letter each) and texts of the pieces; unknown pieces have a kind of their own."""
    words, at, kinds = plain_text(text).translate(str.maketrans(TIMES)), 0, ""
    pieces: list[str] = []
    while at < len(words):
        match = TOKEN.match(words, at)
        if match is None or match.lastgroup is None:
            return kinds + "?", pieces
        kinds += LETTER[match.lastgroup]
        pieces.append(match[match.lastgroup])
        at = match.end()
    return kinds, pieces


def _power(field: str, kind: str, piece: str, text: str) -> float:
    """A power inside a refraction; it needs its decimal point, and its sign unless it is zero."""
    if kind == "P":
        return 0.0
    sign, number = (piece[0], piece[1:].strip()) if kind == "N" else ("", piece)
    value = _value(sign, number)
    if SHORTHAND.fullmatch(number):
        raise EyeError(field, shown(text), f"powers with their decimal point, {EXAMPLE}")
    if value and not sign:
        raise EyeError(field, shown(text), f"sphere and cylinder each with its sign, {EXAMPLE}")
    return value


def read_refraction(text: str, field: str = "refraction") -> tuple[float, float, float]:
    """Sphere, cylinder [D] and axis [degrees] of a refraction as people write it, in the form written.

    The axis is 1 to 180 (0 is 180), and NaN where there is no cylinder.

    Args:
        text: sphere, then cylinder and axis where there is a cylinder, such as "-5.00 DS / -0.75 DC × 12°".
        field: the name that a refusal gives.
    Raises:
        EyeError: a sign, an axis or a part is missing, or a value lies outside its range.

    >>> read_refraction("-7.00 +3.00 X 100")
    (-7.0, 3.0, 100.0)
    >>> read_refraction("plano")
    (0.0, 0.0, nan)
    """
    kinds, pieces = _tokens(text) if len(text) <= LONGEST else ("?", [])
    match = SENTENCE.fullmatch(kinds)
    if match is None:
        raise EyeError(field, shown(text), f"sphere, cylinder and axis, {EXAMPLE}, or plano")
    part = {name: match.start(name) for name in ("sphere", "cylinder", "axis") if match[name]}
    sphere = _power(field, match["sphere"], pieces[part["sphere"]], text)
    cylinder = _power(field, match["cylinder"], pieces[part["cylinder"]], text) if match["cylinder"] else 0.0
    if match["axis"] and not (match["marker"] and match["cylinder"] and pieces[part["axis"]][0].isdigit()):
        raise EyeError(field, shown(text), f"a cylinder with its sign and x before its axis, {EXAMPLE}")
    axis = _value("", pieces[part["axis"]]) if match["axis"] else nan
    _limits(field, text, sphere, cylinder, axis)
    return sphere, cylinder, (axis or 180.0) if cylinder else nan


def _limits(field: str, text: str, sphere: float, cylinder: float, axis: float) -> None:
    """Refuse a part outside its range, and a cylinder without an axis."""
    for name, part, value in (
        ("sphere_D", "a sphere", sphere),
        ("cylinder_D", "a cylinder", cylinder),
        ("axis_deg", "an axis", axis),
    ):
        limit = fields()[name]
        if value < limit.low or value > limit.high:
            raise EyeError(field, shown(text), f"{part} of {limit.accepted}")
    if cylinder and isnan(axis):
        raise EyeError(field, shown(text), f"an axis of 0 to 180° with a cylinder, {EXAMPLE}")


def _spell(sphere: Floats, cylinder: Floats, axis: Floats) -> str:
    powers = [f"{round(float(v), 2) + 0.0:+.2f}".replace("+0.00", "0.00") for v in (sphere, cylinder)]
    if powers[1] == "0.00":
        text = "plano" if powers[0] == "0.00" else f"{powers[0]} sphere"
    else:
        text = f"{powers[0]} {powers[1]} × {round(float(axis), 1) % 180 or 180:g}"
    return text.translate(TRUE_MINUS)


def write(sphere_D: Floats, cylinder_D: Floats = 0.0, axis_deg: Floats = 180.0) -> tuple[str, str]:
    """A refraction in minus form and in plus form, as text; the same text twice without a cylinder.

    >>> write(-5.0, -0.75, 12.0)
    ('−5.00 −0.75 × 12', '−5.75 +0.75 × 102')
    >>> write(-7.75)
    ('−7.75 sphere', '−7.75 sphere')
    """
    forms = Refraction(sphere_D, cylinder_D, axis_deg)
    minus, plus = (_spell(form.sphere_D, form.cylinder_D, form.axis_deg) for form in (forms.minus(), forms.plus()))
    return minus, plus


def echo(sphere_D: Floats, cylinder_D: Floats = 0.0, axis_deg: Floats = 180.0) -> str:
    """What was read, in both cylinder forms on one line.

    >>> echo(-5.0, -0.75, 12.0)
    '−5.00 −0.75 × 12 = −5.75 +0.75 × 102'
    """
    minus, plus = write(sphere_D, cylinder_D, axis_deg)
    return minus if minus == plus else f"{minus} = {plus}"


def read_text(name: str, text: str | Bare) -> float | str | tuple[float, float, float]:
    """The value that a text gives one field; a refraction as its three numbers.

    Raises:
        EyeError: the text cannot be read; ranges are left to `checks`, except those of a written refraction.

    >>> read_text("mean_K_D", "43,25 D")
    43.25
    """
    field = fields()[name]
    if name == "refraction":
        return read_refraction(text)
    if field.is_number:
        return read_number(field, text)
    line = read_choice(field, text) if field.choices else read_line(name, text)
    if field.kind == "refraction":
        read_refraction(line, name)  # kept as it was written, but only where it can be read
    return line
