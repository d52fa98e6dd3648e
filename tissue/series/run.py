"""A table in, the same table with every figure out: streamed, on all cores, written whole or not at all."""

import gc
import os
import signal
from collections import deque
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from functools import partial
from itertools import chain, islice
from multiprocessing import get_context, parent_process
from pathlib import Path
from threading import Thread
from typing import NamedTuple

from tissue.entry.whole_file import plain_file, same_file, whole_file
from tissue.series.csv_blocks import blocks, header_bytes, open_job, work
from tissue.series.header import columns_of
from tissue.series.wrong import TableError, words_of

PARQUET_ENDS = (".parquet", ".pq")
AHEAD = 3  # blocks a worker has waiting
SMALL_BYTES = 3_000_000  # a file up to here is not worth a second process


class Summary(NamedTuple):
    """How many rows went through, and how many were refused."""

    rows: int
    refused: int


def run(source, target, mapping=None, with_optics=False, unsigned_plus=False, progress=None, workers=None):
    """Work out a table, CSV or Parquet by the ending of its name; the same kind goes out.

    Args:
        source, target: paths.
        mapping: {our name: (their name, factor)}, or None.
        with_optics: whether the optical figures are wanted.
        unsigned_plus: True where a power without its sign is plus.
        progress: called with the number of rows done so far.
        workers: processes; all cores where None.

    Raises:
        TableError: the table cannot be read; nothing is written.
    """
    source, target = Path(source), Path(target)
    if is_parquet(source) != is_parquet(target):
        raise TableError(f"{target}: read a file of another kind, accepted the kind of {source.name}")
    _is_table(source)
    if same_file(source, target):
        raise TableError(f"{target}: file: read the table itself, accepted another file to write to")
    settings = (mapping, with_optics, unsigned_plus, progress, workers)
    if is_parquet(source):
        from tissue.series.parquet import run_parquet

        return run_parquet(source, target, *settings)
    return _run_csv(source, target, *settings)


def understood(source, mapping=None, whole_set=False):
    """The Columns of a table as they are understood; nothing is worked out.

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
        from tissue.series.parquet import schema

        return columns_of(schema(source).names, mapping, f"{source}: ")
    _is_table(source)
    with open(source, "rb") as table:
        return open_job(table, str(source), mapping).columns


def _is_table(source):
    """Refuse what is no plain file, or cannot be opened."""
    try:
        with open(plain_file(source), "rb"):
            pass
    except OSError as error:
        raise TableError(f"{source}: file: read {words_of(error)}, accepted a CSV or Parquet table") from None


def is_parquet(path):
    """Whether a path is that of a Parquet table."""
    return Path(path).suffix.casefold() in PARQUET_ENDS


def _run_csv(source, target, mapping, with_optics, unsigned_plus, progress, workers):
    """A CSV table."""
    one = 1 if source.stat().st_size < SMALL_BYTES else workers
    with open(source, "rb") as table:
        job = open_job(table, str(source), mapping, with_optics, unsigned_plus)
        with whole_table(target) as file:
            return stream(job, table, file, progress, one)


def stream(job, table, out, progress=None, workers=1):
    """Work out a CSV table from one open file to another; returns the Summary.

    Args:
        job: Job of the table.
        table, out: files open to read and to write bytes.
        progress: called with the number of rows done so far.
        workers: processes.
    """
    rows = refused = 0
    out.write(header_bytes(job))
    for data, count, bad in in_order(
        partial(work, job), blocks(table, job.name, job.dialect.delimiter.encode()), workers
    ):
        out.write(data)
        rows, refused = rows + count, refused + bad
        if progress:
            progress(rows)
    return Summary(rows, refused)


@contextmanager
def whole_table(target):
    """A file to write to that takes its name only when all is written, see `whole_file`.

    Raises:
        TableError: it cannot be written to.
    """
    try:
        with whole_file(target) as file:
            yield file
    except OSError as error:
        raise TableError(f"{target}: file: read {words_of(error)}, accepted a place to write to") from None


def in_order(function, items, workers=None):
    """Results of a function of each item's parts, in order, few items at a time in memory.

    Args:
        function: can be sent to another process.
        items: tuples of arguments.
        workers: processes; all cores where None, this one where 1.
    """
    workers, items = workers or os.cpu_count() or 1, iter(items)
    first = list(islice(items, 2))  # what cannot be read at once needs no second process
    items = chain(first, items)
    if workers == 1:
        yield from (function(*item) for item in items)
        return
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_begin_worker) as pool:
        waiting = deque()
        try:
            for item in items:
                waiting.append(pool.submit(function, *item))
                if len(waiting) > AHEAD * workers:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()


def _begin_worker():
    """In a worker: a stop from the keyboard is left to the parent, and the worker ends when the parent does.

    Circles of references are looked for less often: to do so among the cells of every block costs a tenth of the time.
    """
    gc.set_threshold(100_000, 20, 100)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_after, args=(parent_process(),), daemon=True).start()


def _end_after(process):
    """End this process once another has ended."""
    process.join()
    os._exit(1)
