"""A map as it is written: its words, and the readings that they stand for."""

import re
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.entry.fields import figure
from tissue.entry.notation import shown
from tissue.entry.own_map.names import EPITHELIUM, THICKNESS
from tissue.eye.measured.readings import Places, Readings, Sectors
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import EYES, Array

FORMS = ("points", "grid", "polar", "sectors")
X_SIDES, Y_SIDES = ("right", "nasal"), ("up", "down")
SECTORS = ("S", "ST", "T", "IT", "I", "IN", "N", "SN")  # 45 degrees each, counted from the top towards temporal
WHOLE = "all"
SECTOR_COUNTS = (9, 17, 25)
RANGES_UM = {THICKNESS: (300.0, 950.0), EPITHELIUM: (20.0, 90.0)}
PER_MM = 1000.0
DEFAULT_SD_UM, MOST_SD_UM = 4.0, 30.0
FARTHEST_MM, MOST_TURN = 8.0, 360.0
SIDE_OF_GRID, READINGS = (3, 201), (9, 40_401)
SAME_MM = 1e-6
MISSING = "-"
NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")
NUMBERS = re.compile(rf"({NUMBER.pattern} )*{NUMBER.pattern}")
TYPED = str.maketrans("−–", "--")
COLUMNS = {"points": 3, "polar": 3, "sectors": 4}


@dataclass(frozen=True)
class WrittenMap:
    """A map of one eye as it was read, word for word.

    name: thickness_map or epithelium_map. side: OD or OS. form, positive_x, positive_y, sd_um, x_mm, y_mm, values,
    method, left_out: the texts of these names, empty where there was none. confirmed: whether the surgeon said that it
    lies as in the picture; None where nothing was said.
    """

    name: str
    side: str
    form: str
    values: str
    positive_x: str = ""
    positive_y: str = ""
    sd_um: str = ""
    x_mm: str = ""
    y_mm: str = ""
    method: str = ""
    confirmed: bool | None = None
    left_out: str = ""

    @cached_property
    def lines(self) -> list[list[str]]:
        """The words of each line of values."""
        return [line.split() for line in self.values.splitlines() if line.split()]

    def error(self, key: str, read: object, accepted: str) -> EyeError:
        """An EyeError about one of the keys."""
        return EyeError(f"{self.name}.{key}", read, accepted)

    @property
    def to_right(self) -> float:
        """1 where the table's x runs to the viewer's right, −1 where it runs to the left.

        >>> WrittenMap("thickness_map", "OS", "grid", "", "nasal", "up").to_right
        -1.0
        """
        return -1.0 if self.positive_x == "nasal" and self.side == EYES[1] else 1.0

    @property
    def upwards(self) -> float:
        """1 where the table's y runs up, −1 where it runs down."""
        return -1.0 if self.positive_y == "down" else 1.0

    def without(self, lines_and_words: list[tuple[int, int]], left_out: str) -> "WrittenMap":
        """The same map without the values at some (line, word); what they were is kept in words."""
        lines = [list(line) for line in self.lines]
        for line, word in lines_and_words:
            lines[line][word] = MISSING
        text = "\n".join(" ".join(line) for line in lines)
        return replace(self, values=text + "\n", left_out="\n".join(filter(None, (self.left_out.strip(), left_out))))


@dataclass(frozen=True, eq=False)
class Read:
    """What a map says: readings in the axes of the eye, where each stands (line, word), and how many are missing.

    table_x_mm, table_y_mm: their places as the table has them; empty for sectors. words: their values as written.
    missing_x_mm, missing_y_mm: places without a value, in the axes of the eye; empty for sectors.
    """

    readings: Readings
    at: list[tuple[int, int]]
    words: list[str]
    missing: int
    table_x_mm: np.ndarray
    table_y_mm: np.ndarray
    missing_x_mm: np.ndarray
    missing_y_mm: np.ndarray


def number_of(written: WrittenMap, key: str, word: str, accepted: str) -> float:
    """The number that a word stands for.

    Raises:
        EyeError: the word is no number.
    """
    if not NUMBER.fullmatch(word.translate(TYPED)):
        raise written.error(key, shown(word), accepted)
    return float(word.translate(TYPED))


def numbers_of(written: WrittenMap, key: str, words: list[str], accepted: str) -> np.ndarray:
    """The numbers that words stand for.

    Raises:
        EyeError: for the first word that is no number.
    """
    text = " ".join(words).translate(TYPED)
    if NUMBERS.fullmatch(text):
        return np.array(text.split(), dtype=float)
    return np.array([number_of(written, key, word, accepted) for word in words])


