"""Finds which column of a table is which input: by name, by a map of other names; and refuses what is unclear."""

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches
from functools import cache, lru_cache
from os.path import commonprefix
from pathlib import Path
from typing import Any, NamedTuple

from tissue.entry.checks import is_given
from tissue.entry.fields import fields, nearest
from tissue.entry.notation import shown
from tissue.entry.plan_text import new_text
from tissue.entry.toml_file import Unreadable, file_bytes, tables
from tissue.series.names import output_names
from tissue.series.wrong import MOST_LINES, TableError, first_of

EXTRA = ("side", "patient")
OUTCOMES = "outcomes"  # the table of a map that says which columns hold outcomes
MOST_COLUMNS = 2_000
LONGEST_NAME = 1_000
LARGEST_FACTOR = 1e6
UNITS = ("um", "mm", "d", "deg", "s", "dpt", "microns")
SHORTEST, ALIKE = 5, 0.93  # shortest word in which a slip is looked for; likeness from which several slips are
SPELLED_TWICE = (("refraction", "sphere_D"), ("radius_mm", "mean_K_D"))


@dataclass(frozen=True)
class Column:
    """One column of a table: its name there, the input it is (None: passed through), and the factor to our unit.

    more: the other inputs that it is too, where a map says so.
    """

    name: str
    field: str | None
    factor: float = 1.0
    more: tuple["Column", ...] = ()


class Assigned(NamedTuple):
    """One input in a map: the name of its column, the factor to our unit, whether other inputs share it."""

    name: str
    factor: float = 1.0
    shared: bool = False


ColumnMap = Mapping[str, Assigned | tuple[str, float]]  # {our name: what a map says of it}


def cell_readings(columns: Iterable[Column]) -> Iterator[tuple[int, Column]]:
    """Place and Column of every input, and of every column that is passed through.

    >>> [(i, one.field) for i, one in cell_readings([Column("OZ", "zone_mm", more=(Column("OZ", "pupil_mm"),))])]
    [(0, 'zone_mm'), (0, 'pupil_mm')]
    """
    for i, column in enumerate(columns):
        yield from ((i, one) for one in (column, *column.more))


def header_columns(names: list[str], mapping: ColumnMap | None = None, before: str = "") -> list[Column]:
    """The Columns of a header.

    Args:
        names: the header.
        mapping: {our name: (their name, factor)}, or None.
        before: what stands before each fault, as the name of the table.

    Raises:
        TableError: too many names; a name that is too long, there twice, nearly one of ours or an output's; a map that
            does not fit.

    >>> [c.field for c in header_columns(["sphere_D", "central_thickness_um", "device note"])]
    ['sphere_D', 'central_thickness_um', None]
    """
    names = list(names)
    if len(names) > MOST_COLUMNS:
        raise TableError(f"{before}header: read {len(names)} columns, accepted up to {MOST_COLUMNS}")
    found, faults = _understood(names, mapping or {})
    if faults:
        raise TableError(*first_of([f"{before}{fault}" for fault in faults], f"{before}header: "))
    return found


def _understood(names: list[str], mapping: ColumnMap) -> tuple[list[Column], list[str]]:
    """The Columns, and every fault."""
    twice = sorted(name for name, times in Counter(names).items() if times > 1)
    faults = [f"header: read {_said(name)} twice, accepted each name once" for name in twice]
    faults += [f"header: read {shown(name)}, accepted shorter names" for name in names if len(name) > LONGEST_NAME]
    mapped, wrong = _mapped(names, mapping)
    if faults or wrong:
        return [], faults + wrong
    found = [mapped.get(name) or Column(name, name if name in fields() or name in EXTRA else None) for name in names]
    faults += [fault for column in found if column.field is None for fault in _near(column.name)]
    return found, faults + (_pairs({one.field for _, one in cell_readings(found)}) if mapping else [])


def _said(name: str) -> str:
    """A name of the table's own, fit for a message."""
    return shown(name) if name else "an empty name"


