"""Evidence: what every figure, default and line rests on, and what contradicts it; one part at a time."""

import csv
from collections.abc import Callable
from functools import cache

import streamlit as st
from markupsafe import Markup

from tissue.entry.fields import DEFAULT_STATUS, fields, figure
from tissue.ground.sources import data, folder, keys, letter, source_of_eye
from tissue.ground.vocabulary import TRUE_MINUS
from tissue.screens import frame
from tissue.screens.evidence import figures as evidence_figures
from tissue.screens.evidence.changes import changes_part
from tissue.screens.evidence.figures import cited
from tissue.screens.evidence.readings import readings_part
from tissue.screens.evidence.sight import sight_part
from tissue.screens.html import notes, part, plain_table, prose, put, title_line
from tissue.screens.parts.form.form import GROUP_WORDS

STATUS_NOTE = (
    "Status: printed = the number stands in a published source that was read and can be looked up (volume, pages or "
    "article number, DOI or PMID); unconfirmed = from memory, or read in a source of which one of these is missing; "
    "computed = worked out from published numbers; common practice = a common practice without a source; our choice: "
    "said so."
)
ANOTHER_PROGRAM = {"R": "another program"}
ONE_OF_TWO = "must be given, this or {other}"
MUST = {
    "central_thickness_um": "must be given",
    "refraction": ONE_OF_TWO.format(other="sphere, cylinder and axis"),
    "sphere_D": ONE_OF_TWO.format(other="the refraction in one line"),
}


@cache
def defaults_part() -> Markup:
    """Every input with its default, limits, status and source."""
    lines = [
        (
            field.heading,
            GROUP_WORDS[field.group],
            field.default_words or MUST.get(field.name, "none"),
            DEFAULT_STATUS.get(field.status, "–") if field.default is not None else ("a rule" if field.rule else "–"),
            field.accepted,
            cited(field.source) if field.source in keys() else (field.source or "–"),
        )
        for field in fields().values()
    ]
    heads = ("Input", "Group", "Default", "Status of the default", "Accepted", "Source of the default")
    return part("Defaults and limits") + plain_table(heads, lines, "Inputs, defaults and limits")


@cache
def lines_part() -> Markup:
    """The published lines, with what speaks against each."""
    found = []
    for one in data("lines").values():
        value = f"{figure(one['value'])} {one['unit']}"
        against = (one["against"], cited(one["against_source"])) if "against_source" in one else one["against"]
        drawn = "drawn unless changed" if one["default"] else "not drawn"
        found.append(
            (one["label"], value, one["meant_for"], drawn, against, DEFAULT_STATUS[one["status"]], cited(one["source"]))
        )
    heads = ("Line", "Value", "Meant for", "In the sections", "What speaks against it", "Status", "Source")
    said = (
        "A line is a number somebody wrote down. It is drawn where you ask for it; nothing is coloured or judged by it."
    )
    return part("Lines") + notes(said) + plain_table(heads, found, "Lines and what speaks against them")


@cache
def errors_part() -> Markup:
    """Published errors of measurement and cutting."""
    found = []
    for one in data("errors")["error"]:
        bias, sd = one.get("bias", one.get("mean_deg")), one.get("sd", one.get("sd_deg"))
        used = ", ".join(fields()[name].label for name in one.get("default_of", ())) or "–"
        found.append(
            (one["what"], _or_dash(bias), _or_dash(sd), used, DEFAULT_STATUS[one["status"]], cited(one["source"]))
        )
    heads = ("What", "Bias", "SD", "Default of", "Status", "Source")
    return (
        part("Errors of measurement and cutting, µm unless said")
        + plain_table(heads, found, "Published errors", numbers=(1, 2))
        + notes("Bias is true less planned or measured, unless the row says otherwise.")
    )


def _or_dash(value: float | None) -> str:
    return "–" if value is None else figure(value)


@cache
def checks_part() -> Markup:
    """Every printed or computed number that the tool is tested against, from the tables of its tests."""
    files = sorted(folder("published").glob("*.csv"))
    html = part("Checks") + prose(
        "Each number below is compared with the tool at every change of it. Where a source disagrees with another, "
        "the row says why and stays."
    )
    for path in files:
        with path.open(encoding="utf-8", newline="") as file:
            found = [_check(row) for row in csv.DictReader(file)]
        heads = ("Check", "Figure", "Expected", "Within", "Status", "Source", "Remark")
        html += part(path.stem.replace("_", " ").capitalize()) + plain_table(
            heads, found, f"Checks of {path.stem}", numbers=(2, 3)
        )
    return html


def _check(row: dict[str, str]) -> tuple[str, ...]:
    """One row of a table of checks."""
    key = _key(row)
    remark = "; ".join(filter(None, (row.get("note", ""), row.get("disagrees", ""))))
    return (
        row["check"],
        data("checked")["words"][row.get("quantity") or row["figure"]],
        row["expected"].translate(TRUE_MINUS),
        row["tolerance"],
        (DEFAULT_STATUS | ANOTHER_PROGRAM)[letter(row["status"], _key(row))],
        cited(key) if key in keys() else (key or "–"),
        remark,
    )


def _key(row: dict[str, str]) -> str:
    """The key of a check's source; for the figures of a published eye it is the key of that eye."""
    return row.get("source", "") or (source_of_eye(row["case_id"]).key if row.get("case_id") else "")


PARTS: dict[str, Callable[[], str]] = {
    "Relationships": evidence_figures.relationships_part,
    "What contradicts them": evidence_figures.contradictions_part,
    "Figures": evidence_figures.figures_part,
    "Published eyes": evidence_figures.eyes_part,
    "Defaults": defaults_part,
    "Lines": lines_part,
    "Errors": errors_part,
    "Readings after surgery": readings_part,
    "What the zone buys": sight_part,
    "Checks": checks_part,
    "Not validated, changes": changes_part,
}


def show() -> None:
    """Draw the screen."""
    frame.begin()
    put(title_line("Evidence", "what every figure, default and line rests on"))
    names = list(PARTS)
    if st.session_state.get("evidence_part") not in names:
        st.session_state["evidence_part"] = st.session_state.get("evidence_last", names[0])
    picked = st.segmented_control("Part", names, key="evidence_part", required=True, label_visibility="collapsed")
    st.session_state["evidence_last"] = picked
    put(PARTS[picked or names[0]]() + notes(STATUS_NOTE))
