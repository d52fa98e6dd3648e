"""Follow-up: what was done, what was measured, where each reading lies, and what all readings say about the bed."""

from __future__ import annotations

from functools import partial
from typing import Any

import streamlit as st

from tissue.budget.comparison import Comparison
from tissue.drawing.base.palette import Look
from tissue.drawing.charts import follow_up
from tissue.drawing.charts.follow_up import StripRow
from tissue.entry.checks import Fault
from tissue.entry.fields import fields, reading_fields
from tissue.entry.readings import Entry
from tissue.eye.reading import METHOD_WORDS
from tissue.followup.follow import Follow, bed_planned, bed_today
from tissue.followup.notices import follow_notices, on_day
from tissue.report.followup.follow_json import Laid, laid, no_follow_up
from tissue.screens.desk.link import act
from tissue.screens.desk.plan import BEGUN, Desk
from tissue.screens.desk.press import press
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.readings import METHOD, begun, entries, faults_of, form_of, take_out, tried
from tissue.screens.desk.state import after_told
from tissue.screens.fields.of_eye import of_eye
from tissue.screens.fields.own_fields import Cell, draft_fields
from tissue.screens.html import NOTHING, notes, notice_list, part, prose, put, strip
from tissue.screens.kept import changed, kept, widget_key
from tissue.screens.parts.chart.chart import ALONE_S, Picture, chart, main_width, width_of
from tissue.screens.parts.piece.piece import piece
from tissue.screens.tables.follow_up import done_table, readings_table, today_table

NOT_TOLD = "not told"
READ_AS = (
    "Outlined: 95 of 100 published readings of this kind. Hatched: the part of it between centres. Upright line: their "
    "mean. Diamond: the reading. Each strip has its own scale. A strip says where a reading lies, not why."
)
ACCOUNT = (
    "Not removed: what the readings say was left of the planned removal. Grown back: the epithelium. Method: what "
    "another device reads less than the one before surgery. ± one SD."
)
FORM = ("days", "method", "thickness_um", "epithelium_um", "cut_um", "bed_um", "K_D", "refraction", "sd_um")
PUT = "put_reading"


def show() -> None:
    """Draw the screen."""
    of_eye("followup", _screen)


def _screen(on_desk: Desk, shown: Shown, _: dict[str, Fault], colours: Look) -> None:
    """The plan beside the readings; strips, account, bed."""
    values, comparison = shown.inputs.values, shown.comparison
    found, wrong = entries(on_desk, on_desk.side, values)
    above, below = st.container(), st.container()
    with below:  # drawn first, because these figures are what somebody who types is waiting for
        _beside(on_desk, shown, found, wrong, colours)
    left, right = above.columns([2, 3], gap="medium")
    with left:
        _done(on_desk, comparison, values)
        piece("followup_plan", done_table(comparison, comparison.results.get(values.get("done", ""))))
    with right:
        _readings(on_desk, found, values)


def _beside(on_desk: Desk, shown: Shown, found: tuple[Entry, ...], wrong: list[Any], colours: Look) -> None:
    """The readings beside published ones, or what is missing for that."""
    if wrong:
        put(strip(*(f"{fault.text}." for fault in wrong)))
        return
    fault = no_follow_up(shown.inputs, shown.comparison, found)
    if fault:
        piece("followup_none", prose(_missing(fault)))
        return
    typed = tuple(tuple(sorted(one.typed.items())) for one in found)
    one = kept("followup", (shown, typed), lambda: laid(shown.inputs, shown.comparison, found))
    _figures(on_desk, one, ((shown, typed), colours.name), colours)


def _missing(fault: Fault) -> str:
    """The words on what is missing before readings can be compared with the plan."""
    if fault.field == "done" and fault.read == "nothing":
        return "Say what was done, and put in what was measured: each reading is then laid beside published ones."
    if fault.field == "reading":
        return "Put in a reading: it is then laid beside published ones of its kind."
    return f"{fault.text}."


def _done(on_desk: Desk, comparison: Comparison, values: dict[str, Any]) -> None:
    """The field for what was done; it is part of the plan."""
    put(part("The plan"))
    choices, now = (NOT_TOLD, *fields()["done"].choices), values.get("done") or NOT_TOLD
    key = widget_key("followup_done", now, (on_desk.id, on_desk.side))
    label, say = fields()["done"].label, partial(_title, comparison)
    st.selectbox(
        label, choices, key=key, format_func=say, on_change=after_told(_say_done), args=(on_desk, on_desk.side, key)
    )


def _say_done(on_desk: Desk, side: str, key: str) -> None:
    """Note what was done in the eye of the plan for which it was chosen."""
    picked = changed("followup_done", key)
    if picked is not None:
        on_desk.edit(side, "done", "" if picked == NOT_TOLD else picked)


def _title(comparison: Comparison, name: str) -> str:
    """What was done in words."""
    return comparison.results[name].option.title if name in comparison.results else name


