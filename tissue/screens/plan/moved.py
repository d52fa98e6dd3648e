"""The strip under a picture: how the main figures changed from the beginning of a drag until now."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from tissue.budget.comparison import Comparison
from tissue.drawing.base.palette import HEADS
from tissue.entry.fields import fields
from tissue.ground.vocabulary import NO_FIGURE, TRUE_MINUS
from tissue.report.measures import Measure, measures, value_of
from tissue.screens.desk import reading
from tissue.screens.desk.reading import Shown
from tissue.screens.html import NOTHING, hidden_heads, scrolled, tag
from tissue.screens.tables.options import colgroup, middles, value_cell

if TYPE_CHECKING:
    from tissue.screens.desk.moves import Move
    from tissue.screens.desk.plan import Desk

HINT = (
    "While a handle is moved: arrow keys go on, Esc takes the move back, K keeps the plan as it was. Afterwards: the "
    "buttons here, or Ctrl+Z outside the fields."
)


def moved_part(on_desk: Desk, shown: Shown, narrow: bool, named: Markup = NOTHING) -> Markup:
    """The strip of the current drag, or nothing.

    Args:
        on_desk: Desk.
        shown: Shown of the eye in the picture.
        narrow: whether the narrow columns hold.
        named: heads of the columns, where no picture has them.
    """
    move = on_desk.moves.now
    if move is None or move.shown is None or move.side != shown.inputs.side:
        return NOTHING
    rows = [_row(one, move.shown.comparison, shown.comparison) for one in measures().values() if one.key]
    inside = colgroup(narrow), hidden_heads("Measure", HEADS.values()), tag("tbody", *rows)
    table = tag("table", *inside, class_="figures", style=middles(narrow))
    return tag("section", _head(on_desk, move, shown), scrolled(named, table), class_="moved", aria_label="What moved")


def _head(on_desk: Desk, move: Move, shown: Shown) -> Markup:
    """Which field moved from where to where, with the buttons for it."""
    said = _paths(move, shown)
    kept = on_desk.kept.get(move.side) is move.shown
    named = {"type": "button", "data_plan": on_desk.id, "data_drag": move.id}
    keep = NOTHING if kept else tag("button", "keep the plan as it was", data_change="keep_start", **named)
    back = tag("button", "take the move back", data_change="undo", **named)
    return tag("p", tag("b", said), back, keep, tag("span", HINT))


def _paths(move: Move, shown: Shown) -> str:
    """Each moved field with its value before and now; words that two labels share are said once."""
    said, before = "", ""
    for name in move.before:
        stem, _, rest = fields()[name].label.partition(", ")
        label = f", {rest}" if said and stem == before else f"; {stem}, {rest}" if said else f"{stem}, {rest}"
        said += f"{label.removesuffix(', ')} {_used(name, move.shown)} → {_used(name, shown)} {fields()[name].unit}"
        before = stem
    return said


def _used(name: str, shown: Shown) -> str:
    """The value that is used, even where the field itself is empty."""
    value = shown.inputs.values.get(name, fields()[name].default)
    return reading.number_text(name, value).translate(TRUE_MINUS)


def _row(measure: Measure, before: Comparison, now: Comparison) -> Markup:
    """A figure of every option: its value now, from where, and the change."""
    cells = []
    for name, result in now.results.items():
        was, is_ = value_of(measure, before.results[name], before.judgement), value_of(measure, result, now.judgement)
        cells.append(value_cell(is_, "", change_words(was, is_, measure.decimals)))
    head = tag("th", measure.heading(now.judgement), " ", tag("span", measure.unit, class_="unit"), scope="row")
    return tag("tr", head, *cells, class_="important")


def change_words(was: str, now: str, decimals: int) -> str:
    """The earlier figure and the change, worked out from the two figures as they are written.

    >>> change_words("314", "297", 0), change_words("48.4", "48.4", 1), change_words("–", "297", 0)
    ('from 314, −17', 'as before', 'from –')
    """
    if was == now:
        return "as before"
    if NO_FIGURE in (was, now):
        return f"from {was}"
    size = float(now.replace("−", "-")) - float(was.replace("−", "-"))
    return f"from {was}, {f'{size:+.{decimals}f}'.translate(TRUE_MINUS)}"
