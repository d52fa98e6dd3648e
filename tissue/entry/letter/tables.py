"""Tables in a letter: columns headed by the two eyes, or by labels above rows that begin with an eye."""

from dataclasses import dataclass
from typing import Any

from tissue.entry.letter.pieces.letters import letters_of
from tissue.entry.letter.pieces.lines import Line
from tissue.entry.letter.pieces.tokens import Token
from tissue.ground.vocabulary import EYES


@dataclass(frozen=True, eq=False)
class Columns:
    """What the cells below a heading row mean.

    by_eye: whether eyes head the columns. heads: by index of the cell, an eye or the Tokens of a label. mark: what
    parts the cells: | , tab or gap. count: cells of the head.
    """

    by_eye: bool
    heads: dict[int, Any]
    mark: str
    count: int


def cells_of(line: Line) -> tuple[list[list[Any]], str]:
    """The cells of a line as lists of Tokens, and the mark between them; without one, a single cell and no mark."""
    if any(t.kind == "|" for t in line.tokens):
        return _by_bar(line), "|"
    if "\t" in line.plain.strip(" "):
        return _by_tab(line), "tab"
    cells: list[list] = []
    for token in line.tokens:
        if token.gap or not cells:
            cells.append([])
        cells[-1].append(token)
    return cells, "gap"


def _by_bar(line: Line) -> list[list[Token]]:
    cells: list[list] = [[]]
    for token in line.tokens:
        if token.kind == "|":
            cells.append([])
        else:
            cells[-1].append(token)
    if line.plain.strip().startswith("|"):
        cells = cells[1:]
    return cells[:-1] if line.plain.strip().endswith("|") else cells


def _by_tab(line: Line) -> list[list[Token]]:
    edges = [0, *(at + 1 for at, c in enumerate(line.plain) if c == "\t"), len(line.plain) + 1]
    cells: list[list] = []
    tokens, at = line.tokens, 0
    for low, high in zip(edges, edges[1:], strict=False):
        cells.append([])
        while at < len(tokens) and tokens[at].start < high:
            if tokens[at].start >= low:
                cells[-1].append(tokens[at])
            at += 1
    return cells


def columns_of(line: Line) -> Columns | None:
    """The Columns that a heading row describes, or None."""
    cells, mark = cells_of(line)
    if len(cells) < 2 or any(t.kind in ("number", "misread") for t in line.tokens):
        return None
    eyes = {at: eye for at, cell in enumerate(cells) if (eye := eye_of(cell))}
    if sorted(eyes.values()) == ["OD", "OS"]:
        return Columns(True, eyes, mark, len(cells))
    labels = {at: cell for at, cell in enumerate(cells) if _is_label(cell)}
    return Columns(False, labels, mark, len(cells)) if len(labels) >= 3 and not eyes else None


def eye_of(cell: list[Token]) -> str | None:
    """The eye of a cell that holds nothing but its mark, such as `OD (right)`; else None."""
    letters = letters_of(cell)
    if not letters or set(letters) - set("Me():-f.") or "M" not in letters:
        return None
    eyes = {t.means["eye"] for t, letter in zip(cell, letters, strict=True) if letter == "M"}
    eye = eyes.pop()
    return eye if not eyes and eye in EYES else None


def _is_label(cell: list[Token]) -> bool:
    """Whether a cell holds only the name of a field or of a part of the refraction, with or without its unit."""
    means = [name for token in cell for name in token.means]
    return any(name in ("label", "sphere", "cylinder", "axis", "never") for name in means) and len(cell) <= 6


def is_row(cells: list[list[Token]], columns: Columns, mark: str) -> bool:
    """Whether the cells of a line belong to the Columns above it."""
    if len(cells) < 2 or mark != columns.mark:
        return False
    if columns.by_eye:
        return eye_of(cells[0]) is None and not any(eye_of(cell) for cell in cells)
    return _eye_of_row(cells[0]) is not None


def _eye_of_row(cell: list[Token]) -> str | None:
    """The eye that a row begins with, with or without other words; None unless exactly one is marked."""
    eyes = {token.means["eye"] for token in cell if "eye" in token.means}
    return eyes.pop() if len(eyes) == 1 and eyes <= {"OD", "OS"} else None


def parts_of_row(cells: list[list[Token]], columns: Columns) -> list[tuple[Any, Any, Any]] | None:
    """Eye, Tokens of the label, and Tokens of the cell, for each cell of a row; None where cells are missing."""
    shift = _shift(cells, columns)
    if shift is None:
        return None
    if columns.by_eye:
        label = cells[0]
        return [(eye, label, cells[at + shift]) for at, eye in columns.heads.items() if at + shift < len(cells)]
    eye = _eye_of_row(cells[0])
    said = [token for token in cells[0] if "eye" not in token.means and "eye_noun" not in token.means]
    return [
        (eye, [*said, *label], cells[at + shift]) for at, label in columns.heads.items() if 0 < at + shift < len(cells)
    ]


def _shift(cells: list[list[Token]], columns: Columns) -> int | None:
    """By how many cells a row is shifted against its heading row; None where that cannot be told."""
    first = min(columns.heads)
    if columns.mark == "gap":
        missing = len(cells) - columns.count
        return missing if missing in ((0, 1) if first == 0 else (0,)) and (first or missing) else None
    return 1 if first == 0 and len(cells) > columns.count else 0 if first else None
