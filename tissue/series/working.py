"""How a table is worked out: in parts, in order, on all cores, into a file that is written whole or not at all."""

import gc
import hashlib
import os
import signal
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from ctypes import CDLL
from itertools import chain, islice
from multiprocessing import get_context, parent_process
from os import PathLike
from pathlib import Path
from threading import Thread
from typing import Any, BinaryIO, NamedTuple

from tissue.entry.whole_file import whole_file
from tissue.series.stopping import held_back
from tissue.series.wrong import TableError, error_words

AHEAD = 3  # parts waiting for each worker
TRIM_THRESHOLD, MMAP_THRESHOLD = -1, -3  # numbers of `mallopt` in the C library of Linux
READ_BYTES = 2**20  # bytes read at once when a hash is taken
KEPT_BYTES, LARGEST_KEPT = 2**27, 2**25  # free memory that a process keeps; the largest array placed there


Progress = Callable[[int], None]  # called with the number of rows done


class Summary(NamedTuple):
    """How many rows went through, and how many were refused."""

    rows: int
    refused: int


Then = Callable[[str, Summary], None]  # called with the path of the written file, before it gets its name


def sha256_of(path: str | PathLike) -> str:
    """SHA-256 of a file, in hexadecimal digits."""
    found = hashlib.sha256()
    with open(path, "rb") as file:
        while part := file.read(READ_BYTES):
            found.update(part)
    return found.hexdigest()


@contextmanager
def whole_table(target: str | Path) -> Iterator[BinaryIO]:
    """A file to write to that gets its name only when everything is written, see `whole_file`.

    Raises:
        TableError: it cannot be written to.
    """
    try:
        with whole_file(target) as file:
            yield file
    except OSError as error:
        raise TableError(f"{target}: file: read {error_words(error)}, accepted a place to write to") from None


def results_in_order(
    function: Callable[..., Any], items: Iterable[tuple[Any, ...]], workers: int | None = None
) -> Iterator[Any]:
    """Results of a function of each item's parts, in order, with few items in memory at a time.

    Args:
        function: can be sent to another process.
        items: tuples of arguments.
        workers: processes; all cores where None, this one where 1.
    """
    workers, items = workers or os.cpu_count() or 1, iter(items)
    first = list(islice(items, 2))  # an input that fails at once needs no second process
    items = chain(first, items)
    if workers == 1:
        yield from (function(*item) for item in items)
        return
    _keep_memory()
    with held_back():  # it starts a process that looks after what the workers share
        pool = ProcessPoolExecutor(workers, mp_context=get_context("spawn"), initializer=_begin_worker)
    with pool:
        waiting: deque[Future] = deque()
        try:
            for item in items:
                with held_back():  # the first ones start the workers, which read from this process what to do
                    waiting.append(pool.submit(function, *item))
                if len(waiting) > AHEAD * workers:
                    yield waiting.popleft().result()
            while waiting:
                yield waiting.popleft().result()
        finally:
            for future in waiting:
                future.cancel()


def _begin_worker() -> None:
    """In a worker: leave a request to end to the parent, and end when the parent ends or says so.

    Reference cycles are collected less often: doing so among the cells of every block costs a tenth of the time.
    """
    gc.set_threshold(100_000, 20, 100)
    _keep_memory()
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = parent_process()
    Thread(target=_end_after, args=(parent,), daemon=True).start()
    if hasattr(signal, "sigwaitinfo"):
        Thread(target=_end_when_told, args=(parent,), daemon=True).start()


def _keep_memory() -> None:
    """Keep the memory of arrays for the next block: asking the system for it again takes a third of the time.

    Nothing changes where the C library has no such setting.
    """
    with suppress(AttributeError, OSError, TypeError):
        mallopt = CDLL(None).mallopt
        mallopt(TRIM_THRESHOLD, KEPT_BYTES)
        mallopt(MMAP_THRESHOLD, LARGEST_KEPT)


def _end_after(process: Any) -> None:
    """End this process once another has ended."""
    process.join()
    os._exit(1)


def _end_when_told(process: Any) -> None:
    """End this process once that one sends SIGTERM; from others it is for the parent, which obeys it for all.

    A worker that ends while it is being sent its rows leaves the parent waiting for ever.
    """
    while signal.sigwaitinfo({signal.SIGTERM}).si_pid != process.pid:
        pass
    os._exit(1)
