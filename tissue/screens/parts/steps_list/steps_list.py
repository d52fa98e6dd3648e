"""Numbered steps of which one is shown: chosen by click or keyboard, or played one after another."""

import json
from collections.abc import Callable, Iterable
from typing import Any

import streamlit as st

from tissue.screens.parts.component import component

HTML = '<ol class="tissue-steps"></ol><button type="button" class="tissue-play"></button>'


def steps_list(
    key: str, items: Iterable[tuple[str, ...]], now: int, take: Callable[..., Any], names: dict[str, str]
) -> None:
    """Show the steps.

    Args:
        key: their name on the screen.
        items: (head, sentence) of each.
        now: which one is looked at, counted from 0.
        take: called with the one that was chosen, before anything is drawn.
        names: what stands on the buttons (`play`, `stop`; `next` where motion is not wanted), what the list is called
            (`steps`), and the tag of the language (`lang`).
    """

    def chosen() -> None:
        at = st.session_state[key].get("step")
        if at is not None:
            take(int(at))

    data = json.dumps({"items": items, "now": now, "names": names}).encode()
    component("steps", HTML, "parts/steps_list/steps_list.js")(key=key, data=data, on_step_change=chosen)
