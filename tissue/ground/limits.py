"""The physical range of every given value, and how a value or a column is checked and taken over.

Each range includes that of the plan file (`entry/fields.toml`) and is wider: what a plan may say is
never refused here, and what no cornea, cut or laser can be never gives a figure.
"""

from collections.abc import Iterable, Mapping
from types import NoneType
from typing import Any, TypeVar

import numpy as np

from tissue.ground.errors import EyeError, as_read, number
from tissue.ground.vocabulary import TRUE_MINUS, Flags, Floats, Words

Made = TypeVar("Made")

THICKNESS, CUT, PLACE, TURN, SHARE = (200.0, 1200.0), (40.0, 900.0), (-6.0, 6.0), (-360.0, 540.0), (0.0, 1.0)
BIAS, SD, POWER = (-200.0, 200.0), (0.0, 200.0), (-100.0, 100.0)
DISC, WIDTH, DEPTH = (2.0, 18.0), (0.0, 8.0), (0.0, 900.0)
BIASES = (
    "thickness_bias_um", "flap_bias_um", "cap_bias_um", "ablation_bias_um", "lenticule_bias_um",
    "epithelium_gain_bias_um",
)  # fmt: skip
SDS = (
    "thickness_sd_um", "epithelium_sd_um", "flap_sd_um", "cap_sd_um", "ablation_sd_um", "lenticule_sd_um",
    "epithelium_gain_sd_um",
)  # fmt: skip
RANGES: dict[str, tuple[float, float]] = (
    dict.fromkeys(("central_thickness_um", "thinnest_um"), THICKNESS)
    | dict.fromkeys(("flap_um", "flap_measured_um", "rescue_flap_um", "enhancement_flap_um"), CUT)
    | dict.fromkeys(("cap_um", "cap_measured_um", "recut_cap_um"), CUT)
    | dict.fromkeys(("thinnest_x_mm", "thinnest_y_mm", "centre_x_mm", "centre_y_mm", "pupil_x_mm", "pupil_y_mm"), PLACE)
    | dict.fromkeys(("axis_deg", "hinge_deg", "incision_deg"), TURN)
    | dict.fromkeys(("cap_credit", "flap_credit"), SHARE)
    | dict.fromkeys(("sphere_D", "cylinder_D", "target_D"), POWER)
    | dict.fromkeys(("flap_diameter_mm", "cap_diameter_mm", "white_to_white_mm"), DISC)
    | dict.fromkeys(("ablation_blend_mm", "lenticule_blend_mm"), WIDTH)
    | dict.fromkeys(("reported_ablation_um", "reported_lenticule_um", "bed_line_um"), DEPTH)
    | dict.fromkeys(BIASES, BIAS)
    | dict.fromkeys(SDS, SD)
    | {
        "radius_mm": (4.0, 15.0),
        "asphericity": (-5.0, 5.0),
        "target_asphericity": (-6.0, 10.0),
        "epithelium_um": (5.0, 200.0),
        "pupil_mm": (0.05, 15.0),
        "vertex_mm": (0.0, 40.0),
        "zone_mm": (0.5, 16.0),
        "base_um": (0.0, 200.0),
        "incision_mm": (0.5, 20.0),
        "margin_um": (0.0, 500.0),
        "clock_s": (1.0, 600.0),
        "thickness_um": THICKNESS,
        "cut_um": CUT,
        "bed_um": (1.0, 1200.0),
        "K_D": (10.0, 80.0),
        "SE_D": POWER,
        "sd_um": SD,
    }
)
UNITS = {"um": "µm", "mm": "mm", "D": "D", "deg": "°", "s": "s"}
SLIPS = (1000.0, 0.001)  # factors between µm and mm, for a length given in the wrong one
TEXTS = "US"  # kinds of NumPy that are texts
PLAIN = (float, int, np.float64)


def taken_over(owner: object, names: Iterable[str]) -> Words:
    """Convert the named values of an object to numbers and check their ranges.

    A single value outside its range is refused; in a column the row becomes NaN, and its reason is returned.

    Args:
        owner: object with the values; a number stays as it is, anything else becomes an array [unit of its name].
        names: of values in RANGES.

    Returns:
        Why rows are refused, a text a row; an empty text where none is.

    Raises:
        EyeError: a value outside its range, or one that is no number.
    """
    reasons: Words = ""
    for name in names:
        value = getattr(owner, name)
        low, high = RANGES[name]
        if value is None or type(value) in PLAIN and low <= value <= high:
            continue
        column, bad, words = _looked_at(value, name)
        reasons = all_reasons(reasons, words)
        object.__setattr__(owner, name, np.where(bad, np.nan, column)[()] if bad.any() else column[()])
    return reasons


