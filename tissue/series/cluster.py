"""More than one machine: the partitions of a Parquet data set handed to a running Dask scheduler."""

import os
import shutil
from pathlib import Path

from tissue.series.tables.parquet import worked
from tissue.series.wrong import TableError, error_words


def run_on_cluster(address, source, target, mapping=None, with_optics=False):
    """Work out a Parquet data set, one output file a partition; the workers see the same folders.

    Args:
        address: of a running scheduler.
        source, target: folder or file of Parquet; a new folder, there whole or not at all.
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
    try:
        client = Client(address, timeout="10s")
    except (OSError, ValueError, TimeoutError) as error:
        raise TableError(f"--cluster: read {address} ({error_words(error)}), accepted a running scheduler") from None
    temporary = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        with client:
            _write(source, temporary, mapping, with_optics)
        counts = _counts(temporary)
        os.replace(temporary, target)
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
    return counts


def _write(source, folder, mapping, with_optics):
    """The data set worked out into a folder."""
    import dask.dataframe as dd

    try:
        data = dd.read_parquet(source, dtype_backend="pyarrow")
    except (OSError, ValueError) as error:
        raise TableError(f"{source}: read {error_words(error)}, accepted a Parquet data set") from None
    meta = frame(data._meta, mapping, with_optics)
    done = data.map_partitions(frame, mapping, with_optics, meta=meta)
    try:
        done.to_parquet(folder, write_index=False)
    except OSError as error:
        raise TableError(f"{folder.parent}: folder: read {error_words(error)}, accepted a place to write to") from None


def _counts(folder):
    """Rows, and refused rows, of what was written."""
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    status = pq.read_table(folder, columns=["status"]).column("status")
    return len(status), pc.sum(pc.equal(status, "refused")).as_py() or 0


def frame(part, mapping=None, with_optics=False):
    """One partition, a pandas frame in and out; the columns keep the types of Parquet.

    Args:
        part: pandas DataFrame.
        mapping, with_optics: as in `run`.
    """
    import pandas as pd
    import pyarrow as pa

    table = worked(pa.Table.from_pandas(part, preserve_index=False), mapping, with_optics)
    return table.to_pandas(types_mapper=pd.ArrowDtype)
