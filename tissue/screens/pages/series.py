"""Series: many eyes at once; first what was understood, then each row with its figures or the reason for none."""

import csv
import hashlib
import io
import time
from collections.abc import Sequence
from typing import Any

import pyarrow as pa
import streamlit as st

from tissue.entry.fields import fields
from tissue.entry.plan_text import open_end
from tissue.ground.sources import published_series
from tissue.screens import frame
from tissue.screens.desk.link import TOML, hand
from tissue.screens.desk.press import pressed
from tissue.screens.html import notes, part, plain_table, put, strip, title_line
from tissue.screens.series.limit import MOST_ROWS, fits
from tissue.screens.series.own import own_part
from tissue.screens.tables import series_results
from tissue.series.demo import demo_rows
from tissue.series.run import is_parquet, stream
from tissue.series.study.outcomes import UNITS, Outcome, outcomes_of
from tissue.series.tables.csv_blocks import Job, open_job
from tissue.series.tables.dialect import sniff
from tissue.series.tables.header import (
    EXTRA,
    MOST_COLUMNS,
    Assigned,
    Column,
    header_columns,
    map_document,
    map_of,
    write_map,
)  # fmt: skip
from tissue.series.tables.parquet import stream_parquet
from tissue.series.tables.parquet_file import opened
from tissue.series.wrong import TableError

PARTS = ("Work out a series", "Own errors")
SOURCES = ("A table of your own", "Invented demo series", "Published eyes")
DEMO_EYES = 2000
LEAD = (
    "A row an eye, a column an input, with the names of the plan file. Nothing is worked out before you have seen what "
    "was understood, and nothing is written to disc."
)


def show() -> None:
    """Draw the screen."""
    frame.begin()
    put(title_line("Series", "many eyes at once, by the same arithmetic"))
    if _part() == PARTS[1]:
        own_part()
        return
    put(notes(LEAD))
    name, data = _source()
    if data is None or not fits(name, data):
        return
    named = _by_hand(name, data)
    if named is None:
        return
    mapping, outcomes = named
    plus, optics = _settings(name)
    key = (name, hash(data), tuple(sorted(mapping.items())), plus, optics)
    understood = _understood(name, data, mapping, outcomes)
    if understood is None:
        return
    if pressed("series_run", "Work out the series", type="primary"):
        _run(name, data, mapping, plus, optics, key)
    found = st.session_state.get("series_found")
    if found and found["key"] == key:
        series_results.show(found | {"columns": understood, "outcomes": outcomes})
    elif found:
        put(strip("The figures of the last run are not shown: the table or its settings have changed since."))


def _part() -> str | None:
    """Which part of the screen is shown: a series worked out, or own errors."""
    last = st.session_state.get("series_part_last", PARTS[0])
    st.session_state.setdefault("series_part", last)
    picked = st.segmented_control("Part", PARTS, key="series_part", required=True, label_visibility="collapsed")
    st.session_state["series_part_last"] = picked
    return picked


def _source() -> tuple[str, bytes | None]:
    """Name and bytes of the table that was chosen."""
    kept = st.session_state.get("series_source_last", SOURCES[1])
    st.session_state.setdefault("series_source", kept)
    picked = st.segmented_control("Table", SOURCES, key="series_source", required=True, label_visibility="collapsed")
    st.session_state["series_source_last"] = picked
    if picked == SOURCES[1]:
        return "invented-series.csv", _demo()
    if picked == SOURCES[2]:
        return "published-eyes.csv", _published()
    given = st.file_uploader(
        f"CSV (UTF-8) or Parquet, up to 50 MB and {MOST_ROWS:,} rows", type=["csv", "parquet", "pq"], key="series_file"
    )
    if given is not None:
        st.session_state["series_table"] = (given.name, given.getvalue())
    return st.session_state.get("series_table", ("", None))


@st.cache_data(show_spinner=False)
def _demo() -> bytes:
    return ("\n".join(demo_rows(DEMO_EYES)) + "\n").encode()


@st.cache_data(show_spinner=False)
def _published() -> bytes:
    out = io.StringIO()
    csv.writer(out).writerows(published_series())
    return out.getvalue().encode()


def _header(name: str, data: bytes) -> list[str] | None:
    """The names of the columns; None, with words on the screen, where the table cannot be read."""
    try:
        if is_parquet(name):
            return opened(pa.py_buffer(data), name)[1].names
        return [column.name for column in _plain_job(name, data).columns]
    except TableError as error:
        lines = error.lines
        if not is_parquet(name) and all(": header: " in line for line in lines):
            return _plain_header(data)[:MOST_COLUMNS]
        put(strip(*lines))
    return None


def _plain_job(
    name: str, data: bytes, mapping: dict[str, Assigned] | None = None, plus: bool = False, optics: bool = False
) -> Job:
    return open_job(io.BytesIO(data), name, mapping, optics, plus)


def _plain_header(data: bytes) -> list[str]:
    """The header as it is written, including names that are refused."""
    text = data[:200_000].decode("utf-8-sig", "replace")
    return next(filter(None, csv.reader(io.StringIO(text, newline=""), delimiter=sniff(text).delimiter)), [])