def read_written(written: WrittenMap) -> Read:
    """The readings that the words of a map stand for.

    Raises:
        EyeError: a word, a place, a number of words, an orientation or a unit that is not accepted.

    >>> text = "\\n".join(f"{x} {y} {550 + x * x}" for x in range(-3, 4) for y in range(-3, 4))
    >>> found = read_written(WrittenMap("thickness_map", "OD", "points", text, "right", "up"))
    >>> found.missing, found.readings.value_um[:3].tolist()
    (0, [559.0, 559.0, 559.0])
    """
    if written.form not in FORMS:
        raise written.error("form", shown(written.form), ", ".join(FORMS))
    _require_orientation(written)
    return {"sectors": _sectors, "grid": _grid}.get(written.form, _listed)(written)


def _require_orientation(written: WrittenMap) -> None:
    """Refuse a map without its two directions, which are never guessed; named sectors take none."""
    for key, known in (("positive_x", X_SIDES), ("positive_y", Y_SIDES)):
        said = getattr(written, key)
        if written.form == "sectors" and said:
            raise written.error(key, shown(said), "nothing: sectors are named")
        if written.form != "sectors" and said not in known:
            way = "the table's x runs to" if key == "positive_x" else "the table's y runs"
            meant = f"{known[0]} (seen from the front, to the viewer's right) or {known[1]}" if "x" in key[-1] else None
            raise written.error(key, shown(said), f"{meant or ' or '.join(known)}: where {way}")
    if written.form != "grid":
        for key in ("x_mm", "y_mm"):
            if getattr(written, key):
                raise written.error(key, shown(getattr(written, key)), "nothing: only a grid has it")


def _axis(written: WrittenMap, key: str) -> Array:
    """Places along one side of a grid [mm], strictly in order."""
    low, high = SIDE_OF_GRID
    accepted = f"{low} to {high} numbers within ±{FARTHEST_MM:g} mm, strictly in order"
    words = getattr(written, key).split()
    if not low <= len(words) <= high:
        raise written.error(key, f"{len(words)} numbers", accepted)
    found = numbers_of(written, key, words, accepted)
    steps = np.diff(found)
    if not (np.all(steps > 0) or np.all(steps < 0)):
        at = int(np.argmax(steps * np.sign(steps[0]) <= 0)) + 1
        raise written.error(key, shown(words[at]), accepted)
    if np.abs(found).max() > FARTHEST_MM:
        raise written.error(key, shown(words[int(np.abs(found).argmax())]), accepted)
    return found


def _grid(written: WrittenMap) -> Read:
    """The readings of a grid: one line for each y, one word for each x."""
    x, y = _axis(written, "x_mm"), _axis(written, "y_mm")
    lines = written.lines
    if len(lines) != y.size:
        raise written.error("values", f"{len(lines)} lines", f"{y.size} lines, one for each y_mm")
    for number, line in enumerate(lines, 1):
        if len(line) != x.size:
            accepted = f"{x.size} words, one for each x_mm"
            raise written.error("values", f"{len(line)} words in line {number}", accepted)
    at = [(i, j) for i in range(y.size) for j in range(x.size)]
    return _placed(written, np.tile(x, y.size), np.repeat(y, x.size), at, [lines[i][j] for i, j in at])


def _split(written: WrittenMap) -> list[list[str]]:
    """The words of each line, of which there must be as many as the form has."""
    count = COLUMNS[written.form]
    names = {"points": "x y value", "polar": "r angle value", "sectors": "diameter_in diameter_out sector value"}
    for number, line in enumerate(written.lines, 1):
        if len(line) != count:
            raise written.error("values", f"{len(line)} words in line {number}", names[written.form])
    return written.lines


def _listed(written: WrittenMap) -> Read:
    """The readings of a list of places, in x and y or in polar coordinates."""
    lines = _split(written)
    polar = written.form == "polar"
    most = f"a place within {FARTHEST_MM:g} mm" + (f" and ±{MOST_TURN:g}°" if polar else "")
    first, second = (numbers_of(written, "values", [line[k] for line in lines], most) for k in (0, 1))
    if polar and (np.any(first < 0) or np.any(np.abs(second) > MOST_TURN)):
        bad = int(np.argmax((first < 0) | (np.abs(second) > MOST_TURN)))
        raise written.error("values", shown(" ".join(lines[bad])), most)
    if polar:
        first, second = first * np.cos(np.radians(second)), first * np.sin(np.radians(second))
    return _placed(written, first, second, [(i, 2) for i in range(len(lines))], [line[2] for line in lines])


