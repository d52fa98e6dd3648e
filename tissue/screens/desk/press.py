"""Buttons of the library whose press goes through the page's log.

Of presses right beside another message of the page the library loses one at times: it begins a run for each message
and stops the run before, which may not have begun yet. So the page takes the press off such a button and puts it into
its log (link.js): it is said until it is answered, and done once, by one run at a time, after what was typed before.
"""

from collections.abc import Callable
from functools import partial
from typing import Any

import streamlit as st

from tissue.screens.desk.state import ACTS, Day, after_told, day

PRESSES, PRESSED = "presses", "pressed"
LEFT = "Nothing was done: the screen has changed since the press. Please look at it, and press again."


def press(key: str, label: str, act: Callable[..., Any], *told: Any, of: tuple[str, ...] = (), **looks: Any) -> None:
    """A button whose press is never lost and never done twice.

    Args:
        key: its name on the screen. label: text on the button.
        act: what it does, between two runs of the screen: it draws nothing. told: its arguments.
        of: id of the plan and side, where the act may change what the figures stand for: it changes this eye, though
            another one may have come onto the screen meanwhile.
        looks: how it looks, as the library's button takes it.
    """
    name = "-".join((key, *of))
    known = st.session_state.setdefault(PRESSES, {})
    plans = day().plans
    for gone in [one for one, (plan, _) in list(known.items()) if plan and plan not in plans]:
        known.pop(gone, None)
    known[name] = of[0] if of else "", partial(act, *told)
    # before the page is ready to take the press, it reaches the act by the library's own way
    mark = "change" if of else "press"
    st.button(label, key=f"{mark}-{name}", on_click=clicked, args=(f"{mark}-{name}", act, *told), **looks)


def clicked(key: str, act: Callable[..., Any], *told: Any) -> None:
    """Do the act of a button of the library, if it was pressed.

    The library at times calls it for a button that a run beside has only just drawn.

    Args:
        key: of the button. act: what it does. told: its arguments.
    """
    if st.session_state.get(key):
        after_told(act)(*told)


def _press(own: Day, entry: dict[str, Any]) -> None:
    """A button was pressed: its act is done for the plan it stood for."""
    known = st.session_state.get(PRESSES, {})
    if entry["button"] in known:
        known[entry["button"]][1]()
    else:
        own.said = LEFT


ACTS["press"] = _press


def pressed(key: str, label: str, **looks: Any) -> bool:
    """Whether a button was pressed for work that the run of the screen does: told once, as the screen comes to it.

    Arguments as in `press`; what the fields say by then holds.
    """
    press(key, label, note, key, **looks)
    return taken(key) is not None


def note(key: str, told: tuple[Any, ...] = ()) -> None:
    """Note that work is asked for; the run of the screen that comes to it takes it, see `taken`.

    Args:
        key: of the button or picture that was pressed. told: what the press means.
    """
    st.session_state.setdefault(PRESSED, {})[key] = [*told]  # a press like no other


def taken(key: str) -> list[Any] | None:
    """What a press that was noted means, once; None where none was."""
    told: list[Any] | None = st.session_state.get(PRESSED, {}).pop(key, None)
    return told


def noted() -> dict[str, list[Any]]:
    """The work that is asked for and not begun, by the key of its button; each press is an object of its own."""
    return dict(st.session_state.get(PRESSED, {}))


def forget_pressed(presses: dict[str, list[Any]]) -> None:
    """Forget work that a run did not come to: its screen was left, or its button was pressed twice.

    Args:
        presses: what was noted as the run began; a press that came since stays.
    """
    asked = st.session_state.get(PRESSED, {})
    for key, one in presses.items():
        if asked.get(key) is one:
            del asked[key]


def dialog_button(dialog: str, label: str) -> None:
    """A button in the sidebar that opens a dialog.

    Args:
        dialog: its name, as the start of the screens has it. label: text on the button.
    """
    press(dialog, label, ask_for, dialog, type="tertiary")


def ask_for(dialog: str) -> None:
    """Open a dialog about the eye on the desk; it stands until it is answered or left."""
    own = day()
    own.asking = dialog, own.at, own.desk.side


def close_dialog() -> None:
    """Close the dialog that is open, answered or not."""
    day().asking = ()
