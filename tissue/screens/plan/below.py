"""What stands below the sections of Plan: table, notices, costs, more figures, strength and what contradicts it."""

from typing import Any

import numpy as np
import streamlit as st
from markupsafe import Markup

from tissue.budget.comparison import Comparison
from tissue.budget.notices import Notice, notices
from tissue.drawing.base.palette import HEADS, Look
from tissue.drawing.base.words import SIDES
from tissue.drawing.charts.strength import describe_dots, describe_profiles, dot_plot, strength_profiles
from tissue.entry.fields import fields
from tissue.report.measures import rounded
from tissue.screens.desk.drawn import strength_intervals
from tissue.screens.desk.plan import OTHER, Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.evidence.figures import contradictions_part
from tissue.screens.html import NOTHING, joined, notes, notice_list, part, plain_table, put
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan import words
from tissue.screens.plan.views import FLAT, drawn_view
from tissue.screens.tables.optics import optics_table
from tissue.screens.tables.options import heads, table
from tissue.screens.tables.own_map import map_table
from tissue.screens.tables.tradeoffs import measured, thin


def _figures(shown: Shown, on_desk: Desk, narrow: bool) -> None:
    """The table under the sections, with its footnotes."""
    named = heads(narrow) if drawn_view(on_desk.view) != FLAT else NOTHING
    kept, drawn = _kept(on_desk), shown.drawn_yet
    columns = table(shown.comparison, on_desk.side, narrow=narrow, kept=kept, drawn=drawn, above=named)
    piece("figures", columns + words.footnotes(shown, on_desk.side in on_desk.kept))


def _kept(on_desk: Desk) -> Comparison | None:
    """The Comparison of the kept plan of this eye, or None."""
    kept = on_desk.kept.get(on_desk.side)
    return kept.comparison if kept is not None else None


def show(shown: Shown, on_desk: Desk, colours: Look, narrow: bool) -> None:
    """Draw everything below the sections; what takes longest is worked out last.

    Args:
        shown: Shown.
        on_desk: Desk.
        colours: Look.
        narrow: whether the narrow columns hold.
    """
    comparison = shown.comparison
    _figures(shown, on_desk, narrow)
    piece("notices", notices_part(shown, fellow=_fellow(shown, on_desk)) + thin(shown) + map_table(shown))
    cost_place = st.container(key="costs")
    more = table(
        comparison, on_desk.side, ("more",), narrow, kept=_kept(on_desk), drawn=shown.drawn_yet, above=heads(narrow)
    )
    strength = part(words.relationship_head(comparison)) + heads(narrow)
    optics = optics_table(shown, narrow, on_desk.kept.get(on_desk.side))
    piece("more", part("More figures") + more + optics + strength)
    _strength_charts(shown, f"{on_desk.code}-{on_desk.side}", colours, narrow)
    put(contradictions_part())
    with cost_place:
        piece("costs", costs(shown) + measured(shown))


def _strength_charts(shown: Shown, name: str, colours: Look, narrow: bool) -> None:
    """Strength against depth, and the same eye under every relationship."""
    comparison, drawn = shown.comparison, strength_intervals(shown.comparison, shown.drawn_yet)
    depends = (shown, colours.name, narrow, drawn is None)
    chosen = None if drawn is None else drawn[comparison.judgement.relationship]
    chart(
        "profiles",
        depends,
        Picture(
            lambda: strength_profiles(comparison, colours, narrow, chosen),
            lambda: describe_profiles(comparison, chosen),
            "strength against depth",
            file=f"{name}-strength.svg",
        ),
    )
    said = notes(words.relationship_note(comparison))
    piece("relationship", said + part("The same eye by every published strength curve"))
    chart(
        "dots",
        depends,
        Picture(
            lambda: dot_plot(comparison, colours, narrow, drawn),
            lambda: describe_dots(comparison, drawn),
            "strength under every relationship",
            file=f"{name}-relationships.svg",
        ),
    )


def _fellow(shown: Shown, on_desk: Desk) -> Shown | None:
    """The Shown of the other eye, needed only where a treated refraction was given: it may belong to that eye."""
    other = OTHER[shown.inputs.side]
    return on_desk.figures(other)[0] if "treated_sphere_D" in shown.inputs.values and on_desk.texts.get(other) else None


def notices_part(*eyes: Shown, fellow: Any = None) -> Markup:
    """The notices in words, and the source of the drawn line; what holds for both eyes is said once.

    Args:
        eyes: Shown of one eye, or of both.
        fellow: Shown of the other eye where one is on the screen and the other may explain a slip.
    """
    others = {one.inputs.side: next((other for other in eyes if other is not one), fellow) for one in eyes}
    said = {
        one.inputs.side: [n.text for n in _notices_of(one, others[one.inputs.side])] + [words.line_note(one.comparison)]
        for one in eyes
    }
    if len(said) == 1:
        return notice_list("Notices", *said.values())
    right, left = said.values()
    common = [line for line in right if line in left]
    own = {side: [line for line in lines if line not in common] for side, lines in said.items()}
    parts = {"Notices, both eyes": common} | {f"Notices, {SIDES[side]}": lines for side, lines in own.items()}
    return joined(*(notice_list(title, lines) for title, lines in parts.items() if lines))


def _notices_of(one: Shown, fellow: Shown | None) -> list[Notice]:
    """The notices of one eye; compared with the other eye where a treated refraction was given."""
    if fellow is None or "treated_sphere_D" not in one.inputs.values:
        return one.notices
    return notices(one.comparison, fellow.comparison)


COST_FIGURES: tuple[tuple[str, str, str], ...] = (
    ("bed_central_um", "bed", " µm"),
    ("altered_percent", "PTA", ""),
    ("strength_percent", "strength", ""),
)
LEAST, SEEN = ("bed_min_um", "least bed", " µm"), 0.05
COST_NOTE = (
    "Bed at the centre, and the least bed where it changes by another amount; PTA and strength in points of a percent. "
    "A step of a planned cut changes nothing where a measured one is given."
)


def costs(shown: Shown) -> Markup:
    """What a step of zone, cap and flap costs: one row for each step, one column for each option."""
    options, rows = list(shown.comparison.results), []
    for name, (step, changes, why) in shown.costs.items():
        field = fields()[name]
        label = field.label.split(",")[0]
        step_words = f"{_signed(step).removesuffix('.0')} {field.unit} of {label[0].lower()}{label[1:]}"
        rows.append([step_words, *(why or _cost(changes[option]) for option in options)])
    heads_ = ["Change", *(HEADS[option] for option in options)]
    title = "What a change costs"
    return part(title) + plain_table(heads_, rows, title) + notes(COST_NOTE)


def _cost(change: dict[str, float]) -> str:
    """The differences of one option in words; an en dash where nothing changes."""
    named = COST_FIGURES
    if abs(change[LEAST[0]] - change["bed_central_um"]) >= SEEN:
        named = (*named[:1], LEAST, *named[1:])
    known = [(word, change[name], unit) for name, word, unit in named if not np.isnan(change[name])]
    if all(abs(value) < SEEN for _, value, _ in known):
        return "–"
    return ", ".join(f"{word} {_signed(value)}{unit}" for word, value, unit in known)


def _signed(value: float) -> str:
    text = rounded(value, 1)
    return text if text.startswith("−") or text == "0.0" else f"+{text}"
