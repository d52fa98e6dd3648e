"""Moves the focus to the content that a step has brought: markup that carries the name of its turn."""

from tissue.screens.parts.component import component

HTML = '<div class="tissue-focus" hidden></div>'


def focus(key: str, turn: str) -> None:
    """Bring the focus to the markup of a turn, once.

    Args:
        key: its name on the screen.
        turn: the markup's `data-turn`; empty where the focus stays where it is.
    """
    component("focus", HTML, "parts/focus/focus.js")(key=key, data={"turn": turn})
