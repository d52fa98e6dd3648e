"""Reads a table of measured eyes for own errors: one row for each eye; unusable rows are refused with their line."""

import csv
import io
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np

from tissue.entry.notation import shown
from tissue.followup.own import SETTLED_DAYS, gain_beyond_um
from tissue.ground.vocabulary import EYES, Array
from tissue.series.tables.cells import fast_numbers, unguard
from tissue.series.tables.dialect import sniff
from tissue.series.tables.distinct import Distinct
from tissue.series.tables.header import Assigned
from tissue.series.tables.plain_rows import plain_columns
from tissue.series.tables.swallowed import refuse_open_quote, refuse_swallowed_rows
from tissue.series.wrong import TableError, error_words

TEXTS = ("patient", "side", "date")
NUMBERS = (
    "cap_um", "cap_measured_um", "flap_um", "flap_measured_um", "reported_lenticule_um", "lenticule_measured_um",
    "reported_ablation_um", "ablation_measured_um", "stroma_before_um", "stroma_after_um", "epithelium_um",
    "epithelium_after_um", "days", "SE_treated_D", "SE_after_D", "target_D", "central_thickness_um",
    "thickness_second_um",
)  # fmt: skip
LARGEST_BYTES = 50_000_000
SNIFFED = 100_000
FEW_BYTES = 50_000  # a smaller table is read row by row


@dataclass(frozen=True, eq=False)
class OwnTable:
    """The rows of a table that can be used; arrays of one length.

    patients, sides, dates: texts. groups: texts of the column that makes groups; empty without one. lines: where
    each row begins. numbers: by name, NaN where empty. rows: how many the table has; refused: (line, reason) of others.
    """

    patients: np.ndarray
    sides: np.ndarray
    dates: np.ndarray
    groups: np.ndarray
    lines: np.ndarray
    numbers: dict[str, Array]
    rows: int
    refused: list[tuple[int, str]]


def read_own_table(path: str | Path, mapping: dict[str, Assigned] | None = None, by: str = "") -> OwnTable:
    """The OwnTable in a CSV file.

    Args:
        path: of the file.
        mapping: {our name: Assigned}, or None.
        by: the column that makes groups; none where empty.

    Raises:
        TableError: it cannot be read, has no column `patient`, or lacks a column that is named.
    """
    from tissue.entry.whole_file import plain_file

    try:
        with open(plain_file(path), "rb") as file:
            data = file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise TableError(f"{path}: file: read {error_words(error)}, accepted a CSV table") from None
    return measured_table(data, str(path), mapping, by)


def measured_table(data: bytes, name: str, mapping: dict[str, Assigned] | None = None, by: str = "") -> OwnTable:
    """The OwnTable in the bytes of a CSV file; arguments and errors as `read_own_table`.

    >>> found = measured_table(b"patient,side,cap_um,cap_measured_um\\na,OD,120,121\\na,OD,120,119\\n", "t.csv")
    >>> found.numbers["cap_measured_um"].tolist(), found.refused
    ([121.0], [(3, 'side: read OD of patient a twice, accepted each eye once')])
    """
    if len(data) > LARGEST_BYTES:
        raise TableError(f"{name}: file: read more than 50 MB, accepted a table of at most 50 MB")
    cells = _cells(data, name)
    places, why = _places(cells.header, mapping or {}, by, name), dict(cells.ragged)
    texts = {ours: _texts(cells, places.get(ours)) for ours in (*TEXTS, "by")}
    factors = {ours: theirs.factor for ours, theirs in (mapping or {}).items()}
    numbers = {ours: _numbers(cells.columns[places[ours]], ours, why) * factors.get(ours, 1.0)
               for ours in NUMBERS if ours in places}  # fmt: skip
    _refuse_eyes(texts, numbers, why)
    kept = np.ones(len(cells.lines), dtype=bool)
    kept[list(why)] = False
    return OwnTable(
        patients=texts["patient"][kept],
        sides=texts["side"][kept],
        dates=texts["date"][kept],
        groups=texts["by"][kept],
        lines=cells.lines[kept],
        numbers={ours: column[kept] for ours, column in numbers.items()},
        rows=len(cells.lines),
        refused=[(int(cells.lines[i]), why[i]) for i in sorted(why)],
    )


class Cells(NamedTuple):
    """A table of texts: its header, its columns, the line where each row begins, and why a row is not square."""

    header: list[str]
    columns: list[Distinct]
    lines: np.ndarray
    ragged: dict[int, str]


