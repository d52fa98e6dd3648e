"""The question put to a series: which rows, which groups, which pairs, which columns."""

import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from tissue.entry.notation import shown
from tissue.series.finished import Series
from tissue.series.names import output_names
from tissue.series.study.outcomes import Outcome, read_outcomes, values_of
from tissue.series.tables.cells import fast_numbers
from tissue.series.tables.header import OUTCOMES, Column, cell_readings
from tissue.series.wrong import TableError

CONDITION = re.compile(r"\s*(.+?)\s*(<=|>=|!=|=|<|>)\s*(.*?)\s*")
OPERATIONS: dict[str, Callable] = {
    "=": np.equal,
    "!=": np.not_equal,
    "<": np.less,
    "<=": np.less_equal,
    ">": np.greater,
    ">=": np.greater_equal,
}
NOT_GIVEN = "(not given)"


class Condition(NamedTuple):
    """A condition on a column: rows for which it holds are kept."""

    column: str
    operation: str
    value: str

    @property
    def words(self) -> str:
        """As it is said.

        >>> Condition("age", ">=", "21").words
        'age >= 21'
        """
        return f"{self.column} {self.operation} {self.value}"


class Pair(NamedTuple):
    """A planned column and the one that measured it."""

    planned: str
    measured: str

    @property
    def words(self) -> str:
        """As it is said."""
        return f"{self.planned}:{self.measured}"


@dataclass(frozen=True)
class Question:
    """What is asked of a series.

    Attributes:
        by: the column that makes the groups, None for all eyes together.
        where: conditions that a row must meet.
        pairs: of agreement.
        compared: columns that are compared between the groups.
        adjusted_for: column that the comparison is adjusted for, or None.
        outcomes: by name, the columns of outcomes.
    """

    by: str | None = None
    where: tuple[Condition, ...] = ()
    pairs: tuple[Pair, ...] = ()
    compared: tuple[str, ...] = ()
    adjusted_for: str | None = None
    outcomes: Mapping[str, Outcome] = field(default_factory=dict)

    @property
    def columns(self) -> set[str]:
        """Names of all columns that it needs."""
        names = {self.by, self.adjusted_for, *self.compared, *(one.column for one in self.where)}
        names |= {name for pair in self.pairs for name in pair}
        names |= {outcome.column for outcome in self.outcomes.values()}
        return {name for name in names if name} - set(self.outcomes)


def read_condition(text: str) -> Condition:
    """The Condition in a text.

    Raises:
        TableError: the text is no condition.

    >>> read_condition("age>=21"), read_condition("surgeon != B")
    (Condition(column='age', operation='>=', value='21'), Condition(column='surgeon', operation='!=', value='B'))
    """
    found = CONDITION.fullmatch(text)
    if not found:
        raise TableError(f"--where: read {shown(text)}, accepted COLUMN = VALUE, or with != < <= > >=")
    condition = Condition(*found.groups())
    if condition.operation not in ("=", "!=") and np.isnan(fast_numbers([condition.value])[0][0]):
        raise TableError(f"--where: read {shown(text)}, accepted a number after {condition.operation}")
    return condition


def read_pair(text: str, planned: Collection[str], measured: Collection[str]) -> Pair:
    """The Pair in PLANNED:MEASURED; a name may hold a colon itself.

    Args:
        text: as it was written.
        planned, measured: names that may stand on either side.

    Raises:
        TableError: no such pair, with the side that is not there.

    >>> read_pair("cap_um:cap: OCT", ["cap_um"], ["cap: OCT"]).measured
    'cap: OCT'
    """
    places = [i for i, sign in enumerate(text) if sign == ":"]
    if not places:
        raise TableError(f"--agree: read {shown(text)}, accepted PLANNED:MEASURED")
    for i in places:
        if text[:i] in planned and text[i + 1 :] in measured:
            return Pair(text[:i], text[i + 1 :])
    first, _, second = text.partition(":")
    name, known = (first, planned) if first not in planned else (second, measured)
    there = ", ".join(list(measured) if known is measured else [one for one in planned if one in measured])
    raise TableError(f"--agree: read {shown(name)}, accepted a column of the table: {shown(there, 400)}")


def question_of(chosen: Any, columns: Sequence[Column]) -> Question:
    """The Question in the arguments of a command.

    Args:
        chosen: by, where, agree, compare, adjust and columns as they were written.
        columns: Columns of the table.

    Raises:
        TableError: a column that is not there, a condition or a pair that is none.
    """
    outcomes = read_outcomes(chosen.columns) if chosen.columns is not None else {}
    given = [column.name for column in columns]
    inputs = [one.field for _, one in cell_readings(columns) if one.field]
    for name, outcome in outcomes.items():
        _there(f"{chosen.columns}: {OUTCOMES}.{name}", outcome.column, given, given)
    numbered = [*given, *inputs, *outcomes]
    names = [*numbered, *output_names()]
    for flag, wanted in (("by", [chosen.by]), ("compare", chosen.compare), ("adjust", [chosen.adjust])):
        for name in wanted:
            if name is not None:
                _there(f"--{flag}", name, names, given)
    conditions = tuple(map(read_condition, chosen.where))
    for condition in conditions:
        _there("--where", condition.column, [name for name in names if name not in outcomes], given)
    pairs = tuple(read_pair(text, names, numbered) for text in chosen.agree)
    return Question(chosen.by, conditions, pairs, tuple(chosen.compare), chosen.adjust, outcomes)


def _there(where: str, name: str, known: Collection[str], given: Collection[str]) -> None:
    """Refuse an unknown name."""
    if name not in known:
        raise TableError(f"{where}: read {shown(name)}, accepted a column of the table: {shown(', '.join(given), 400)}")


def kept_rows(series: Series, conditions: tuple[Condition, ...]) -> NDArray[np.bool_]:
    """The rows that were worked out and meet every condition; a missing value meets only conditions with !=.

    Args:
        series: Series.
        conditions: a value that is a number is compared as one, else as text.
    """
    found = series.worked
    for column, operation, value in conditions:
        number = fast_numbers([value])[0][0]
        if np.isnan(number):
            texts = series.texts.distinct(series.called(column))
            met = np.array([OPERATIONS[operation](text.strip(), value) for text in texts.distinct])[texts.index]
        else:
            met = OPERATIONS[operation](series.numbers(column), number)
        found = found & met
    return found


def groups_of_rows(series: Series, by: str | None) -> NDArray[np.str_]:
    """The group of each row; all one where there are no groups, `(not given)` where the cell is empty."""
    if by is None:
        return np.full(series.table.num_rows, "all")
    texts = series.texts.distinct(series.called(by))
    return np.array([text.strip() or NOT_GIVEN for text in texts.distinct])[texts.index]


def numbers(series: Series, question: Question, name: str, flag: str) -> NDArray[np.float64]:
    """A column, or an outcome, as numbers.

    Args:
        series: Series.
        question: Question, for its outcomes.
        name: of the column.
        flag: what asked for it, for the words of a fault.

    Raises:
        TableError: it is not there, or holds no number.
    """
    if name in question.outcomes:
        found = values_of(series, name, question.outcomes[name])
    elif name in series:
        found = series.numbers(name)
    else:
        raise TableError(f"{flag}: read {shown(name)}, accepted a column of the table")
    if len(found) and not np.isfinite(found).any():
        raise TableError(f"{flag}: read {shown(name)}, a column without a number, accepted a column of numbers")
    return found
