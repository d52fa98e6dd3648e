"""The results of a series: refused rows, distributions, one figure against another, groups, downloads."""

from pathlib import Path
from typing import Any

import numpy as np
import streamlit as st

from tissue.drawing.base.palette import Look
from tissue.drawing.charts.distributions import describe_distributions, histogram, scatter
from tissue.entry.file_name import file_name
from tissue.ground.vocabulary import Array
from tissue.removal.options import Every
from tissue.report.measures import NOT_STUDIED, rounded
from tissue.screens import frame
from tissue.screens.desk.link import CSV, File, hand
from tissue.screens.desk.plan import Desk
from tissue.screens.html import notes, part, plain_table, put
from tissue.screens.kept import place
from tissue.screens.parts.chart.chart import Picture, chart
from tissue.screens.tables import series_study
from tissue.series.finished import Series, series_of
from tissue.series.names import decimals, figure_names
from tissue.series.report import summary_bytes, summary_rows
from tissue.series.run import is_parquet
from tissue.series.statistics import FEWEST
from tissue.series.study.dictionary import titled
from tissue.series.study.outcomes import WORDS as OUTCOMES
from tissue.series.study.question import Question

OPTIONS = Every(lambda traits: traits.name)
MOST_REFUSED = 200
WORDS = {
    "bed_central_um": "Residual bed (RSB), centre, µm",
    "bed_min_um": "Residual bed, least, µm",
    "removal_central_um": "Removed, centre, µm",
    "altered_percent": "Tissue altered, PTA, % (†)",
    "strength_reinstein2013_percent": "Relative strength, 2013 model, %",
    "removal_volume_mm3": "Volume removed, mm³",
    "bed_below_line_percent": "Chance of a bed under the line, %",
    "zone_cost_um": "0.1 mm of zone costs, µm",
}


def show(found: dict[str, Any]) -> None:
    """Draw the results of a run.

    Args:
        found: key, name, bytes, rows, refused, seconds, end (what is said of the last line).
    """
    series = _series(found["name"], found["bytes"], found["key"], found["mapping"])
    rate = found["rows"] / max(found["seconds"], 1e-9)
    said = f"{found['rows']} rows, {found['refused']} refused; {found['seconds']:.1f} s, {rate:,.0f} rows per second."
    put(part("What came out") + notes(said + (f" The table has {found['end']}." if found["end"] else "")))
    _downloads(found)
    _refused(series)
    first, second = st.columns(2, gap="small")
    measure = first.selectbox("Figure", list(WORDS), format_func=WORDS.__getitem__, key="series_measure")
    names = _numeric(series)
    start = names.index("sphere_D") if "sphere_D" in names else 0
    against = second.selectbox("Against", names, index=start, key="series_against") if names else None
    columns = {name: _column(series, f"{name}_{measure}") for name in OPTIONS}
    colours = frame.theme()
    key = (found["key"], measure, colours.name)
    left, right = st.columns(2, gap="small")
    with left:
        chart(
            "series_distribution",
            key,
            Picture(
                lambda: histogram(columns, colours, WORDS[measure], series.how_many_patients),
                lambda: describe_distributions(columns, WORDS[measure]),
                "distribution",
                file="series-distribution",
                tall=True,
            ),
            columns=2,
        )
    with right:
        if against:
            _against(series, columns, measure, against, key, colours)
    by = _groups(series, measure, found["outcomes"])
    series_study.show(series, found, by, _numeric(series))
    put(notes(NOT_STUDIED))


def _series(name: str, data: bytes, key: tuple[Any, ...], mapping: dict[str, Any]) -> Series:
    """The Series of a run, read once."""
    kept = st.session_state.get("series_read")
    if kept is None or kept[0] != key:
        kept = key, series_of(data, name, mapping=mapping)
        st.session_state["series_read"] = kept
    return kept[1]


def _column(series: Series, name: str) -> Array:
    """A figure as numbers, NaN where the row was refused."""
    return np.where(series.worked, series.numbers(name), np.nan) if name in series else np.array([])


def _downloads(found: dict[str, Any]) -> None:
    """The download of the resulting table."""
    stem, ending = Path(found["name"]).stem, ".parquet" if is_parquet(found["name"]) else ".csv"
    kind = "application/octet-stream" if ending == ".parquet" else "text/csv"
    made = file_name(f"{stem}-figures", ending), kind, found["bytes"]
    hand("series_save", "Save the table with its figures", lambda _: made, of_screen=True)


