"""Changes that Trade-offs makes in the plan, by a click on the map or a found value, and their undo."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import streamlit as st

from tissue.drawing.charts.maps import input_words
from tissue.entry.fields import fields
from tissue.explore.variation import plan_value
from tissue.screens.desk.press import press
from tissue.screens.desk.reading import Shown, number_text
from tissue.screens.html import put, tag

if TYPE_CHECKING:
    from tissue.screens.desk.plan import Desk


def move_plan(on_desk: Desk, shown: Shown, wanted: dict[str, float], *said: Any) -> bool:
    """Put values into the eye that is shown; returns whether any of them changed.

    Args:
        on_desk: Desk; shown: Shown of the eye.
        wanted: values by the name of their field [its unit].
        said: what else is said of the change.
    """
    side = shown.inputs.side
    before = dict(on_desk.texts[side])
    texts = {name: number_text(name, value) for name, value in wanted.items()}
    if before | texts == before:
        return False
    was = {name: number_text(name, round(plan_value(shown.inputs.values, name), 2)) for name in wanted}
    moves = [f"{input_words(name)} from {was[name]} to {text} {fields()[name].unit}" for name, text in texts.items()]
    on_desk.put_texts(side, before | texts)
    on_desk.own["to_moved"] = (side, before, before | texts, f"The plan was moved: {', '.join([*moves, *said])}.")
    return True


def moved_and_back(on_desk: Desk) -> None:
    """What was changed in this way, with a button to undo it, as long as nothing else is changed."""
    change = on_desk.own.get("to_moved")
    if not change or change[0] != on_desk.side:
        return
    side, before, after, said = change
    if on_desk.texts[side] != after:
        on_desk.own.pop("to_moved")
        return
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        put(tag("div", said, class_="ask", role="status"))
        if before != after:
            press("to_back", "Take it back", _back, on_desk, side, before, after, of=(on_desk.id, side))


def say_of_plan(on_desk: Desk, side: str, said: str) -> None:
    """Words where a move of that eye stands, until its plan is changed; after the words of the last move and with its
    way back where that is still offered."""
    texts = dict(on_desk.texts[side])
    change = on_desk.own.get("to_moved", ())
    if change and change[0] == side and change[2] == texts:
        on_desk.own["to_moved"] = (*change[:3], f"{change[3].removesuffix(said).strip()} {said}")
    else:
        on_desk.own["to_moved"] = (side, texts, texts, said)


def _back(on_desk: Desk, side: str, before: dict[str, str], after: dict[str, str]) -> None:
    """Put the moved fields back, except those typed since, and say which ones stay."""
    now = on_desk.texts[side]
    moved = _other(before, after)
    typed = [name for name in _other(after, now) if name not in moved or now.get(name) != before.get(name)]
    back = [name for name in moved if name not in typed]  # again those that are back where it was pressed twice
    texts = {name: text for name, text in now.items() if name not in back}
    texts |= {name: before[name] for name in back if name in before}
    on_desk.put_texts(side, texts)
    on_desk.own.pop("to_moved", None)
    if typed:
        taken = f"Taken back: {_words(back)}." if back else "Nothing was taken back."
        say_of_plan(on_desk, side, f"{taken} What was typed since stays: {_words(typed)}.")


def _other(one: dict[str, str], two: dict[str, str]) -> list[str]:
    """Names of the fields whose texts differ between two states of an eye."""
    return sorted(name for name in one.keys() | two.keys() if one.get(name) != two.get(name))


def _words(names: list[str]) -> str:
    return ", ".join(input_words(name) if name in fields() else name for name in names)
