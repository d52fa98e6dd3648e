"""The records of a day as one document: the list first, then the pages of every plan, with each plan file attached."""

from collections.abc import Sequence

from tissue.paper.page import LEFT_MM, RIGHT_MM, Paper, text_width_mm, wrap
from tissue.paper.record import draw_record
from tissue.paper.record_words import Eyes

InDay = tuple[str, Eyes, bytes, str]  # code, eyes, plan file, its name
SIZE_PT, STEP_MM, TOP_MM, END_MM, GAP_MM = 6.6, 3.1, 32.0, 268.0, 2.2
WIDEST_MM, HAIR_MM = 25.0, 0.01  # widest column apart from the last one
UNIT, BETWEEN = ", ", " / "  # before the unit in a head; between figures of several procedures
NOTE = "three figures, where no procedure is given: surface, flap, lenticule, one under another"


def day_record(heads: Sequence[str], rows: Sequence[Sequence[str]], plans: Sequence[InDay], date: str = "") -> bytes:
    """The bytes of the document.

    Args:
        heads: words of the columns of the list.
        rows: the cells of each eye, as texts; the last column is wrapped.
        plans: (code, eyes, plan file, its name) of each plan, see `tissue.paper.record.record`.
        date: what is printed as the date; nothing where empty.
    """
    paper = Paper("Records of a day")
    _list(paper, heads, rows, date)
    for code, eyes, plan_bytes, name in plans:
        draw_record(paper, code, eyes, plan_bytes, name, date)
    return paper.finish()


def _list(paper: Paper, heads: Sequence[str], rows: Sequence[Sequence[str]], date: str) -> None:
    """The pages of the list."""
    lefts = _lefts(heads, rows)
    widths = [right - left - GAP_MM for left, right in zip(lefts, [*lefts[1:], RIGHT_MM + GAP_MM], strict=True)]
    _head(paper, heads, lefts, date)
    y = TOP_MM
    for row in rows:
        cells = [
            [line for part in _by_procedure(head, cell) for line in _lines(part, width)]
            for head, cell, width in zip(heads, row, widths, strict=True)
        ]
        deep = STEP_MM * max(map(len, cells))
        if y + deep > END_MM:
            paper.close_page()
            _head(paper, heads, lefts, date)
            y = TOP_MM
        for left, lines in zip(lefts, cells, strict=True):
            for i, line in enumerate(lines):
                paper.text(left, y + STEP_MM * i, line, SIZE_PT)
        y += deep
        paper.line([LEFT_MM, RIGHT_MM], [y - 2.1, y - 2.1], 0.2, grey=0.7)
        y += 0.9
    paper.close_page()


def _by_procedure(head: str, cell: str) -> list[str]:
    """The figures of a cell, one for each procedure; only cells of columns with a unit are split."""
    return cell.split(BETWEEN) if UNIT in head else [cell]


def _lines(words: str, width_mm: float) -> list[str]:
    """Words wrapped to lines; a word too long for its column is broken."""
    return [piece for line in wrap(words, width_mm, SIZE_PT) for piece in _broken(line, width_mm)]


def _broken(line: str, width_mm: float) -> list[str]:
    """A line in pieces that fit a width [mm]."""
    pieces, piece = [], ""
    for sign in line:
        if piece and text_width_mm(piece + sign, SIZE_PT) > width_mm:
            pieces.append(piece)
            piece = ""
        piece += sign
    return [*pieces, piece]


def _lefts(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[float]:
    """Left edges of the columns [mm], each as wide as its contents; the last one takes the rest."""
    found, left = [], LEFT_MM
    for column, head in enumerate(heads):
        found.append(left)
        words = [text_width_mm(text, SIZE_PT, "bold") for text in wrap(head, 9.0, SIZE_PT, "bold")]
        parts = [text_width_mm(part, SIZE_PT) for row in rows for part in _by_procedure(head, row[column])]
        left += max(*words, min(WIDEST_MM, max(parts, default=0.0)) + HAIR_MM) + GAP_MM
    return found


def _head(paper: Paper, heads: Sequence[str], lefts: Sequence[float], date: str) -> None:
    """Title, date and the heads of the columns."""
    paper.text(LEFT_MM, 17.0, "Plans of a day", 17, "serif")
    paper.text(RIGHT_MM, 15.4, date, 7.6, align="right", grey=0.3)
    paper.text(RIGHT_MM, 18.6, NOTE, SIZE_PT, align="right", grey=0.3)
    for left, head in zip(lefts, heads, strict=True):
        for i, line in enumerate(wrap(head, 9.0, SIZE_PT, "bold")):
            paper.text(left, 22.2 + 2.7 * i, line, SIZE_PT, "bold", grey=0.2)
    paper.line([LEFT_MM, RIGHT_MM], [29.0, 29.0], 0.6)
