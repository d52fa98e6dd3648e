"""Splits a CSV file into blocks of whole rows and works out one block: text in, text out."""

import csv
import io
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from tissue.entry.fields import fields
from tissue.series.names import LAST, POWERS_READ, PROCEDURE, decimals, figure_names
from tissue.series.rows import Faults, Outcome, outcomes
from tissue.series.tables.cells import guarded, has_formula, read_columns, unguard
from tissue.series.tables.dialect import Dialect, sniff
from tissue.series.tables.digits import digits, line_bytes
from tissue.series.tables.distinct import Distinct
from tissue.series.tables.header import Column, ColumnMap, cell_readings, header_columns
from tissue.series.tables.plain_rows import plain_columns
from tissue.series.tables.row_ends import end_of_last_row, line_ends
from tissue.series.tables.swallowed import refuse_open_quote, refuse_swallowed_rows
from tissue.series.wrong import TableError

HEAD_BYTES = 1_500_000  # rows looked at before anything runs
ROWS = 12_000  # about so many rows in one block
LEAST_BYTES, MOST_BYTES = 100_000, 4_000_000  # of one block
LONGEST_ROW = 4_000_000
FEW_BYTES = 100_000  # for fewer bytes pyarrow is not worth its import
UTF_8 = "UTF-8 (in a spreadsheet: save as, CSV UTF-8; a text editor: save with the encoding UTF-8)"
POWERS = ("sphere_D", "cylinder_D", "treated_sphere_D", "treated_cylinder_D", "target_D")
ROW_END = "\r\n\x00"  # a line end within a cell is quoted, and no cell holds a NUL
csv.field_size_limit(2 * LONGEST_ROW)


@dataclass(frozen=True, eq=False)
class Job:
    """What is needed to work out any block of a file."""

    name: str
    dialect: Dialect
    header: tuple[str, ...]
    columns: tuple[Column, ...]
    with_optics: bool = False
    unsigned_plus: bool = False
    block_bytes: int = MOST_BYTES

    @property
    def numbered(self) -> list[int]:
        """Places of the columns that hold numeric inputs."""
        return [i for i, one in cell_readings(self.columns) if one.field in fields() and fields()[one.field].is_number]

    @property
    def added(self) -> tuple[str, ...]:
        """Names of the columns that are added."""
        powers = (POWERS_READ,) if self.unsigned_plus else ()
        return (*powers, *self.figures, *LAST)

    @property
    def figures(self) -> tuple[str, ...]:
        """Names of the figures; where a column gives the option each eye had, also those of that option."""
        own = any(column.field == PROCEDURE for _, column in cell_readings(self.columns))
        return figure_names(self.with_optics, own)


def open_job(
    file: BinaryIO,
    name: str,
    mapping: ColumnMap | None = None,
    with_optics: bool = False,
    unsigned_plus: bool = False,
) -> Job:
    """The Job of a CSV file from its first block.

    Args:
        file: open to be read as bytes; it is set back to its beginning.
        name: what faults call it.
        mapping: {our name: (their name, factor)}, or None.
        with_optics: whether the optical figures are wanted.
        unsigned_plus: True where a power without its sign is plus.

    Raises:
        TableError: it is no table that can be read.
    """
    head = file.read(HEAD_BYTES)
    file.seek(0)
    bom = head.startswith(b"\xef\xbb\xbf")
    if b"\x00" in head:
        raise TableError(f"{name}: file: read bytes that are no text, accepted CSV in UTF-8 or Parquet")
    whole = head if len(head) < HEAD_BYTES else head[: head.rfind(b"\n") + 1]
    if head and not whole:
        raise TableError(f"{name}: line 1: read a row of over 1.5 MB, accepted a header with shorter names")
    text = decoded(whole, name, 1)
    if not text.strip():
        raise TableError(f"{name}: file: read nothing, accepted a table with a header")
    dialect = sniff(text, bom)
    header = next(filter(None, csv.reader(io.StringIO(text, newline=""), delimiter=dialect.delimiter)))
    columns = header_columns([unguard(cell) for cell in header], mapping, f"{name}: ")
    inputs = {one.name for _, one in cell_readings(columns) if one.field in fields() and fields()[one.field].is_number}
    dialect = sniff(text, bom, lambda name: unguard(name) in inputs)
    return Job(name, dialect, tuple(header), tuple(columns), with_optics, bool(unsigned_plus), _block_bytes(head))


