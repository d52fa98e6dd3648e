"""Numbered steps of which one is looked at: buttons, by click and by keyboard."""

import json
from functools import cache
from pathlib import Path

import streamlit as st


@cache
def component():
    """The component, registered once."""
    return st.components.v2.component(
        "tissue_steps",
        html='<ol class="tissue-steps" aria-label="Steps"></ol>',
        js=Path(__file__).with_name("steps_list.js").read_text("utf-8"),
        isolate_styles=False,
    )


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
    component()(key=key, data=data, on_step_change=chosen)
