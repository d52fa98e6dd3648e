"""The answers of a study as tables: agreement by pair and group, comparison by column and pair of groups."""

import csv
import io
from collections.abc import Iterable
from itertools import combinations
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tissue.entry.notation import shown
from tissue.series.finished import Series
from tissue.series.study import comparison
from tissue.series.study.agreement import Agreement, agreement
from tissue.series.study.comparison import Difference
from tissue.series.study.question import Question, groups_of_rows, kept_rows, numbers
from tissue.series.tables.cells import guarded
from tissue.series.tables.dialect import Dialect
from tissue.series.wrong import TableError

AGREEMENT = ("pair", "group", *Agreement._fields)
COMPARISON = ("column", "group_a", "group_b", *Difference._fields)
ALL = "all"
MOST_GROUPS = 30
DIGITS = 12  # significant digits of a figure in a table


class Cohort(NamedTuple):
    """The rows that a question keeps: which rows, their groups, and the patients of their eyes."""

    rows: NDArray[np.bool_]
    group: NDArray[np.str_]
    patients: NDArray[np.int64]

    @property
    def names(self) -> list[str]:
        """The groups in their order."""
        return sorted(set(self.group.tolist()))


def analysed(series: Series, question: Question) -> tuple[int, int | None]:
    """The numbers of eyes and patients that a question keeps; None where the table names no patients."""
    eyes = asked_cohort(series, question)
    return int(eyes.rows.sum()), None if series.patients() is None else len(np.unique(eyes.patients))


def asked_cohort(series: Series, question: Question) -> Cohort:
    """The Cohort of a question; without a column of patients every eye is its own."""
    rows, patients = kept_rows(series, question.where), series.patients()
    owners = np.arange(len(rows)) if patients is None else patients
    return Cohort(rows, groups_of_rows(series, question.by)[rows], owners[rows])


def agreement_rows(series: Series, question: Question) -> list[tuple[Any, ...]]:
    """One row for each pair and group, and one for all; the columns are those of AGREEMENT.

    Raises:
        TableError: a column that is not there or holds no number.

    >>> from tissue.series.finished import series_of
    >>> from tissue.series.study.question import Pair
    >>> series = series_of(b"plan,cut,status\\n120,118,ok\\n120,124,ok\\n", "out.csv")
    >>> [row] = agreement_rows(series, Question(pairs=(Pair("plan", "cut"),)))
    >>> dict(zip(AGREEMENT, row))["bias"]
    1.0
    """
    eyes, found = asked_cohort(series, question), []
    for pair in question.pairs:
        planned, measured = (numbers(series, question, name, "--agree")[eyes.rows] for name in pair)
        names = eyes.names if question.by is not None else []
        for name in [*names, None]:
            mine = slice(None) if name is None else eyes.group == name
            figures = agreement(planned[mine], measured[mine], eyes.patients[mine])
            found.append((pair.words, ALL if name is None else name, *figures))
    return found


def comparison_rows(series: Series, question: Question) -> list[tuple[Any, ...]]:
    """One row for each column, pair of groups and test; the columns are those of COMPARISON.

    Raises:
        TableError: a column that is not there or holds no number; one group or more than 30.
    """
    if not question.compared:
        return []
    eyes = asked_cohort(series, question)
    if not 2 <= len(eyes.names) <= MOST_GROUPS:
        read = f"{shown(question.by or 'nothing')}, {len(eyes.names)} groups"
        raise TableError(f"--by: read {read}, accepted 2 to {MOST_GROUPS} groups to compare")
    other = question.adjusted_for
    beside = None if other is None else numbers(series, question, other, "--adjust")[eyes.rows]
    found = []
    for column in question.compared:
        values = numbers(series, question, column, "--compare")[eyes.rows]
        for first, second in combinations(eyes.names, 2):
            both = (eyes.group == first) | (eyes.group == second)
            given = values[both], (eyes.group == second)[both], eyes.patients[both]
            tests = [comparison.between(*given), comparison.within(*given)]
            if beside is not None and other is not None:
                tests.append(comparison.adjusted(*given, beside[both], other))
            found += [(column, first, second, *test) for test in tests if test is not None]
    return found


def table_bytes(heads: Iterable[str], rows: Iterable[Iterable[Any]], dialect: Dialect) -> bytes:
    """A table as CSV, with figures of twelve digits and empty cells where there is none."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=dialect.delimiter)
    writer.writerow(heads)
    writer.writerows([_written(value, dialect.decimal == ",") for value in row] for row in rows)
    return out.getvalue().encode()


def _written(value: Any, comma: bool) -> str:
    """One cell."""
    if isinstance(value, str):
        return guarded(value)
    if isinstance(value, int):
        return str(value)
    text = "" if np.isnan(value) else f"{value:.{DIGITS}g}"
    return text.replace(".", ",") if comma else text
