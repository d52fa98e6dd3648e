"""The fields of Alignment: places from the vertex, which belong to the plan, and the rotation, which does not."""

from functools import cache
from typing import Any

from markupsafe import Markup

from tissue.entry.checks import Fault
from tissue.entry.eye import used
from tissue.entry.fields import Field, fields
from tissue.entry.notation import shown as as_read
from tissue.screens.desk import reading
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import day
from tissue.screens.html import start, tag
from tissue.screens.parts.form.form import cell, fields_component, fields_data

PLACES = ("centre_x_mm", "centre_y_mm", "pupil_x_mm", "pupil_y_mm", "thinnest_x_mm", "thinnest_y_mm")
FORM = "places"
TURN, MOST_DEG, FIRST_TURN = "turn_deg", 15.0, "5"
CSS = ".tissue-fields.places .cells { grid-template-columns: repeat(auto-fill, minmax(128px, 1fr)); }"
TURN_LIMITS = f"−{MOST_DEG:.0f} to {MOST_DEG:.0f}°"


def place_fields(on_desk: Desk, shown: Shown, wrong: dict[str, Fault]) -> Any:
    """Draw the fields; returns the rotation that holds [degrees], and the Fault of the one typed or None.

    Args:
        on_desk: Desk.
        shown: Shown.
        wrong: by name, the Fault of a field.
    """
    own, texts = on_desk.own.setdefault(FORM, {}), on_desk.texts.get(on_desk.side, {})
    typed = own.get(TURN, FIRST_TURN)
    turn, fault = read_turn(typed)
    known = used(shown.inputs, shown.comparison)
    stale = {name: found for name, found in wrong.items() if name in PLACES} | ({TURN: fault} if fault else {})
    standing = {name: texts[name] for name in PLACES if name in texts} | {TURN: typed}
    others = {name: reading.placeholder(name, known) for name in PLACES if name not in texts}
    data = fields_data(on_desk.id, on_desk.side, day(), standing, others, stale)
    fields_component(FORM, _html(), CSS)(key=FORM, data=data)
    if fault is None:
        own["valid"] = turn
    return own.get("valid", float(FIRST_TURN)), fault


def read_turn(text: str) -> tuple[float, Fault | None]:
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


@cache
def _html() -> Markup:
    """The form of the sidebar with fewer fields."""
    cells = [_cell(name, fields()[name].heading, _limits(fields()[name])) for name in PLACES]
    cells.append(_cell(TURN, "Rotation, °, counter-clockwise", (-MOST_DEG, MOST_DEG, 1.0)))
    return tag("form", tag("div", *cells, class_="cells"), class_="tissue-fields places", data_form=FORM)


def _limits(field: Field) -> tuple[float, float, float]:
    return field.low, field.high, field.step or 0.1


def _cell(name: str, heading: str, limits: tuple[float, float, float]) -> Markup:
    """One field with its name and the place of its fault."""
    id, fault = f"place-{name}", f"place-fault-{name}"
    low, high, step = limits
    about = {"type": "text", "inputmode": "decimal", "autocomplete": "off", "data_low": low, "data_high": high}
    control = start("input", id=id, name=name, aria_describedby=fault, **about, data_step=step)
    return cell(id, heading, control, fault)
