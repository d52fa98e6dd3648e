"""The records of a day as one document: the list first, then the pages of every plan, each with its file inside."""

from collections.abc import Sequence

from tissue.paper.page import LEFT_MM, RIGHT_MM, Paper, text_width_mm, wrap
from tissue.paper.record import draw_record
from tissue.paper.record_words import Eyes

InDay = tuple[str, Eyes, bytes, str]  # code, eyes, plan file, its name
SIZE_PT, STEP_MM, TOP_MM, END_MM, GAP_MM = 6.6, 3.1, 32.0, 268.0, 2.2


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
    _head(paper, heads, lefts, date)
    y = TOP_MM
    for row in rows:
        lines = wrap(row[-1], RIGHT_MM - lefts[-1], SIZE_PT)
        if y + STEP_MM * len(lines) > END_MM:
            paper.close_page()
            _head(paper, heads, lefts, date)
            y = TOP_MM
        for left, cell in zip(lefts[:-1], row[:-1], strict=True):
            paper.text(left, y, cell, SIZE_PT)
        for i, line in enumerate(lines):
            paper.text(lefts[-1], y + STEP_MM * i, line, SIZE_PT)
        y += STEP_MM * len(lines)
        paper.line([LEFT_MM, RIGHT_MM], [y - 2.1, y - 2.1], 0.2, grey=0.7)
        y += 0.9
    paper.close_page()


def _lefts(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[float]:
    """Left edges of the columns [mm], as wide as what stands in them; the last one has what is left."""
    found, left = [], LEFT_MM
    for column, head in enumerate(heads):
        found.append(left)
        texts = [*wrap(head, 9.0, SIZE_PT, "bold"), *(row[column] for row in rows)]
        left += max(text_width_mm(text, SIZE_PT, "bold") for text in texts) + GAP_MM
    return [min(edge, RIGHT_MM - 30.0) for edge in found]


def _head(paper: Paper, heads: Sequence[str], lefts: Sequence[float], date: str) -> None:
    """Title, date and the heads of the columns."""
    paper.text(LEFT_MM, 17.0, "Plans of a day", 17, "serif")
    paper.text(RIGHT_MM, 15.4, date, 7.6, align="right", grey=0.3)
    for left, head in zip(lefts, heads, strict=True):
        for i, line in enumerate(wrap(head, 9.0, SIZE_PT, "bold")):
            paper.text(left, 21.0 + 2.7 * i, line, SIZE_PT, "bold", grey=0.2)
    paper.line([LEFT_MM, RIGHT_MM], [29.0, 29.0], 0.6)
