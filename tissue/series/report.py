"""The table of groups and paired differences of a finished series."""

import csv
import io
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tissue.removal.options import procedures
from tissue.series.finished import Series
from tissue.series.names import OWN
from tissue.series.statistics import Described, describe, described, fellow_pairs, numbered, one_eye_each
from tissue.series.study.outcomes import WITHIN_D, Share, share, values_of
from tissue.series.study.question import Question, groups_of_rows, kept_rows
from tissue.series.tables.cells import guarded
from tissue.series.wrong import TableError

MEASURES = tuple(
    f"{option}_{name}"
    for option in procedures()
    for name in (
        "removal_central_um",
        "bed_central_um",
        "bed_min_um",
        "altered_percent",
        "strength_reinstein2013_percent",
        "removal_volume_mm3",
    )
)
HEADER = ("group", "measure", *Described._fields, *Share._fields)
NO_SHARE = Share(np.nan, np.nan, np.nan)
Row = tuple[Any, ...]  # the columns are those of HEADER
Values = Callable[[str], NDArray[np.float64]]  # the values of a measure, one for each eye


def summary_rows(
    series: Series,
    by: str,
    measures: Sequence[str] = MEASURES,
    one_eye: bool = False,
    question: Question = Question(),
) -> list[Row]:
    """Rows of the summary: each measure by group and overall, right minus left eye, and one option minus another.

    After them come the outcomes of a question, and how many rows were refused and why.

    Args:
        series: Series.
        by: the column that makes the groups.
        measures: names of the columns to describe.
        one_eye: whether one eye of each patient is drawn.
        question: Question, for its conditions and outcomes.

    Raises:
        TableError: no such column.
    """
    if by not in series:
        raise TableError(f"--by: read {by}, accepted a column of the table")
    rows, patients = kept_rows(series, question.where), series.patients()
    if one_eye and patients is not None:
        rows = rows & one_eye_each(patients, rows)
    measures = [name for name in (*measures, *_own(measures)) if name in series]

    def column(name: str) -> NDArray[np.float64]:  # one at a time: all of them together would be larger than the table
        return series.numbers(name)[rows]

    owners = None if patients is None else patients[rows]
    of_row = groups_of_rows(series, by)
    parts = {f"{by} {group}": of_row[rows] == group for group in sorted(set(of_row[rows].tolist()))}
    found = {label: _each(measures, column, owners, mine) for label, mine in parts.items()}
    found["all"] = _each(measures, column, owners)
    sides = series.sides()
    if owners is not None and sides is not None and rows.any():
        found["right less left eye"] = _fellows(measures, column, *fellow_pairs(owners, sides[rows]))
    found |= _options_paired(measures, column, owners)
    names = dict.fromkeys(name for group in found.values() for name in group)
    table = [
        (label, name, *group[name], *NO_SHARE) for name in names for label, group in found.items() if name in group
    ]
    return table + _outcome_rows(series, question, rows, owners, parts) + _refused_rows(series, by, of_row)


def _own(measures: Iterable[str]) -> dict[str, None]:
    """The same figures, of the option that each eye had."""
    return dict.fromkeys(f"{OWN}_{name.partition('_')[2]}" for name in measures)


def _outcome_rows(
    series: Series,
    question: Question,
    rows: NDArray[np.bool_],
    owners: NDArray[Any] | None,
    parts: Mapping[str, NDArray[np.bool_]],
) -> list[Row]:
    """Rows of the outcomes: each described, and the shares of what is counted."""
    found: list[Row] = []
    everybody = np.full(int(rows.sum()), True)
    for name, outcome in question.outcomes.items():
        values = values_of(series, name, outcome)[rows]
        counted = _counted(series, name, values, rows)
        for label, mine in (*parts.items(), ("all", everybody)):
            whose = None if owners is None else owners[mine]
            if name != "complication":
                found.append((label, name, *describe(values[mine], whose), *NO_SHARE))
            for words, happened in counted.items():
                found.append((label, words, *_only_counted(happened[mine], whose), *share(happened[mine], whose)))
    return found


def _counted(
    series: Series, name: str, values: NDArray[np.float64], rows: NDArray[np.bool_]
) -> dict[str, NDArray[np.float64]]:
    """The events of an outcome that are counted, in words, and where they happened: 1, 0, NaN where missing."""
    if name == "complication":
        return {name: values}
    if name != "achieved_SE_D":
        return {}
    target = series.numbers("target_D")[rows] if "target_D" in series else np.zeros(len(values))
    off = np.abs(values - np.where(np.isnan(target), 0.0, target))
    within = {step: np.where(np.isnan(off), np.nan, off <= step + 1e-9) for step in WITHIN_D}
    return {f"{name} within {step:.2f} D of target": happened for step, happened in within.items()}


