"""More than one machine: the partitions of a Parquet data set handed to a running Dask scheduler."""

import logging
import os
import shutil
from collections.abc import Callable
from pathlib import Path
from threading import Thread
from time import monotonic, sleep
from typing import Any

from tissue.entry.whole_file import unfinished
from tissue.series.tables.header import ColumnMap
from tissue.series.tables.parquet import worked
from tissue.series.wrong import TableError, error_words

# How long a scheduler, and word of a worker, is waited for. A worker reports every 0.5 s; of 1,000 workers each does
# so every 6 s.
REACHED_S = 10
LOOKED_AT_S = 0.2  # how often the state of a run is looked at


def run_on_cluster(
    address: str,
    source: str | Path,
    target: str | Path,
    mapping: ColumnMap | None = None,
    with_optics: bool = False,
) -> tuple[int, int]:
    """Work out a Parquet data set, one output file for each partition; the workers must see the same folders.

    Args:
        address: of a running scheduler.
        source, target: folder or file of Parquet; a new folder, which is written whole or not at all.
        mapping, with_optics: as in `run`.

    Returns:
        (rows, refused)

    Raises:
        TableError: the data set cannot be read or the scheduler not reached; a target that exists.
    """
    try:
        from distributed import Client
    except ImportError:
        raise TableError("--cluster: read no Dask, accepted an installation with the extra `cluster`") from None
    source, target = Path(source).absolute(), Path(target).absolute()
    if target.exists():
        raise TableError(f"{target}: folder: read one that exists, accepted a new one")
    client = _reached(Client, address)
    temporary = unfinished(target)
    try:
        _write(client, source, temporary, mapping, with_optics)
        counts = _counts(temporary)
        os.replace(temporary, target)
    except OSError as error:
        raise TableError(f"{target}: folder: read {error_words(error)}, accepted a place to write to") from None
    finally:
        client.close(timeout=1)
        shutil.rmtree(temporary, ignore_errors=True)
    return counts


def _reached(client: Callable[..., Any], address: str) -> Any:
    """A client of a scheduler that has a worker.

    A thread of its own waits for it: at a port where something else answers, the library would wait for minutes.

    Raises:
        TableError: none within 12 s.
    """
    found: list = []
    for name in [one for one in logging.root.manager.loggerDict if one.split(".")[0] == "distributed"]:
        logging.getLogger(name).setLevel(logging.CRITICAL)  # the user gets one line, no tracebacks of the library

    def reach() -> None:
        try:
            found.append(client(address, timeout=f"{REACHED_S}s", set_as_default=False))
        except (OSError, ValueError, TimeoutError) as error:
            found.append(error)

    thread = Thread(target=reach, daemon=True)
    thread.start()
    thread.join(REACHED_S + 2)
    reached = found[0] if found else TimeoutError("no answer of a scheduler")
    if isinstance(reached, Exception):
        raise TableError(f"--cluster: read {address} ({error_words(reached)}), accepted a running scheduler")
    return reached


def _write(client: Any, source: Path, folder: Path, mapping: ColumnMap | None, with_optics: bool) -> None:
    """The data set worked out into a folder."""
    import dask.dataframe as dd

    try:
        data = dd.read_parquet(source, dtype_backend="pyarrow")
    except (OSError, ValueError) as error:
        raise TableError(f"{source}: read {error_words(error)}, accepted a Parquet data set") from None
    meta = frame(data._meta, mapping, with_optics)
    done = data.map_partitions(frame, mapping, with_optics, meta=meta)
    try:
        _waited_for(client, client.compute(done.to_parquet(folder, write_index=False, compute=False)))
    except OSError as error:
        raise TableError(f"{folder.parent}: folder: read {error_words(error)}, accepted a place to write to") from None


def _waited_for(client: Any, future: Any) -> None:
    """Wait for a result as long as there are a scheduler and a worker.

    Raises:
        TableError: for 10 s there was no worker, or none was heard of; the scheduler has ended, or hangs.
        OSError: a worker cannot write.
    """
    there = heard = monotonic()
    last = None
    while not future.done():
        sleep(LOOKED_AT_S)
        workers = _workers(client)
        latest = max((one["last_seen"] for one in workers), default=None)
        if latest is not None:
            there, heard = monotonic(), heard if latest == last else monotonic()
        last = latest
        if monotonic() - min(there, heard) > REACHED_S:
            future.cancel()
            read = "workers that do not answer" if workers else "a scheduler without workers"
            raise TableError(f"--cluster: read {read}, accepted a scheduler with a running worker")
    if client.status != "running":
        raise TableError("--cluster: read a scheduler that has ended, accepted one that runs until the end")
    error = future.exception()
    if error is not None and isinstance(error, OSError | TableError):
        raise error
    if future.status != "finished":
        raise TableError(f"--cluster: read a run that ended ({error_words(error)}), accepted running workers")


def _workers(client: Any) -> list[dict[str, Any]]:
    """What the scheduler says about each of its workers; nothing where it has ended.

    Raises:
        TableError: it has not answered for 10 s. The library itself would wait for ever.
    """
    try:
        known = client.sync(client.scheduler.identity, callback_timeout=REACHED_S) if client.status == "running" else {}
    except TimeoutError:
        raise TableError("--cluster: read a scheduler that does not answer, accepted a running one") from None
    except OSError:
        known = {}
    return list(known.get("workers", {}).values())


def _counts(folder: Path) -> tuple[int, int]:
    """The number of rows written, and how many of them are refused."""
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    status = pq.read_table(folder, columns=["status"]).column("status")
    return len(status), pc.sum(pc.equal(status, "refused")).as_py() or 0


def frame(part: Any, mapping: ColumnMap | None = None, with_optics: bool = False) -> Any:
    """One partition, a pandas frame in and out; the columns keep the types of Parquet.

    Args:
        part: pandas DataFrame.
        mapping, with_optics: as in `run`.
    """
    import pandas as pd
    import pyarrow as pa

    table = worked(pa.Table.from_pandas(part, preserve_index=False), mapping, with_optics)
    return table.to_pandas(types_mapper=pd.ArrowDtype)
