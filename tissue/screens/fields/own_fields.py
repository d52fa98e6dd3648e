"""Fields that stand on a screen of their own: drawn as those of the sidebar, a fault told beside each."""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, NamedTuple

from markupsafe import Markup

from tissue.entry.checks import Fault
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.state import day
from tissue.screens.html import start, tag
from tissue.screens.parts.form.form import cell as form_cell
from tissue.screens.parts.form.form import fields_component, fields_data

CSS = (
    ".tissue-fields.own .cells { grid-template-columns: repeat(auto-fill, minmax(190px, 250px)); align-items: start; } "
    ".tissue-fields.own[data-enter] .cells { grid-template-columns: repeat(auto-fill, minmax(170px, 1fr)); }"
)


class Cell(NamedTuple):
    """One field: name, heading, and either choices (id, word), limits with a step, or neither for a text; help."""

    name: str
    heading: str
    choices: tuple[Any, ...] = ()
    limits: tuple[Any, ...] = ()
    help: str | None = None


def own_fields(
    key: str, cells: tuple[Cell, ...], first: dict[str, str], check: Callable[[str, str], Any]
) -> tuple[dict[str, str], dict[str, str]]:
    """Draw fields that are no patient's; returns what stands in them, by name, and the Fault of each that is wrong.

    Args:
        key: their name on this page; what was typed is kept under it when the screen is left.
        cells: tuple of Cell.
        first: by name, what stands there at first.
        check: gives the Fault of a name and a text, or None.
    """
    own = day()
    texts = first | own.own.get(key, {})
    faults = {name: fault for name, text in texts.items() if (fault := check(name, text)) is not None}
    data = fields_data("", "own", own, texts, {}, faults)
    fields_component(key, _html(key, cells), CSS)(key=key, data=data)
    return texts, faults


def plan_fields(key: Any, cells: Sequence[Cell], on_desk: Desk, wrong: dict[str, Fault]) -> None:
    """Draw fields of the plan that stand on a screen of their own.

    Args:
        key: their name on the screen. cells: tuple of Cell, named as the plan names them.
        on_desk: Desk. wrong: by name, the Fault of a field.
    """
    texts, names = on_desk.texts.get(on_desk.side, {}), [cell.name for cell in cells]
    texts = {name: texts[name] for name in names if name in texts}
    faults = {name: fault for name, fault in wrong.items() if name in names}
    data = fields_data(on_desk.id, on_desk.side, day(), texts, {}, faults)
    fields_component(key, _html(key, cells), CSS)(key=key, data=data)


def draft_fields(
    key: str, cells: tuple[Cell, ...], on_desk: Desk, texts: dict[str, str], wrong: dict[str, Fault], enter: str
) -> None:
    """Draw fields of a patient that are no part of the plan yet: what is typed is kept with the plan, under the key.

    Args:
        key: their name. cells: tuple of Cell; none is named as a field of the plan. on_desk: Desk.
        texts: by name, what stands there. wrong: by name, the Fault of a field.
        enter: what Enter in one of them asks for, an act of the desk.
    """
    data = fields_data(on_desk.id, on_desk.side, day(), texts, {}, wrong)
    fields_component(key, _html(key, cells, enter), CSS)(key=key, data=data)


@cache
def _html(key: str, cells: tuple[Cell, ...], enter: str | None = None) -> Markup:
    """The form of these fields."""
    inside = tag("div", *(_cell(key, one) for one in cells), class_="cells")
    return tag("form", inside, class_="tissue-fields own", data_form=key, data_enter=enter)


def _cell(key: str, cell: Cell) -> Markup:
    """One field with its name and the place of its fault."""
    id, fault = f"{key}-{cell.name}", f"{key}-fault-{cell.name}"
    about = {"id": id, "name": cell.name, "aria_describedby": fault, "title": cell.help}
    if cell.choices:
        control = tag("select", *(tag("option", word, value=value) for value, word in cell.choices), **about)
    else:
        names = ("data_low", "data_high", "data_step")
        limits = {"inputmode": "decimal", **dict(zip(names, cell.limits, strict=True))} if cell.limits else {}
        control = start("input", type="text", autocomplete="off", spellcheck="false", **about, **limits)
    return form_cell(id, cell.heading, control, fault)
