"""Under the sections of Plan: the table, notices, more figures, strength, what contradicts it, and what changes cost."""

from html import escape

import numpy as np
import streamlit as st

from tissue.drawing import charts
from tissue.drawing.palette import HEADS
from tissue.entry.fields import fields
from tissue.measures import number
from tissue.screens import words
from tissue.screens.chart import chart
from tissue.screens.piece import piece
from tissue.screens.table import heads, table
from tissue.sources import data, source


def show(shown, on_desk, colours, narrow):
    """Draw everything under the sections.

    Args:
        shown: Shown.
        on_desk: Desk.
        colours: Look.
        narrow: whether the narrow columns hold.
    """
    comparison, side = shown.comparison, on_desk.side
    kept = on_desk.kept.get(side)
    before = kept.comparison if kept is not None else None
    piece("figures", table(comparison, side, narrow=narrow, kept=before) + words.footnotes(shown))
    more = _part("More figures") + heads(narrow) + table(comparison, side, ("more",), narrow, before)
    strength = _part(words.relationship_head(comparison)) + heads(narrow)
    piece("more", notices(shown) + costs(shown) + more + strength)
    depends = (shown, colours.name, narrow)
    name = f"{on_desk.code}-{side}"
    chart(
        "profiles",
        depends,
        lambda: (charts.strength_profiles(comparison, colours, narrow), charts.describe_profiles(comparison)),
        title="strength against depth",
        file=f"{name}-strength.svg",
    )
    note = f'<div class="notes"><p>{escape(words.relationship_note(comparison))}</p></div>'
    piece("relationship", note + _part("The same eye under every published relationship"))
    chart(
        "dots",
        depends,
        lambda: (charts.dot_plot(comparison, colours, narrow), charts.describe_dots(comparison)),
        title="strength under every relationship",
        file=f"{name}-relationships.svg",
    )
    st.html(contradictions())


def _part(title):
    return f'<h2 class="part">{escape(title)}</h2>'


def notices(shown, side=""):
    """The notices in words, and where the drawn line comes from.

    Args:
        shown: Shown.
        side: OD or OS, where both eyes stand on the page.
    """
    lines = [notice.text for notice in shown.notices] + [words.line_note(shown.comparison)]
    return (
        _part(f"Notices {side}".strip())
        + '<div class="notices">'
        + "".join(f"<p>{escape(line)}</p>" for line in lines)
        + "</div>"
    )


COST_FIGURES = (("bed_central_um", "bed", " µm"), ("altered_percent", "PTA", ""), ("strength_percent", "strength", ""))


def costs(shown):
    """What a step of zone, cap and flap costs, a row a step, a column an option."""
    names = shown.comparison.results
    head = "".join(f'<th scope="col">{HEADS[name]}</th>' for name in names)
    rows = ""
    for name, (step, changes, why) in shown.costs.items():
        field = fields()[name]
        label = field.label.split(",")[0]
        words = f"{_signed(step)} {field.unit} of {label[0].lower()}{label[1:]}"
        cells = "".join(f"<td>{escape(why) or _cost(changes[option])}</td>" for option in names)
        rows += f'<tr><th scope="row">{words}</th>{cells}</tr>'
    table_ = (
        f'<table class="plain"><thead><tr><th scope="col">Change</th>{head}</tr></thead><tbody>{rows}</tbody></table>'
    )
    note = "Bed at the centre; PTA and strength in points of a percent. A step of a planned cut changes nothing where a measured one is given."
    return _part("What a change costs") + table_ + f'<div class="notes"><p>{note}</p></div>'


def _cost(change):
    """The differences of one option in words; an en dash where nothing changes."""
    known = [(word, change[name], unit) for name, word, unit in COST_FIGURES if not np.isnan(change[name])]
    if all(abs(value) < 0.05 for _, value, _ in known):
        return "–"
    return ", ".join(f"{word} {_signed(value)}{unit}" for word, value, unit in known)


def _signed(value):
    text = number(value, 1).removesuffix(".0")
    return text if text.startswith("−") or text == "0" else f"+{text}"


def contradictions():
    """What contradicts the strength model, and what it does not say."""
    found = data("contradictions")
    rows = "".join(
        f'<tr><td>{escape(one["text"])}</td><td class="quiet">{"<br>".join(escape(source(key).citation) for key in one["sources"])}</td></tr>'
        for one in found["finding"]
    )
    limits = "".join(f"<p>{escape(one['text'])}</p>" for one in found["limit"])
    return (
        _part("What contradicts these strength figures")
        + f'<table class="plain"><thead><tr><th scope="col">Finding</th><th scope="col">Source</th></tr></thead>{rows}</table>'
        + f'<div class="prose" style="margin-top:10px">{limits}</div>'
    )
