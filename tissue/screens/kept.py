"""What was worked out last for the same input, by name."""

import streamlit as st


def stand(key, value):
    """Put a value into a widget, only where it has another one: each time one is put there the browser tells it back,
    and what it tells can overtake a change of screen.

    Args:
        key: of the widget. value: what should stand in it.
    """
    if st.session_state.get(key) != value:
        st.session_state[key] = value


def choice(key, before):
    """What a row of words was changed to; one that shows none, as it may when its screen comes back, is no choice.

    Args:
        key: of the widget. before: what was chosen until now.
    """
    chosen = st.session_state.get(key)
    return before if chosen is None else chosen


def place(key, choices, first=0):
    """Place of what was chosen last in a list of choices, for a field that the browser draws anew.

    Args:
        key: of the widget. choices: what can be chosen. first: where nothing was chosen yet.
    """
    chosen = st.session_state.get(key)
    return choices.index(chosen) if chosen in choices else first


def kept(name, key, build):
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
