"""The lines of Trade-offs: one input for all options with the spread, and which error matters."""

import streamlit as st

from tissue.budget.spread import CLOSED
from tissue.drawing.charts import sweeps
from tissue.errors import EyeError
from tissue.explore.tradeoffs import sweep
from tissue.report.measures import FLAP_SHARES, NOT_STUDIED
from tissue.screens.desk.drawn import HOW_MANY
from tissue.screens.html import notes, part, strip
from tissue.screens.kept import kept
from tissue.screens.parts.chart.chart import chart
from tissue.screens.tradeoffs.map import figure_name

POINTS = 21
SHARES_NOTE = (
    "A share is of the variance, the square of the spread. Of the bed it is exact. Of the strength it is what an error "
    f"explains by itself, the mean in bins of equal count ({HOW_MANY}); the rest only errors together explain."
)


def lines(on_desk, shown, colours, measure, field, columns, stands_for):
    """All options over one input, spread as bands.

    Args:
        on_desk: Desk; shown: Shown; colours: Look; measure: Measure; field: name of the input.
        columns: how many charts stand side by side; stands_for: name of the input.
    """
    name = figure_name(measure, shown.comparison)
    try:
        made = kept("to_sweep", (shown, name, field), lambda: sweep(shown.inputs.values, name, field, number=POINTS))
    except EyeError as error:
        st.html(strip(f"No lines: {error}"))
        return
    chart(
        "to_lines",
        (shown, measure.label, field, colours.name, stands_for),
        lambda: (sweeps.sweep_lines(made, colours, measure), sweeps.describe_sweep(made, measure)),
        "all options over one input",
        file=f"{on_desk.code}-{on_desk.side}-lines.svg",
        columns=columns,
        tall=True,
        stands_for=stands_for,
    )
    banded = any(line.low.size and (line.low == line.low).any() for line in made.lines.values())
    how = (
        "The bands are exact."
        if name in CLOSED
        else f"The bands come from {HOW_MANY}, at each of {made.x.size} places."
    )
    st.html(
        notes(
            how if banded else "No spread is worked out for this figure.",
            NOT_STUDIED if measure.id in FLAP_SHARES else "",
        )
    )


def errors(on_desk, shown, colours, stands_for):
    """Which error matters: exact for the bed, from draws for the strength."""
    st.html(part("Which error matters"))
    chart(
        "to_errors",
        (shown, colours.name, stands_for),
        lambda: (sweeps.variance_bars(shown.drawn.shares, colours), sweeps.describe_variance(shown.drawn.shares)),
        "which error matters",
        file=f"{on_desk.code}-{on_desk.side}-errors.svg",
        tall=True,
        stands_for=stands_for,
    )
    st.html(notes(SHARES_NOTE))
