"""Keeps results and choices between runs: the last result for the same input, and values of widgets."""

from collections.abc import Callable, Sequence
from typing import Any

import streamlit as st

SHOWN = "widgets_shown"


def stand(key: str, value: Any) -> None:
    """Put a value into a widget, but only where it has another one: the browser reports each value that is put there,
    and its report can arrive after a change of screen.

    Args:
        key: of the widget. value: what should stand in it.
    """
    if st.session_state.get(key) != value:
        st.session_state[key] = value


def widget_key(name: str, value: Any, of: Any) -> str:
    """Key of a widget that shows a value of a plan; it changes when the program changes the value or the plan.

    Every message of the browser carries the values of all its widgets: a widget whose value the program has changed
    meanwhile would put the old value back. So a changed value gets a new widget, and `changed` ignores the old one.

    Args:
        name: of the widget. value: what it shows. of: whose value it is.
    """
    known = st.session_state.setdefault(SHOWN, {})
    number, before = known.get(name, (0, (of, value)))
    known[name] = number + (before != (of, value)), (of, value)
    key = _key(name)
    stand(key, value)
    return key


def changed(name: str, key: str) -> Any:
    """The new value of a widget of `widget_key`; None where it is no longer shown, shows no value or was not changed.

    The library at times tells of a change where a run beside has only just drawn the widget.

    Args:
        name: of the widget. key: the key that it had.
    """
    value = st.session_state.get(key)
    if value is None or key != _key(name):
        return None
    number, (of, before) = st.session_state[SHOWN][name]
    if value == before:
        return None
    st.session_state[SHOWN][name] = number, (of, value)
    return value


def _key(name: str) -> str:
    """Key of the widget that shows a value now."""
    number, _ = st.session_state[SHOWN][name]
    return f"{name}_{number}" if number else name


def choice(key: Any, before: Any) -> Any:
    """What was chosen in a row of words; an empty row, as after a return to its screen, keeps the old choice.

    Args:
        key: of the widget. before: what was chosen until now.
    """
    chosen = st.session_state.get(key)
    return before if chosen is None else chosen


def place(key: Any, choices: Sequence[Any], first: int | None = 0) -> int | None:
    """Index of the last choice in a list of choices, for a field that the browser draws again.

    Args:
        key: of the widget. choices: what can be chosen. first: where nothing was chosen yet.
    """
    chosen = st.session_state.get(key)
    return choices.index(chosen) if chosen in choices else first


def kept(name: str, key: Any, build: Callable[[], Any]) -> Any:
    """The result of `build`, which is called again only when the key has changed.

    Args:
        name: of the result in this session.
        key: what it depends on.
        build: works it out.
    """
    known = st.session_state.setdefault("worked_out", {})
    if name not in known or known[name][0] != key:
        known[name] = (key, build())
    return known[name][1]


def pick(
    name: str,
    label: str,
    options: tuple[str | float | tuple[str, str], ...],
    say: Callable[..., Any],
    width: int,
    first: str | float | None = None,
) -> Any:
    """The option chosen.

    The first choice is given together with the list; set separately, it can be lost when the list is drawn twice.

    Args:
        name: its key; label: what stands over it.
        options: what can be chosen; say: gives the words of one.
        width: of its box [px].
        first: what is chosen at first; the first option where None.
    """
    begin = outlived(name, first)
    at = options.index(begin) if begin in options else 0
    picked = st.selectbox(label, options, at, key=name, format_func=say, width=width)
    st.session_state[f"{name}_last"] = picked
    return picked


def outlived(name: str, first: str | float | bool | None = None) -> str | float | bool | None:
    """The first value of a field: the one it had when its screen was left last.

    Args:
        name: key of the field, under whose name and `_last` it is kept.
        first: what it begins with the first time.
    """
    if name not in st.session_state:
        st.session_state[f"{name}_begin"] = st.session_state.get(f"{name}_last", first)
    return st.session_state.get(f"{name}_begin", first)
