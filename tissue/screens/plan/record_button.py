"""The page for the chart from the plan on the desk: the same as the command makes of the plan saved."""

from datetime import date

import streamlit as st

from tissue.entry.file_name import file_name
from tissue.screens.desk.state import SIDES

HELP = "One page for the chart: every value used, sections to scale, what to read back, the plan file inside it."


def record_button(on_desk):
    """Draw the button; a plan with a wrong value has no record, for the page could not be made again from it.

    Args:
        on_desk: Desk.
    """
    found = {side: on_desk.figures(side) for side in SIDES if on_desk.texts.get(side)}
    wrong = [side for side, (_, faults) in found.items() if faults]
    st.download_button(
        "Record for print",
        lambda: record_page(on_desk, {side: shown for side, (shown, _) in found.items()}, str(date.today())),
        file_name=file_name(f"{on_desk.code or 'plan'}-record", ".pdf"),
        mime="application/pdf",
        on_click="ignore",
        type="tertiary",
        disabled=bool(wrong),
        help=f"A field of {' and '.join(wrong)} cannot be read: no record until it can." if wrong else HELP,
        key="record",
    )


def record_page(on_desk, eyes, day):
    """The bytes of the record.

    Args:
        on_desk: Desk.
        eyes: by side, Shown.
        day: what is printed as the date.
    """
    from tissue.paper.record import record

    told = {side: (one.inputs, one.comparison, one.texts.get("refraction", "")) for side, one in eyes.items()}
    return record(on_desk.code, told, on_desk.as_file().encode(), file_name(on_desk.code, ".toml"), day)