def _only_counted(happened: NDArray[np.float64], owners: NDArray[Any] | None) -> Described:
    """A Described with only the numbers of eyes and patients, and of those missing."""
    known = np.isfinite(happened)
    patients = int(known.sum()) if owners is None else len(np.unique(owners[known]))
    return Described(int(known.sum()), patients, missing=int((~known).sum()))


def _refused_rows(series: Series, by: str, of_row: NDArray[np.str_]) -> list[Row]:
    """How many rows of each group were refused, and for which fields."""
    refused, reasons = ~series.worked, series.texts.distinct("reason") if "reason" in series else None
    if not refused.any():
        return []
    fields_of = [_fields_named(text) for text in reasons.distinct] if reasons else []
    found: list[Row] = []
    for label, mine in [*((f"{by} {group}", of_row == group) for group in sorted(set(of_row.tolist()))), ("all", None)]:
        there = refused if mine is None else refused & mine
        if not there.any():
            continue
        counts = Counter(name for i in reasons.index[there] for name in fields_of[i]) if reasons else {}
        lines = {"rows refused": int(there.sum())} | {f"refused: {name}": counts[name] for name in sorted(counts)}
        found += [(label, words, count, *[np.nan] * (len(HEADER) - 3)) for words, count in lines.items()]
    return found


def _fields_named(reason: str) -> list[str]:
    """The fields that the words of a refusal name.

    >>> _fields_named("line 4: sphere_D: read 4.00, accepted +4; axis_deg: read nothing, accepted 0 to 180")
    ['sphere_D', 'axis_deg']
    """
    parts = [part.split(": ") for part in reason.split("; ") if ": read " in part]
    return list(
        dict.fromkeys(part[next(i for i, one in enumerate(part) if one.startswith("read ")) - 1] for part in parts)
    )


def _each(
    names: Iterable[str], column: Values, owners: NDArray[Any] | None, mine: Any = slice(None)
) -> dict[str, Described]:
    """Described of each column of some rows, by name."""
    whose = None
    found = {}
    for name in names:  # patients are numbered once
        values = column(name)[mine]
        if whose is None:
            whose = np.arange(len(values)) if owners is None else numbered(owners[mine])
        found[name] = described(values, whose)
    return found


def _fellows(
    names: Sequence[str], column: Values, right: NDArray[np.intp], left: NDArray[np.intp]
) -> dict[str, Described]:
    """Described of right minus left eye, by name; a patient without any difference is not counted as missing."""

    def difference(name: str) -> NDArray[np.float64]:
        values = column(name)
        return values[right] - values[left]

    some = np.zeros(len(right), dtype=bool)
    for name in names:
        some |= np.isfinite(difference(name))
    return _each(names, difference, None, some)


def _place_of_second(pair: tuple[str, str]) -> int:
    """Place of the later procedure of a pair, so that its differences from the earlier ones stand together."""
    return list(procedures()).index(pair[1])


def _options_paired(
    measures: Sequence[str], column: Values, owners: NDArray[Any] | None
) -> dict[str, dict[str, Described]]:
    """One option minus another in the same eyes, by words and measure, where both have the measure."""
    found = {}
    for second, first in sorted(combinations(procedures(), 2), key=_place_of_second):
        shared = [name.removeprefix(f"{first}_") for name in measures if name.startswith(f"{first}_")]
        shared = [name for name in shared if f"{second}_{name}" in measures]
        if shared:
            found[f"{first} less {second}"] = _each(shared, _difference(column, first, second), owners)
    return found


def _difference(column: Values, first: str, second: str) -> Values:
    """The function that gives, for a measure, one option's values minus the other's."""
    return lambda name: column(f"{first}_{name}") - column(f"{second}_{name}")


def summary_bytes(series: Series, by: str, one_eye: bool = False, question: Question = Question()) -> bytes:
    """The summary of a Series as CSV, in its own dialect."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=series.dialect.delimiter)
    writer.writerow(HEADER)
    comma = series.dialect.decimal == ","
    for label, name, *figures in summary_rows(series, by, one_eye=one_eye, question=question):
        writer.writerow([guarded(label), name, *(_written(value, comma) for value in figures)])
    return out.getvalue().encode()


def _written(value: float, comma: bool) -> str:
    """A figure of the summary: a whole number without decimals, others with four, an empty text for NaN."""
    if isinstance(value, int):
        return str(value)
    if np.isnan(value):
        return ""
    text = f"{value:.4f}"
    return text.replace(".", ",") if comma else text
