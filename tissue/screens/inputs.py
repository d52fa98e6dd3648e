"""The sidebar: the plan on the desk, its eye, and the fields."""

import streamlit as st

from tissue.entry import plan_file
from tissue.entry.eye import used
from tissue.entry.fields import fields
from tissue.screens import reading
from tissue.screens.form import form
from tissue.screens.state import OTHER, SIDES, demo_files, desk, open_demo

FILE_MB = 1


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
    values, _ = reading.read(texts)
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
    """A field was changed: take the entry over before anything is drawn."""
    entry = st.session_state["fields"].get("entry")
    if entry:
        desk().edit(entry)


def _head(on_desk, faulty):
    """Name of the plan, whether it was changed, and what can be done with it."""
    marks = []
    if on_desk.invented:
        marks.append("invented eye")
    if on_desk.changed:
        marks.append("changed, not saved")
    st.html(
        f'<div class="plan-name"><h2>{_escaped(on_desk.code) or "no name"}</h2><span>{", ".join(marks) or "as opened"}</span></div>'
    )
    with st.container(horizontal=True, gap="small", key="plan_actions"):
        if st.button("open", key="open", type="tertiary"):
            _open_dialog()
        st.download_button(
            "save",
            on_desk.as_file,
            type="tertiary",
            file_name=f"{on_desk.code or 'plan'}.toml",
            mime="application/toml",
            on_click=on_desk.saved,
            disabled=_any_fault(on_desk, faulty),
            help="A plan with a wrong value cannot be saved: the words stand beside the field."
            if _any_fault(on_desk, faulty)
            else None,
            key="save",
        )
        if st.button("reset", key="reset", type="tertiary", disabled=not on_desk.changed):
            _reset_dialog()
        if st.button("copy to the other eye", key="copy", type="tertiary", disabled=faulty):
            _copy_dialog()


def _escaped(text):
    from html import escape

    return escape(text)


def _any_fault(on_desk, faulty):
    """Whether something in either eye is wrong."""
    other = OTHER[on_desk.side]
    return faulty or bool(on_desk.texts.get(other) and on_desk.figures(other)[1])


def _eye_switch(on_desk):
    """Which eye stands in the fields."""
    if st.session_state.get("eye_switch") != on_desk.side:
        st.session_state["eye_switch"] = on_desk.side
    st.segmented_control(
        "Eye",
        list(SIDES),
        format_func=SIDES.get,
        key="eye_switch",
        required=True,
        label_visibility="collapsed",
        width="stretch",
        on_change=_switched,
    )


def _switched():
    desk().look_at(st.session_state["eye_switch"])


@st.dialog("Open a plan")
def _open_dialog():
    """A demo profile, or a plan file of one's own."""
    on_desk = desk()
    if on_desk.changed:
        st.html(
            f'<div class="stale"><p>{_escaped(on_desk.code)} has changes that are not saved. Opening another plan drops them.</p></div>'
        )
    demos = demo_files()
    if demos:
        name = st.selectbox("Invented eyes for trying out", list(demos), format_func=_demo_words, key="demo_choice")
        if st.button("Open this one", key="open_demo"):
            open_demo(on_desk, name)
            st.rerun()
    file = st.file_uploader("A plan file of your own (TOML)", type=["toml"], key="plan_upload", max_upload_size=FILE_MB)
    if file is None:
        return
    try:
        plan = plan_file.read(file.getvalue(), file.name)
    except plan_file.PlanError as error:
        lines = "".join(f"<p>{_escaped(line)}</p>" for line in error.lines)
        st.html(f'<div class="stale"><p>This file was not opened; the plan on the desk is as it was.</p>{lines}</div>')
        return
    on_desk.open(plan, file.name.removesuffix(".toml"))
    st.rerun()


def _demo_words(name):
    code, _, words = name.partition("_")
    return f"{code}, {words.replace('_', ' ')}"


@st.dialog("Reset the plan")
def _reset_dialog():
    """Changes are dropped only after the question."""
    st.html(
        '<div class="prose"><p>Everything goes back to what was opened or saved last. The changes since are dropped.</p></div>'
    )
    if st.button("Drop the changes", key="reset_yes"):
        desk().reset()
        st.rerun()


@st.dialog("Copy to the other eye", width="medium")
def _copy_dialog():
    """Says field by field what would be overwritten, and asks."""
    on_desk = desk()
    here, there = on_desk.side, OTHER[on_desk.side]
    ours, theirs = on_desk.texts.get(here, {}), on_desk.texts.get(there, {})
    rows = [(name, theirs.get(name, ""), ours.get(name, "")) for name in fields() if ours.get(name) != theirs.get(name)]
    st.html(
        f'<div class="prose"><p>{SIDES[here]} would be copied over {SIDES[there]}.{"" if rows else " Both are the same already."}</p></div>'
    )
    if rows:
        body = "".join(
            f"<tr><td>{_escaped(fields()[name].heading)}</td><td>{_escaped(old) or '–'}</td><td>{_escaped(new) or '–'}</td></tr>"
            for name, old, new in rows
        )
        st.html(
            f'<table class="plain"><thead><tr><th>Field of {SIDES[there]}</th><th>now</th><th>would be</th></tr></thead>{body}</table>'
            '<div class="notes"><p>A place to the right of the vertex is nasal in one eye and temporal in the other: it is copied as it stands.</p></div>'
        )
    if st.button(f"Overwrite {SIDES[there]}", key="copy_yes", disabled=not rows):
        on_desk.copy_to_other()
        st.rerun()
