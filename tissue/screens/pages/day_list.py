"""List: the eyes of a day, opened from plan files or typed one after another, with prints and files of all of them."""

import csv
import io
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import streamlit as st

from tissue.entry import plan_file
from tissue.entry.file_name import file_name
from tissue.entry.typed import read_fields
from tissue.paper.day import day_record
from tissue.screens import frame
from tissue.screens.desk.dialogs import FILE_MB
from tissue.screens.desk.link import CSV, PDF, ZIP, File, NotMade, act, hand, sound
from tissue.screens.desk.plan import LONGEST_CODE
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import SIDES, Day, Desk, day
from tissue.screens.html import notes, prose, put, strip, title_line
from tissue.screens.pages.plan import record_parts
from tissue.screens.parts.day_table.day_table import day_table
from tissue.screens.tables.rows import HEADS, day_rows
from tissue.series.run import stream
from tissue.series.tables.csv_blocks import open_job
from tissue.series.tables.day import BY_MAP, MAP_CELLS, MOST_EYES, day_plans
from tissue.series.wrong import TableError

STAMP = (1980, 1, 1, 0, 0, 0)  # the same bytes for the same plans
TABLE_WORDS = (
    f"A table holds a row per eye, up to {MOST_EYES:,}: the columns patient and side, and inputs by the names of a "
    "series, as the day as CSV has them. Other columns are not taken over: figures are worked out anew. "
    "Maps, readings and a read-back are not in a table."
)
WORDS = (
    "One row per eye. Where no procedure is given there are three figures: surface / flap / lenticule. Click a row, or "
    "walk with the arrow keys and press Enter, to open it on Plan. The keys [ and ] bring the plan before and the next "
    "one on every screen. An eye with a measured map stands in the CSV without figures, and its row says why."
)


def show() -> None:
    """Draw the screen."""
    frame.begin()
    own = day()
    put(title_line("List", "the plans of this page, in its memory alone"))
    _open_files(own)
    rows, left = day_rows(own)
    if not rows:
        put(prose("No plan stands here yet: open files above, or begin with a new patient."))
    with st.container(horizontal=True, gap="medium", key="list_actions"):
        act("list_new", "new patient, added to this list", "new", more={"listed": True})
        hand("list_pdf", "all records as one PDF", records_file)
        hand("list_zip", "all plans as one zip", plans_file)
        hand("list_csv", "the day as CSV", csv_file)
    day_table(HEADS, rows, left)
    put(notes(WORDS))


def _open_files(own: Day) -> None:
    """Take the files given to the list, each once, and say file by file what is wrong.

    After that a new upload field takes the place of the old one, because the old one shows file names: patients' codes.
    """
    known = st.session_state.setdefault("list_opened", {"place": 0, "taken": set(), "said": ((), [])})
    given = st.file_uploader(
        "Plan files of the day (TOML), several at once, or the day as a table (CSV)", type=["toml", "csv"],
        accept_multiple_files=True, key=f"list_files_{known['place']}", max_upload_size=FILE_MB, help=TABLE_WORDS,
    )  # fmt: skip
    made: list[Desk] = []
    wrong: list[str] = []
    with own.changing():  # from here on nothing stops the run, and one that begins meanwhile finds what was opened
        for file in [one for one in given or [] if one.file_id not in known["taken"]]:
            known["taken"].add(file.file_id)
            try:
                opened, left_out = _opened(file)
                made += opened
                wrong += left_out
            except (plan_file.PlanError, TableError) as error:
                wrong += error.lines
        if made:
            own.put_all(made)
            known["place"] += 1
        if made or wrong:
            known["said"] = tuple(own.plans), wrong
    plans, lines = known["said"]
    if lines and plans == tuple(own.plans):  # these words name codes, so another list must not show them
        put(strip("Not opened:", *lines))


def _opened(file: Any) -> Any:
    """The plans of a file, each on a Desk of its own, and what was left out of the file.

    Raises:
        PlanError, TableError: with every fault; then none of its plans is opened.
    """
    data, stem = file.getvalue(), Path(file.name).stem[:LONGEST_CODE]
    table = Path(file.name).suffix.lower() == ".csv"
    plans, left_out = day_plans(data, file.name) if table else ([plan_file.read_plan(data, file.name)], [])
    made = [Desk() for _ in plans]
    for one, plan in zip(made, plans, strict=True):
        one.open(plan, stem)
    return made, left_out


def _sound_plans() -> list[tuple[Desk, dict[str, Shown]]]:
    """Each plan of the day that can be written to a file, with its Shown by side.

    Raises:
        NotMade: a field of one cannot be read, named with its code; or nothing is there.
    """
    found, wrong = [], []
    for plan in day().plans.values():
        try:
            if not plan.empty:
                found.append((plan, sound(plan)))
        except NotMade as error:
            wrong.append(f"{plan.code or 'no code'}: {error}")
    if wrong or not found:
        raise NotMade(" ".join(wrong) or "Not made: the list is empty.")
    return found


def records_file(_: Desk) -> File:
    """All records as one document, the list as its first pages."""
    plans = [record_parts(plan, eyes) for plan, eyes in _sound_plans()]
    left = 1
    while left:
        rows, left = day_rows(day())
    content = day_record(HEADS, [row["cells"] for row in rows], plans, str(date.today()))
    return "records-of-the-day.pdf", PDF, content


def plans_file(_: Desk) -> File:
    """All plans as one zip file; plans with the same name get a number."""
    out, names = io.BytesIO(), set()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for plan, _eyes in _sound_plans():
            name, number = file_name(plan.code, ".toml"), 1
            while name in names:
                number += 1
                name = file_name(f"{plan.code}-{number}", ".toml")
            names.add(name)
            packed.writestr(zipfile.ZipInfo(name, STAMP), plan.file_bytes())
    return "plans-of-the-day.zip", ZIP, out.getvalue()


def csv_file(_: Desk) -> File:
    """The day as a table with the columns of a series."""
    rows = []
    for plan in day().plans.values():
        for side in (one for one in SIDES if plan.texts.get(one)):
            values, wrong = read_fields(plan.texts[side])
            written = {name: _written(value) for name, value in values.items() if name not in MAP_CELLS}
            maps = {cell: BY_MAP for name, cell in MAP_CELLS.items() if name in plan.texts[side]}
            unread = {name: plan.texts[side].get(name, "") for name in wrong if name not in MAP_CELLS}
            rows.append({"patient": plan.code, "side": side} | written | unread | maps)
    if not rows:
        raise NotMade("Not made: the list is empty.")
    names = list(dict.fromkeys(name for row in rows for name in row))
    table, out = io.StringIO(newline=""), io.BytesIO()
    writer = csv.DictWriter(table, names, restval="")
    writer.writeheader()
    writer.writerows(rows)
    given = io.BytesIO(table.getvalue().encode())
    stream(open_job(given, "the day"), given, out)
    return "day.csv", CSV, out.getvalue()


def _written(value: str | float) -> str:
    """A value as a cell: a number with its sign, a text as it is."""
    return value if isinstance(value, str) else f"{float(value):+.10g}"