def _cells(data: bytes, name: str) -> Cells:
    """The Cells of a CSV file."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise TableError(f"{name}: line {line}: read bytes that are not UTF-8, accepted UTF-8 text") from None
    delimiter = sniff(text[:SNIFFED]).delimiter
    header = next(filter(None, csv.reader(io.StringIO(text[:SNIFFED], newline=""), delimiter=delimiter)), [])
    plain = plain_columns(text.encode("utf-8"), delimiter, len(header)) if header and len(data) > FEW_BYTES else None
    if plain:
        rows = len(plain[0]) - 1
        return Cells([c.strip() for c in header], [c.after(1) for c in plain], np.arange(2, rows + 2), {})
    return _quoted_cells(text, delimiter, name)


def _quoted_cells(text: str, delimiter: str, name: str) -> Cells:
    """The Cells of a table, row by row."""
    rows, lines, before = [], [], 0
    refuse_open_quote(name, delimiter, text.encode("utf-8"), 1)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    try:
        for cells in reader:
            if cells:
                rows.append(cells)
                lines.append(before + 1)
            before = reader.line_num
    except csv.Error as error:
        raise TableError(f"{name}: line {before + 1}: read {error}, accepted rows of cells") from None
    if not rows:
        raise TableError(f"{name}: file: read nothing, accepted a header and rows")
    header = [cell.strip() for cell in rows[0]]
    numbered = [i for i, cell in enumerate(header) if cell in NUMBERS]
    refuse_swallowed_rows(name, delimiter, header, rows, lines, numbered)
    accepted = f"accepted {len(header)}, as in the header"
    ragged = {
        i: f"row: read {len(cells)} cells, {accepted}" for i, cells in enumerate(rows[1:]) if len(cells) != len(header)
    }
    square = [[""] * len(header) if i in ragged else cells for i, cells in enumerate(rows[1:])]
    columns = [Distinct.of([cells[i] for cells in square]) for i in range(len(header))]
    return Cells(header, columns, np.array(lines[1:], dtype=int), ragged)


def _places(header: list[str], mapping: dict[str, Assigned], by: str, name: str) -> dict[str, int]:
    """The place of each of our columns in the table.

    Raises:
        TableError: no column of patients, a name that is not there, or a column twice.
    """
    wanted = {ours: ours for ours in (*TEXTS, *NUMBERS)} | {ours: theirs.name for ours, theirs in mapping.items()}
    wanted |= {"by": by} if by else {}
    there = shown(", ".join(header), 400)
    faults = [f"{name}: map: read {shown(theirs.name)}, accepted a column of the table: {there}"
              for theirs in mapping.values() if theirs.name not in header]  # fmt: skip
    if by and by not in header:
        faults.append(f"{name}: --by: read {shown(by)}, accepted a column of the table: {there}")
    if wanted["patient"] not in header:
        faults.append(f"{name}: header: read no column patient, accepted one that ties the eyes of a patient together")
    used = [theirs for theirs in wanted.values() if header.count(theirs) > 1]
    faults += [f"{name}: header: read {shown(theirs)} twice, accepted each name once" for theirs in dict.fromkeys(used)]
    if faults:
        raise TableError(*faults)
    return {ours: header.index(theirs) for ours, theirs in wanted.items() if theirs in header}


def _texts(cells: Cells, place: int | None) -> np.ndarray:
    """A column of words, empty where the table has none."""
    if place is None:
        return np.full(len(cells.lines), "", dtype=object)
    column = cells.columns[place]
    return np.array([unguard(text).strip() for text in column.distinct] or [""], dtype=object)[column.index]


def _numbers(column: Distinct, ours: str, why: dict[int, str]) -> Array:
    """A column of numbers; a row whose cell is no number is refused."""
    texts = [unguard(text).strip().replace("−", "-") for text in column.distinct]
    values, odd = fast_numbers(texts)
    wrong = set(np.flatnonzero(odd).tolist())
    if wrong:
        for row in np.flatnonzero(np.isin(column.index, list(wrong))):
            why.setdefault(int(row), f"{ours}: read {shown(texts[column.index[row]])}, accepted a number")
    return values[column.index] if len(texts) else np.zeros(0)


def _refuse_eyes(texts: dict[str, np.ndarray], numbers: dict[str, Array], why: dict[int, str]) -> None:
    """Give a reason to rows without a patient or a number, with an unknown side, or with an eye listed before."""
    seen: set[tuple[str, str]] = set()
    some = np.zeros(len(texts["patient"]), dtype=bool)
    for column in numbers.values():
        some |= ~np.isnan(column)
    for i, (patient, side) in enumerate(zip(texts["patient"], texts["side"], strict=True)):
        said, side = side, side.upper()
        texts["side"][i] = side
        if i in why:
            continue
        if reason := _of_eye(patient, side, said, bool(some[i]), seen):
            why[i] = reason
        else:
            seen.add((patient, side))


def _of_eye(patient: str, side: str, said: str, some: bool, seen: set[tuple[str, str]]) -> str:
    """Why a row does not count as an eye; empty where it does."""
    if not patient:
        return "patient: read nothing, accepted who the eye belongs to"
    if side and side not in EYES:
        return f"side: read {shown(said)}, accepted OD or OS"
    if (patient, side) in seen:
        said = (
            f"{side} of patient {shown(patient)} twice"
            if side
            else f"two eyes of patient {shown(patient)} without a side"
        )
        return f"side: read {said}, accepted each eye once"
    return "" if some else "row: read no number, accepted a measured one"


def differences(table: OwnTable) -> Iterator[tuple[str, Array]]:
    """For each error by its id, the difference of every row [µm, D]; NaN where the row does not tell it.

    Args:
        table: OwnTable.
    """
    empty = np.full(len(table.patients), np.nan)

    def column(name: str) -> Array:
        return table.numbers.get(name, empty)

    stroma = column("stroma_before_um") - column("stroma_after_um")
    yield "cap", column("cap_measured_um") - column("cap_um")
    yield "flap", column("flap_measured_um") - column("flap_um")
    for id in ("lenticule", "ablation"):
        taken = column(f"{id}_measured_um")
        yield id, np.where(np.isnan(taken), stroma, taken) - column(f"reported_{id}_um")
    days, SE = column("days"), column("SE_treated_D")
    settled = (days >= SETTLED_DAYS) & (SE < 0)
    gained = column("epithelium_after_um") - column("epithelium_um")
    yield "gain", np.where(settled, gain_beyond_um(gained, np.nan_to_num(days), SE), np.nan)
    yield "refraction", column("SE_after_D") - np.nan_to_num(column("target_D"))
    yield "thickness", (column("central_thickness_um") - column("thickness_second_um")) / np.sqrt(2.0)
    yield "epithelium", column("epithelium_um")
