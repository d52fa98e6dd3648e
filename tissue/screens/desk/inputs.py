"""The sidebar: the plan on the desk, its eye, and the fields."""

import streamlit as st

from tissue.entry.eye import used
from tissue.entry.fields import fields
from tissue.entry.file_name import file_name
from tissue.screens.desk import reading
from tissue.screens.desk.dialogs import copy_dialog, open_dialog, reset_dialog
from tissue.screens.desk.state import OTHER, SIDES, desk
from tissue.screens.html import put, tag
from tissue.screens.parts.form.form import form


def sidebar(on_desk):
    """Draw the sidebar for the plan on the desk.

    Args:
        on_desk: Desk.
    """
    shown, wrong = on_desk.figures(on_desk.side)
    with st.sidebar:
        _head(on_desk, bool(wrong))
        _eye_switch(on_desk)
        texts = on_desk.texts.get(on_desk.side, {})
        form(on_desk, _displayed(on_desk, texts), _placeholders(shown, texts), wrong, _edited)


def _displayed(on_desk, texts):
    """What stands in the fields; the other spelling of a refraction that cannot be read stays as it was."""
    values, _ = reading.read_fields(texts)
    found = reading.displayed(texts, values)
    last = on_desk.last.get(on_desk.side)
    if "sphere_D" not in values and "refraction" in texts and last is not None:
        numbers = {name: last.inputs.values.get(name) for name in reading.REFRACTION}
        found |= {name: reading.number_text(name, value) for name, value in numbers.items() if value is not None}
    return found


def _placeholders(shown, texts):
    """What is used where nothing was typed."""
    known = used(shown.inputs, shown.comparison) if shown else {name: f.default for name, f in fields().items()}
    skipped = {"refraction", *reading.REFRACTION} | set(texts)
    return {name: reading.placeholder(name, known) for name in fields() if name not in skipped}


def _edited():
    """A field was changed: take the entry over, and work its figures out, before anything is drawn.

    The browser is busy for a moment with the news that there is something to come, and then has all of it at once.
    """
    entry = st.session_state["fields"].get("entry")
    if entry:
        desk().edit(entry)
        desk().figures(desk().side)


def _head(on_desk, faulty):
    """Name of the plan, whether it was changed, and what can be done with it."""
    marks = ["invented eye"] if on_desk.invented else []
    marks += ["changed, not saved"] if on_desk.changed else []
    name, said = on_desk.code or "no name", ", ".join(marks) or "as opened"
    put(tag("div", tag("h2", name), tag("span", said), class_="plan-name"))
    with st.container(horizontal=True, gap="small", key="plan_actions"):
        if st.button("open", key="open", type="tertiary"):
            open_dialog()
        _save_button(on_desk, _any_fault(on_desk, faulty))
        if st.button("reset", key="reset", type="tertiary", disabled=not on_desk.changed):
            reset_dialog()
        if st.button("copy to the other eye", key="copy", type="tertiary", disabled=faulty):
            copy_dialog()


def _save_button(on_desk, faulty):
    """The plan as a file; a plan with a wrong value is not saved, for it could not be opened again."""
    st.download_button(
        "save",
        on_desk.as_file,
        file_name=file_name(on_desk.code, ".toml"),
        mime="application/toml",
        on_click=on_desk.saved,
        type="tertiary",
        disabled=faulty,
        help="A plan with a wrong value cannot be saved: the words stand beside the field." if faulty else None,
        key="save",
    )


def _any_fault(on_desk, faulty):
    """Whether something in either eye is wrong."""
    other = OTHER[on_desk.side]
    return faulty or bool(on_desk.texts.get(other) and on_desk.figures(other)[1])


def _eye_switch(on_desk):
    """Which eye stands in the fields."""
    st.session_state["eye_switch"] = on_desk.side  # said anew on every screen: each has a switch of its own
    st.segmented_control(
        "Eye",
        list(SIDES),
        format_func=SIDES.__getitem__,
        key="eye_switch",
        required=True,
        label_visibility="collapsed",
        width="stretch",
        on_change=_switched,
    )


def _switched():
    """Another eye was chosen; a folded sidebar gives its switch up, which is no choice."""
    if st.session_state["eye_switch"] in SIDES:
        desk().look_at(st.session_state["eye_switch"])
