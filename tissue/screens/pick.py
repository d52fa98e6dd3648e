"""A choice that outlives a change of screen."""

import streamlit as st


def pick(name, label, options, say, width, first=None):
    """The option chosen.

    Args:
        name: its key; label: what stands over it.
        options: what can be chosen; say: gives the words of one.
        width: of its box [px].
        first: what is chosen at first; the first option where None.
    """
    last = st.session_state.get(f"{name}_last", first)
    if st.session_state.get(name) not in options:
        st.session_state[name] = last if last in options else options[0]
    picked = st.selectbox(label, options, key=name, format_func=say, width=width)
    st.session_state[f"{name}_last"] = picked
    return picked
