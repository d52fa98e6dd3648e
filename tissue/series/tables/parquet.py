"""A Parquet table in, the same table with every unrounded figure out, through a pure function of one part."""

from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from tissue.entry.fields import fields
from tissue.ground.errors import EyeError
from tissue.series.names import PROCEDURE, decimals, figure_names, unit_of
from tissue.series.rows import Faults, whole_outcome
from tissue.series.tables.arrow_columns import column_of, numbers_in, text_column
from tissue.series.tables.cells import in_our_unit, read_columns
from tissue.series.tables.distinct import Distinct
from tissue.series.tables.header import Column, ColumnMap, cell_readings, header_columns
from tissue.series.tables.parquet_file import ROWS, batches, opened, readable
from tissue.series.working import Progress, Summary, Then, results_in_order, sha256_of, whole_table
from tissue.series.wrong import TableError

GROUP_BYTES = 64_000_000  # about so many rows in an output row group


def worked(table: Any, mapping: ColumnMap | None = None, with_optics: bool = False) -> Any:
    """A table with every figure; a pure function that a scheduler can hand out.

    Args:
        table: pyarrow Table or RecordBatch.
        mapping: {our name: (their name, factor)}, or None.
        with_optics: whether the optical figures are wanted.

    Returns:
        pyarrow Table, input columns first, then the figures, `status` and `reason`.

    Raises:
        TableError: the columns cannot be understood.
    """
    import pyarrow as pa

    columns = header_columns(table.schema.names, mapping)
    values: dict[str, NDArray[Any]] = {}
    found: Faults = {}
    unread: dict[str, NDArray[np.bool_]] = {}
    for i, column in cell_readings(columns):
        if column.field in fields() or column.field == "side":
            values |= _values(table.column(i), column, found, unread)
    result = whole_outcome(values, table.num_rows, found, with_optics, unread=unread)
    count = table.num_rows
    names = figure_names(with_optics, any(column.field == PROCEDURE for _, column in cell_readings(columns)))
    added = {name: column_of(result.figures[name]) if count else _empty(name) for name in names}
    added["status"] = text_column(["refused" if reason else "ok" for reason in result.reasons])
    added["reason"] = text_column(result.reasons)
    kinds = [pa.field(name, column.type, metadata=_unit(name)) for name, column in added.items()]
    whole = pa.schema([*table.schema, *kinds], table.schema.metadata)
    return pa.table([*table.columns, *added.values()], whole)


def _unit(name: str) -> dict[str, str] | None:
    """The unit of a figure as the metadata of its field, None where it has none."""
    unit = unit_of(name)
    return {"unit": unit} if unit else None


def _empty(name: str) -> Any:
    """A figure of no eyes."""
    import pyarrow as pa

    kinds = {"available": pa.bool_(), "why_not": pa.string()}
    return pa.array([], next((kind for end, kind in kinds.items() if name.endswith(end)), pa.float64()))


def _values(array: Any, column: Column, found: Faults, unread: dict[str, NDArray[np.bool_]]) -> dict[str, NDArray[Any]]:
    """Values of one column; texts are read as people write them, a number keeps its sign."""
    import pyarrow as pa

    numeric = pa.types.is_integer(array.type) or pa.types.is_floating(array.type) or pa.types.is_decimal(array.type)
    if numeric and column.field in fields() and fields()[column.field].is_number:
        numbers = numbers_in(array)
        unread |= {column.field: np.isinf(numbers)} if np.isinf(numbers).any() else {}
        for row in np.flatnonzero(np.isinf(numbers)).tolist():
            fault = EyeError(column.field, numbers[row], fields()[column.field].accepted)
            found.setdefault(row, []).append(f"{fault.field}: read {fault.value:g}, accepted {fault.limit}")
        numbers = np.where(np.isinf(numbers), np.nan, numbers)
        numbers = in_our_unit(numbers, column.factor)
        return {column.field: np.array(fields()[column.field].in_own_unit(numbers), ndmin=1)}
    texts = ["" if value is None else str(value) for value in array.to_pylist()]
    values, faults, odd = read_columns([Distinct.of(texts)], [column])
    unread |= odd
    for row, words in faults.items():
        found.setdefault(row, []).extend(words)
    return values


