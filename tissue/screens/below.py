"""Under the table of Plan: notices, more figures, strength, what contradicts it, and what changes cost."""

from html import escape

import streamlit as st

from tissue.drawing import charts
from tissue.drawing.palette import SHORT_HEADS
from tissue.screens import words
from tissue.screens.chart import chart
from tissue.screens.costs import CHANGES, cost
from tissue.screens.table import table
from tissue.sources import data, source


def show(shown, on_desk, colours, narrow):
    """Draw everything under the table.

    Args:
        shown: Shown.
        on_desk: Desk.
        colours: Look.
        narrow: whether the narrow columns hold.
    """
    comparison, side = shown.comparison, on_desk.side
    st.html(notices(shown) + costs(comparison) + _part("More figures") + table(comparison, side, ("more",), narrow))
    depends = (shown, colours.name, narrow)
    name = f"{on_desk.code}-{side}"
    st.html(_part(words.relationship_head(comparison)))
    chart(
        "profiles",
        depends,
        lambda: (charts.strength_profiles(comparison, colours, narrow), charts.describe_profiles(comparison)),
        title="strength against depth",
        file=f"{name}-strength.svg",
    )
    st.html(_part("The same eye under every published relationship"))
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


def notices(shown):
    """The notices in words, and where the drawn line comes from."""
    lines = [notice.text for notice in shown.notices] + [words.line_note(shown.comparison)]
    return _part("Notices") + '<div class="notices">' + "".join(f"<p>{escape(line)}</p>" for line in lines) + "</div>"


def costs(comparison):
    """What small changes cost, a row a change, a column an option."""
    head = "".join(f'<th scope="col">{SHORT_HEADS[name]}</th>' for name in comparison.results)
    rows = ""
    for change in CHANGES:
        cells = "".join(f"<td>{escape(cost(comparison, r, change)) or '–'}</td>" for r in comparison.results.values())
        rows += f'<tr><th scope="row">{change.words}</th>{cells}</tr>'
    note = "PTA and strength in points of a percent."
    return (
        _part("What a change costs")
        + f'<table class="plain"><thead><tr><th scope="col">Change</th>{head}</tr></thead>{rows}</table>'
        + f'<div class="notes"><p>{note}</p></div>'
    )


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
