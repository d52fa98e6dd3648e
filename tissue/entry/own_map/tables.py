"""Reads a map from a plain table separated by comma, semicolon or tab; the last two allow decimal commas."""

import re
from dataclasses import dataclass, replace

from tissue.entry.notation import shown
from tissue.entry.own_map.names import EPITHELIUM, THICKNESS
from tissue.entry.own_map.written import MISSING, NUMBER, TYPED, WrittenMap
from tissue.entry.toml_file import Unreadable
from tissue.ground.errors import EyeError

LARGEST_TABLE = 2_000_000  # bytes
KIND = "a table of a map"
BLANKS = ("", "-", "–", "nan")
PLACES = {
    "points": ("x_mm", "y_mm"),
    "polar": ("r_mm", "angle_deg"),
    "sectors": ("diameter_in_mm", "diameter_out_mm", "sector"),
}
VALUES = {f"{layer}_{unit}": f"{layer}_map" for layer in ("thickness", "epithelium") for unit in ("um", "mm")}
SIGNED_APART = re.compile(r"([-−+])\s+(?=[0-9.,])")


@dataclass(frozen=True)
class Asked:
    """What is said about a table: the side, the two directions, what it maps (empty where its heads say so), the text
    that stands for a missing reading, and the error of a reading (empty: the usual one)."""

    side: str
    positive_x: str = ""
    positive_y: str = ""
    of: str = ""
    missing: str = ""
    sd_um: str = ""


def maps_of_table(data: bytes, asked: Asked) -> dict[str, WrittenMap]:
    """The maps that a table holds, by name.

    Args:
        data: bytes of the table. asked: what is said about it.

    Raises:
        Unreadable: too large, or no text. EyeError: heads, words or numbers that cannot be.

    >>> table = b"thickness_um;y_mm;x_mm\\n551,5;0;0\\n560;0;1"
    >>> maps_of_table(table, Asked("OD", "right", "up"))["thickness_map"].values
    '0 0 551.5\\n1 0 560\\n'
    """
    if len(data) > LARGEST_TABLE:
        raise Unreadable("more than 2 MB", f"{KIND} of at most 2 MB")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise Unreadable(f"bytes that are not UTF-8 in line {line}", f"{KIND} in UTF-8") from None
    rows = _cells(text, asked.missing)
    if not rows:
        raise Unreadable("nothing", KIND)
    heads = [head.casefold() for head in rows[0]]
    form = next((form for form, places in PLACES.items() if set(places) <= set(heads)), None)
    found = _listed(form, heads, rows[1:], asked) if form else _grid(rows, asked)
    if asked.of and f"{asked.of}_map" not in found:
        raise EyeError("of", asked.of, f"what the table has: {', '.join(found)}")
    found = {name: one for name, one in found.items() if not asked.of or name == f"{asked.of}_map"}
    if asked.sd_um and THICKNESS not in found:
        raise EyeError("sd_um", shown(asked.sd_um), "nothing: it is the error of a reading of thickness")
    return found


def _cells(text: str, missing: str) -> list[list[str]]:
    """The cells of all lines but empty ones and comments: decimal commas as points, missing readings as a dash."""
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    mark = next((mark for mark in ";\t" if lines and mark in lines[0]), ",")
    blanks = {*BLANKS, missing.casefold()}
    return [[_cell(cell.strip().strip('"').strip(), mark, blanks) for cell in line.split(mark)] for line in lines]


def _cell(cell: str, mark: str, blanks: set[str]) -> str:
    """One cell: a number with a point, a dash where it is missing, or the word."""
    if mark != "," and re.fullmatch(r"[+\-−–]?[0-9]*,[0-9]+", cell):
        cell = cell.replace(",", ".")
    return MISSING if cell.casefold() in blanks else cell


def _listed(form: str, heads: list[str], rows: list[list[str]], asked: Asked) -> dict[str, WrittenMap]:
    """The maps of a table with a head for each column."""
    strange = [head for head in heads if head not in (*PLACES[form], *VALUES)]
    twice = [head for head in heads if heads.count(head) > 1]
    layers = [head for head in heads if head in VALUES]
    if strange or twice or not layers or len({VALUES[head] for head in layers}) < len(layers):
        wrong = strange or twice or layers or ["no value"]
        accepted = f"{', '.join(PLACES[form])} and one of {', '.join(VALUES)} for each layer"
        raise EyeError("heads", shown(wrong[-1]), accepted)
    for number, row in enumerate(rows, 2):
        if len(row) != len(heads):
            raise EyeError("values", f"{len(row)} cells in row {number}", f"{len(heads)} cells, as the heads")
    at = [heads.index(name) for name in PLACES[form]]
    found = {}
    for head in layers:
        _require_unit(head, [row[heads.index(head)] for row in rows])
        lines = [" ".join(_word(row[k]) for k in (*at, heads.index(head))) for row in rows]
        found[VALUES[head]] = _map(VALUES[head], form, asked, "\n".join(lines) + "\n")
    return found


def _word(cell: str) -> str:
    """A cell as one word; a space between sign and number is dropped.

    >>> _word("- 0.5"), _word("")
    ('-0.5', '-')
    """
    word = SIGNED_APART.sub(r"\1", cell.strip())
    if " " in word:
        raise EyeError("values", shown(cell), "one number in a cell")
    return word or MISSING


def _require_unit(head: str, cells: list[str]) -> None:
    """Refuse values in another unit than the one that the head names."""
    for cell in cells:
        if NUMBER.fullmatch(cell.translate(TYPED)) and (float(cell.translate(TYPED)) < 2.0) != head.endswith("_mm"):
            raise EyeError(head, shown(cell), f"values in {'mm' if head.endswith('_mm') else 'µm'}, as the head says")


def _grid(rows: list[list[str]], asked: Asked) -> dict[str, WrittenMap]:
    """The map of a table whose first row is x and whose first column is y."""
    name = EPITHELIUM if asked.of == "epithelium" else THICKNESS
    x, y = rows[0][1:], [row[0] for row in rows[1:]]
    if not all(NUMBER.fullmatch(cell.translate(TYPED)) for cell in x + y):
        known = " · ".join(", ".join(places) for places in PLACES.values())
        raise EyeError("heads", shown(" ".join(rows[0])), f"{known} and a value, or a grid with x_mm in its first row")
    for number, row in enumerate(rows, 1):
        if len(row) != len(rows[0]):
            raise EyeError("values", f"{len(row)} cells in row {number}", f"{len(rows[0])} cells, as the first row")
    values = "\n".join(" ".join(map(_word, row[1:])) for row in rows[1:]) + "\n"
    return {name: replace(_map(name, "grid", asked, values), x_mm=" ".join(x), y_mm=" ".join(y))}


def _map(name: str, form: str, asked: Asked, values: str) -> WrittenMap:
    """The WrittenMap of what was asked; named sectors take no direction."""
    sd = asked.sd_um.replace(",", ".") if name == THICKNESS else ""
    return WrittenMap(name, asked.side, form, values, asked.positive_x, asked.positive_y, sd)
