"""The handout: one A4 page for the patient, in a language, black and white, to be read aloud and written on."""

from collections.abc import Sequence
from typing import Any

from tissue.budget.comparison import Comparison
from tissue.drawing.patient.language import FIRST, unread
from tissue.drawing.patient.together import COLUMNS, Row, by_name, column_name, side_by_side
from tissue.drawing.patient.words import Story, standing, story
from tissue.ground.vocabulary import EYES
from tissue.paper.page import FOOT_MM, LEFT_MM, RIGHT_MM, wrap
from tissue.paper.patient_pictures import Shown, draw_picture, row_of, scale_and_frame, words_of_picture
from tissue.paper.tagged import Tagged

TEXT_PT, STEP_MM = 12.0, 4.9  # running text, and from line to line
TITLE_PT, SMALL_PT = 17.0, 9.0
CLEAR_MM = 1.5  # over the line at the foot
WIDTH_MM, GAP_MM = RIGHT_MM - LEFT_MM, 8.0
HALF_MM = (WIDTH_MM - GAP_MM) / 2.0
SECOND_MM = LEFT_MM + HALF_MM + GAP_MM
PICTURES_MM = 24.0, 19.0, 15.0  # height of the pictures: lower ones where the words take more
NIGHT_MM, BESIDE_MM = (30.0, 15.0), 3.0  # size of a picture of lights, and how far its words stand from it
CELL_GAP_MM, MOST_IN_A_ROW = 4.0, 4
WRITE_MM, LEAST_LINES = 7.5, 2  # between lines to write on, and the fewest of them
SIZE_PT, LINE_MM, ABOVE_MM = 9.5, 3.7, 0.55  # of the table: type, from line to line, over a row's first line
HEAD_MM, PAD_MM = 54.0, 1.2
ASCENT_MM = 2.7  # from the top of a line to its base


def handout(
    code: str,
    eyes: dict[str, Comparison],
    way: str,
    date: str = "",
    invented: bool = False,
    *,
    columns: tuple[str, ...] | None = None,
    language: str = FIRST,
    night: Any = None,
) -> bytes:
    """The bytes of the page.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, Comparison; the right eye comes first.
        way: which way its pictures show.
        date: what is printed as the date; nothing where empty.
        invented: whether the eyes are made up, which the page then says.
        columns: what stands side by side, in order; all, by name, where None.
        language: one of LANGUAGES.
        night: what is shown of lights at night, with `heads`, `near`, `pngs` and `words` of it; nothing where None.
    """
    stories = [story(eyes[side], way, side, language) for side in EYES if side in eyes]
    right = [words for words in (date, code, stories[0].words["page"]["invented"] if invented else "") if words]
    table = Table(stories, columns or by_name(COLUMNS, language))
    for height in PICTURES_MM:
        paper, y = _filled(stories, table, right, code, height, night)
        if y + LEAST_LINES * WRITE_MM < FOOT_MM - CLEAR_MM:
            break
    if y + WRITE_MM < FOOT_MM - CLEAR_MM:
        _room_to_write(paper, stories[0].words["page"], y)
    paper.close_page()
    return paper.finish()


def _filled(
    stories: Sequence[Story], table: "Table", right: Sequence[str], code: str, height_mm: float, night: Any = None
) -> tuple[Tagged, float]:
    """The page down to where there is room to write: the paper, and the base line there."""
    language, page = stories[0].language, stories[0].words["page"]
    foot = " ".join(filter(None, (standing(language), unread(language))))
    paper = Tagged(f"{page['handout']} {code}".strip(), foot, language, SMALL_PT)
    y = _head(paper, stories, right)
    y = _pictures(paper, row_of(stories), y, height_mm)
    y = draw_table(paper, table, y + 1.0)
    y = _notes(paper, stories, y)
    if night is not None:
        y = _lights(paper, night, y + 5.4)
    y = _known(paper, stories[0], y + 5.4)
    return paper, _questions(paper, stories[0], y + 1.0) + 1.0


def paragraph(
    paper: Tagged, x: float, y: float, width: float, text: str, *, font: str = "sans", role: str = "P"
) -> float:
    """Running text from its first base line on; gives the base line after it [mm].

    Args:
        paper: Tagged. x, y: first base line [mm]. width: of the column [mm]. text: words. font, role: of the element.
    """
    with paper.element(role):
        for line in fitted_lines(text, width):
            paper.text(x, y, line, TEXT_PT, font)
            y += STEP_MM
    return y


