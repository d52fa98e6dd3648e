"""Opens a Parquet file with care: the sizes it announces are checked before anything is read, texts come in pieces."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np

from tissue.entry.notation import shown
from tissue.series.tables.arrow_columns import numbers_in
from tissue.series.tables.header import MOST_COLUMNS
from tissue.series.wrong import TableError, error_words

ROWS = 16_000  # of one part
MOST_ROWS = 50_000_000
LARGEST_GROUP, LARGEST_OF_LONG_ROWS = 4_000_000_000, 64_000_000  # bytes of a row group
LONG_ROW = 20_000  # bytes, on the average of a row group
WIDEST_CELL = 64  # bytes of a column of fixed width
LONGEST_ROW, AT_ONCE = 4_000_000, 16_000_000  # bytes of text
LIMITS = {  # of what a footer lists; sums of a page are looked at where there are any
    "thrift_string_size_limit": 10_000_000,
    "thrift_container_size_limit": 20_000,
    "page_checksum_verification": True,
}


@contextmanager
def readable(name: str) -> Iterator[None]:
    """Turns the error of pyarrow about a table that it cannot read into a TableError."""
    import pyarrow as pa

    try:
        yield
    except (pa.ArrowException, OSError, UnicodeDecodeError) as error:
        raise TableError(f"{name}: file: read {error_words(error)}, accepted a Parquet table") from None


def opened(source: Any, name: str) -> tuple[Any, Any]:
    """The ParquetFile of a path or of bytes in memory, its texts as dictionaries.

    Args:
        source: path, or pyarrow Buffer.
        name: what faults call it.

    Raises:
        TableError: it cannot be read, has columns of columns, or announces more than is worked out.
    """
    import pyarrow as pa
    import pyarrow.parquet as pq

    with readable(name):
        file = pq.ParquetFile(source, **LIMITS)
        announced, kinds = file.metadata, file.schema_arrow
        _not_too_much(announced, name)
        texts = []
        for field in kinds:
            kind = field.type
            kind = kind.value_type if pa.types.is_dictionary(kind) else kind
            if not _plain(kind):
                accepted = "columns of numbers, texts, dates or truth values"
                raise TableError(f"{name}: column {shown(field.name)}: read {shown(kind)}, accepted {accepted}")
            texts += [field.name] if _is_text(kind) else []
        return pq.ParquetFile(source, metadata=announced, read_dictionary=texts, **LIMITS), kinds


def _not_too_much(announced: Any, name: str) -> None:
    """Refuse a file that announces too much, or sizes that do not add up.

    Only the row groups are asked: asking for a column of a damaged footer ends the process.
    """
    rows, columns = announced.num_rows, announced.num_columns
    if columns > MOST_COLUMNS:
        raise TableError(f"{name}: header: read {columns} columns, accepted up to {MOST_COLUMNS}")
    if not 0 <= rows <= MOST_ROWS:
        raise TableError(f"{name}: file: read {rows} rows, accepted up to {MOST_ROWS}")
    groups = [announced.row_group(i) for i in range(announced.num_row_groups)]
    if sum(group.num_rows for group in groups) != rows:
        raise TableError(f"{name}: file: read groups that do not add up to {rows} rows, accepted a Parquet table")
    for group in groups:
        size, long = group.total_byte_size, LONG_ROW * max(1, group.num_rows)
        if not 0 <= size <= (LARGEST_OF_LONG_ROWS if size > long else LARGEST_GROUP):
            raise TableError(f"{name}: row: read {size} bytes in {group.num_rows} rows, accepted shorter rows")


def _is_text(kind: Any) -> bool:
    """Whether a type is of texts or bytes."""
    import pyarrow.types as types

    text = types.is_string(kind) or types.is_large_string(kind) or types.is_string_view(kind)
    return text or types.is_binary(kind) or types.is_large_binary(kind) or types.is_binary_view(kind)


def _plain(kind: Any) -> bool:
    """Whether a column of a type holds one plain value in each row."""
    import pyarrow.types as types

    if types.is_fixed_size_binary(kind):
        return kind.byte_width <= WIDEST_CELL
    number = types.is_integer(kind) or types.is_floating(kind) or types.is_decimal(kind) or types.is_boolean(kind)
    return number or _is_text(kind) or types.is_temporal(kind) or types.is_null(kind)


def batches(file: Any, kinds: Any, name: str) -> Iterator[Any]:
    """The rows of a file in parts with a limited amount of text, as record batches of these kinds.

    Args:
        file, kinds: as `opened` gives them.
        name: what faults call it.

    Raises:
        TableError: a part cannot be read, a row is too long, or rows are missing.
    """
    count = 0
    with readable(name):
        for batch in file.iter_batches(ROWS):
            batch.validate(full=True)
            step = _rows_at_once(batch, name)
            for start in range(0, batch.num_rows, step):
                yield _as_they_are(batch.slice(start, step), kinds)
            count += batch.num_rows
    if count != file.metadata.num_rows:
        raise TableError(f"{name}: file: read {count} rows of {file.metadata.num_rows}, accepted a whole table")


def _rows_at_once(batch: Any, name: str) -> int:
    """How many rows of a batch may be expanded at once: a text stands once in a dictionary, but often in the rows."""
    import pyarrow as pa
    import pyarrow.compute as pc

    bytes_ = np.zeros(batch.num_rows)
    for column in batch.columns:
        if pa.types.is_dictionary(column.type):
            lengths = pc.binary_length(column.dictionary).take(column.indices)
            bytes_ += np.nan_to_num(numbers_in(lengths))
    longest = bytes_.max(initial=0.0)
    if longest > LONGEST_ROW:
        raise TableError(f"{name}: row: read one of over 4 MB, accepted shorter rows")
    return max(1, batch.num_rows if bytes_.sum() <= AT_ONCE else int(AT_ONCE / longest))


def _as_they_are(batch: Any, kinds: Any) -> Any:
    """A batch with the column types of the file, its texts written out."""
    import pyarrow as pa

    columns = [
        column.cast(field.type) if column.type != field.type and not pa.types.is_dictionary(field.type) else column
        for column, field in zip(batch.columns, kinds, strict=True)
    ]
    fields = [field.with_type(column.type) for column, field in zip(columns, kinds, strict=True)]
    return pa.record_batch(columns, pa.schema(fields, kinds.metadata))
