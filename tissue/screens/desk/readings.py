"""Readings of the plan on the desk: those of an eye, one begun, one put in, one taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tissue.entry.checks import Fault
from tissue.entry.fields import reading_fields
from tissue.entry.readings import Entry, read_readings
from tissue.screens.desk.plan import BEGUN
from tissue.screens.desk.state import ACTS, Day

if TYPE_CHECKING:
    from tissue.screens.desk.plan import Desk

TRIED = "reading_tried_"
METHOD = {"method": reading_fields()["method"].choices[0]}  # stands in its field until another is chosen


def entries(on_desk: Desk, side: str, values: dict[str, Any]) -> tuple[tuple[Entry, ...], list[Any]]:
    """The Entries of one eye, and the Faults of what does not go with the eye.

    Args:
        on_desk: Desk.
        side: OD or OS.
        values: of the eye by name.
    """
    typed = on_desk.readings.get(side, [])
    return read_readings(list(typed), values) if typed else ((), [])


def put_in(on_desk: Desk, side: str, typed: dict[str, str], values: dict[str, Any]) -> list[Fault]:
    """Put one reading in; returns the Faults, and nothing is put in where there are any.

    Args:
        on_desk: Desk.
        side: OD or OS.
        typed: what was written, by name.
        values: of the eye by name.
    """
    found = faults_of(on_desk, side, typed, values)
    if not found:
        on_desk.change_readings(side, [*on_desk.readings.get(side, []), _given(typed)])
    return found


def faults_of(on_desk: Desk, side: str, typed: dict[str, str], values: dict[str, Any]) -> list[Fault]:
    """The Faults of one more reading; arguments as in `put_in`."""
    before = on_desk.readings.get(side, [])
    number = f"reading {len(before) + 1}: "
    found = read_readings([*before, _given(typed)], values)[1]
    return [fault for fault in found if _concerns(fault.field, number)]


def _given(typed: dict[str, str]) -> dict[str, str]:
    """What was written, without what is empty."""
    return {name: text.strip() for name, text in typed.items() if text.strip()}


def begun(on_desk: Desk, side: str) -> dict[str, str]:
    """What was typed of a reading that is not put in yet, by name: it is kept with its plan and its side.

    Args:
        on_desk: Desk. side: OD or OS.
    """
    typed = on_desk.own.get(form_of(side), {})
    return {name.removeprefix(BEGUN): text for name, text in typed.items() if text.strip()}


def form_of(side: str) -> str:
    """Name of the form of one more reading of an eye."""
    return f"{BEGUN}{side}"


def tried(on_desk: Desk, side: str) -> bool:
    """Whether what stands there was to be put in as it is: then its faults are told."""
    return on_desk.own.get(TRIED + side) == begun(on_desk, side)


def _put(own: Day, entry: dict[str, Any]) -> None:
    """The reading that was begun is put in; where something is wrong it stays, and the screen says what."""
    plan, side = own.plans.get(entry["plan"]), entry["side"]
    shown = plan.figures(side)[0] if plan is not None else None
    if plan is None or shown is None:
        return
    typed = begun(plan, side)
    if plan.own.get(form_of(side)) == {}:
        return  # it is put in already, by a press before this one
    plan.own[TRIED + side] = typed
    if not put_in(plan, side, METHOD | typed, shown.inputs.values):
        plan.own[form_of(side)] = {}  # the form stays open for the next one
        plan.own.pop(TRIED + side)


ACTS["put_reading"] = _put


def _concerns(field: str, number: str) -> bool:
    return field.startswith(number) or not field.startswith("reading ")


def take_out(on_desk: Desk, side: str, gone: dict[str, str]) -> None:
    """Take one reading out: this very one, for of two presses the second may come when another has its place."""
    before = on_desk.readings.get(side, [])
    left = [typed for typed in before if typed is not gone]
    if len(left) < len(before):
        on_desk.change_readings(side, left)
