"""The study of a series on the screen: agreement, comparison and bundle, by the same functions as the command."""

from pathlib import Path
from typing import Any

import numpy as np
import streamlit as st

from tissue.drawing.base.palette import Look
from tissue.drawing.charts.study import agreement_chart, comparison_chart, describe_agreement, describe_comparison
from tissue.entry.file_name import file_name
from tissue.paper.study_figures import drawn_row, study_prints
from tissue.report.measures import rounded
from tissue.screens import frame
from tissue.screens.desk.link import ZIP, hand
from tissue.screens.desk.press import pressed
from tissue.screens.html import notes, part, plain_table, put, strip
from tissue.screens.kept import place
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.series.finished import Series
from tissue.series.statistics import FEWEST
from tissue.series.study.agreement import Agreement
from tissue.series.study.bundle import Made, zipped
from tissue.series.study.comparison import Difference
from tissue.series.study.dictionary import titled
from tissue.series.study.question import Pair, Question, numbers, read_condition
from tissue.series.study.results import agreement_rows, analysed, asked_cohort, comparison_rows
from tissue.series.study.study import bundle_answers
from tissue.series.working import Summary
from tissue.series.wrong import TableError

FIGURES = (
    ("Bias, measured − planned", "bias", True),
    ("Lower limit of agreement", "limit_lower", True),
    ("Upper limit of agreement", "limit_upper", True),
    ("SD between patients", "sd_between_patients", False),
    ("SD within a patient", "sd_within_patients", False),
    ("Slope on the mean", "slope", True),
    ("ICC, absolute agreement", "icc", True),
    ("CCC", "ccc", False),
)
FINE = ("slope", "icc", "ccc")
SMALLEST_P = 0.001


def show(series: Series, found: dict[str, Any], by: str | None, names: list[str]) -> None:
    """Draw the study of a series.

    Args:
        series: Series.
        found: what a run gave, with its columns and outcomes.
        by: the column that makes the groups, None where there is none.
        names: names of the columns that hold numbers.
    """
    put(part("A study of this series"))
    try:
        question = _asked(series, found, by, names)
        _agreement(series, question, found["key"])
        _comparison(series, question, found["key"])
        _bundle(series, question, found)
    except TableError as error:
        put(strip(*error.lines))


def _asked(series: Series, found: dict[str, Any], by: str | None, names: list[str]) -> Question:
    """The Question in the fields."""
    given = [column.name for column in found["columns"]]
    numbered = [*found["outcomes"], *names]
    measured = [name for name in numbered if name in given or name in found["outcomes"]]
    left, right = st.columns(2)
    planned = left.selectbox(
        "Planned", numbered, index=place("series_planned", numbered, None), key="series_planned", placeholder="a column"
    )
    second = right.selectbox(
        "Measured",
        measured,
        index=place("series_measured", measured, None),
        key="series_measured",
        placeholder="a column of the table",
    )
    compared = st.multiselect("Compared between the groups", numbered, key="series_compared", disabled=by is None)
    left, right = st.columns(2)
    other = left.selectbox(
        "At the same",
        numbered,
        index=place("series_adjusted", numbered, None),
        key="series_adjusted",
        placeholder="nothing else",
    )
    where = right.text_input("Only rows where", key="series_where", placeholder="age >= 21")
    return Question(
        by,
        (read_condition(where),) if where.strip() else (),
        (Pair(planned, second),) if planned and second else (),
        tuple(compared) if by is not None else (),
        other if compared else None,
        found["outcomes"],
    )


