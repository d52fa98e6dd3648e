"""The list at the front of the records of a day: every cell can be read, whatever its length."""

import io
from itertools import pairwise

import pypdf
import pytest

from tissue.paper.day import SIZE_PT, day_record
from tissue.paper.page import RIGHT_MM, text_width_mm
from tissue.screens.desk.plan import LONGEST_CODE, Desk, demo_files, open_demo
from tissue.screens.desk.state import Day
from tissue.screens.tables.rows import HEADS, day_rows

PT_MM = 25.4 / 72.0


def rows_of(procedure, code):
    """Rows of every demo eye, as the list has them."""
    desks = [Desk() for _ in demo_files()]
    for desk, name in zip(desks, demo_files(), strict=True):
        open_demo(desk, name)
        desk.code = code or desk.code
        for side in desk.texts:
            desk.edit(side, "procedure", procedure)
    day, left = Day.of(*desks), 1
    while left:
        rows, left = day_rows(day)
    return [row["cells"] for row in rows]


def lines_of(pdf):
    """By page and height, the texts with their left edges [mm]."""
    found = {}
    for number, page in enumerate(pypdf.PdfReader(io.BytesIO(pdf)).pages):

        def note(text, _, at, font, size, number=number):
            if text.strip() and abs(size - SIZE_PT) < 0.01:
                found.setdefault((number, round(at[5], 1)), []).append((at[4] * PT_MM, text.strip()))

        page.extract_text(visitor_text=note)
    return found


@pytest.mark.parametrize(("procedure", "code"), [("", ""), ("", "w" * LONGEST_CODE), ("lenticule", "A / B")])
def test_no_cell_runs_into_the_next_one(procedure, code):
    """Source: a printed table is read column by column; before, five columns of figures stood on one place."""
    rows = rows_of(procedure, code)
    lines = lines_of(day_record(HEADS, rows, [], "2026-01-05"))
    for texts in lines.values():
        for (left, text), (right, _) in pairwise([*sorted(texts), (RIGHT_MM + 0.1, "")]):
            assert left + text_width_mm(text, SIZE_PT) <= right, (text, sorted(texts))
    down = sorted((left, page, -height, text) for (page, height), texts in lines.items() for left, text in texts)
    said = "".join(text for *_, text in down).replace(" ", "")  # column after column
    for row in rows:
        for cell in row[:-1]:
            parts = [cell] if cell == row[0] else cell.split(" / ")
            assert all(part.replace(" ", "") in said for part in parts), cell
