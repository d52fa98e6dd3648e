"""The dialogs before a plan on the desk is replaced: open, reset, copy to the other eye."""

from collections.abc import Callable
from typing import Any

import streamlit as st
from markupsafe import Markup

from tissue.entry import plan_file
from tissue.entry.fields import fields
from tissue.screens.desk.link import act
from tissue.screens.desk.plan import LONGEST_CODE, OF_ONE_EYE
from tissue.screens.desk.press import close_dialog, press
from tissue.screens.desk.state import OTHER, SIDES, Desk, day, demo_files, open_demo
from tissue.screens.html import notes, plain_table, prose, put, strip, tag

FILE_MB = 1
DEMO = "demo_choice"


@st.dialog("Open a plan", on_dismiss=close_dialog)
def open_dialog(on_desk: Desk) -> None:
    """The dialog to open a demo profile or a plan file in the place of a Desk."""
    put(_whose(on_desk))
    if on_desk.unsaved:
        put(strip(*_at_risk(on_desk), "Opening another plan drops it."))
    demos = demo_files()
    if demos:
        st.selectbox("Invented eyes for trying out", list(demos), format_func=demo_words, key=DEMO)
        press("open_demo", "Open this one", _open_demo, on_desk.id)
    file = st.file_uploader("A plan file of your own (TOML)", type=["toml"], key="plan_upload", max_upload_size=FILE_MB)
    if file is not None:
        _open_file(on_desk, file)


def _open_demo(plan: str) -> None:
    """Put the demo profile that is chosen by now on the desk in the place of a plan, where this one is still there."""
    made, own = Desk(), day()
    name = st.session_state.get(DEMO)
    if own.at == plan and name:
        open_demo(made, name)
        own.asking = ()
        own.put(made)


def _open_file(on_desk: Desk, file: Any) -> None:
    """Put a file on the desk, or list all its faults."""
    try:
        plan = plan_file.read_plan(file.getvalue(), file.name)
    except plan_file.PlanError as error:
        put(strip("This file was not opened; the plan on the desk is as it was.", *error.lines))
        return
    own = day()
    made = Desk()
    made.open(plan, file.name.removesuffix(".toml")[:LONGEST_CODE])
    with own.changing():
        own.asking = ()
        if own.desk is on_desk:
            own.put(made)
    st.rerun()


def demo_words(name: str) -> str:
    """Name of a demo profile in words.

    >>> demo_words("harbour-03_moderate_myopia")
    'harbour-03, moderate myopia'
    """
    code, _, words = name.partition("_")
    return f"{code}, {words.replace('_', ' ')}"


@st.dialog("Reset the plan", on_dismiss=close_dialog)
def reset_dialog(on_desk: Desk) -> None:
    """The dialog before a Desk is reset: changes are dropped only after the question."""
    put(_whose(on_desk))
    if not on_desk.changed:
        put(prose("Nothing was changed since the plan was opened or saved."))
        return
    put(prose("Everything goes back to what was opened or saved last. The changes since are dropped."))
    press("reset_yes", "Drop the changes", _answered, on_desk.reset, of=(on_desk.id, on_desk.side))


def _answered(change: Callable[..., None], *told: str) -> None:
    """The question of the dialog was answered with yes."""
    close_dialog()
    change(*told)


@st.dialog("Copy to the other eye", width="medium", on_dismiss=close_dialog)
def copy_dialog(on_desk: Desk) -> None:
    """The dialog before a copy within a Desk: says field by field what would be overwritten, and asks."""
    put(_whose(on_desk))
    here, there = on_desk.side, OTHER[on_desk.side]
    ours, theirs = on_desk.texts.get(here, {}), on_desk.texts.get(there, {})
    rows = [
        (field.heading, theirs.get(name, "–"), ours.get(name, "–"))
        for name, field in fields().items()
        if name not in OF_ONE_EYE and ours.get(name) != theirs.get(name)
    ]
    if on_desk.figures(here)[1]:
        put(prose(f"A field of {SIDES[here]} cannot be read: nothing is copied until it can."))
        return
    same = "" if rows else " Both are the same already."
    put(prose(f"{SIDES[here]} would be copied over {SIDES[there]}.{same}"))
    if rows:
        heads = (f"Field of {SIDES[there]}", "now", "would be")
        place = (
            "A place to the right of the vertex is nasal in one eye and temporal in the other: it is copied as typed. "
            "A measured map belongs to its own eye and is not copied."
        )
        put(plain_table(heads, rows, "What would be overwritten") + notes(place))
    label, of = f"Overwrite {SIDES[there]}", (on_desk.id, here)
    press("copy_yes", label, _answered, on_desk.copy_to_other, here, of=of, disabled=not rows)


def _at_risk(on_desk: Desk) -> list[str]:
    """What would be lost with the plan, in words; a save keeps what is part of the plan."""
    code = on_desk.code or "This plan"
    said = [f"{code} has changes that are not saved."] if on_desk.changed else []
    eyes = " and ".join(on_desk.begun)
    return [*said, f"{code} has a reading of {eyes} that was begun and not put in; no file holds it."] if eyes else said


def _whose(on_desk: Desk) -> Markup:
    """Whose plan a dialog is about."""
    return prose(tag("b", f"The plan of {on_desk.code or 'no code yet'}"))


@st.dialog("Changes that are not saved", on_dismiss=close_dialog)
def leave_dialog(on_desk: Desk, listed: bool) -> None:
    """The dialog before a changed Desk is left: save it, drop the changes, or stay.

    Args:
        on_desk: Desk. listed: whether the new patient is added to the list.
    """
    put(prose(*_at_risk(on_desk), "What should become of it?"))
    more = {"plan": on_desk.id, "listed": listed}
    with st.container(horizontal=True, key="leave_actions"):
        act("leave_save", "save, then a new patient", "leave", more=more | {"how": "save"})
        act("leave_drop", "drop the changes, then a new patient", "leave", more=more | {"how": "drop"})
        act("leave_stay", "stay with this patient", "leave", more=more | {"how": "stay"})
