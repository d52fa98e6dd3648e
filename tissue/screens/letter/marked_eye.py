"""A refraction typed with the mark of the other eye: offers to move it to the eye that it belongs to."""

from typing import Any

from tissue.entry.checks import Fault
from tissue.entry.letter.letter import read_letter
from tissue.entry.typed import WRITTEN
from tissue.screens.desk.plan import OTHER
from tissue.screens.desk.state import ACTS, SIDES, Day
from tissue.screens.letter.rows import rows_of

BOTH = "read both eyes"


def offer(text: str, side: str, wrong: dict[str, Fault]) -> str:
    """Words for a button that moves a refraction to the eye it is marked for; empty where there is nothing to move.

    Args:
        text: in the field of the refraction. side: OD or OS, whose field it is.
        wrong: by name, the Fault of a field.

    >>> offer("OS -3.00 -0.50 x 10", "OD", {"refraction": None}), offer("OD -3.00 OS -2.00", "OD", {"refraction": None})
    ('put it into OS', 'read both eyes')
    """
    if WRITTEN not in wrong:
        return ""
    found = eyes_in(text)
    if len(found) == len(SIDES):
        return BOTH
    return f"put it into {OTHER[side]}" if list(found) == [OTHER[side]] else ""


def eyes_in(text: str) -> Any:
    """The texts by name that a line gives for each eye, where nothing in it must be asked.

    >>> eyes_in("OD -3.00 -0.50 x 10, OS -2.00 sph")["OS"]["refraction"]
    '−2.00'
    """
    letter = read_letter(text)
    if letter["asks"]:
        return {}
    found = {side: {row.name: row.typed for row in rows_of(letter["eyes"][side], {}, side)} for side in SIDES}
    return {side: texts for side, texts in found.items() if WRITTEN in texts}


def _into_their_eyes(own: Day, entry: dict[str, Any]) -> None:
    """Put each refraction into its own eye; an eye that was not meant gets back its last readable refraction."""
    plan, side = own.plans.get(entry["plan"]), entry["side"]
    found = eyes_in(plan.texts.get(side, {}).get(WRITTEN, "")) if plan is not None else {}
    if plan is None or not found:
        return
    if side not in found:
        plan.take_back(side)
    for one, texts in found.items():
        plan.moves.forget(one, set(texts))
        for name, text in texts.items():
            plan.edit(one, name, text)


ACTS["into_their_eyes"] = _into_their_eyes
