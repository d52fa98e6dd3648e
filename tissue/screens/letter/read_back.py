"""The dialog *read back*: a second person types what will be treated without seeing the plan; both are compared."""

from datetime import date
from typing import Any

import streamlit as st

from tissue.entry.fields import fields
from tissue.entry.readback import WANTED, typed_values
from tissue.eye.slips import SLIPS
from tissue.report.readback import (
    name_words,
    note_of,
    readback_report,
    readback_words,
    used_to_compare,
    value_words_of,
)
from tissue.screens.desk.press import ask_for, close_dialog, press
from tissue.screens.desk.state import SIDES, Desk, day
from tissue.screens.html import notes, part, plain_table, prose, put, strip, style_of, tag
from tissue.screens.parts.component import text

RESULT = "readback_result"
COVER = tag("div", class_="covers-page")
FIRST_WORDS = "Type what is to be treated from your own source. A field left empty counts as not typed."
HEADS = ("", "planned", "typed", "what it looks like")


def _forget() -> None:
    """Forget what was typed."""
    for name in list(st.session_state):
        if str(name).startswith("readback_"):
            del st.session_state[name]


def eyes_of(on_desk: Desk) -> dict[str, Any] | None:
    """(Inputs, Comparison, refraction as typed) of every eye of the plan, by side; None where a field is wrong.

    Args:
        on_desk: Desk.
    """
    found = {}
    for side in SIDES:
        if on_desk.texts.get(side):
            shown, wrong = on_desk.figures(side)
            if shown is None or wrong:
                return None
            found[side] = shown.inputs, shown.comparison, shown.texts.get("refraction", "")
    return found


def state_words(on_desk: Desk) -> str:
    """Whether and how the plan on the desk was read back, in a few words.

    Args:
        on_desk: Desk.
    """
    if not on_desk.readback:
        return "not read back"
    eyes = eyes_of(on_desk)
    said = readback_words(on_desk.readback | {"differences": []}, eyes) if eyes else "Read back."
    return said[0].lower() + said[1:].rstrip(".")


def ask_readback() -> None:
    """Open the dialog empty: one that vanished with its screen may still hold what was typed for another plan."""
    _forget()
    ask_for("readback")


def close() -> None:
    """Close the dialog and forget what was typed."""
    close_dialog()
    _forget()


@st.dialog("Read back", width="large", on_dismiss=close)
def readback_dialog(on_desk: Desk) -> None:
    """Draw empty fields over the covered page; what differs is shown only after the button was pressed."""
    put(style_of(text("styles/letter.css")) + COVER + prose(tag("b", f"The plan of {on_desk.code or 'no code yet'}")))
    eyes = eyes_of(on_desk)
    if eyes is None:
        put(strip("A field of the plan cannot be read: there is nothing to read back yet."))
        return
    put(prose(FIRST_WORDS))
    typed = _form(eyes)
    if typed is not None:
        _compare(on_desk, eyes, typed)
    if RESULT in st.session_state:
        _result(eyes, st.session_state[RESULT])


def _form(eyes: dict[str, Any]) -> dict[str, dict[str, str]] | None:
    """Draw the empty fields of every eye; returns what was typed, by side, or None before the press."""
    plan = used_to_compare(eyes)
    typed: dict[str, dict[str, str]] = {}
    with st.form("readback_form", border=False):
        for column, side in zip(st.columns(2, gap="medium"), SIDES, strict=True):
            with column:
                put(part(SIDES[side]))
                if side not in plan:
                    put(prose("This eye is not in the plan."))
                    continue
                values, cuts = plan[side]
                names = [*WANTED, *(["procedure"] if values["procedure"] else []), *cuts]
                typed[side] = {name: _field(side, name) for name in names}
        pressed = st.form_submit_button("Compare", key="readback_go")
    return typed if pressed else None


def _field(side: str, name: str) -> str:
    """One empty field."""
    field, key = fields()[name], f"readback_{side}_{name}"
    if field.choices:
        return st.selectbox(field.heading, ("", *field.choices), key=key)
    return st.text_input(field.heading, key=key, autocomplete="off")


def _compare(on_desk: Desk, eyes: dict[str, Any], typed: dict[str, dict[str, str]]) -> None:
    """Compare what was typed with the plan, and note the result in the plan."""
    st.session_state.pop(RESULT, None)
    values: dict[str, dict[str, Any]] = {}
    lines: list[str] = []
    for side, texts in typed.items():
        given = {name: said for name, said in texts.items() if said.strip()}
        values[side], wrong = typed_values(given)
        lines += [f"{side}: {fault.text}" for fault in wrong]
    if lines:
        put(strip(*lines))
        return
    report = readback_report(eyes, values)
    with day().changing():  # noted before it is said: the run may be stopped in between
        on_desk.readback = note_of(report, str(date.today()))
    st.session_state[RESULT] = report


def _result(eyes: dict[str, Any], report: dict[str, Any]) -> None:
    """Show planned and typed values and likely slips where they differ; the whole list once everything was typed."""
    if report["agrees"]:
        put(part("It agrees") + prose("Everything that was typed is what is planned. The plan and its record say so."))
    else:
        put(part("It does not agree"))
    for side, eye in report["eyes"].items():
        if eye["differences"]:
            rows = [_row(one) for one in eye["differences"]]
            put(prose(tag("b", SIDES[side])) + plain_table(HEADS, rows, f"What differs, {side}"))
        if eye["not_typed"]:
            put(notes(f"{SIDES[side]}, not typed: {', '.join(map(name_words, eye['not_typed']))}."))
    press("readback_close", "Close", close)


def _row(one: dict[str, Any]) -> list[str]:
    """One difference as a row."""
    names = " ".join(SLIPS[name] for name in one["names"]) or "no known slip"
    return [name_words(one["field"]), value_words_of(one, "plan"), value_words_of(one, "typed"), names]
