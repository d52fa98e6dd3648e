"""Reads a finished series again: its columns by name, as texts and as numbers."""

import csv
import io
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
from numpy.typing import NDArray

from tissue.series.names import decimals, output_names
from tissue.series.run import is_parquet
from tissue.series.tables.cells import fast_numbers, in_our_unit, unguard
from tissue.series.tables.csv_blocks import LONGEST_ROW, decoded
from tissue.series.tables.dialect import Dialect, sniff
from tissue.series.tables.distinct import Distinct
from tissue.series.tables.header import Assigned
from tissue.series.wrong import TableError, error_words

SNIFFED = 1_500_000
SMALL_BLOCK, BLOCK = 2_000_000, 2 * LONGEST_ROW + 1_000_000  # bytes of a block; a row with its figures is never longer


class Texts(Mapping):
    """The columns of a table as texts by name, each built when it is asked for."""

    def __init__(self, table: Any):
        self.table = table

    def __getitem__(self, name: str) -> list[str]:
        return list(self.distinct(name))

    def distinct(self, name: str) -> Distinct:
        """A column as its distinct texts, without the apostrophes of `guarded`."""
        import pyarrow as pa

        column = self.table.column(name).combine_chunks()
        if not pa.types.is_dictionary(column.type):
            return Distinct.of([unguard("" if value is None else str(value)) for value in column.to_pylist()])
        texts = ["" if value is None else unguard(str(value)) for value in column.dictionary.to_pylist()]
        return Distinct([*texts, ""], column.indices.fill_null(len(texts)).to_numpy())

    def __iter__(self) -> Iterator[str]:
        return iter(self.table.schema.names)

    def __len__(self) -> int:
        return self.table.num_columns

    def __contains__(self, name: object) -> bool:
        return name in self.table.schema.names  # without making its texts


class Series:
    """A series that was worked out.

    Args:
        table: pyarrow Table, figures as numbers, the other columns as they came.
        dialect: Dialect in which its summaries are written.
        mapping: {our name: Assigned} where columns have other names.
    """

    def __init__(self, table: Any, dialect: Dialect | None = None, mapping: Mapping[str, Any] | None = None):
        self.table, self.texts, self.dialect = table, Texts(table), dialect or Dialect()
        self.mapping = {ours: Assigned(*entry) for ours, entry in (mapping or {}).items()}

    def called(self, name: str) -> str:
        """The name of a column in the table: its own name there, or that of the input it holds."""
        return name if name in self.texts or name not in self.mapping else self.mapping[name].name

    def numbers(self, name: str) -> NDArray[np.float64]:
        """A column as numbers, NaN where empty or no number; in our unit where our name was asked for."""
        import pyarrow as pa

        factor = 1.0 if name in self.texts or name not in self.mapping else self.mapping[name].factor
        column = self.table.column(self.called(name))
        if pa.types.is_floating(column.type) or pa.types.is_integer(column.type) or pa.types.is_decimal(column.type):
            return np.array(in_our_unit(column.cast(pa.float64(), safe=False).to_numpy(), factor), dtype=float)
        texts = self.texts.distinct(self.called(name))
        return in_our_unit(fast_numbers([text.strip() for text in texts.distinct])[0], factor)[texts.index]

    def __contains__(self, name: str) -> bool:
        return self.called(name) in self.texts

    def patients(self) -> NDArray[np.int64] | None:
        """The patient of each eye as a number; None where the table does not say. An eye without a name is its own."""
        if "patient" not in self:
            return None
        names = self.texts.distinct(self.called("patient"))
        empty = np.array([text == "" for text in names.distinct])[names.index]
        known = np.unique(np.array(names.distinct), return_inverse=True)[1][names.index]
        return np.unique(np.where(empty, len(names.distinct) + np.arange(len(empty)), known), return_inverse=True)[1]

    @property
    def how_many_patients(self) -> int | None:
        """How many patients there are; None where the table does not say."""
        owners = self.patients()
        return None if owners is None else len(np.unique(owners))

    def sides(self) -> NDArray[np.str_] | None:
        """Side of each eye, OD, OS or nothing; None where the table does not say."""
        if "side" not in self:
            return None
        texts = self.texts.distinct(self.called("side"))
        return np.array([text.strip().upper() for text in texts.distinct])[texts.index]

    @property
    def worked(self) -> NDArray[np.bool_]:
        """Which rows were not refused."""
        texts = self.texts.distinct("status")
        return np.array([text == "ok" for text in texts.distinct])[texts.index]