def _mapped(names: list[str], mapping: ColumnMap) -> tuple[dict[str, Column], list[str]]:
    """Their columns by name, from the map, and its faults."""
    faults: list[str] = []
    found: dict[str, Column] = {}
    entries = {ours: Assigned(*entry) for ours, entry in mapping.items()}
    alone = {entry.name for entry in entries.values() if not entry.shared}
    for ours, (theirs, factor, _) in entries.items():
        if theirs not in names:
            there = shown(", ".join(names), 400)
            faults.append(f"map: read {ours} = {shown(theirs)}, accepted a column of the table: {there}")
        elif (theirs in found and theirs in alone) or (theirs != ours and ours in names):
            accepted = "one each (shared = true where a column holds two inputs)"
            faults.append(f"map: read two columns for {ours} or two names for {shown(theirs)}, accepted {accepted}")
        else:
            column = Column(theirs, ours, factor)
            first = found.get(theirs)
            found[theirs] = replace(first, more=(*first.more, column)) if first else column
    return found, faults


def _plain(name: str) -> str:
    """A name without case, spaces and signs, which people write differently."""
    return re.sub(r"[^a-z0-9]", "", re.sub("[µμ]", "u", name.casefold()))


def _stem(name: str) -> str:
    """A plain name without its unit.

    >>> _stem("Zone (mm)"), _stem("zone"), _stem("flap_um")
    ('zone', 'zone', 'flap')
    """
    words = re.split(r"[^a-z0-9]+", re.sub("[µμ]", "u", name.casefold()).strip("_ ()[].,-/"))
    return "".join(words[:-1] if len(words) > 1 and words[-1] in UNITS else words)


@cache
def _known() -> dict[str, str]:
    """Our names in plain form, to find misspelt ones: {plain name or stem: our name}."""
    names = (*fields(), *EXTRA)
    return {_stem(name): name for name in names} | {_plain(name): name for name in names}


@lru_cache(maxsize=2 * MOST_COLUMNS)
def _nearly(name: str) -> str | None:
    """Our name that another name nearly is, or None: the same apart from case, signs and unit, or with a slip.

    >>> _nearly("Zone mm"), _nearly("sphre_D"), _nearly("central_thicknes"), _nearly("patient_id")
    ('zone_mm', 'sphere_D', 'central_thickness_um', None)
    """
    plain, known = _plain(name), _known()
    for spelling in (plain, _stem(name)):
        if spelling in known:
            return known[spelling]
    near = [ours for ours in known if _as_long(len(ours), len(plain))]
    slips = [ours for ours in near if min(len(ours), len(plain)) >= SHORTEST and _one_slip(ours, plain)]
    close = slips or get_close_matches(plain, near, 1, ALIKE)
    return known[close[0]] if close else None


def _as_long(first: int, second: int) -> bool:
    """Whether words of these lengths could be one slip apart."""
    return abs(first - second) <= 1 or 2 * min(first, second) >= ALIKE * (first + second)


def _one_slip(first: str, second: str) -> bool:
    """Whether two words differ by one letter added, missing or changed, or by two letters exchanged.

    >>> _one_slip("sphere", "sphre"), _one_slip("zone", "zoen"), _one_slip("flap", "cap")
    (True, True, False)
    """
    if abs(len(first) - len(second)) > 1:
        return False
    start = len(commonprefix((first, second)))
    a, b = first[start:], second[start:]
    return a[1:] == b[1:] or a[1:] == b or a == b[1:] or (a[:2] == b[1::-1] and a[2:] == b[2:])


def _near(name: str) -> list[str]:
    """Faults of a name that is passed through: it must not resemble an input, nor equal an output."""
    if name in output_names():
        return [f"header: read {name}, which is the name of an output, accepted another name"]
    ours = _nearly(name)
    if ours:
        return [f"header: read {shown(name)}, accepted {ours}, or a name that is not so near to it"]
    return []


def _pairs(given: Collection[str | None]) -> list[str]:
    """Faults of two spellings of one quantity in a map."""
    return [
        f"map: read both {first} and {second}, accepted one of them"
        for first, second in SPELLED_TWICE
        if first in given and second in given
    ]


