"""The table of the handout: the ways side by side, of one eye or of two; one cell where both eyes read the same."""

from tissue.drawing.patient.together import column_name, side_by_side
from tissue.paper.page import LEFT_MM, RIGHT_MM, wrap

SIZE_PT, LINE_MM, ABOVE_MM = 9.5, 3.8, 0.65  # type, from line to line, over the first line of a row
HEAD_MM, PAD_MM = 54.0, 1.2
ASCENT_MM = 2.7  # from the top of a line to its base


class Table:
    """Where its columns stand.

    Args:
        stories: a Story an eye, right eye first.
        columns: their keys in order.
    """

    def __init__(self, stories, columns):
        self.stories, self.columns = stories, columns
        self.language = stories[0].language
        self.words = stories[0].words
        self.width = (RIGHT_MM - LEFT_MM - HEAD_MM) / len(columns)

    def lefts(self):
        """Left edges of the columns [mm]."""
        return [LEFT_MM + HEAD_MM + self.width * i for i in range(len(self.columns))]


def draw_table(paper, table, y):
    """The table from its upper edge on; gives its lower edge [mm].

    Args:
        paper: Tagged. table: Table. y: upper edge [mm].
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


def _one(paper, table, y, found):
    """One row of all eyes; an eye that has not got it has the same words as the other."""
    known = next(row for row in found if row is not None)
    if known.common:
        return _row(paper, table, y, known.head, [[known.common]])
    by_eye = [(row or known).cells for row in found]
    cells = [list(cell) if len(set(cell)) > 1 else [cell[0]] for cell in zip(*by_eye, strict=True)]
    return _row(paper, table, y, known.head, cells)


def _row(paper, table, y, head, cells, heads=False):
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


def _lines(paper, x, base, width, text):
    """A text in a cell; gives how many lines it takes."""
    lines = wrap(text, width - PAD_MM, SIZE_PT)
    for i, line in enumerate(lines):
        paper.text(x, base + LINE_MM * i, line, SIZE_PT)
    return len(lines)