def fitted_lines(text: str, width_mm: float, size_pt: float = TEXT_PT, font: str = "sans") -> list[str]:
    """Lines of a text that fit a width [mm]; a figure is not parted from its mm."""
    return [line.replace("_mm", " mm") for line in wrap(text.replace(" mm", "_mm"), width_mm, size_pt, font)]


def _head(paper: Tagged, stories: Sequence[Story], right: Sequence[str]) -> float:
    """Title, what belongs to this print, the way and how it goes; why there is nothing to show of an eye."""
    told, page = stories[0], stories[0].words["page"]
    with paper.element("H1"):
        paper.text(LEFT_MM, 14.0, page["paper_titles"][len(stories) - 1], TITLE_PT, "serif")
    with paper.element("P"):
        for i, words in enumerate(right):
            paper.text(RIGHT_MM, 9.0 + 3.9 * i, words, SMALL_PT, align="right")
    paper.line([LEFT_MM, RIGHT_MM], [18.6, 18.6], 0.6)
    y = paragraph(paper, LEFT_MM, 23.8, WIDTH_MM, told.name, font="bold", role="H2")
    y = paragraph(paper, LEFT_MM, y, WIDTH_MM, told.words["ways"][told.way]["short"])
    for one in stories:
        if one.why_not:
            y = paragraph(paper, LEFT_MM, y, WIDTH_MM, f"{_of_eye(one)}: {one.why_not}")
    return y


def _of_eye(told: Story) -> str:
    """Which eye, as a head."""
    words = told.words["page"]["eyes"][told.side]
    return words[0].upper() + words[1:]


def _pictures(paper: Tagged, row: Sequence[Shown], y: float, height_mm: float) -> float:
    """The pictures in a row, each under its words; gives the lower edge."""
    cell = (WIDTH_MM - CELL_GAP_MM * (MOST_IN_A_ROW - 1)) / MOST_IN_A_ROW
    scale, over, under = scale_and_frame(row, cell, height_mm)
    for i, one in enumerate(row):
        left = LEFT_MM + i * (cell + CELL_GAP_MM)
        for at, words in enumerate((_of_eye(one.told), one.title)):
            with paper.element("P"):
                paper.text(left + cell / 2.0, y - 1.0 + 4.0 * at, words, SMALL_PT, ("sans", "bold")[at], "centre")
        top = y + 4.0
        with paper.figure(words_of_picture(one), left, top, left + cell, top + over + under):
            draw_picture(paper, one, left + cell / 2.0, top + over, scale)
    return y + 4.0 + over + under


def _notes(paper: Tagged, stories: Sequence[Story], y: float) -> float:
    """Small lines under the table; gives the last base line."""
    words = stories[0].words
    page, table = words["page"], words["table"]
    both = page["same_for_both"] if len(stories) > 1 else ""
    said = " ".join(filter(None, (page["scale"], page["rounded"], both, table["practice"])))
    with paper.element("P"):
        for line in fitted_lines(said, WIDTH_MM, SMALL_PT):
            y += 3.8
            paper.text(LEFT_MM, y, line, SMALL_PT)
    return y


def _lights(paper: Tagged, night: Any, y: float) -> float:
    """Lights at night through two areas, each with its words beside it; gives the last base line."""
    y = paragraph(paper, LEFT_MM, y, WIDTH_MM, night.title, font="bold", role="H2")
    wide, high = NIGHT_MM
    top = y - ASCENT_MM
    for x, head, near, png in zip((LEFT_MM, SECOND_MM), night.heads, night.near, night.pngs, strict=True):
        with paper.figure(f"{head}. {near}", x, top, x + wide, top + high):
            paper.image(x, top, wide, high, png)
        line = y + 1.5
        for words, font in ((head, "bold"), (near, "sans")):
            with paper.element("P"):
                for part in fitted_lines(words, HALF_MM - wide - BESIDE_MM, SMALL_PT):
                    paper.text(x + wide + BESIDE_MM, line, part, SMALL_PT, font)
                    line += 3.8
    y = top + high + 0.4
    with paper.element("P"):
        for part in fitted_lines(night.words, WIDTH_MM, SMALL_PT):
            y += 3.8
            paper.text(LEFT_MM, y, part, SMALL_PT)
    return y


def _known(paper: Tagged, told: Story, y: float) -> float:
    """What is not known, and what happens when hold is lost, side by side; gives the base line after them."""
    page = told.words["page"]
    ends = []
    for x, head, text in ((LEFT_MM, "unknown", told.unknown), (SECOND_MM, "held", told.held)):
        below = paragraph(paper, x, y, HALF_MM, page[head], font="bold", role="H2")
        ends.append(paragraph(paper, x, below, HALF_MM, text))
    return max(ends)


