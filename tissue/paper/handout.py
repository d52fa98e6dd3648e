"""The handout: one A4 page for the patient in a chosen language, black and white, to be read aloud and written on."""

from collections.abc import Sequence
from typing import Any, NamedTuple

from tissue.budget.comparison import Comparison
from tissue.drawing.patient.language import FIRST, unbroken, unread
from tissue.drawing.patient.together import COLUMNS, Row, by_name, column_name, most_is_told, side_by_side
from tissue.drawing.patient.words import Story, standing, story
from tissue.ground.vocabulary import EYES
from tissue.paper.page import FOOT_MM, LEFT_MM, RIGHT_MM, wrap
from tissue.paper.patient_pictures import Shown, draw_picture, row_of, scale_and_frame, words_of_picture
from tissue.paper.tagged import Tagged

TEXT_PT = 12.0  # running text
TITLE_PT, SMALL_PT = 17.0, 9.0
CLEAR_MM = 1.5  # lower end of the text, above the line at the foot
WIDTH_MM, GAP_MM = RIGHT_MM - LEFT_MM, 8.0
HALF_MM = (WIDTH_MM - GAP_MM) / 2.0
SECOND_MM = LEFT_MM + HALF_MM + GAP_MM
NIGHT_MM, BESIDE_MM = (30.0, 15.0), 3.0  # size of a picture of lights, and distance of its words
CELL_GAP_MM, MOST_IN_A_ROW = 4.0, 4
LEAST_LINES = 2  # room to write on
HEAD_MM, PAD_MM = 54.0, 1.2
ASCENT_MM = 2.7  # from the top of a line to its base


class Spacing(NamedTuple):
    """The spacing of a page [mm]: pictures_mm height of the pictures; step_mm, small_mm from line to line of running
    text and of notes; gap_mm over a head under the table; write_mm between lines to write on. table_pt, row_mm,
    above_mm: of the table its type, from line to line, over a row's first line.
    """

    pictures_mm: float
    step_mm: float = 4.9
    small_mm: float = 3.8
    gap_mm: float = 5.4
    write_mm: float = 7.5
    table_pt: float = 9.5
    row_mm: float = 3.7
    above_mm: float = 0.55


# From wide to tight: the first that leaves room to write is taken. Lights at night need the last.
CLOSE = Spacing(19.0, step_mm=4.6, small_mm=3.6, gap_mm=4.6, write_mm=6.5, table_pt=9.0, row_mm=3.45, above_mm=0.35)
SPACINGS = (
    Spacing(24.0),
    Spacing(19.0),
    Spacing(15.0),
    *(CLOSE._replace(pictures_mm=low) for low in (19.0, 16.0, 13.0, 11.0)),
)


