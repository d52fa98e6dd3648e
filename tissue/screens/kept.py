"""What was worked out last for the same input, by name."""

from collections.abc import Callable, Sequence
from typing import Any

import streamlit as st

SHOWN = "widgets_shown"


def stand(key: str, value: Any) -> None:
    """Put a value into a widget, only where it has another one: each time one is put there the browser tells it back,
    and what it tells can overtake a change of screen.

    Args:
        key: of the widget. value: what should stand in it.
    """
    if st.session_state.get(key) != value:
        st.session_state[key] = value


def widget_key(name: str, value: Any, of: Any) -> str:
    """Key of a widget that shows a value of a plan: another key where the value, or the plan, came from elsewhere.

    Whatever the browser says next carries every widget as it stands there: one whose value was changed here meanwhile
    would put the old value back. So a value from elsewhere has a widget of its own, and `changed` does not listen to
    the one before.

    Args:
        name: of the widget. value: what stands in it. of: whose it is.
    """
    known = st.session_state.setdefault(SHOWN, {})
    number, before = known.get(name, (0, (of, value)))
    known[name] = number + (before != (of, value)), (of, value)
    key = _key(name)
    stand(key, value)
    return key


def changed(name: str, key: str) -> Any:
    """What a widget of `widget_key` was changed to; None where it is no longer shown, or shows no value.

    Args:
        name: of the widget. key: the key that it had.
    """
    value = st.session_state.get(key)
    if value is None or key != _key(name):
        return None
    number, (of, _) = st.session_state[SHOWN][name]
    st.session_state[SHOWN][name] = number, (of, value)
    return value


def _key(name: str) -> str:
    """Key of the widget that shows a value now."""
    number, _ = st.session_state[SHOWN][name]
    return f"{name}_{number}" if number else name


def choice(key: Any, before: Any) -> Any:
    """What a row of words was changed to; one that shows none, as it may when its screen comes back, is no choice.

    Args:
        key: of the widget. before: what was chosen until now.
    """
    chosen = st.session_state.get(key)
    return before if chosen is None else chosen


def place(key: Any, choices: Sequence[Any], first: int | None = 0) -> int | None:
    """Place of what was chosen last in a list of choices, for a field that the browser draws anew.

    Args:
        key: of the widget. choices: what can be chosen. first: where nothing was chosen yet.
    """
    chosen = st.session_state.get(key)
    return choices.index(chosen) if chosen in choices else first


def kept(name: str, key: Any, build: Callable[[], Any]) -> Any:
    """What `build` gives, worked out anew only where the key is another one.

    Args:
        name: what it is called in this session.
        key: what it depends on.
        build: works it out.
    """
    known = st.session_state.setdefault("worked_out", {})
    if name not in known or known[name][0] != key:
        known[name] = (key, build())
    return known[name][1]