def read_map(path: Path | str, names: tuple[str, ...] | None = None) -> dict[str, Assigned]:
    """The map in a TOML file: {our name: Assigned}; what it says of outcomes is read by `study.outcomes`.

    Args:
        path: of the file.
        names: the names of ours that it may hold; those of a series where None.

    Raises:
        TableError: it cannot be read, or holds an unknown name.
    """
    return map_of(map_document(path), path, names)


def map_document(path: Path | str, data: bytes | None = None) -> dict[str, Any]:
    """The tables of a map file.

    Args:
        path: of the file, or what faults call it.
        data: its bytes where they were read before.

    Raises:
        TableError: it cannot be read.
    """
    kind = "a TOML file of column names"
    try:
        return tables(file_bytes(path, kind) if data is None else data, kind)
    except Unreadable as error:
        raise TableError(f"{path}: read {error.read}, accepted {error.accepted}") from None


def map_of(document: Mapping[str, Any], path: Path | str, names: Iterable[str] | None = None) -> dict[str, Assigned]:
    """The map in the tables of its file: {our name: Assigned}; arguments as in `read_map`.

    Raises:
        TableError: it holds an unknown name.
    """
    found: dict[str, Assigned] = {}
    faults: list[str] = []
    names = (*fields(), *EXTRA) if names is None else tuple(names)
    for ours, theirs in document.items():
        if ours == OUTCOMES:
            continue
        if ours not in names:
            known = f"a name such as {nearest(ours, names)}" if len(faults) < MOST_LINES else "a name of ours"
            faults.append(f"{path}: read {_said(ours)}, accepted {known}")
            continue
        entry = {"name": theirs} if isinstance(theirs, str) else theirs
        number = isinstance(entry, dict) and entry.get("factor", 1.0)
        shared = isinstance(entry, dict) and entry.get("shared", False)
        keys = {"name", "factor", "shared"}
        if not isinstance(entry, dict) or not isinstance(entry.get("name"), str) or set(entry) - keys:
            faults.append(
                f'{path}: {ours}: read {shown(theirs)}, accepted "their name" or {{name = "their name", factor = 1000}}'
            )
        elif isinstance(number, bool) or not isinstance(number, int | float) or not 0 < number <= LARGEST_FACTOR:
            faults.append(f"{path}: {ours}: read factor {shown(number)}, accepted a number above 0, up to 1000000")
        elif not isinstance(shared, bool):
            faults.append(f"{path}: {ours}: read shared = {shown(shared)}, accepted true or false")
        else:
            found[ours] = Assigned(entry["name"], float(number), shared)
    if faults:
        raise TableError(*first_of(faults, f"{path}: "))
    return found


def write_map(mapping: ColumnMap, outcomes: Mapping[str, Any] | None = None) -> str:
    """The text of a map file that reads back the same.

    Args:
        mapping: {our name: Assigned}.
        outcomes: {name of an outcome: its column with factor or spelling}, see `study.outcomes`; None: none.

    >>> print(write_map({"zone_mm": ("OZ", 1.0), "central_thickness_um": ("Pachy", 1000.0)}), end="")
    # This file ends with the line "# end of file". Where that line is missing, the file was cut off.
    zone_mm = "OZ"
    <BLANKLINE>
    [central_thickness_um]
    name = "Pachy"
    factor = 1000.0
    # end of file
    """
    entries = {ours: Assigned(*entry) for ours, entry in mapping.items()}
    found = {ours: _entry(entry) for ours, entry in entries.items() if is_given(entry.name)}
    named = {name: _outcome_entry(name, outcome) for name, outcome in (outcomes or {}).items()}
    return new_text(found | ({OUTCOMES: named} if named else {}))


def _outcome_entry(name: str, outcome: Any) -> str | dict[str, Any]:
    """An outcome as a map file has it."""
    if name.endswith("_logMAR"):
        return {"name": outcome.column, "written": outcome.written}
    return {"name": outcome.column, "factor": outcome.factor} if outcome.factor != 1.0 else outcome.column


def _entry(entry: Assigned) -> str | dict[str, Any]:
    """An Assigned as a map file has it: no more than is needed."""
    more = {"factor": entry.factor} if entry.factor != 1.0 else {}
    more |= {"shared": True} if entry.shared else {}
    return {"name": entry.name} | more if more else entry.name