def _by_hand(name: str, data: bytes) -> tuple[dict[str, Assigned], dict[str, Outcome]] | None:
    """The map of columns with other names, and the outcomes, both loaded or chosen by hand; None without a header."""
    header = _header(name, data)
    if header is None:
        return None
    mapping, outcomes = _loaded()
    with st.expander("Columns that are called otherwise"):
        put(notes("Nothing is proposed: choose an input, then the column that holds it, and a factor to its unit."))
        chosen = st.multiselect("Inputs to assign", [*fields(), *EXTRA], key="series_inputs", format_func=_label)
        for ours in chosen:
            left, right = st.columns([3, 1])
            names = ["", *[one for one in header if one == ours], *[one for one in header if one != ours]]
            theirs = left.selectbox(_label(ours), names, key=f"series_of_{ours}")
            factor = right.number_input("Factor", 1e-6, 1e6, 1.0, key=f"series_factor_{ours}", format="%g")
            if theirs:
                mapping[ours] = Assigned(theirs, float(factor))
        if mapping or outcomes:
            made = "map.toml", TOML, write_map(mapping, outcomes).encode()
            hand("series_map", "Save this map", lambda _: made, of_screen=True)
    missing = [outcome.column for outcome in outcomes.values() if outcome.column not in header]
    if missing:
        put(strip(f"The map names outcomes in columns that are not there: {', '.join(missing)}."))
    return mapping, {name: one for name, one in outcomes.items() if one.column in header}


def _loaded() -> tuple[dict[str, Assigned], dict[str, Outcome]]:
    """Map and outcomes of a map file; nothing where none is given or it cannot be read."""
    given = st.file_uploader("A map of columns (TOML), as saved here", type=["toml"], key="series_map_file")
    if given is None:
        return {}, {}
    try:
        document = map_document(given.name, given.getvalue())
        return map_of(document, given.name), outcomes_of(document, given.name)
    except TableError as error:
        put(strip(*error.lines))
        return {}, {}


def _label(name: str) -> str:
    """An input in words with its name."""
    return f"{fields()[name].heading} ({name})" if name in fields() else name


def _settings(name: str) -> tuple[bool, bool]:
    """Whether unsigned powers are plus, and whether the optical figures are wanted."""
    with st.container(horizontal=True):
        plus = not is_parquet(name) and st.checkbox(
            "Powers without a sign are plus (a spreadsheet dropped it)", key="series_plus"
        )
        optics = st.checkbox("With the optical figures", key="series_optics")
    return plus, optics


def _understood(
    name: str, data: bytes, mapping: dict[str, Assigned], outcomes: dict[str, Outcome]
) -> Sequence[Column] | None:
    """What was understood of the table, drawn before anything runs; None where it is refused."""
    columns: Sequence[Column]
    try:
        if is_parquet(name):
            names = opened(pa.py_buffer(data), name)[1].names
            columns, said = header_columns(names, mapping, f"{name}: "), "Parquet: the sign of a number counts"
        else:
            job = _plain_job(name, data, mapping)
            columns, said = job.columns, job.dialect.words
    except TableError as error:
        put(strip(*error.lines))
        return None
    held = {outcome.column: name for name, outcome in outcomes.items()}
    lines = [(column.name, *_read_as(column, held.get(column.name))) for column in columns]
    heads = ("Column", "Read as", "Unit", "Factor")
    put(part("What was understood") + notes(f"{name}: {said}.") + plain_table(heads, lines, "Columns"))
    return columns


def _read_as(column: Column, outcome: str | None) -> tuple[str, str, str]:
    """What a column is read as: words, unit, factor; the outcome that it holds, or None."""
    if outcome is not None:
        return f"outcome {outcome}, passed through untouched", UNITS[outcome], ""
    if column.field is None:
        return "passed through untouched", "", ""
    if column.field not in fields():
        return {"side": "side of the eye", "patient": "ties the eyes of a patient together"}[column.field], "", ""
    field = fields()[column.field]
    unit = f"{field.unit} or {field.also.unit}" if field.also else field.unit
    return field.label, unit, f"{column.factor:g}" if column.factor != 1.0 else ""


def _run(name: str, data: bytes, mapping: dict[str, Assigned], plus: bool, optics: bool, key: tuple[Any, ...]) -> None:
    """Work the series out in memory, with rows per second while it runs."""
    bar, started = st.progress(0.0, "Working out …"), time.perf_counter()

    table = opened(pa.py_buffer(data), name) if is_parquet(name) else None
    whole = max(1, table[0].metadata.num_rows if table else data.count(b"\n") - 1)

    def progress(rows: int) -> None:
        rate = rows / (time.perf_counter() - started)
        bar.progress(min(1.0, rows / whole), f"{rows} rows, {rate:,.0f} rows per second")

    try:
        out = io.BytesIO()
        if table:
            rows, refused = stream_parquet(table, name, out, mapping, with_optics=optics, progress=progress)
        else:
            job = _plain_job(name, data, mapping, plus, optics)
            rows, refused = stream(job, io.BytesIO(data), out, progress)
        result = out.getvalue()
    except TableError as error:
        put(strip(*error.lines))
        return
    finally:
        bar.empty()
    seconds = time.perf_counter() - started
    st.session_state["series_found"] = {
        "key": key, "name": name, "bytes": result, "rows": rows, "refused": refused, "seconds": seconds,
        "end": "" if table else open_end(data[-1:].decode("latin-1")),
        "mapping": mapping, "optics": optics, "plus": bool(plus), "sha256": hashlib.sha256(data).hexdigest(),
    }  # fmt: skip
