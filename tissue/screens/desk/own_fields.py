"""Fields that belong to a screen and not to the plan: drawn as those of the sidebar, a fault told beside each."""

from functools import cache
from typing import NamedTuple

import streamlit as st

from tissue.screens.html import start, tag
from tissue.screens.parts.form.form import cell as form_cell
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
    inside = tag("div", *(_cell(key, one) for one in cells), class_="cells")
    return tag("form", inside, class_="tissue-fields own")


def _cell(key, cell):
    """One field with its name and the place of its fault."""
    id, fault = f"{key}-{cell.name}", f"{key}-fault-{cell.name}"
    about = {"id": id, "name": cell.name, "aria_describedby": fault}
    if cell.choices:
        control = tag("select", *(tag("option", word, value=value) for value, word in cell.choices), **about)
    else:
        names = ("data_low", "data_high", "data_step")
        limits = {"inputmode": "decimal", **dict(zip(names, cell.limits, strict=True))} if cell.limits else {}
        control = start("input", type="text", autocomplete="off", spellcheck="false", **about, **limits)
    return form_cell(id, cell.heading, control, fault)
