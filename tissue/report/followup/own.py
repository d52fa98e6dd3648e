"""A surgeon's own errors from a table of measured eyes: by group, for machines and as a readable table."""

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np

from tissue.entry.own_errors import OwnErrors
from tissue.followup.own import Own, error_kinds, own_error, values_for_plan
from tissue.ground.vocabulary import VERSION, Array, signed
from tissue.report.contract import SCHEMA, plain_json
from tissue.report.measures import STANDING_LINE, rounded

ALL, MOST_SHOWN = "all", 20
NOT_ADJUSTED = (
    "who came back to be measured",
    "method of the measurement",
    "correction, zone, age",
    "surgeon, device, learning",
    "date",
)
ERROR_WORDS = {
    "cap": "cap, measured less planned",
    "flap": "flap, measured less planned",
    "lenticule": "lenticule, measured less read-out",
    "ablation": "ablation, measured less read-out",
    "gain": "epithelium's gain beyond its dioptres",
    "refraction": "refraction less target",
    "thickness": "thickness, one reading",
    "epithelium": "epithelium between eyes",
}
FIGURES = (
    "own_bias", "own_bias_se", "bias", "bias_se", "bias_low", "bias_high", "eye_sd", "sd", "fellow_correlation",
    "inside", "of", "ten_more_se",
)  # fmt: skip


class Measured(NamedTuple):
    """The rows of a table: who, which eye, when, in which line and group, and the difference of each error."""

    patients: np.ndarray
    sides: np.ndarray
    dates: np.ndarray
    groups: np.ndarray
    lines: np.ndarray
    differences: Mapping[str, Array]


class OwnReport(NamedTuple):
    """Own errors by group and error, where they come from in words, and the eyes that were left out."""

    groups: dict[str, dict[str, Own]]
    left_out: dict[str, dict[str, list[str]]]
    source: str


def own_report(measured: Measured, by: str = "") -> OwnReport:
    """The OwnReport of a table.

    Args:
        measured: Measured.
        by: name of the column that makes groups; one group `all` where empty.
    """
    names = {str(name) or "(not given)": measured.groups == name for name in dict.fromkeys(measured.groups)}
    groups = names if by else {ALL: np.ones(len(measured.patients), dtype=bool)}
    found: dict[str, dict[str, Own]] = {}
    out: dict[str, dict[str, list[str]]] = {}
    used = np.zeros(len(measured.patients), dtype=bool)
    places = {patient: i for i, patient in enumerate(dict.fromkeys(measured.patients))}
    who = np.array([places[patient] for patient in measured.patients], dtype=int)
    for group, mask in groups.items():
        found[group], out[group] = {}, {}
        for id, values in measured.differences.items():
            rows = np.flatnonzero(mask & ~np.isnan(values))
            own = own_error(values[rows], who[rows], error_kinds()[id])
            found[group][id], out[group][id] = own, _named(measured, rows[own.left_out], values)
            used[rows[~own.left_out]] |= not own.why_not
    return OwnReport(found, out, _source(measured, used))


def _named(measured: Measured, rows: np.ndarray, values: Array) -> list[str]:
    """The eyes of some rows in words."""
    return [
        f"line {measured.lines[i]}: {measured.patients[i]} {measured.sides[i]} {signed(values[i], 1)}".replace(
            "  ", " "
        )
        for i in rows
    ]


def _source(measured: Measured, used: np.ndarray) -> str:
    """Which eyes the errors come from, in words; empty where there are not enough for any error."""
    if not used.any():
        return ""
    dates = sorted(date for date in measured.dates[used] if date)
    when = f"{dates[0]} to {dates[-1]}" if len(dates) == int(used.sum()) else "dates not given"
    return f"own series, {used.sum()} eyes of {len(set(measured.patients[used]))} patients, {when}"


def own_errors(report: OwnReport) -> OwnErrors:
    """The errors that a plan may take from a report of one group."""
    return OwnErrors(values_for_plan(report.groups[ALL]) if ALL in report.groups else {}, report.source)


def own_as_dict(report: OwnReport, rows: int, refused: list[tuple[int, str]]) -> dict[str, Any]:
    """The report for machines.

    Args:
        report: OwnReport.
        rows: how many rows the table has.
        refused: line and reason of the rows that are not used.
    """
    groups = {
        group: {id: _figures(own, report.left_out[group][id]) for id, own in errors.items()}
        for group, errors in report.groups.items()
    }
    return plain_json(
        {
            "schema": SCHEMA,
            "version": VERSION,
            "source": report.source,
            "rows": rows,
            "refused": [{"line": line, "reason": reason} for line, reason in refused],
            "groups": groups,
            "values": own_errors(report).values,
            "not_adjusted": list(NOT_ADJUSTED),
        }
    )


def _figures(own: Own, left_out: list[str]) -> dict[str, Any]:
    found = {"eyes": own.eyes, "patients": own.patients, "excluded": len(left_out), "why_not": own.why_not}
    return found | {name: getattr(own, name) for name in FIGURES} | {"excluded_eyes": left_out}


def own_table(report: OwnReport, rows: int, refused: list[tuple[int, str]]) -> str:
    """The report as text; arguments as `own_as_dict`."""
    lines = [f"Own errors from {rows} rows, {len(refused)} refused", *([report.source] if report.source else [])]
    lines += [f"  line {line}: {reason}" for line, reason in refused[:MOST_SHOWN]]
    for group, errors in report.groups.items():
        lines += ["", "All eyes" if group == ALL else group, *_lines(errors, report.left_out[group])]
    values = own_errors(report).values
    if values:
        lines += ["", "For a plan: " + ", ".join(f"{name} {rounded(value, 1)}" for name, value in values.items())]
    lines += ["", "Not adjusted for: " + "; ".join(NOT_ADJUSTED) + "."]
    return "\n".join([*lines, "", STANDING_LINE])


def _lines(errors: Mapping[str, Own], left_out: Mapping[str, list[str]]) -> list[str]:
    """One line for each error; errors without any eye in the table are left out."""
    found = []
    for id, own in errors.items():
        if not own.eyes and not left_out[id]:
            continue
        found.append(f"  {ERROR_WORDS[id]}".ljust(42) + own_words(id, own))
        found += [f"    left out, {words}" for words in left_out[id][:MOST_SHOWN]]
    return found


def own_words(id: str, own: Own) -> str:
    """One error in words.

    >>> own_words("cap", own_error(np.zeros(3), np.arange(3), error_kinds()["cap"]))
    'no figure: read 3 eyes of 3 patients, accepted 10 eyes of 5 patients'
    """
    if own.why_not:
        return f"no figure: {own.why_not}"
    kind = error_kinds()[id]
    unit, decimals = ("µm", 1) if kind.unit == "um" else ("D", 2)
    eyes = f"{own.eyes} eyes of {own.patients} patients"
    if not kind.has_bias:
        return f"SD {rounded(own.sd, decimals)} {unit}; {eyes}"
    ends = f"{rounded(own.bias_low, decimals)} to {rounded(own.bias_high, decimals)}"
    return (
        f"{rounded(own.bias, decimals)} ({ends}), SD {rounded(own.sd, decimals)} {unit}; {eyes}; "
        f"{own.inside} of {own.of} inside"
    )