def _agreement(series: Series, question: Question, key: tuple[Any, ...]) -> None:
    """Agreement of a measured column with a planned one, with one column for each group, and its chart."""
    if not question.pairs:
        return
    pair, rows = question.pairs[0], agreement_rows(series, question)
    groups = [(row[1], Agreement(*row[2:])) for row in rows]
    lines = [
        ("Eyes, patients", *(f"{one.eyes}, {one.patients}" for _, one in groups)),
        ("Without both values", *(str(one.missing) for _, one in groups)),
        *((words, *(_figure(one, name, interval) for _, one in groups)) for words, name, interval in FIGURES),
    ]
    put(part(f"Agreement of {titled(pair.measured)} with {titled(pair.planned)}"))
    put(plain_table(("", *(name for name, _ in groups)), lines, "Agreement", numbers=range(1, len(groups) + 1)))
    put(
        notes(
            "Limits: 95 % of differences. In brackets 95 % intervals, none under "
            f"{FEWEST} patients. Eyes of a patient are not counted as strangers: a random intercept by patient, "
            "restricted maximum likelihood."
        )
    )
    colours, eyes = frame.theme(), asked_cohort(series, question)
    planned, measured = (numbers(series, question, name, "agreement")[eyes.rows] for name in pair)
    titles = tuple(map(titled, pair))
    picture = Picture(
        lambda: agreement_chart(planned, measured, groups[-1][1], colours, titles),
        lambda: describe_agreement(groups[-1][1], titles),
        "agreement",
        file="series-agreement",
        tall=True,
    )
    chart("series_agreement", (key, question, colours.name), picture)


def _figure(found: Agreement, name: str, interval: bool) -> str:
    """A figure with its interval."""
    places = 3 if name in FINE else 2
    value = rounded(getattr(found, name), places)
    if not interval or not np.isfinite(getattr(found, f"{name}_low")):
        return value
    low, high = (rounded(getattr(found, f"{name}_{end}"), places) for end in ("low", "high"))
    return f"{value} ({low} to {high})"


def _comparison(series: Series, question: Question, key: tuple[Any, ...]) -> None:
    """Mean differences between the groups, by which test, and a chart for each column."""
    if not question.compared:
        return
    rows = comparison_rows(series, question)
    put(part("Differences between the groups"))
    heads = ("Column", "Second less first", "Eyes", "Patients", "Difference (95 %)", "P", "g", "Test, or why none")
    put(plain_table(heads, [_line(row) for row in rows], "Comparison", numbers=(2, 3, 4, 5, 6)))
    colours = frame.theme()
    for column in question.compared:
        mine = [drawn_row(row) for row in rows if row[0] == column]
        _differences(mine, column, colours, (key, question, colours.name))


def _differences(mine: list[tuple[str, Difference]], column: str, colours: Look, depends: tuple[Any, ...]) -> None:
    """The chart of one column."""
    picture = Picture(
        lambda: comparison_chart(mine, colours, titled(column)),
        lambda: describe_comparison(mine, titled(column)),
        f"comparison of {titled(column)}",
        file="series-comparison",
        tall=True,
    )
    chart(f"series_comparison_{column}", depends, picture)


def _line(row: tuple[Any, ...]) -> tuple[str, ...]:
    """A row of the comparison in words."""
    column, first, second, *_ = row
    found = drawn_row(row)[1]
    difference = rounded(found.difference, 2)
    if np.isfinite(found.low):
        difference += f" ({rounded(found.low, 2)} to {rounded(found.high, 2)})"
    p = rounded(found.p, 3) if not found.p < SMALLEST_P else f"< {SMALLEST_P}"
    counts = f"{found.eyes_b}, {found.eyes_a}", str(found.patients)
    return titled(column), f"{second} less {first}", *counts, difference, p, rounded(found.effect_size, 2), found.method


def _bundle(series: Series, question: Question, found: dict[str, Any]) -> None:
    """Everything a paper needs as one file, made on request."""
    put(notes("The bundle: table, groups, agreement, comparison, figures for print, dictionary, methods, manifest."))
    stem, ending = Path(found["name"]).stem, Path(found["name"]).suffix or ".csv"
    key = (found["key"], question)
    if pressed("series_bundle", "Make the bundle"):
        with st.spinner("Making the bundle …"):
            counts = Summary(found["rows"], found["refused"])
            columns = found["columns"]
            made = Made(
                found["name"],
                found["sha256"],
                ending,
                columns,
                list(series.texts)[len(columns) :],
                question,
                counts,
                analysed(series, question),
                found["optics"],
                found["plus"],
                bool(found["mapping"]),
            )
            data = zipped(made, found["bytes"], bundle_answers(series, question), study_prints(series, question))
            st.session_state["series_bundle_made"] = (key, data)
    kept = st.session_state.get("series_bundle_made")
    if kept and kept[0] == key:
        name = file_name(f"{stem}-bundle", ".zip")
        hand("series_bundle_save", "Save the bundle", lambda _: (name, ZIP, kept[1]), of_screen=True)