def _refused(series: Series) -> None:
    """The rows that were refused, with their reasons."""
    rows = [
        (str(i + 1), reason)
        for i, (status, reason) in enumerate(zip(series.texts["status"], series.texts["reason"], strict=True))
        if status == "refused"
    ]
    if not rows:
        return
    more = f"The first {MOST_REFUSED} of {len(rows)}." if len(rows) > MOST_REFUSED else ""
    put(part("Refused rows") + plain_table(("Row", "Reason"), rows[:MOST_REFUSED], "Refused rows") + notes(more))


def _numeric(series: Series) -> list[str]:
    """Names of the columns that hold numbers, inputs first."""
    made = set(figure_names(True))
    inputs = [name for name in series.texts if name not in made and np.isfinite(series.numbers(name)).any()]
    return inputs + [name for name in series.texts if name in made and decimals(name) is not None]


def _against(
    series: Series, columns: dict[str, Array], measure: str, against: str, key: tuple[Any, ...], colours: Look
) -> None:
    """The figure against any column."""
    x = np.where(series.worked, series.numbers(against), np.nan)
    chart(
        "series_scatter",
        (*key, against),
        Picture(
            lambda: scatter(x, columns, colours, against, WORDS[measure]),
            lambda: f"{describe_distributions(columns, WORDS[measure])} Drawn against {against}.",
            "scatter",
            file="series-scatter",
            tall=True,
        ),
        columns=2,
    )


def _words(name: str) -> str:
    """A row of the groups in words: a figure, an outcome, or a count."""
    outcome, within, distance = name.partition(" within ")
    return f"{OUTCOMES[outcome]}{within}{distance}" if within else WORDS.get(name) or titled(name)


def _groups(series: Series, measure: str, outcomes: dict[str, Any]) -> str | None:
    """Draw groups and fellow eyes, one eye per patient on request; returns the column of the groups, or None."""
    names = [name for name in series.texts if 1 < len(set(series.texts[name])) <= 30 and name not in figure_names(True)]
    names = [name for name in names if name not in ("status", "reason")]
    if not names:
        return None
    put(part("Groups, and right less left eye"))
    with st.container(horizontal=True, vertical_alignment="bottom"):
        first = next((i for i, name in enumerate(names) if name != "patient"), 0)  # a patient is a group of one or two
        by: Any = st.selectbox("Groups by", names, index=place("series_by", names, first), key="series_by", width=300)
        one = st.checkbox("One eye a patient, drawn with a seed", key="series_one", disabled="patient" not in series)
    wanted = [f"{option}_{measure}" for option in OPTIONS]
    question = Question(outcomes=outcomes)
    rows = summary_rows(series, by, wanted, one, question)
    lines = [
        (
            label,
            _words(name),
            str(eyes),
            str(patients),
            *(rounded(value, 2 if name in outcomes else 1) for value in figures[:7]),
        )
        for label, name, eyes, patients, *figures in rows
        if np.isfinite(figures[0])
    ]
    heads = ("Group", "Figure", "Eyes", "Patients", "Mean", "SD", "Median", "Least", "Greatest", "Mean from", "to")
    put(plain_table(heads, lines, "Groups", numbers=range(2, 11)))
    put(notes(f"Mean from … to: 95 % interval by t that takes a patient as the unit, none under {FEWEST} patients."))
    shares = [
        (
            label,
            _words(name),
            str(eyes),
            str(patients),
            f"{rounded(share, 1)} ({rounded(low, 1)} to {rounded(high, 1)})",
        )
        for label, name, eyes, patients, *_, share, low, high in rows
        if np.isfinite(share)
    ]
    if shares:
        counted = ("Group", "Counted", "Eyes", "Patients", "Share of eyes, % (95 %)")
        put(plain_table(counted, shares, "Shares", numbers=(2, 3, 4)))
        put(notes("Exact binomial intervals; eyes of a patient that are alike count as fewer."))

    def made(_: Desk) -> File:
        return "summary.csv", CSV, summary_bytes(series, by, one, question)

    hand("series_summary", "Save the summary of all figures", made, of_screen=True)
    return by