def _looked_at(value: Any, name: str) -> tuple[np.ndarray, np.ndarray, Words]:
    """A value as numbers, which of them lie outside their range, and why, by row; one single such value is refused."""
    low, high = RANGES[name]
    column = number(value, name)
    if _has_texts(np.asarray(value)):
        raise EyeError(name, f"the text {as_read(value)}", "a number")
    bad = (column < low) | (column > high)
    if not bad.any():
        return column, bad, ""
    if not column.ndim:
        raise EyeError(name, f"{float(column):g}", accepted(name, float(column)))
    words = np.full(column.shape, "", dtype=object)
    words[bad] = [f"{name}: read {one:g}, accepted {accepted(name, one)}" for one in column[bad]]
    return column, bad, words.astype(str)


def refused_rows(good: Flags, name: str, value: Floats, limit: Words) -> Words:
    """Refuse the bad rows of a column, each with its reason; a single bad value raises an error.

    Args:
        good: which rows are good; the caller must call a NaN good.
        name: of the value; value: as read [unit of its name].
        limit: what is accepted, one text or one a row.

    Returns:
        Why rows are refused, a text a row; an empty text where none is.

    Raises:
        EyeError: one value that is not good.

    >>> refused_rows(np.array([True, False]), "zone_mm", 9.0, "up to 8.5 mm").tolist()
    ['', 'zone_mm: read 9, accepted up to 8.5 mm']
    """
    met = np.asarray(good)
    if met.all():
        return ""
    if not met.ndim:
        raise EyeError(name, f"{float(value):g}", str(limit))
    out, reasons = ~met, np.full(met.shape, "", dtype=object)
    read, limits = np.broadcast_to(value, met.shape)[out], np.broadcast_to(limit, met.shape)[out]
    reasons[out] = [f"{name}: read {one:g}, accepted {words}" for one, words in zip(read, limits, strict=True)]
    return reasons.astype(str)


def _has_texts(array: np.ndarray) -> bool:
    """Whether any of the values is a text."""
    mixed = array.dtype.kind == "O" and any(isinstance(one, str | bytes) for one in array.flat)
    return mixed or array.dtype.kind in TEXTS


def known_words(owner: object, name: str, known: Iterable[str], instead: str) -> Words:
    """Refuse an unknown word; in a column the row is refused and gets another word in its place.

    Args:
        owner: object with the value; name: of it.
        known: the words there are; instead: the one that stands in a refused row.

    Returns:
        Why rows are refused, a text a row; an empty text where none is.

    Raises:
        EyeError: one unknown word.
    """
    known, words = list(known), _as_words(getattr(owner, name), name)
    unknown = ~np.isin(words, known)
    if not unknown.any():
        return ""
    if not words.ndim:
        raise EyeError(name, str(words), ", ".join(known))
    reasons = np.full(words.shape, "", dtype=object)
    reasons[unknown] = [f"{name}: read {word}, accepted {', '.join(known)}" for word in words[unknown]]
    object.__setattr__(owner, name, np.where(unknown, instead, words))
    return reasons.astype(str)


def _as_words(value: Any, name: str) -> np.ndarray:
    """One word or a column of them; a masked one is no word."""
    try:
        masked = hasattr(value, "mask") and hasattr(value, "filled")  # as in `number`: their own module is slow to load
        whole = value.astype(str).filled("") if masked else value
        return np.asarray(whole).astype(str)
    except Exception:  # a foreign object may raise anything when it is asked for its words
        raise EyeError(name, as_read(value), "a word or a column of them") from None


def one_word(value: object, name: str, known: Iterable[str]) -> None:
    """Refuse a word that is not among the known ones.

    Raises:
        EyeError: it names the words that are accepted.
    """
    known = list(known)
    if not isinstance(value, str) or value not in known:
        raise EyeError(name, as_read(value), ", ".join(known))