class Page(Tagged):
    """A Tagged page with its Spacing."""

    def __init__(self, title: str, foot: str, language: str, spacing: Spacing) -> None:
        super().__init__(title, foot, language, SMALL_PT)
        self.spacing = spacing


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
        way: the procedure that its pictures show.
        date: what is printed as the date; nothing where empty.
        invented: whether the eyes are invented; the page then says so.
        columns: what stands side by side, in order; all, by name, where None.
        language: one of LANGUAGES.
        night: what is shown of lights at night, with `heads`, `near`, `pngs` and `words` of it; nothing where None.
    """
    stories = [story(eyes[side], way, side, language) for side in EYES if side in eyes]
    right = [words for words in (date, code, stories[0].words["page"]["invented"] if invented else "") if words]
    table = Table(stories, columns or by_name(COLUMNS, language))
    for spacing in SPACINGS:
        paper, y = _filled(stories, table, right, code, spacing, night)
        if y + LEAST_LINES * spacing.write_mm < FOOT_MM - CLEAR_MM:
            break
    if y + spacing.write_mm < FOOT_MM - CLEAR_MM:
        _room_to_write(paper, stories[0].words["page"], y)
    paper.close_page()
    return paper.finish()


def _filled(
    stories: Sequence[Story], table: "Table", right: Sequence[str], code: str, spacing: Spacing, night: Any = None
) -> tuple[Page, float]:
    """Fill the page down to the room to write; returns the paper and the base line there."""
    language, page = stories[0].language, stories[0].words["page"]
    foot = " ".join(filter(None, (standing(language), unread(language))))
    paper = Page(f"{page['handout']} {code}".strip(), foot, language, spacing)
    y = _head(paper, stories, right)
    y = _pictures(paper, row_of(stories), y)
    y = draw_table(paper, table, y + 1.0)
    y = _notes(paper, stories, y)
    if night is not None:
        y = _lights(paper, night, y + spacing.gap_mm)
    y = _known(paper, stories[0], y + spacing.gap_mm)
    return paper, _questions(paper, stories[0], y + 1.0) + 1.0


def paragraph(
    paper: Page, x: float, y: float, width: float, text: str, *, font: str = "sans", role: str = "P"
) -> float:
    """Running text from its first base line on; gives the base line after it [mm].

    Args:
        paper: Page. x, y: first base line [mm]. width: of the column [mm]. text: words. font, role: of the element.
    """
    with paper.element(role):
        for line in fitted_lines(text, width):
            paper.text(x, y, line, TEXT_PT, font)
            y += paper.spacing.step_mm
    return y


def fitted_lines(text: str, width_mm: float, size_pt: float = TEXT_PT, font: str = "sans") -> list[str]:
    """Lines of a text that fit a width [mm]; a figure is never separated from its mm."""
    return wrap(unbroken(text), width_mm, size_pt, font)


def _head(paper: Page, stories: Sequence[Story], right: Sequence[str]) -> float:
    """Draw title, the data of this print, the way and how it goes, or why there is nothing to show of an eye."""
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


def _pictures(paper: Page, row: Sequence[Shown], y: float) -> float:
    """Draw the pictures in a row, each under its words; gives the lower edge."""
    cell = (WIDTH_MM - CELL_GAP_MM * (MOST_IN_A_ROW - 1)) / MOST_IN_A_ROW
    scale, over, under = scale_and_frame(row, cell, paper.spacing.pictures_mm)
    for i, one in enumerate(row):
        left = LEFT_MM + i * (cell + CELL_GAP_MM)
        for at, words in enumerate((_of_eye(one.told), one.title)):
            with paper.element("P"):
                paper.text(left + cell / 2.0, y - 1.0 + 4.0 * at, words, SMALL_PT, ("sans", "bold")[at], "centre")
        top = y + 4.0
        with paper.figure(words_of_picture(one), left, top, left + cell, top + over + under):
            draw_picture(paper, one, left + cell / 2.0, top + over, scale)
    return y + 4.0 + over + under


def _notes(paper: Page, stories: Sequence[Story], y: float) -> float:
    """Small lines under the table; gives the last base line."""
    words = stories[0].words
    page, table = words["page"], words["table"]
    both = page["same_for_both"] if len(stories) > 1 else ""
    said = " ".join(filter(None, (page["scale"], page["rounded"], both, table["practice"])))
    with paper.element("P"):
        for line in fitted_lines(said, WIDTH_MM, SMALL_PT):
            y += paper.spacing.small_mm
            paper.text(LEFT_MM, y, line, SMALL_PT)
    return y


def _lights(paper: Page, night: Any, y: float) -> float:
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
                    line += paper.spacing.small_mm
    y = top + high + 0.4
    with paper.element("P"):
        for part in fitted_lines(night.words, WIDTH_MM, SMALL_PT):
            y += paper.spacing.small_mm
            paper.text(LEFT_MM, y, part, SMALL_PT)
    return y


def _known(paper: Page, told: Story, y: float) -> float:
    """What is not known, and what happens when hold is lost, side by side; gives the base line after them."""
    page = told.words["page"]
    ends = []
    for x, head, text in ((LEFT_MM, "unknown", told.unknown), (SECOND_MM, "held", told.held)):
        below = paragraph(paper, x, y, HALF_MM, page[head], font="bold", role="H2")
        ends.append(paragraph(paper, x, below, HALF_MM, text))
    return max(ends)


def _questions(paper: Page, told: Story, y: float) -> float:
    """Questions to ask, and what is not on this page; gives the base line after them."""
    page = told.words["page"]
    y = paragraph(paper, LEFT_MM, y, WIDTH_MM, page["questions"], font="bold", role="H2")
    with paper.group("L"):
        for question in told.questions:
            with paper.group("LI"):
                y = paragraph(paper, LEFT_MM, y, WIDTH_MM, f"– {question}", role="LBody")
    return paragraph(paper, LEFT_MM, y, WIDTH_MM, f"{page['missing']}: {told.missing}")


def _room_to_write(paper: Page, page: dict[str, Any], y: float) -> None:
    """Lines for own questions and for whom to call, down to the foot."""
    for x, head in ((LEFT_MM, "own_questions"), (SECOND_MM, "contact")):
        paragraph(paper, x, y, HALF_MM, page[head], font="bold", role="H2")
        line = y + paper.spacing.write_mm
        while line < FOOT_MM - CLEAR_MM:
            paper.line([x, x + HALF_MM], [line, line], 0.3, grey=0.4)
            line += paper.spacing.write_mm


class Table:
    """The layout of its columns.

    Args:
        stories: a Story for each eye, right eye first.
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

    def rows(self) -> list[list[Row]]:
        """The Rows of each eye, the same ones for all of them."""
        eyes = [(told.comparison, told.side) for told in self.stories]
        most = any(most_is_told(*eye, self.columns) for eye in eyes)
        return [side_by_side(*eye, self.columns, self.language, most) for eye in eyes]


