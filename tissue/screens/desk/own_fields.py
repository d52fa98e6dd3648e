"""Fields that belong to a screen and not to the plan: drawn as those of the sidebar, a fault told beside each."""

from functools import cache
from html import escape
from typing import NamedTuple

import streamlit as st

from tissue.screens.parts.form.form import fault_words, fields_component

CSS = (
    ".tissue-fields.own .cells { grid-template-columns: repeat(auto-fill, minmax(190px, 250px)); align-items: start; }"
)


class Cell(NamedTuple):
    """One field: name, heading, and either choices (id, word), limits with a step, or neither for a text."""

    name: str
    heading: str
    choices: tuple = ()
    limits: tuple = ()


def own_fields(key, cells, first, check):
    """Draw the fields; returns what stands in them, by name, and the Fault of each that is wrong.

    Args:
        key: their name in this session; what was typed is kept under it when the screen is left.
        cells: tuple of Cell.
        first: by name, what stands there at first.
        check: gives the Fault of a name and a text, or None.
    """
    own = st.session_state.setdefault(f"{key}_own", {"sequence": 0, "texts": dict(first)})
    faults = {name: fault for name, text in own["texts"].items() if (fault := check(name, text)) is not None}
    data = {
        "side": "own",
        "revision": 1,
        "sequence": own["sequence"],
        "texts": own["texts"],
        "placeholders": {},
        "spelling": "numbers",
        "faults": {name: fault_words(fault) for name, fault in faults.items()},
    }
    fields_component(key, _html(key, cells), CSS)(key=key, data=data, on_entry_change=lambda: _typed(key))
    return own["texts"], faults


def _typed(key):
    """A field was changed: take it over before anything is drawn."""
    entry, own = st.session_state[key].get("entry"), st.session_state[f"{key}_own"]
    if entry:
        own["sequence"], own["texts"] = entry["sequence"], entry["texts"]


@cache
def _html(key, cells):
    """The form of these fields."""
    inside = "".join(_cell(key, one) for one in cells)
    return f'<form class="tissue-fields own"><div class="cells">{inside}</div></form>'


def _cell(key, cell):
    """One field with its name and the place of its fault."""
    name, about = f"{key}-{cell.name}", f'name="{cell.name}" aria-describedby="{key}-fault-{cell.name}"'
    if cell.choices:
        options = "".join(f'<option value="{escape(id)}">{escape(word)}</option>' for id, word in cell.choices)
        control = f'<select id="{name}" {about}>{options}</select>'
    else:
        kind = (
            ' inputmode="decimal" data-low="{}" data-high="{}" data-step="{}"'.format(*cell.limits)
            if cell.limits
            else ""
        )
        control = f'<input type="text" id="{name}" autocomplete="off" spellcheck="false" {about}{kind}>'
    return (
        f'<div class="cell"><label for="{name}">{escape(cell.heading)}</label>{control}'
        f'<p class="fault" id="{key}-fault-{cell.name}" hidden></p></div>'
    )
