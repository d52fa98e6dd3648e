"""A record of learning: how each kind was answered, and when it is due again; a JSON file that the fellow keeps.

A kind is due again 1, 3, 7 and 14 days after it was last answered right, and at once after a wrong answer. Growing
distances are common practice in learning; these four are a choice, no published figure.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import VERSION
from tissue.rounds.question import kinds

SCHEMA, WHAT = 1, "record of learning, Rounds"
DISTANCES = (1, 3, 7, 14)  # days from a right answer to the next time
MOST_BYTES, MOST_COUNT, MOST_KINDS = 200_000, 1_000_000, 500
DAY = "a day as in 2026-11-29"


@dataclass(frozen=True, eq=False)
class Known:
    """How one kind was answered.

    Args:
        asked, right: how often.
        step: how many of the distances it has climbed, 0 to 4; 0 after a wrong answer.
        last_asked, last_right: days; the second None where it never was.
    """

    asked: int = 0
    right: int = 0
    step: int = 0
    last_asked: date = date.min
    last_right: date | None = None

    @property
    def due(self) -> date:
        """The day on which the kind is due again.

        >>> Known(3, 2, 2, date(2026, 11, 29), date(2026, 11, 29)).due
        datetime.date(2026, 12, 2)
        """
        if not self.step or self.last_right is None:
            return self.last_asked
        return self.last_right + timedelta(days=DISTANCES[self.step - 1])

    def after(self, right: bool, day: date) -> "Known":
        """The Known after one more answer; a right answer lengthens the interval only where the kind was due."""
        climbs = right and (not self.step or day >= self.due)
        return replace(
            self,
            asked=self.asked + 1,
            right=self.right + int(right),
            step=min(self.step + int(climbs), len(DISTANCES)) if right else 0,
            last_asked=day,
            last_right=day if right else self.last_right,
        )


@dataclass(frozen=True, eq=False)
class Record:
    """How every kind was answered, {kind: Known}; it includes kinds that this version does not know."""

    kinds: Mapping[str, Known] = field(default_factory=dict)

    def after(self, answers: Iterable[tuple[str, bool, date]]) -> "Record":
        """The Record after more answers: (kind, whether it was right, the day) of each, in their order."""
        found = dict(self.kinds)
        for kind, right, day in answers:
            found[kind] = found.get(kind, Known()).after(right, day)
        return Record(found)

    def due(self, day: date) -> tuple[str, ...]:
        """The kinds of this version that are due on a day, the longest overdue first."""
        there = [(one.due, kind) for kind, one in self.kinds.items() if one.due <= day and kind in kinds()]
        return tuple(kind for _, kind in sorted(there))


def record_json(record: Record, day: date) -> bytes:
    """The file of a Record, written on a day.

    >>> read_record(record_json(Record(), date(2026, 11, 29))).kinds
    {}
    """
    rows = {
        kind: _row(kind, one) for kind, one in sorted(record.kinds.items(), key=lambda pair: (pair[1].due, pair[0]))
    }
    head = {"schema": SCHEMA, "what": WHAT, "version": VERSION, "written": day.isoformat()}
    table = head | {"due_now": list(record.due(day)), "kinds": rows}
    return (json.dumps(table, ensure_ascii=False, indent=2) + "\n").encode()


def _row(kind: str, one: Known) -> dict[str, Any]:
    """The row of a kind in the file: its words, its counts, and when it is due."""
    title = {"title": kinds()[kind].title} if kind in kinds() else {}
    counted = {name: value.isoformat() if isinstance(value, date) else value for name, value in asdict(one).items()}
    return title | counted | {"due": one.due.isoformat()}


def read_record(content: bytes) -> Record:
    """The Record of a file.

    Raises:
        EyeError: the file is no record of learning, or it names a value that is not possible.
    """
    if len(content) > MOST_BYTES:
        raise EyeError("file", f"{len(content):,} bytes", f"up to {MOST_BYTES:,} bytes")
    try:
        table = json.loads(content.decode("utf-8"), object_pairs_hook=_once)
    except EyeError:
        raise
    except (ValueError, RecursionError):  # no text, no JSON, or a number with thousands of digits
        raise EyeError("file", "no JSON", "a record of learning, JSON") from None
    if not isinstance(table, dict) or table.get("what") != WHAT:
        raise EyeError("what", _shown(table.get("what") if isinstance(table, dict) else table), WHAT)
    if table.get("schema") != SCHEMA:
        raise EyeError("schema", _shown(table.get("schema")), str(SCHEMA))
    rows = table.get("kinds")
    if not isinstance(rows, dict) or len(rows) > MOST_KINDS:
        raise EyeError("kinds", _shown(rows), f"a table of up to {MOST_KINDS} kinds")
    return Record({kind: _known(kind, row) for kind, row in rows.items()})


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """A table of the file; a name that stands twice is refused."""
    table = dict(pairs)
    if len(table) < len(pairs):
        names = [name for name, _ in pairs]
        raise EyeError("file", next(name for name in names if names.count(name) > 1), "each name once")
    return table


def _known(kind: str, row: Any) -> Known:
    """The Known of a row of the file."""
    if not isinstance(row, dict):
        raise EyeError(f"kinds.{kind[:40]}", _shown(row), "a table")
    asked = _whole(kind, row, "asked", 1, MOST_COUNT)
    right = _whole(kind, row, "right", 0, asked)
    step = _whole(kind, row, "step", 0, min(right, len(DISTANCES)))
    last_right = _day(kind, row, "last_right") if right else None
    found = Known(asked, right, step, _day(kind, row, "last_asked"), last_right)
    if last_right is not None and last_right > found.last_asked:
        raise EyeError(_name(kind, "last_right"), row["last_right"], f"up to last_asked, {found.last_asked}")
    if row.get("due") != found.due.isoformat():
        raise EyeError(_name(kind, "due"), _shown(row.get("due")), f"{found.due}, by step and last_right")
    return found


def _name(kind: str, name: str) -> str:
    return f"kinds.{kind[:40]}.{name}"


def _whole(kind: str, row: dict[str, Any], name: str, low: int, high: int) -> int:
    """A whole number of a row, within its limits."""
    value = row.get(name)
    if type(value) is not int or not low <= value <= high:
        raise EyeError(_name(kind, name), _shown(value), f"a whole number, {low} to {high}")
    return value


def _day(kind: str, row: dict[str, Any], name: str) -> date:
    """A day of a row."""
    value = row.get(name)
    try:
        found = date.fromisoformat(value) if isinstance(value, str) else None
    except ValueError:
        found = None
    if found is None or not 2000 <= found.year <= 9000:
        raise EyeError(_name(kind, name), _shown(value), DAY)
    return found


def _shown(value: Any) -> str:
    """What was read, short enough for a line."""
    return "nothing" if value is None else str(value)[:40]
