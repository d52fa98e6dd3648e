"""The dialog *read a letter*: paste or open a text, see what was read, asked and not used, and take it or leave it."""

from typing import Any

import streamlit as st

from tissue.entry.letter.letter import LARGEST_BYTES, letter_text, read_letter
from tissue.entry.toml_file import Unreadable
from tissue.report.letter_terminal import MATTERS
from tissue.screens.desk.press import ask_for, close_dialog, press
from tissue.screens.desk.state import SIDES, Desk, day
from tissue.screens.html import notes, paragraphs, part, prose, put, strip, style_of, tag
from tissue.screens.letter.marked import key, marked_letter
from tissue.screens.letter.questions import answer_to, questions_of
from tissue.screens.letter.rows import Row, put_back, rows_of, taken
from tissue.screens.parts.component import text

READ, UNDO = "letter_read", "letter_undo"
MOST_LISTED = 60


def _forget() -> None:
    """Forget the letter."""
    for name in list(st.session_state):
        if str(name).startswith("letter_") and name != UNDO:
            del st.session_state[name]


def letter_button() -> None:
    """The button that opens the dialog."""
    press("read_letter", "read a letter", _ask, type="tertiary")


def _ask() -> None:
    """Open the dialog empty: one that vanished with its screen may still hold another patient's letter."""
    _forget()
    ask_for("letter")


def close() -> None:
    """Close the dialog and forget the letter."""
    close_dialog()
    _forget()


@st.dialog("Read a letter", width="large", on_dismiss=close)
def letter_dialog(on_desk: Desk) -> None:
    """Paste, look, take: only a press of the button changes the Desk."""
    put(style_of(text("styles/letter.css")) + prose(tag("b", f"Into the plan of {on_desk.code or 'no code yet'}")))
    if READ in st.session_state:
        _found(on_desk, *st.session_state[READ])
    else:
        _paste()


def _paste() -> None:
    """The text of the letter, pasted or from a file."""
    with st.form("letter_form", border=False):
        st.text_area("The letter", key="letter_text", height=320, placeholder="Paste the whole letter here.")
        st.file_uploader("or a text file (.txt)", type=["txt"], key="letter_file", max_upload_size=1)
        pressed = st.form_submit_button("Read it", key="letter_go")
    put(notes(f"At most {LARGEST_BYTES:,} bytes of text. The text is not kept, and nothing is taken over yet."))
    if not pressed:
        return
    file = st.session_state.get("letter_file")
    data = file.getvalue() if file is not None else st.session_state["letter_text"].encode("utf-8", "replace")
    try:
        written = letter_text(data)
    except Unreadable as error:
        put(strip(f"Not read: {error}."))
        return
    st.session_state[READ] = written, read_letter(written)
    st.rerun(scope="fragment")


def _found(on_desk: Desk, written: str, letter: dict[str, Any]) -> None:
    """Text and marks on the left, what was read on the right."""
    left, right = st.columns([2, 3], gap="medium")
    with left:
        put(key())
        with st.container(height=480, key="letter_marked", border=False):
            put(marked_letter(written, letter))
    with right, st.form("letter_take", border=False):
        with st.container(key="letter_eyes"):
            chosen, everything = _eyes(on_desk, letter)
        answers = _questions(letter)
        put(_listed(letter))
        with st.container(horizontal=True, key="letter_actions"):
            whole = st.form_submit_button("Take all that was read", key="letter_all")
            ticked = st.form_submit_button("Take the ticked", key="letter_ticked")
            leave = st.form_submit_button("Leave the plan", key="letter_leave")
    if whole or ticked:
        _take(on_desk, everything if whole else chosen, answers)
    if whole or ticked or leave:
        close()
        st.rerun()


def _eyes(on_desk: Desk, letter: dict[str, Any]) -> tuple[dict[str, dict[str, str]], dict[str, dict[str, str]]]:
    """Draw both eyes side by side; returns, by side, the ticked texts and all texts."""
    chosen: dict[str, dict[str, str]] = {}
    everything: dict[str, dict[str, str]] = {}
    for column, side in zip(st.columns(2, gap="medium"), SIDES, strict=True):
        with column:
            put(part(SIDES[side]))
            rows = rows_of(letter["eyes"][side], on_desk.texts.get(side, {}), side)
            if not rows:
                put(prose("Nothing was read."))
            chosen[side] = {row.name: row.typed for row in rows if _ticked(side, row)}
            everything[side] = {row.name: row.typed for row in rows}
    return chosen, everything


def _ticked(side: str, row: Row) -> bool:
    """Draw one row with its tick box, which is off where the plan holds another value."""
    ticked = st.checkbox(f"{row.label}: **{row.value}**", value=not row.differs, key=f"letter_tick_{side}_{row.name}")
    unlike = ", unlike the letter" if row.differs else ""
    put(notes(f"{row.places[0].upper()}{row.places[1:]}. The plan now: {row.now}{unlike}."))
    return ticked


def _questions(letter: dict[str, Any]) -> list[tuple[str, str, str]]:
    """Draw the questions; returns the answers that were given."""
    found = questions_of(letter)
    if not found:
        return []
    put(part("Questions"))
    put(prose("What is left open changes nothing."))
    return [answer for number, question in enumerate(found) if (answer := answer_to(number, question))]


def _listed(letter: dict[str, Any]) -> Any:
    """List the matters that were not read, and what was not used."""
    matters = [f"line {m['line']}, {MATTERS[m['what']]}: {m['text'].strip()}" for m in letter["matters"]]
    unused = [f"line {u['line']}: {u['text']}" for u in letter["unused"]]
    more = [f"and {len(unused) - MOST_LISTED} more"] if len(unused) > MOST_LISTED else []
    blocks = []
    if matters:
        blocks.append(part("Not read, matters") + tag("div", paragraphs(*matters), class_="notices"))
    if unused:
        blocks.append(part("Not used") + notes(*unused[:MOST_LISTED], *more))
    return tag("div", *blocks)


def _take(on_desk: Desk, filled: dict[str, dict[str, str]], answers: list[tuple[str, str, str]]) -> None:
    """Put what was taken into the plan, and keep what each eye held before and after it."""
    with day().changing() as own:
        changes: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {}
        for side in SIDES:
            answered = {field: text for eye, field, text in answers if eye == side}
            if filled.get(side) or answered:
                before = on_desk.texts.get(side, {})
                changes[side] = before, taken(before, filled.get(side, {}) | answered)
        st.session_state[UNDO] = on_desk, changes
        own.asking = ()  # from here on nothing stops the run before the change is whole
        for side, (_, after) in changes.items():
            on_desk.put_texts(side, after)


def undo_button(on_desk: Desk) -> None:
    """The button that undoes the taking of a letter, but for what was changed since; it disappears with the patient."""
    kept = st.session_state.get(UNDO)
    if kept is None:
        return
    if kept[0] is not on_desk:
        del st.session_state[UNDO]
    else:
        press("undo_letter", "undo the letter", _undo, *kept, of=(on_desk.id, on_desk.side), type="tertiary")


def _undo(on_desk: Desk, changes: dict[str, tuple[dict[str, Any], dict[str, Any]]]) -> None:
    """Undo what a letter brought; nothing happens where that is done already."""
    if st.session_state.pop(UNDO, None) is not None:
        for side, (before, after) in changes.items():
            on_desk.put_texts(side, put_back(on_desk.texts.get(side, {}), before, after))