def _readings(on_desk: Desk, found: tuple[Entry, ...], values: dict[str, Any]) -> None:
    """The readings as they were put in, and the form for one more."""
    side = on_desk.side
    put(part("What was measured"))
    if found:
        piece("followup_readings", readings_table(found))
        with st.container(horizontal=True):
            for one, typed in zip(found, on_desk.readings[side], strict=True):
                told = take_out, on_desk, side, typed
                words = f"take out {on_day(one.reading)}"
                # its name is not its place, where the next one comes to stand
                press(f"reading_out_{id(typed)}", words, *told, of=(on_desk.id, side), type="tertiary")
    # also where what was begun is empty again: a form that folds under the hand takes no more keys
    with st.expander("Put in a reading", expanded=not found or form_of(side) in on_desk.own):
        _form(on_desk, values)


def _form(on_desk: Desk, values: dict[str, Any]) -> None:
    """The form of one reading; a fault is shown beside its field, and what was typed stays until it is put in."""
    side, typed = on_desk.side, begun(on_desk, on_desk.side)
    wrong = faults_of(on_desk, side, METHOD | typed, values) if tried(on_desk, side) else []
    texts = {BEGUN + name: text for name, text in (METHOD | typed).items()}
    beside = {BEGUN + _field_of(fault): fault for fault in wrong}
    draft_fields(form_of(side), CELLS, on_desk, texts, beside, PUT)
    act("put_reading", "Put it in", PUT, more={"plan": on_desk.id, "side": side})
    of_all = [fault for fault in wrong if _field_of(fault) not in FORM]
    if of_all:
        put(strip(*(f"{fault.text}." for fault in of_all)))


def _cell(name: str) -> Cell:
    """The field of a reading as a Cell."""
    field = reading_fields()[name]
    choices = tuple((one, METHOD_WORDS.get(one, one)) for one in field.choices)
    limits = (field.low, field.high, field.step or 1.0) if field.is_number else ()
    return Cell(BEGUN + name, field.heading, choices, limits, field.help)


CELLS = tuple(_cell(name) for name in FORM)


def _field_of(fault: Fault) -> str:
    """Name of the field that a fault is about, without which reading it is."""
    return fault.field.rpartition(": ")[2]


def _figures(on_desk: Desk, one: Laid, depends: tuple[Any, ...], colours: Look) -> None:
    """Strips, account and bed, with the table of today and the notices."""
    found, width = one.found, main_width()
    told = [notice.text for notice in follow_notices(found, one.strips, one.own_source)]
    piece("followup_notices", notice_list("Notices", told) if told else NOTHING)
    rows = [
        StripRow(reading, name, float(getattr(reading, name)), strip_)
        for reading, laid_ in zip(found.readings, one.strips, strict=True)
        for name, strip_ in laid_.items()
    ]
    file = f"{on_desk.code}-{on_desk.side}-follow-up"
    piece("followup_title", part("Beside published readings"))
    chart(
        "followup_strips",
        depends,
        Picture(
            partial(follow_up.strips_figure, rows, colours, width),
            partial(follow_up.describe_strips, rows),
            "readings beside published ones",
            file=f"{file}-strips.svg",
            tall=True,
        ),
        alone_s=ALONE_S,
    )
    piece("followup_read_as", notes(READ_AS))
    _accounts(found, depends, colours, file)
    _bed(found, depends, colours, file)
    piece("followup_today", today_table(found))


def _accounts(found: Follow, depends: tuple[Any, ...], colours: Look, file: str) -> None:
    """One account for each thickness after surgery, two side by side."""
    accounts = [(r, ledger) for r, ledger in zip(found.readings, found.ledgers, strict=True) if ledger is not None]
    if not accounts:
        return
    piece("followup_account_title", part("Where the thickness went"))
    columns = st.columns(2) if main_width() > follow_up.NARROW_PX else [st.container()]
    for i, (reading, ledger) in enumerate(accounts):
        with columns[i % len(columns)]:
            chart(
                f"followup_account{i}",
                depends,
                Picture(
                    partial(follow_up.account_figure, reading, ledger, colours, width_of(len(columns))),
                    partial(follow_up.describe_account, reading, ledger),
                    f"account of {on_day(reading)}",
                    file=f"{file}-account{i + 1}.svg",
                    tall=True,
                ),
                columns=len(columns),
            )
    piece("followup_account_words", notes(ACCOUNT))


def _bed(found: Follow, depends: tuple[Any, ...], colours: Look, file: str) -> None:
    """The bed as planned and today, with the user's line."""
    before, today, line = bed_planned(found), bed_today(found), float(found.comparison.judgement.bed_line_um)
    piece("followup_bed_title", part("The bed, as planned and today"))
    chart(
        "followup_bed",
        depends,
        Picture(
            partial(follow_up.bed_figure, before, today, line, colours, main_width()),
            partial(follow_up.describe_bed, before, today, line),
            "bed as planned and today",
            file=f"{file}-bed.svg",
            tall=True,
        ),
    )
