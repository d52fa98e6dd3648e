"""A Parquet table in, the same table with every figure out, unrounded; a pure function on one part of a table."""

from contextlib import contextmanager
from functools import partial
from pathlib import Path

import numpy as np

from tissue.entry.fields import fields
from tissue.errors import EyeError
from tissue.series.cells import read_columns
from tissue.series.header import columns_of
from tissue.series.names import figure_names
from tissue.series.rows import outcome
from tissue.series.wrong import TableError, one_line

ROWS = 20_000  # of one part


def worked(table, mapping=None, with_optics=False):
    """A table with every figure: the pure function that a scheduler hands out.

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

    columns = columns_of(table.schema.names, mapping)
    values, found, unread = {}, {}, {}
    for i, column in enumerate(columns):
        if column.field in fields() or column.field == "side":
            values |= _values(table.column(i), column, found, unread)
    result = outcome(values, table.num_rows, found, with_optics, unread=unread)
    added = {name: _array(result.figures, name, table.num_rows) for name in figure_names(with_optics)}
    added["status"] = pa.array(["refused" if reason else "ok" for reason in result.reasons], pa.string())
    added["reason"] = pa.array([reason or None for reason in result.reasons], pa.string())
    kinds = [pa.field(name, column.type) for name, column in added.items()]
    whole = pa.schema([*table.schema, *kinds], table.schema.metadata)
    return pa.table([*table.columns, *added.values()], whole)


def _array(figures, name, count):
    """A figure as a column: null where it cannot be given."""
    import pyarrow as pa

    if not count:
        kinds = {"available": pa.bool_(), "why_not": pa.string()}
        return pa.array([], next((kind for end, kind in kinds.items() if name.endswith(end)), pa.float64()))
    value = figures[name]
    if value.dtype.kind == "f":
        return pa.array(value, from_pandas=True)
    if value.dtype.kind == "b":
        return pa.array(value.tolist(), pa.bool_())
    return pa.array([text or None for text in value.tolist()], pa.string())


def _values(array, column, found, unread):
    """Values of one column; texts are read as what people write, a number's own sign counts."""
    import pyarrow as pa

    numeric = pa.types.is_integer(array.type) or pa.types.is_floating(array.type) or pa.types.is_decimal(array.type)
    if numeric and column.field in fields() and fields()[column.field].is_number:
        numbers = np.asarray(array.cast(pa.float64(), safe=False).to_numpy(zero_copy_only=False), dtype=float)
        unread |= {column.field: np.isinf(numbers)} if np.isinf(numbers).any() else {}
        for row in np.flatnonzero(np.isinf(numbers)):
            fault = EyeError(column.field, numbers[row], fields()[column.field].accepted)
            found.setdefault(int(row), []).append(f"{fault.field}: read {fault.value:g}, accepted {fault.limit}")
        numbers = np.where(np.isinf(numbers), np.nan, numbers)
        return {column.field: np.array(fields()[column.field].in_own_unit(numbers * column.factor), ndmin=1)}
    texts = ["" if value is None else str(value) for value in array.to_pylist()]
    values, faults, odd = read_columns([texts], [column])
    unread |= odd
    for row, words in faults.items():
        found.setdefault(row, []).extend(words)
    return values


def schema(source):
    """The schema of a Parquet table, a file or a folder.

    Raises:
        TableError: it cannot be read.
    """
    import pyarrow.parquet as pq

    with _readable(source):
        return pq.ParquetDataset(source).schema if Path(source).is_dir() else pq.read_schema(source)


@contextmanager
def _readable(source):
    """What pyarrow says of a table that it cannot read, as a TableError."""
    import pyarrow as pa

    try:
        yield
    except (pa.ArrowException, OSError) as error:
        raise TableError(f"{source}: file: read {one_line(error)}, accepted a Parquet table") from None


def run_parquet(source, target, mapping, with_optics, unsigned_plus, progress, workers):
    """A Parquet table, part by part; arguments as in `run`.

    Raises:
        TableError: the table cannot be read; nothing is written.
    """
    import pyarrow.parquet as pq

    from tissue.series.run import Summary, in_order, whole_file

    if unsigned_plus:
        raise TableError(f"{source}: --unsigned: read plus, accepted for CSV only: in Parquet a number has its sign")
    columns_of(schema(source).names, mapping, f"{source}: ")
    with _readable(source):
        file = pq.ParquetFile(source)
    empty = worked(file.schema_arrow.empty_table(), mapping, with_optics)
    one = 1 if file.metadata.num_rows <= ROWS else workers
    rows = refused = 0
    with whole_file(target) as out, pq.ParquetWriter(out, empty.schema) as writer:
        for table in in_order(partial(_part, mapping=mapping, with_optics=with_optics), _parts(file, source), one):
            writer.write_table(table)
            rows += table.num_rows
            refused += _refused(table)
            if progress:
                progress(rows)
    return Summary(rows, refused)


def _parts(file, source):
    """The parts of a table, each as the one argument of `_part`."""
    with _readable(source):
        for batch in file.iter_batches(ROWS):
            yield (batch,)


def _part(batch, mapping, with_optics):
    """One part of a table."""
    import pyarrow as pa

    return worked(pa.Table.from_batches([batch]), mapping, with_optics)


def _refused(table):
    """Number of refused rows."""
    import pyarrow.compute as pc

    return pc.sum(pc.equal(table.column("status"), "refused")).as_py() or 0
