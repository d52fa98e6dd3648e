"""Pages to teach from: a sheet of questions about a plan, and a sheet with the arithmetic of each answer."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from tissue.paper.page import FOOT_MM, LEFT_MM, RIGHT_MM, Paper, text_width_mm, wrap
from tissue.report.origin import version_words

MOST = 4  # most questions of a sheet
TOP_MM, END_MM = 34.0, FOOT_MM - 4.0
PT_MM, LEADING = 25.4 / 72.0, 1.32
BODY_PT, SMALL_PT, HEAD_PT = 10.0, 8.4, 11.0
INDENT_MM, VALUE_MM, BOX_MM = 5.0, 78.0, 2.8
WRITTEN = {"refraction": "sphere, cylinder and axis", "axis": "axis in degrees", "power": "with its sign"}
LINE = "_" * 24


@dataclass
class Column:
    """Texts one below another, laid out before any is drawn: (x, y [mm], text, size [pt], font, grey) of each line."""

    y_mm: float
    lines: list[tuple[float, float, str, float, str, float]] = field(default_factory=list)
    boxes: list[tuple[float, float]] = field(default_factory=list)

    def put(
        self, text: str, size_pt: float = BODY_PT, font: str = "sans", *, x_mm: float = LEFT_MM, grey: float = 0.0
    ) -> Any:
        """A text, wrapped at the right edge; gives its first base line [mm]."""
        first = self.y_mm + size_pt * PT_MM
        for line in wrap(text, RIGHT_MM - x_mm, size_pt, font):
            self.y_mm += size_pt * PT_MM * LEADING
            self.lines.append((x_mm, self.y_mm, line, size_pt, font, grey))
        return first

    def gap(self, mm: float) -> None:
        """Leave room below the last text [mm]."""
        self.y_mm += mm

    def pair(
        self,
        label: str,
        text: str,
        *,
        size_pt: float = BODY_PT,
        font: str = "sans",
        x_mm: float = LEFT_MM,
        value_mm: float = VALUE_MM,
    ) -> None:
        """A label with its text on the same line; the longer of the two decides the height."""
        top = self.y_mm
        for at, words, how, right in (
            (x_mm, label, font, x_mm + value_mm - 3.0),
            (x_mm + value_mm, text, "bold", RIGHT_MM),
        ):
            y = top
            for line in wrap(words, right - at, size_pt, how):
                y += size_pt * PT_MM * LEADING
                self.lines.append((at, y, line, size_pt, how, 0.0))
            self.y_mm = max(self.y_mm, y)

    def draw(self, paper: Paper) -> None:
        """Draw every line."""
        for x, y, text, size, font, grey in self.lines:
            paper.text(x, y, text, size, font, grey=grey)
        for x, y in self.boxes:
            paper.box(x, y, BOX_MM)


def teach_page(questions: Sequence[Any], title: str, date: str = "", seed: str = "") -> bytes:
    """The bytes of two sheets, questions and solutions, with the first questions that fit on both, at most four.

    Args:
        questions: Questions, in their order.
        title: what the sheets are about.
        date: what is printed as the date; nothing where empty.
        seed: the one that repeats the round; nothing where empty.

    Raises:
        ValueError: there is no question, or none fits.
    """
    asked, solved = Column(TOP_MM), Column(TOP_MM)
    number = 0
    for question in questions:
        more = [_blank(question, number + 1, asked), _solved(question, number + 1, solved)]
        if number < MOST and all(column.y_mm <= END_MM for column in more):
            (asked, solved), number = more, number + 1
    if not number:
        raise ValueError("no question has room on a sheet")
    paper = Paper(title)
    for column, words in ((asked, "Questions"), (solved, "Solutions")):
        _head(paper, title, words, "  ".join(filter(None, (date, seed and f"seed {seed}", version_words()))))
        column.draw(paper)
        paper.close_page()
    return paper.finish()


def _head(paper: Paper, title: str, words: str, small: str) -> None:
    """Title of a sheet."""
    paper.text(LEFT_MM, 17.0, words, 17, "serif")
    paper.text(LEFT_MM, 23.4, title, 10.0, grey=0.2)
    paper.text(RIGHT_MM, 15.4, small, 7.6, align="right", grey=0.3)
    paper.line([LEFT_MM, RIGHT_MM], [27.0, 27.0], 0.6)


def _after(column: Column) -> Column:
    """A Column that begins where another ends."""
    return Column(column.y_mm, list(column.lines), list(column.boxes))


def _title(column: Column, question: Any, number: int) -> None:
    """Number, kind and eye of a question."""
    column.put(f"{number}  {question.kind.title}, {question.eye}", SMALL_PT, grey=0.3)


def _blank(question: Any, number: int, before: Column) -> Column:
    """A Column with one more question and the room for its answer."""
    column = _after(before)
    _title(column, question, number)
    if question.before:
        column.put(question.before, SMALL_PT)
    column.put(question.prompt, HEAD_PT, "bold")
    column.gap(1.2)
    for row in question.given:
        column.pair(row.label, row.text + (" *" if row.default else ""))
    if any(row.default for row in question.given):
        column.put("* A default of the tool, or worked out with one.", SMALL_PT, grey=0.3)
    if question.reported:
        column.put(f"The eye was reported in: {question.reported}.", SMALL_PT, grey=0.3)
    column.gap(1.8)
    for choice in question.choices:
        y = column.put(choice, x_mm=LEFT_MM + INDENT_MM)
        column.boxes.append((LEFT_MM, y + 1.0))
    if not question.choices:
        words = WRITTEN.get(question.form, "")
        unit = question.kind.unit if question.form != "refraction" else ""
        column.put(f"Answer: {LINE} {unit}" + (f"  ({words})" if words else ""))
    column.gap(7.0)
    return column


def _solved(question: Any, number: int, before: Column) -> Column:
    """A Column with one more answer and its arithmetic."""
    column = _after(before)
    _title(column, question, number)
    column.put(question.answer_words, HEAD_PT, "bold")
    column.gap(0.8)
    beside = [line for line in question.lines if line.beside]
    for line in question.lines:
        if not line.beside:
            _arithmetic(column, line)
    if beside:
        column.put("Beside it", SMALL_PT, "bold")
    for line in beside:
        _arithmetic(column, line)
    column.gap(0.8)
    for words in (question.tolerance_words, *question.kind.origins):
        column.put(words, SMALL_PT, grey=0.3)
    column.gap(6.0)
    return column


def _arithmetic(column: Column, line: Any) -> None:
    """A line of the arithmetic; its formula under it, and the same with the figures of this eye."""
    sign = line.written_sign
    figure = f"{line.figure} {line.unit}".strip()
    if sign:
        column.lines.append((LEFT_MM, column.y_mm + BODY_PT * PT_MM * LEADING, sign, BODY_PT, "sans", 0.0))
    left = LEFT_MM + INDENT_MM
    if figure and text_width_mm(line.words, BODY_PT) + text_width_mm(figure, BODY_PT, "bold") < RIGHT_MM - left - 6.0:
        column.pair(line.words, figure, x_mm=left, value_mm=max(VALUE_MM, text_width_mm(line.words, BODY_PT) + 6.0))
    elif figure:
        column.pair(line.words, figure, x_mm=left)
    else:
        column.put(line.words, SMALL_PT, x_mm=left)
    if line.formula:
        words = f"{line.formula_words} = {line.numbers}" if line.put else line.formula_words
        column.put(words, SMALL_PT, x_mm=left, grey=0.3)
