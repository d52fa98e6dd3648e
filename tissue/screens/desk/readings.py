"""Readings of the plan on the desk: those of an eye, one put in, one taken out."""

from tissue.entry.readings import read_readings


def entries(on_desk, side, values):
    """The Entries of one eye, and the Faults of what does not go with the eye.

    Args:
        on_desk: Desk.
        side: OD or OS.
        values: of the eye by name.
    """
    typed = on_desk.readings.get(side, [])
    return read_readings(list(typed), values) if typed else ((), [])


def put_in(on_desk, side, typed, values):
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


def _concerns(field, number):
    return field.startswith(number) or not field.startswith("reading ")


def take_out(on_desk, side, place):
    """Take one reading out by its place."""
    left = [typed for i, typed in enumerate(on_desk.readings.get(side, [])) if i != place]
    on_desk.change_readings(side, left)