def _placed(written: WrittenMap, x: Array, y: Array, at: list[tuple[int, int]], words: list[str]) -> Read:
    """Readings at places of the table."""
    far = np.hypot(x, y) > FARTHEST_MM * np.sqrt(2.0 if written.form == "grid" else 1.0) + SAME_MM
    if far.any():
        bad = int(np.argmax(far))
        read = f"a place {figure(round(float(np.hypot(x[bad], y[bad])), 2))} mm from the vertex"
        raise written.error("values", read, f"places within {FARTHEST_MM:g} mm")
    _require_once(written, np.round(np.column_stack([x, y]) / SAME_MM).astype(np.int64), x, y)
    known = np.array(" ".join(words).translate(TYPED).split()) != MISSING
    values = _values(written, [word for word, is_there in zip(words, known, strict=True) if is_there])
    right, up = written.to_right * x, written.upwards * y
    return Read(
        readings=Places(right[known], up[known], values),
        at=[place for place, is_there in zip(at, known, strict=True) if is_there],
        words=[word for word, is_there in zip(words, known, strict=True) if is_there],
        missing=int((~known).sum()),
        table_x_mm=x[known],
        table_y_mm=y[known],
        missing_x_mm=right[~known],
        missing_y_mm=up[~known],
    )


def _require_once(written: WrittenMap, keys: NDArray[Any], x: Array, y: Array) -> None:
    """Refuse a place that is listed twice."""
    _, first, count = np.unique(keys, axis=0, return_index=True, return_counts=True)
    if np.any(count > 1):
        bad = int(first[np.argmax(count > 1)])
        read = f"the place {figure(round(float(x[bad]), 3))}, {figure(round(float(y[bad]), 3))} mm {count.max()} times"
        raise written.error("values", read, "every place once")


def _values(written: WrittenMap, words: list[str]) -> Array:
    """The values [µm]: all in µm or all in mm."""
    low, high = RANGES_UM[written.name]
    accepted = f"{low:g} to {high:g} µm, or {low / PER_MM:g} to {high / PER_MM:g} mm in all"
    if not READINGS[0] <= len(words) <= READINGS[1]:
        most = f"{READINGS[1]:,}".replace(",", " ")
        raise written.error("values", f"{len(words)} readings", f"{READINGS[0]} to {most} readings with a value")
    found = numbers_of(written, "values", words, f"a number or {MISSING}, {accepted}")
    in_um, in_mm = (found >= low) & (found <= high), (found * PER_MM >= low) & (found * PER_MM <= high)
    if in_um.all() or in_mm.all():
        return found if in_um.all() else np.round(found * PER_MM, 6)
    wrong = ~in_um if in_um.sum() >= in_mm.sum() else ~in_mm
    raise written.error("values", shown(words[int(np.argmax(wrong))]), accepted)


def _sectors(written: WrittenMap) -> Read:
    """The readings of named sectors: a central disc and eight sectors for each ring."""
    lines = _split(written)
    if len(lines) not in SECTOR_COUNTS:
        raise written.error("values", f"{len(lines)} sectors", ", ".join(map(str, SECTOR_COUNTS)))
    known = (*SECTORS, WHOLE)
    accepted = f"two diameters up to {2 * FARTHEST_MM:g} mm, the smaller first"
    inner, outer = (np.array([number_of(written, "values", line[k], accepted) for line in lines]) / 2.0 for k in (0, 1))
    for line, low, high in zip(lines, inner, outer, strict=True):
        if line[2] not in known:
            raise written.error("values", shown(line[2]), ", ".join(known))
        if not 0.0 <= low < high <= FARTHEST_MM:
            raise written.error("values", shown(" ".join(line[:2])), accepted)
    _require_sectors_once(written, lines)
    step = 45.0 if written.side == EYES[0] else -45.0
    middle = np.array([0.0 if line[2] == WHOLE else 90.0 + step * SECTORS.index(line[2]) for line in lines])
    width = np.array([360.0 if line[2] == WHOLE else 45.0 for line in lines])
    there = np.array([line[3].translate(TYPED) != MISSING for line in lines])
    values = _values(written, [line[3] for line, is_there in zip(lines, there, strict=True) if is_there])
    return Read(
        readings=Sectors(inner[there], outer[there], middle[there], width[there], values),
        at=[(i, 3) for i in np.flatnonzero(there).tolist()],
        words=[line[3] for line, is_there in zip(lines, there, strict=True) if is_there],
        missing=int((~there).sum()),
        table_x_mm=np.array([]),
        table_y_mm=np.array([]),
        missing_x_mm=np.array([]),
        missing_y_mm=np.array([]),
    )


def _require_sectors_once(written: WrittenMap, lines: list[list[str]]) -> None:
    """Refuse a list in which a sector is missing or stands twice."""
    seen = [(line[0], line[1], line[2]) for line in lines]
    for one in seen:
        if seen.count(one) > 1:
            raise written.error("values", shown(" ".join(one)), "every sector once")
