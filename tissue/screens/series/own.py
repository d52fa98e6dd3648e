"""Own errors: bias and spread of a surgeon's own eyes from a table; saved for plans or put in use on this machine."""

from typing import Any

import streamlit as st

from tissue.entry.own_errors import OwnErrors, own_text
from tissue.followup.own import error_kinds
from tissue.report.followup.own import ALL, ERROR_WORDS, NOT_ADJUSTED, Measured, OwnReport, own_errors, own_report
from tissue.report.measures import NO_FIGURE, rounded
from tissue.screens.desk.link import hand
from tissue.screens.desk.machine import machine_errors, machine_fault, machine_file, remove_here, use_here
from tissue.screens.desk.press import press
from tissue.screens.html import notes, part, plain_table, put, strip
from tissue.screens.series.limit import MOST_ROWS, fits
from tissue.series.own.demo import own_demo
from tissue.series.own.table import NUMBERS, TEXTS, OwnTable, differences, measured_table
from tissue.series.wrong import TableError

SOURCES = ("Invented demo table", "A table of your own")
LEAD = (
    "A row an eye: patient (needed), side, date, and what was measured beside what was planned. Your own bias is drawn "
    "towards the published one as far as your eyes are few; eyes of one patient count together."
)
HEADS = (
    "Error",
    "Bias",
    "95 of 100",
    "SD for a plan",
    "Eyes, patients",
    "Inside",
    "SE with ten more eyes",
    "Fellow eyes alike",
)
NONE, INVENTED = "none", "invented-own-eyes.csv"


def own_part() -> None:
    """Draw the part: the table, its errors, and what can be done with them."""
    put(notes(LEAD, "Columns: " + ", ".join((*TEXTS, *NUMBERS)) + "."))
    _in_use()
    name, data = _source()
    if data is None or not fits(name, data, "tissue own TABLE"):
        return
    try:
        by = st.selectbox("Groups by", (NONE, *_header(data)), key="own_by")
        table = measured_table(data, name, by="" if by == NONE else by)
    except TableError as error:
        put(strip(*error.lines))
        return
    measured = Measured(table.patients, table.sides, table.dates, table.groups, table.lines, dict(differences(table)))
    report = own_report(measured, "" if by == NONE else by)
    _report(report, table)
    if by == NONE and report.source:
        for_plans(own_errors(report), invented=name == INVENTED)


def _source() -> tuple[str, bytes | None]:
    """Name and bytes of the table."""
    picked = st.segmented_control("Table", SOURCES, default=SOURCES[0], key="own_source", label_visibility="collapsed")
    if picked != SOURCES[1]:
        return INVENTED, own_demo().encode()
    given = st.file_uploader(f"CSV (UTF-8), up to 50 MB and {MOST_ROWS:,} rows", type=["csv"], key="own_file")
    return (given.name, given.getvalue()) if given is not None else ("", None)


def _header(data: bytes) -> list[str]:
    """Columns that may make groups."""
    first = data[:20_000].decode("utf-8-sig", "replace").splitlines()
    names = first[0].replace(";", ",").replace("\t", ",").split(",") if first else []
    return [name.strip() for name in names if name.strip() and name.strip() not in ("patient", *NUMBERS)]


def _report(report: OwnReport, table: OwnTable) -> None:
    """The errors of every group, what was left out and what was refused."""
    for group, errors in report.groups.items():
        put(part("Own errors" if group == ALL else f"Own errors, {group}"))
        rows = [_row(id, own) for id, own in errors.items() if own.eyes]
        put(plain_table(HEADS, rows, "Own errors", numbers=(1, 2, 3, 5, 6, 7)))
        out = [f"{ERROR_WORDS[id]}: {words}" for id, many in report.left_out[group].items() for words in many]
        if out:
            put(notes(f"Left out as gross errors, counted as outside: {'; '.join(out[:20])}."))
    if table.refused:
        put(strip(*(f"Line {line}: {reason}." for line, reason in table.refused[:20])))
    source = f"{report.source}. " if report.source else ""
    put(notes(f"{source}Not adjusted for: {'; '.join(NOT_ADJUSTED)}."))


def _row(id: str, own: Any) -> tuple[str, ...]:
    """One error of one group."""
    unit, decimals = ("µm", 1) if error_kinds()[id].unit == "um" else ("D", 2)
    name, eyes = f"{ERROR_WORDS[id]}, {unit}", f"{own.eyes}, {own.patients}"
    if own.why_not:
        return (name, NO_FIGURE, own.why_not, NO_FIGURE, eyes, NO_FIGURE, NO_FIGURE, NO_FIGURE)
    ends = f"{rounded(own.bias_low, decimals)} to {rounded(own.bias_high, decimals)}" if own.of else NO_FIGURE
    inside = f"{own.inside} of {own.of}" if own.of else NO_FIGURE
    return (
        name,
        rounded(own.bias, decimals),
        ends,
        rounded(own.sd, decimals),
        eyes,
        inside,
        rounded(own.ten_more_se, 2),
        rounded(own.fellow_correlation, 2),
    )


def for_plans(own: OwnErrors, invented: bool = False) -> None:
    """Save the errors for plans, or put them in use; errors of invented eyes are only shown.

    Args:
        own: OwnErrors.
        invented: whether the eyes are invented.
    """
    values = ", ".join(f"{name} {rounded(value, 1)}" for name, value in own.values.items())
    put(part("For your plans") + notes(f"{own.source}: {values}."))
    if invented:
        put(notes("These eyes are invented: their errors are for no plan."))
        return
    with st.container(horizontal=True):
        made = ("own.toml", "application/toml", own_text(own).encode("utf-8"))
        hand("own_save", "Save own.toml", lambda _: made, of_screen=True)
        press("own_use", "Use on this machine", _use, own)
    put(notes('A plan takes a saved file with errors_from = "own.toml", the file beside it in its folder.'))


def _use(own: OwnErrors) -> None:
    try:
        use_here(own)
        st.session_state.pop("own_fault", None)
    except OSError as error:
        st.session_state["own_fault"] = f"{machine_file()}: {error.strerror or error}."


def _in_use() -> None:
    """What is in use on this machine, where the file is, and the button that removes it."""
    if "own_fault" in st.session_state:
        put(strip(f"Not put in use: {st.session_state['own_fault']}"))
    now, fault = machine_errors(), machine_fault()
    if fault:
        put(strip(f"Not in use on this machine: {fault}."))
    elif not now.values:
        return
    else:
        put(
            notes(
                f"In use on this machine, in {machine_file()}: {now.source}. Every plan on these screens takes them "
                "where it gives no error of its own; a saved plan holds their values. No command reads that file."
            )
        )
    press("own_remove", "Remove from this machine", remove_here)
