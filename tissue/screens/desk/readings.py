"""Readings of the plan on the desk: those of an eye, one put in, one taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from tissue.entry.checks import Fault
from tissue.entry.readings import Entry, read_readings

if TYPE_CHECKING:
    from tissue.screens.desk.plan import Desk


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
    given = {name: text.strip() for name, text in typed.items() if text.strip()}
    before = on_desk.readings.get(side, [])
    number = f"reading {len(before) + 1}: "
    found = [fault for fault in read_readings([*before, given], values)[1] if _concerns(fault.field, number)]
    if not found:
        on_desk.change_readings(side, [*before, given])
    return found


def _concerns(field: str, number: str) -> bool:
    return field.startswith(number) or not field.startswith("reading ")


def take_out(on_desk: Desk, side: str, place: int) -> None:
    """Take one reading out by its place."""
    left = [typed for i, typed in enumerate(on_desk.readings.get(side, [])) if i != place]
    on_desk.change_readings(side, left)
