"""The record of learning on the screen: the fellow opens a file, sees what is due, and saves it again."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

import streamlit as st
from markupsafe import Markup

from tissue.ground.errors import EyeError
from tissue.rounds.learning import DISTANCES, Record, read_record, record_json
from tissue.rounds.question import kinds
from tissue.screens.desk.link import JSON, File, hand
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.press import press
from tissue.screens.html import notes, part, plain_table, put, strip

if TYPE_CHECKING:
    from tissue.rounds.judge import Judged

FILE_MB = 1
DAYS = ", ".join(str(days) for days in DISTANCES[:-1]) + f" and {DISTANCES[-1]}"
WORDS = (
    f"A kind comes back {DAYS} days after it was last right, each time a step further; after a wrong answer at once. "
    "The record is a file of your own: it is opened here and saved by you, and nothing of it stays on the server."
)


def today() -> date:
    """The day by the clock of the server."""
    return date.today()


def open_record(own: Any) -> None:
    """The place where a record is opened, and what is due according to it.

    Args:
        own: Session of the screen.
    """
    put(part("Record of learning"))
    put(notes(WORDS))
    file = st.file_uploader("A record of learning (JSON)", type=["json"], key="rounds_record", max_upload_size=FILE_MB)
    if file is None:
        own.record_file, own.record_fault = "", ()
    elif file.file_id != own.record_file:
        _take(own, file)
    if own.record_fault:
        put(strip(*own.record_fault))
    record = own.learnt
    if not record.kinds:
        return
    due = record.due(today())
    put(notes(_due_words(due, record)))
    if due:
        press("rounds_due", "Choose the kinds that are due", _choose, own, due)


def _take(own: Any, file: Any) -> None:
    """Take over a record; where it cannot be read the earlier one stays."""
    own.record_file = file.file_id
    try:
        own.opened(read_record(file.getvalue()))
    except EyeError as error:
        own.record_fault = (f"{file.name} was not taken.", f"{error}.")


def _due_words(due: tuple[str, ...], record: Record) -> str:
    """What is due, and what is not asked yet, in words."""
    titles = "; ".join(kinds()[kind].title for kind in due)
    first = f"Due today: {titles}." if due else f"Nothing is due before {_day(min(_days_due(record)))}."
    new = sum(kind not in record.kinds for kind in kinds())
    return f"{first} Kinds not asked yet: {new}." if new else first


def _days_due(record: Any) -> list[Any]:
    return [one.due for kind, one in record.kinds.items() if kind in kinds()] or [today()]


def _choose(own: Any, due: tuple[str]) -> None:
    """Choose kinds for the next round."""
    own.chosen["kinds"] = list(due)
    st.session_state["rounds_kinds"] = list(due)


def save_record(own: Any) -> None:
    """The button that gives out the record as a file; from then on the answers count as saved.

    Args:
        own: Session of the screen.
    """

    def make(_: Desk) -> File:
        content = record_json(own.learnt, today())
        own.saved()
        return "record-of-learning.json", JSON, content

    words = "When each kind comes back, in a file of your own"
    hand("rounds_learnt", "Save the record of learning", make, words)


def score(own: Any, results: list[tuple[int, int, int, Judged]]) -> Markup:
    """The score of some answers by kind, with the day on which each kind is due again.

    Args:
        own: Session of the screen.
        results: of the answers, see `results_csv`.
    """
    count: dict[str, tuple[int, int]] = {}
    for *_, judged in results:
        asked, right = count.get(judged.question.kind.id, (0, 0))
        count[judged.question.kind.id] = asked + 1, right + int(judged.within is True)
    known = own.learnt.kinds
    rows = [
        [kinds()[kind].title, f"{right} of {asked}", _day(known[kind].due)] for kind, (asked, right) in count.items()
    ]
    return part("By kind") + plain_table(("Kind", "Right", "Comes back"), rows, "Score by kind")


def _day(day: date) -> str:
    """A day in words: today, tomorrow, or its date."""
    words = {0: "today", 1: "tomorrow"}
    return (
        words.get((day - today()).days, f"{day.day} {day:%B %Y}") if day >= today() else f"since {day.day} {day:%B %Y}"
    )
