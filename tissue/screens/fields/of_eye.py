"""The frame of a screen about the eye on the desk: its line, what is stale, the screen itself, the fields."""

from collections.abc import Callable
from typing import Any

from tissue.screens import frame
from tissue.screens.desk.state import desk
from tissue.screens.fields import inputs
from tissue.screens.html import put
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan import words


def of_eye(name: str, draw: Callable[..., Any]) -> None:
    """Draw such a screen; where there are no figures yet it says what is missing.

    Args:
        name: of the screen, for the keys of its parts.
        draw: draws what stands below the line of the eye, from Desk, Shown, Faults by field and Look.
    """
    colours, on_desk = frame.begin(), desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        put(words.nothing_yet(on_desk.side, on_desk.code, wrong))
    else:
        stale = words.stale(shown, on_desk.texts[on_desk.side], wrong) if wrong else ""
        piece(f"{name}_eye", words.eye_line(shown, on_desk.side, on_desk.code) + stale)
        draw(on_desk, shown, wrong, colours)
    inputs.sidebar(on_desk)