def _questions(paper: Tagged, told: Story, y: float) -> float:
    """Questions to ask, and what is not on this page; gives the base line after them."""
    page = told.words["page"]
    y = paragraph(paper, LEFT_MM, y, WIDTH_MM, page["questions"], font="bold", role="H2")
    with paper.group("L"):
        for question in told.questions:
            with paper.group("LI"):
                y = paragraph(paper, LEFT_MM, y, WIDTH_MM, f"– {question}", role="LBody")
    return paragraph(paper, LEFT_MM, y, WIDTH_MM, f"{page['missing']}: {told.missing}")


def _room_to_write(paper: Tagged, page: dict[str, Any], y: float) -> None:
    """Lines for own questions and for whom to call, down to the foot."""
    for x, head in ((LEFT_MM, "own_questions"), (SECOND_MM, "contact")):
        paragraph(paper, x, y, HALF_MM, page[head], font="bold", role="H2")
        line = y + WRITE_MM
        while line < FOOT_MM - CLEAR_MM:
            paper.line([x, x + HALF_MM], [line, line], 0.3, grey=0.4)
            line += WRITE_MM


class Table:
    """Where its columns stand.

    Args:
        stories: a Story an eye, right eye first.
        columns: their keys in order.
    """

    def __init__(self, stories: Sequence[Story], columns: tuple[str, ...]) -> None:
        self.stories, self.columns = stories, columns
        self.language = stories[0].language
        self.words = stories[0].words
        self.width = (RIGHT_MM - LEFT_MM - HEAD_MM) / len(columns)

    def lefts(self) -> list[float]:
        """Left edges of the columns [mm]."""
        return [LEFT_MM + HEAD_MM + self.width * i for i in range(len(self.columns))]


def draw_table(paper: Tagged, table: "Table", y: float) -> float:
    """The table from its upper edge on; gives its lower edge [mm].

    Args:
        paper: Tagged. table: "Table". y: upper edge [mm].
    """
    with paper.group("Table"):
        names = [column_name(column, table.language) for column in table.columns]
        y = _row(paper, table, y, "", [[name] for name in names], heads=True)
        if len(table.stories) > 1:
            sides = [table.words["page"]["sides"][told.side] for told in table.stories]
            y = _row(paper, table, y, "", [sides for _ in table.columns], heads=True)
        by_eye = [side_by_side(told.comparison, told.side, table.columns, table.language) for told in table.stories]
        for name in dict.fromkeys(row.name for found in by_eye for row in found):
            y = _one(paper, table, y, [next((r for r in found if r.name == name), None) for found in by_eye])
    paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.4)
    return y


def _one(paper: Tagged, table: "Table", y: float, found: Sequence[Row | None]) -> float:
    """One row of all eyes; an eye that has not got it has the same words as the other."""
    known = next(row for row in found if row is not None)
    if known.common:
        return _row(paper, table, y, known.head, [[known.common]])
    by_eye = [(row or known).cells for row in found]
    cells = [list(cell) if len(set(cell)) > 1 else [cell[0]] for cell in zip(*by_eye, strict=True)]
    return _row(paper, table, y, known.head, cells)


def _row(paper: Tagged, table: "Table", y: float, head: str, cells: Sequence[list[str]], heads: bool = False) -> float:
    """One row: a head, and for each column its cells; gives its lower edge.

    Args:
        cells: of each column one text, or one an eye; one list alone goes over all columns.
        heads: whether the cells are heads themselves.
    """
    paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.3, grey=0.5)
    base, deepest = y + ABOVE_MM + ASCENT_MM, 1
    width = table.width if len(cells) > 1 else RIGHT_MM - LEFT_MM - HEAD_MM
    with paper.group("TR"):
        with paper.cell("TH", "" if heads else "Row"):
            deepest = max(deepest, _lines(paper, LEFT_MM, base, HEAD_MM, head))
        for left, texts in zip(table.lefts(), cells, strict=False):
            own = width / len(texts)
            span = len(table.columns) * len(table.stories) if len(cells) == 1 else len(table.stories) // len(texts)
            for i, text in enumerate(texts):
                with paper.cell("TH" if heads else "TD", "Column" if heads else "", span):
                    deepest = max(deepest, _lines(paper, left + own * i, base, own, text))
    return y + 2.0 * ABOVE_MM + LINE_MM * deepest


def _lines(paper: Tagged, x: float, base: float, width: float, text: str) -> int:
    """A text in a cell; gives how many lines it takes."""
    lines = wrap(text, width - PAD_MM, SIZE_PT)
    for i, line in enumerate(lines):
        paper.text(x, base + LINE_MM * i, line, SIZE_PT)
    return len(lines)