def one_number(value: Any, name: str, low: float, high: float) -> float:
    """A single number within its range; a column is refused.

    Raises:
        EyeError: it is no number, or lies outside the range.

    >>> one_number(np.array(0.5), "done", 0.0, 1.0)
    0.5
    """
    found = number(value, name)
    if found.ndim:
        raise EyeError(name, f"a column of {found.size}", "one number")
    if not (low <= found <= high):
        raise EyeError(name, f"{float(found):g}", f"{low:g} to {high:g}".translate(TRUE_MINUS))
    return float(found)


def of_kind(**given: tuple[object, Any]) -> None:
    """Refuse a value of the wrong kind.

    Args:
        given: by name, the value and its class, or a union of them.

    Raises:
        EyeError: it names the first value of the wrong kind.

    >>> of_kind(cornea=(548.0, str))
    Traceback (most recent call last):
    tissue.ground.errors.EyeError: cornea: read 548.0; accepted a str
    """
    for name, (value, kind) in given.items():
        if not isinstance(value, kind):
            kinds = [one for one in getattr(kind, "__args__", (kind,)) if one is not NoneType]
            raise EyeError(name, as_read(value), " or ".join(f"a {one.__name__}" for one in kinds))


def shape_together(*parts: object) -> tuple[int, ...]:
    """The shape of the columns of parts of a plan, or of arrays; () where all are single numbers.

    Raises:
        EyeError: columns with different numbers of rows.
    """
    values = [value for part in parts for value in (vars(part).values() if hasattr(part, "__dict__") else [part])]
    shapes = [value.shape for value in values if isinstance(value, np.ndarray)]
    try:
        return np.broadcast_shapes(*shapes)
    except ValueError:
        sizes = " and ".join(dict.fromkeys(" × ".join(map(str, shape)) for shape in shapes if shape))
        raise EyeError("rows", sizes, "columns with as many rows as each other") from None


def single_eye(*parts: object) -> None:
    """Refuse columns where one eye is asked for.

    Raises:
        EyeError: with how many there are.
    """
    if shape := shape_together(*parts):
        raise EyeError("eyes", " × ".join(map(str, shape)), "one eye")


def keep_reasons(owner: object, *reasons: Words) -> None:
    """Store with an object why rows of its columns are refused; nothing is stored where none is."""
    words = all_reasons(*reasons)
    if not isinstance(words, str):
        object.__setattr__(owner, "reasons", words)


def all_reasons(*reasons: Words) -> Words:
    """The reasons of the same rows joined, each once.

    >>> all_reasons("", np.array(["", "a"]), np.array(["b", "c"]), np.array(["b", ""])).tolist()
    ['b', 'a; c']
    """
    found: Words = ""
    for words in reasons:
        if not isinstance(words, str) and np.any(np.asarray(words) != ""):
            new = np.where(np.char.find(found, words) < 0, words, "")
            both = np.logical_and(np.asarray(found) != "", new != "")
            found = np.char.add(np.char.add(found, np.where(both, "; ", "")), new)
    return found


def accepted(name: str, value: float) -> str:
    """The accepted range in words; where the value looks like a slip of the unit, with a question about it.

    >>> accepted("central_thickness_um", 0.548), accepted("cap_credit", 2.5)
    ('200 to 1200 µm, in µm?', '0 to 1')
    """
    low, high = RANGES[name]
    unit = UNITS.get(name.rpartition("_")[2], "")
    words = f"{low:g} to {high:g} {unit}".rstrip().translate(TRUE_MINUS)
    slipped = unit in ("µm", "mm") and any(low / factor <= value <= high / factor for factor in SLIPS)
    return f"{words}, in {unit}?" if slipped else words


def with_computed(made: Made, **values: Any) -> Made:
    """A copy with other values that were computed, so that nothing is checked again.

    Args:
        made: an object of this package.
        values: by name, as its constructor leaves them.
    """
    copy = object.__new__(type(made))
    copy.__dict__.update(made.__dict__ | values)
    return copy


def finite(owner: object, ranges: Mapping[str, tuple[Floats, Floats]]) -> None:
    """Convert the named plain numbers of an object, and refuse the first one that lies outside its range.

    Args:
        owner: object with the values.
        ranges: least and greatest by name.

    Raises:
        EyeError: named with its value and range.
    """
    for name, (low, high) in ranges.items():
        object.__setattr__(owner, name, one_number(getattr(owner, name), name, float(low), float(high)))
