"""The fields of Alignment: places from the vertex, part of the plan, and the rotation, which is not."""

from functools import cache

import streamlit as st

from tissue.entry.checks import Fault
from tissue.entry.eye import used
from tissue.entry.fields import fields
from tissue.entry.notation import shown as as_read
from tissue.screens.desk import reading
from tissue.screens.desk.state import desk
from tissue.screens.html import start, tag
from tissue.screens.parts.form.form import cell, fault_words, fields_component

PLACES = ("centre_x_mm", "centre_y_mm", "pupil_x_mm", "pupil_y_mm", "thinnest_x_mm", "thinnest_y_mm")
TURN, MOST_DEG, FIRST_TURN = "turn_deg", 15.0, "5"
CSS = ".tissue-fields.places .cells { grid-template-columns: repeat(auto-fill, minmax(128px, 1fr)); }"
TURN_LIMITS = f"−{MOST_DEG:.0f} to {MOST_DEG:.0f}°"


def place_fields(on_desk, shown, wrong):
    """Draw the fields; returns the rotation that holds [degrees], and the Fault of the one typed or None.

    Args:
        on_desk: Desk.
        shown: Shown.
        wrong: by name, the Fault of a field.
    """
    own, texts = _own(), on_desk.texts.get(on_desk.side, {})
    turn, fault = read_turn(own["turn"])
    known = used(shown.inputs, shown.comparison)
    stale = {name: found for name, found in wrong.items() if name in PLACES} | ({TURN: fault} if fault else {})
    data = {
        "side": on_desk.side,
        "revision": on_desk.revision - own["moves"],
        "sequence": own["sequence"],
        "texts": {name: texts[name] for name in PLACES if name in texts} | {TURN: own["turn"]},
        "placeholders": {name: reading.placeholder(name, known) for name in PLACES if name not in texts},
        "spelling": "numbers",
        "faults": {name: fault_words(found) for name, found in stale.items()},
    }
    fields_component("places", _html(), CSS)(key="places", data=data, on_entry_change=_typed)
    if fault is None:
        own["valid"] = turn
    return own["valid"], fault


def read_turn(text):
    """The rotation [degrees] in a text and None, or NaN and its Fault.

    >>> read_turn("−7,5")[0], read_turn("20")[1].text
    (-7.5, 'turn_deg: read 20, accepted −15 to 15°')
    """
    plain = text.strip().replace("−", "-").replace("–", "-").replace(",", ".").removesuffix("°")
    try:
        turn = float(plain)
    except ValueError:
        turn = float("nan")
    if abs(turn) <= MOST_DEG:
        return turn + 0.0, None
    return float("nan"), Fault(TURN, as_read(text), TURN_LIMITS)


def _own():
    """What the fields of this screen remember: moves they made, their last sequence, the rotation as typed and read."""
    first = {"moves": 0, "sequence": 0, "turn": FIRST_TURN, "valid": float(FIRST_TURN)}
    return st.session_state.setdefault("places_own", first)


def _typed():
    """A field was changed: its place is taken into the plan before anything is drawn."""
    entry, on_desk, own = st.session_state["places"].get("entry"), desk(), _own()
    if not entry or entry["side"] != on_desk.side or entry["revision"] != on_desk.revision - own["moves"]:
        return
    own["sequence"], own["turn"] = entry["sequence"], entry["texts"][TURN]
    texts = {name: text for name, text in on_desk.texts.get(on_desk.side, {}).items() if name not in PLACES}
    texts |= {name: entry["texts"][name] for name in PLACES if entry["texts"][name].strip()}
    if texts != on_desk.texts.get(on_desk.side, {}):
        on_desk.replace(on_desk.side, texts)
        on_desk.revision += 1
        own["moves"] += 1


@cache
def _html():
    """The form of the sidebar with fewer fields."""
    cells = [_cell(name, fields()[name].heading, _limits(fields()[name])) for name in PLACES]
    cells.append(_cell(TURN, "Rotation, °, counter-clockwise", (-MOST_DEG, MOST_DEG, 1.0)))
    return tag("form", tag("div", *cells, class_="cells"), class_="tissue-fields places")


def _limits(field):
    return field.low, field.high, field.step or 0.1


def _cell(name, heading, limits):
    """One field with its name and the place of its fault."""
    id, fault = f"place-{name}", f"place-fault-{name}"
    low, high, step = limits
    about = {"type": "text", "inputmode": "decimal", "autocomplete": "off", "data_low": low, "data_high": high}
    control = start("input", id=id, name=name, aria_describedby=fault, **about, data_step=step)
    return cell(id, heading, control, fault)