def load_series(
    path: str | Path, names: Collection[str] | None = None, mapping: Any = None, called: str | Path | None = None
) -> Series:
    """The Series in a finished table, CSV or Parquet; a CSV file is read block by block.

    Args:
        path: of the table; a folder is a Parquet data set.
        names: the columns wanted, as far as they are there; all where None.
        mapping: {our name: Assigned}, or None.
        called: its name, which tells the kind and is used in faults; the path where None.

    Raises:
        TableError: it cannot be read, or was not worked out.
    """
    name = str(path if called is None else called)
    if Path(path).is_dir() or is_parquet(name):
        return series_of(str(path), name, names, mapping)
    with open(path, "rb") as source:
        return series_of(source, name, names, mapping)


def column_names(path: str | Path, called: str | Path | None = None) -> list[str]:
    """Names of the columns of a table that was worked out, CSV or Parquet; arguments as in `load_series`."""
    name = str(path if called is None else called)
    if is_parquet(name):
        import pyarrow.parquet as pq

        return pq.read_schema(path).names
    with open(path, "rb") as file:
        return [unguard(column) for column in _header(file, name)[0]]


def series_of(data: Any, name: str, names: Collection[str] | None = None, mapping: Any = None) -> Series:
    """The Series in the bytes of a table that was worked out; arguments as in `load_series`.

    Args:
        data: bytes, a file open to be read as bytes, or the path of a Parquet table.
        name: its name, which tells the kind.

    Raises:
        TableError: it cannot be read, or was not worked out.

    >>> series = series_of(b"patient,cut,status\\na,118,ok\\na,,refused\\n", "out.csv")
    >>> series.numbers("cut").tolist(), series.patients().tolist(), series.worked.tolist()
    ([118.0, nan], [0, 0], [True, False])
    """
    import pyarrow as pa

    assigned = {ours: Assigned(*entry).name for ours, entry in (mapping or {}).items()}
    wanted = None if names is None else {*names, *(theirs for ours, theirs in assigned.items() if ours in names)}
    try:
        if is_parquet(name) or isinstance(data, str):
            table, dialect = _parquet(data, wanted), Dialect()
        else:
            table, dialect = _csv(io.BytesIO(data) if isinstance(data, bytes) else data, name, wanted)
    except pa.ArrowException as error:
        raise TableError(f"{name}: read {error_words(error)}, accepted a series that was worked out") from None
    if "status" not in table.schema.names:
        raise TableError(f"{name}: status: read no such column, accepted a series that was worked out")
    return Series(table, dialect, mapping)


def _parquet(data: Any, names: Collection[str] | None) -> Any:
    import pyarrow as pa
    import pyarrow.parquet as pq

    source = pa.BufferReader(data) if isinstance(data, bytes) else data
    there = pq.read_schema(source).names if isinstance(data, bytes) or Path(data).is_file() else None
    wanted = None if names is None or there is None else [name for name in there if name in names]
    return pq.read_table(source, columns=wanted)


def _header(file: BinaryIO, name: str) -> tuple[list[str], Dialect]:
    """Header and Dialect of a file, which is then set back to its beginning."""
    head = file.read(SNIFFED)
    file.seek(0)
    text = decoded(head[: head.rfind(b"\n") + 1] if len(head) == SNIFFED else head, name, 1)
    dialect = sniff(text, telling=lambda column: decimals(column) is not None and column in output_names())
    return next(filter(None, csv.reader(io.StringIO(text, newline=""), delimiter=dialect.delimiter)), []), dialect


def _csv(file: BinaryIO, name: str, names: Collection[str] | None) -> tuple[Any, Dialect]:
    """The wanted columns of a file, and its Dialect."""
    import pyarrow as pa
    from pyarrow import csv as reader

    header, dialect = _header(file, name)
    made, words = output_names(), pa.dictionary(pa.int32(), pa.string())
    numbers = [column for column in header if column in made and decimals(column) is not None]
    options = reader.ConvertOptions(
        column_types={column: pa.float64() if column in numbers else words for column in header},
        null_values=[""],
        strings_can_be_null=True,
        decimal_point=dialect.decimal,
        include_columns=None if names is None else [column for column in header if unguard(column) in names],
    )
    table = _in_blocks(file, dialect, options, SMALL_BLOCK)
    return table.rename_columns([unguard(column) for column in table.schema.names]), dialect


def _in_blocks(file: BinaryIO, dialect: Dialect, options: Any, size: int) -> Any:
    """The wanted columns, read in blocks of this many bytes, or larger ones where a row does not fit."""
    import pyarrow as pa
    from pyarrow import csv as reader

    parsed = reader.ParseOptions(delimiter=dialect.delimiter, newlines_in_values=True)
    try:
        batches = reader.open_csv(file, reader.ReadOptions(block_size=size), parsed, options)
        table = pa.Table.from_batches(list(batches), batches.schema).unify_dictionaries()
    except pa.ArrowInvalid:
        if size == BLOCK:
            raise
        file.seek(0)
        return _in_blocks(file, dialect, options, BLOCK)
    pa.default_memory_pool().release_unused()
    return table