def schema(source: str | Path) -> Any:
    """The schema of a Parquet table, a file or a folder.

    Raises:
        TableError: it cannot be read.
    """
    import pyarrow.parquet as pq

    if not Path(source).is_dir():
        return opened(source, str(source))[1]
    with readable(str(source)):
        return pq.ParquetDataset(source).schema


def run_parquet(
    source: Path,
    target: Path,
    mapping: ColumnMap | None,
    *,
    with_optics: bool,
    unsigned_plus: bool,
    progress: Progress | None,
    workers: int | None,
    then: Then | None,
) -> Summary:
    """A Parquet table, part by part; arguments as in `run`.

    Raises:
        TableError: the table cannot be read; nothing is written.
    """
    if unsigned_plus:
        raise TableError(f"{source}: --unsigned: read plus, accepted for CSV only: in Parquet a number has its sign")
    table = opened(source, str(source))
    header_columns(table[1].names, mapping, f"{source}: ")
    with whole_table(target) as out:
        done = stream_parquet(
            table,
            str(source),
            out,
            mapping,
            with_optics=with_optics,
            progress=progress,
            workers=workers,
            sha256=sha256_of(source),
        )
        if then is not None:
            out.flush()
            then(out.name, done)
    return done


def stream_parquet(
    table: tuple[Any, Any],
    name: str,
    out: BinaryIO,
    mapping: ColumnMap | None = None,
    *,
    with_optics: bool = False,
    progress: Progress | None = None,
    workers: int | None = 1,
    sha256: str | None = None,
) -> Summary:
    """Work out a Parquet table into a file open to write bytes; returns the Summary.

    Args:
        table: file and kinds as `opened` gives them.
        name: what faults call it.
        out: file open to write bytes.
        mapping, with_optics, progress, workers: as in `run`.
        sha256: of the input, for the metadata of the output; None: not known.

    Raises:
        TableError: the table cannot be read.
    """
    import pyarrow.parquet as pq

    file, kinds = table
    one = 1 if file.metadata.num_rows <= ROWS else workers
    rows = refused = 0
    pieces = ((part,) for part in batches(file, kinds, name))
    worked_out = results_in_order(partial(_part, mapping=mapping, with_optics=with_optics), pieces, one)
    first = next(worked_out, None)
    if first is None:
        first = worked(kinds.empty_table(), mapping, with_optics)
    settings = {"write_page_checksum": True, "use_dictionary": _repeated(first.schema), "write_batch_size": ROWS}
    noted = {**(first.schema.metadata or {}), **({"input_sha256": sha256} if sha256 else {})}
    whole = first.schema.with_metadata(noted or None)
    with readable(name), pq.ParquetWriter(out, whole, **settings) as writer:
        held: list = []
        for part in chain([first], worked_out):
            held.append(part.cast(whole))
            if sum(one.nbytes for one in held) >= GROUP_BYTES:
                _write_group(writer, held)
            rows += part.num_rows
            refused += _refused(part)
            if progress:
                progress(rows)
        _write_group(writer, held)
    return Summary(rows, refused)


def _write_group(writer: Any, held: list[Any]) -> None:
    """Write the collected parts as one row group and empty the collection.

    The writer keeps what it knows of every group until the end: of ten million rows in groups of one part that alone
    would be 170 MB.
    """
    import pyarrow as pa

    if held:
        writer.write_table(pa.concat_tables(held))
        held.clear()


def _repeated(schema: Any) -> list[str]:
    """Names of the columns stored with a dictionary: all but the figures, which hardly ever repeat."""
    import pyarrow as pa

    numbers = {name for name in figure_names(True, True) if decimals(name) is not None}
    return [field.name for field in schema if not (field.name in numbers and pa.types.is_floating(field.type))]


def _part(batch: Any, mapping: ColumnMap | None, with_optics: bool) -> Any:
    """One part of a table."""
    import pyarrow as pa

    return worked(pa.Table.from_batches([batch]), mapping, with_optics)


def _refused(table: Any) -> int:
    """Number of refused rows: those with a reason."""
    return table.num_rows - table.column("reason").null_count
