"""A table in, the same table with every figure out: streamed, on all cores, written whole or not at all."""

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Any, BinaryIO

from tissue.entry.whole_file import plain_file, same_file
from tissue.series.tables.csv_blocks import Job, blocks, header_bytes, open_job, work
from tissue.series.tables.header import Column, ColumnMap, header_columns
from tissue.series.working import Progress, Summary, Then, results_in_order, whole_table
from tissue.series.wrong import TableError, error_words

PARQUET_ENDS = (".parquet", ".pq")
SMALL_BYTES = 3_000_000  # a smaller file is not worth a second process


def run(
    source: str | Path,
    target: str | Path,
    mapping: ColumnMap | None = None,
    *,
    with_optics: bool = False,
    unsigned_plus: bool = False,
    progress: Progress | None = None,
    workers: int | None = None,
    then: Then | None = None,
) -> Summary:
    """Work out a table, CSV or Parquet by the ending of its name; the result is of the same kind.

    Args:
        source, target: paths.
        mapping: {our name: (their name, factor)}, or None.
        with_optics: whether the optical figures are wanted.
        unsigned_plus: True where a power without its sign is plus.
        progress: called with the number of rows done so far.
        workers: processes; all cores where None.
        then: called with the path of the written file, before it gets its name, and the Summary; if it raises,
            the target stays as it was.

    Raises:
        TableError: the table cannot be read; nothing is written.

    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     eyes = Path(folder, "eyes.csv")
    ...     _ = eyes.write_text("sphere_D,central_thickness_um\\n-4.00,548\\n4.00,548\\n")
    ...     run(eyes, Path(folder, "out.csv"))
    Summary(rows=2, refused=1)
    """
    source, target = Path(source), Path(target)
    if is_parquet(source) != is_parquet(target):
        raise TableError(f"{target}: read a file of another kind, accepted the kind of {source.name}")
    _is_table(source)
    if same_file(source, target):
        raise TableError(f"{target}: file: read the table itself, accepted another file to write to")
    settings: dict[str, Any] = {"with_optics": with_optics, "unsigned_plus": unsigned_plus, "progress": progress}
    settings |= {"workers": workers, "then": then}
    if is_parquet(source):
        from tissue.series.tables.parquet import run_parquet

        return run_parquet(source, target, mapping, **settings)
    return _run_csv(source, target, mapping, **settings)


def understood(source: str | Path, mapping: ColumnMap | None = None, whole_set: bool = False) -> Sequence[Column]:
    """The Columns of a table as they are understood; no figures are worked out.

    Args:
        source: path of a CSV or Parquet table.
        mapping: {our name: (their name, factor)}, or None.
        whole_set: whether it is a data set of Parquet, a file or a folder of them.

    Raises:
        TableError: the table cannot be read.
    """
    source = Path(source)
    if whole_set or is_parquet(source):
        if not whole_set:
            _is_table(source)
        from tissue.series.tables.parquet import schema

        return header_columns(schema(source).names, mapping, f"{source}: ")
    _is_table(source)
    with open(source, "rb") as table:
        return open_job(table, str(source), mapping).columns


def _is_table(source: Path) -> None:
    """Refuse what is not a regular file, or cannot be opened."""
    try:
        with open(plain_file(source), "rb"):
            pass
    except OSError as error:
        raise TableError(f"{source}: file: read {error_words(error)}, accepted a CSV or Parquet table") from None


def is_parquet(path: str | Path) -> bool:
    """Whether a path is that of a Parquet table."""
    return Path(path).suffix.casefold() in PARQUET_ENDS


def _run_csv(
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
    """A CSV table."""
    one = 1 if source.stat().st_size < SMALL_BYTES else workers
    with open(source, "rb") as table:
        job = open_job(table, str(source), mapping, with_optics, unsigned_plus)
        with whole_table(target) as file:
            done = stream(job, table, file, progress, one)
            if then is not None:
                file.flush()
                then(file.name, done)
    return done


def stream(
    job: Job, table: BinaryIO, out: BinaryIO, progress: Progress | None = None, workers: int | None = 1
) -> Summary:
    """Work out a CSV table from one open file to another; returns the Summary.

    Args:
        job: Job of the table.
        table, out: files open to read and to write bytes.
        progress: called with the number of rows done so far.
        workers: processes.
    """
    rows = refused = 0
    out.write(header_bytes(job))
    parts = blocks(table, job.name, job.dialect.delimiter.encode(), job.block_bytes)
    for data, count, bad in results_in_order(partial(work, job), parts, workers):
        out.write(data)
        rows, refused = rows + count, refused + bad
        if progress:
            progress(rows)
    return Summary(rows, refused)