def _block_bytes(head: bytes) -> int:
    """Bytes of a block of about ROWS rows."""
    return min(max(LEAST_BYTES, ROWS * len(head) // max(1, line_ends(head))), MOST_BYTES)


def decoded(data: bytes, name: str, line: int) -> str:
    """Text of some bytes.

    Raises:
        TableError: they are not UTF-8, with the line where.
    """
    try:
        return data.decode("utf-8-sig" if line == 1 else "utf-8")
    except UnicodeDecodeError as error:
        at = line + line_ends(data[: error.start])
        raise TableError(f"{name}: line {at}: read bytes that are not UTF-8, accepted {UTF_8}") from None


def blocks(file: BinaryIO, name: str, delimiter: bytes = b",", size: int = MOST_BYTES) -> Iterator[tuple[bytes, int]]:
    """Blocks of whole rows of a file open to be read as bytes: (bytes, number of the first line).

    Args:
        file: open to be read as bytes.
        name: what faults call it.
        delimiter: the sign between cells, one byte.
        size: bytes that are read at once.

    Raises:
        TableError: a row that never ends.
    """
    line, rest = 1, b""
    while more := file.read(size):
        data = rest + more
        end = end_of_last_row(data, delimiter)
        if end == 0 and len(data) > LONGEST_ROW:
            raise TableError(f"{name}: line {line}: read a row of over 4 MB, accepted shorter rows, quotes in pairs")
        if end:
            yield data[:end], line
            line += line_ends(data[:end])
        rest = data[end:]
    if rest:
        yield rest, line


def header_bytes(job: Job) -> bytes:
    """The header of the output."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=job.dialect.delimiter)
    writer.writerow([*(guarded(cell) for cell in job.header), *job.added])
    return (b"\xef\xbb\xbf" if job.dialect.bom else b"") + out.getvalue().encode()


def work(job: Job, data: bytes, line: int) -> tuple[bytes, int, int]:
    """One block worked out: (bytes of its rows, number of rows, number refused).

    Args:
        job: Job.
        data: bytes of whole rows.
        line: number of the first line; line 1 is the header.

    Raises:
        TableError: bytes that are not UTF-8, or a NUL.
    """
    if b"\x00" in data:
        at = line + line_ends(data[: data.index(b"\x00")])
        raise TableError(f"{job.name}: line {at}: read a NUL byte, accepted text")
    first, cells, begins, found = _rows(job, decoded(data, job.name, line), line)
    if not first:
        return b"", 0, 0
    powers = [powers_read(job, row) for row in zip(*cells, strict=True)] if job.unsigned_plus else None
    written, refused = [], 0
    for start, stop, result in _outcomes(job, cells, found):
        beginnings = [np.array(first[start:stop])]
        if powers:
            beginnings.append(_marked(job, powers[start:stop]))
        reasons = [
            why and f"line {begin}: {why}" for begin, why in zip(begins[start:stop], result.reasons, strict=True)
        ]
        written.append(_written(job, beginnings, result, reasons))
        refused += sum(map(bool, reasons))
    return b"".join(written), len(first), refused


def _rows(job: Job, text: str, line: int) -> tuple[list[bytes], list[Distinct], Sequence[int], Faults]:
    """The rows of a block without the header.

    Returns:
        The rows as they are written again, their cells by column as Distinct texts, the lines where they begin, and
        faults {row: [words]}.
    """
    header, sign, width = int(line == 1), job.dialect.delimiter, len(job.header)
    data = text.encode()
    cells = plain_columns(data, sign, width) if len(data) > FEW_BYTES else None
    if cells:
        cells = [column.after(header) for column in cells]
        if not any(has_formula(column.distinct) for column in cells):
            rows = data.replace(b"\r\n", b"\n").removesuffix(b"\n").split(b"\n")[header:]
            return rows, cells, range(line + header, line + header + len(rows)), {}
    if '"' in text:
        refuse_open_quote(job.name, sign, data, line)
    lines, begins = read_rows(text, sign, line)
    lines, begins = lines[header:], begins[header:]
    refuse_swallowed_rows(job.name, sign, job.header, lines, begins, job.numbered)
    found = {row: [words] for row, words in _squared(lines, width).items()}
    cells = [Distinct.of([unguard(cell) for cell in column]) for column in zip(*lines, strict=True)]
    return _written_anew(lines, job), cells, begins, found


def _outcomes(job: Job, cells: list[Distinct], found: Faults) -> Iterator[tuple[int, int, Outcome]]:
    """Outcomes of a block, part by part: (first row, row after the last, Outcome)."""
    values, faults, unread = read_columns(cells, job.columns, job.unsigned_plus)
    for row, words in faults.items():
        found.setdefault(row, []).extend(words)
    place = {column.field: i for i, column in cell_readings(job.columns) if column.field}

    def written(name: str, row: int) -> str | None:
        return cells[place[name]][row] if name in place else None

    return outcomes(values, len(cells[0]), found, job.with_optics, written, unread)


def _written_anew(rows: list[list[str]], job: Job) -> list[bytes]:
    """The rows of a block, with quotes and guards where needed."""
    out = io.StringIO()
    csv.writer(out, delimiter=job.dialect.delimiter, lineterminator=ROW_END).writerows(
        [guarded(cell) for cell in row] for row in rows
    )
    return out.getvalue().encode().split(ROW_END.encode())[:-1]


def read_rows(text: str, delimiter: str, line: int) -> tuple[list[list[str]], list[int]]:
    """Rows of cells, and the number of the line in which each begins; empty lines are skipped."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows, begins, before = [], [], 0
    for row in reader:
        if row:
            rows.append(row)
            begins.append(line + before)
        before = reader.line_num
    return rows, begins


def _squared(rows: list[list[str]], width: int) -> dict[int, str]:
    """Cut or pad rows to the width of the header, in place; returns {row: words} for those of another width."""
    if set(map(len, rows)) == {width}:
        return {}
    found = {}
    for i, row in enumerate(rows):
        if len(row) != width:
            found[i] = f"row: read {len(row)} cells, accepted {width}, as in the header"
            rows[i] = (row + [""] * width)[:width]
    return found


def _written(job: Job, beginnings: list[NDArray], result: Outcome, reasons: list[str]) -> bytes:
    """Bytes of rows with their figures."""
    comma, parted = job.dialect.decimal == ",", job.dialect.delimiter.encode()
    bad = np.array([bool(reason) for reason in reasons])
    columns = list(beginnings)
    for name in job.figures:
        value = result.figures[name]
        if value.dtype.kind == "b":
            columns.append(np.where(bad, parted, np.where(value, parted + b"true", parted + b"false")))
        elif value.dtype.kind == "f":
            columns.append(digits(value, decimals(name) or 0, comma, parted))
        else:
            columns.append(_marked(job, value.tolist()))
    columns.append(np.where(bad, parted + b"refused", parted + b"ok"))
    columns.append(_marked(job, reasons))
    return line_bytes(columns)


def powers_read(job: Job, row: Sequence[str]) -> str:
    """How the powers of a row were read: all signed, or some unsigned ones as plus."""
    cells = [row[i].strip() for i, column in cell_readings(job.columns) if column.field in POWERS]
    unsigned = any(cell[:1].isdigit() and cell.strip("0.,") for cell in cells)
    return "unsigned as plus" if unsigned else "signed"


def _marked(job: Job, texts: Sequence[str]) -> NDArray[np.bytes_]:
    """A column of words, each after the delimiter, and quoted where it holds the delimiter or a quote."""
    delimiter = job.dialect.delimiter
    known = {text: delimiter.encode() + _quoted(text, delimiter) for text in set(texts)}
    if len(known) == 1:
        return np.full(len(texts), next(iter(known.values())))
    return np.array([known[text] for text in texts])


def _quoted(text: str, delimiter: str) -> bytes:
    """One cell of words."""
    if any(sign in text for sign in (delimiter, '"', "\n", "\r")):
        text = '"' + text.replace('"', '""') + '"'
    return text.encode()
