"""Numbered steps of which one is looked at: buttons, by click and by keyboard."""

import json

import streamlit as st

from tissue.screens.parts.component import component

HTML = '<ol class="tissue-steps" aria-label="Steps"></ol>'


def steps_list(key, items, now, take):
    """Show the steps.

    Args:
        key: their name on the screen.
        items: (head, sentence) of each.
        now: which one is looked at, counted from 0.
        take: called with the one that was chosen, before anything is drawn.
    """

    def chosen():
        at = st.session_state[key].get("step")
        if at is not None:
            take(int(at))

    data = json.dumps({"items": items, "now": now}).encode()
    component("steps", HTML, "parts/steps_list/steps_list.js")(key=key, data=data, on_step_change=chosen)
