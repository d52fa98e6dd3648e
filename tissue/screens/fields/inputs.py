"""The sidebar: the plan on the desk, its eye, and the fields."""

from typing import Any

import streamlit as st
from markupsafe import Markup

from tissue.entry.eye import used
from tissue.entry.fields import fields
from tissue.entry.file_name import file_name
from tissue.entry.plan_text import open_end
from tissue.entry.typed import REFRACTION, WRITTEN
from tissue.report.map_json import map_words
from tissue.screens.desk import reading
from tissue.screens.desk.link import SAVE, TOML, File, act, hand, sound
from tissue.screens.desk.machine import machine_errors, machine_fault
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.press import dialog_button, press
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import day
from tissue.screens.html import NOTHING, notes, strip
from tissue.screens.letter.dialog import letter_button, undo_button
from tissue.screens.letter.marked_eye import offer
from tissue.screens.parts.eye_switch.eye_switch import eye_switch
from tissue.screens.parts.form.form import fields_data, form
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan.words import plan_name

SAVE_HELP = "The plan as a file; also by Ctrl+S. A plan with a wrong value cannot be saved."


def sidebar(on_desk: Desk) -> None:
    """Draw the sidebar for the plan on the desk.

    Args:
        on_desk: Desk.
    """
    shown, wrong = on_desk.figures(on_desk.side)
    if not on_desk.texts.get(on_desk.side):
        wrong = {}  # an empty eye is no fault
    with st.sidebar:
        _head(on_desk)
        texts = on_desk.texts.get(on_desk.side, {})
        standing = _displayed(on_desk, texts) | {"code": on_desk.code}
        data = fields_data(on_desk.id, on_desk.side, day(), standing, _placeholders(shown, texts), wrong)
        eye_switch(data)
        form(data, texts, offer(texts.get(WRITTEN, ""), on_desk.side, wrong), map_words(texts))
        piece("own_errors_here", _own_errors_here())


def _own_errors_here() -> Markup:
    """Say that own errors of this machine are used where none are given; nothing where there are none."""
    own = machine_errors()
    return (
        notes(f"Errors that are not given come from this machine: {own.source} (Series, Own errors).")
        if own.values
        else NOTHING
    )


def _displayed(on_desk: Desk, texts: dict[str, Any]) -> dict[str, str]:
    """The texts in the fields; where a refraction cannot be read its other spelling stays as it was."""
    values, _ = on_desk.read(on_desk.side)
    found = reading.displayed(texts, values)
    last = on_desk.last.get(on_desk.side)
    if "sphere_D" not in values and "refraction" in texts and last is not None:
        numbers = {name: last.inputs.values.get(name) for name in REFRACTION}
        found |= {name: reading.number_text(name, value) for name, value in numbers.items() if value is not None}
    return found


def _placeholders(shown: Shown | None, texts: dict[str, Any]) -> dict[str, str]:
    """The values that are used where nothing was typed."""
    known = used(shown.inputs, shown.comparison) if shown else {name: f.default for name, f in fields().items()}
    skipped = {"refraction", *REFRACTION} | set(texts)
    return {name: reading.placeholder(name, known) for name in fields() if name not in skipped}


def _head(on_desk: Desk) -> None:
    """Name of the plan, whether it was changed, and its buttons."""
    said = "invented eye" if on_desk.invented else "empty desk" if on_desk.empty else "your plan"
    state = "changed, not saved" if on_desk.changed else "no changes"
    piece("plan_name", plan_name(on_desk.code or "no code yet", said, state))
    piece("open_end", open_end_line(on_desk))
    with st.container(horizontal=True, gap="small", key="plan_actions"):
        act("new_patient", "new patient", "new", "An empty desk for another patient; key N outside the fields.")
        dialog_button("open", "open")
        letter_button()
        undo_button(on_desk)
        _undo_map(on_desk)
        hand(SAVE, "save", _plan_file, SAVE_HELP)
        dialog_button("reset", "reset")
        dialog_button("copy", "copy to the other eye")


def open_end_line(on_desk: Desk) -> Markup:
    """That the file of the plan may have been cut off, or own errors cannot be read; nothing where all is well."""
    end, fault = open_end(on_desk.text), machine_fault()
    lines = [f"The file that was opened has {end}."] if end else []
    lines += [f"Own errors of this machine are not used, those of the tool are: {fault}."] if fault else []
    return strip(*lines) if lines else NOTHING


def _undo_map(on_desk: Desk) -> None:
    """The button that undoes the last change of the maps."""
    if on_desk.maps_before:
        press("undo_map", "undo the map", on_desk.put_maps_back, of=(on_desk.id, on_desk.side), type="tertiary")


def _plan_file(on_desk: Desk) -> File:
    """The plan as a file; with a wrong value, or if too large, it is refused, for it could not be opened again."""
    sound(on_desk)
    return file_name(on_desk.code, ".toml"), TOML, on_desk.file_bytes()