def draw_table(paper: Page, table: "Table", y: float) -> float:
    """The table from its upper edge on; gives its lower edge [mm].

    Args:
        paper: Page. table: Table. y: upper edge [mm].
    """
    with paper.group("Table"):
        names = [column_name(column, table.language) for column in table.columns]
        y = _row(paper, table, y, "", [[name] for name in names], heads=True)
        if len(table.stories) > 1:
            sides = [table.words["page"]["sides"][told.side] for told in table.stories]
            y = _row(paper, table, y, "", [sides for _ in table.columns], heads=True)
        for found in zip(*table.rows(), strict=True):
            y = _one(paper, table, y, found)
    paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.4)
    return y


def _one(paper: Page, table: "Table", y: float, found: Sequence[Row]) -> float:
    """One row for all eyes; what is the same for both is printed once."""
    head, common = found[0].head, found[0].common
    if common:
        return _row(paper, table, y, head, [[common]])
    by_way = zip(*(row.cells for row in found), strict=True)
    return _row(paper, table, y, head, [list(cell) if len(set(cell)) > 1 else [cell[0]] for cell in by_way])


def _row(paper: Page, table: "Table", y: float, head: str, cells: Sequence[list[str]], heads: bool = False) -> float:
    """One row: a head, and for each column its cells; gives its lower edge.

    Args:
        cells: one text for each column, or one for each eye; a single list spans all columns.
        heads: whether the cells are heads themselves.
    """
    paper.line([LEFT_MM, RIGHT_MM], [y, y], 0.3, grey=0.5)
    above, row = paper.spacing.above_mm, paper.spacing.row_mm
    base, deepest = y + above + ASCENT_MM, 1
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
    return y + 2.0 * above + row * deepest


def _lines(paper: Page, x: float, base: float, width: float, text: str) -> int:
    """Draw a text in a cell; gives the number of its lines."""
    size = paper.spacing.table_pt
    lines = fitted_lines(text, width - PAD_MM, size)
    for i, line in enumerate(lines):
        paper.text(x, base + paper.spacing.row_mm * i, line, size)
    return len(lines)
