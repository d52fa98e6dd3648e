"""More than one machine: the partitions of a Parquet data set handed to a running Dask scheduler."""

from pathlib import Path

from tissue.series.parquet import worked
from tissue.series.wrong import TableError


def run_on_cluster(address, source, target, mapping=None, with_optics=False):
    """Work out a Parquet data set, one output file a partition.

    Args:
        address: of a running scheduler.
        source, target: folder or file of Parquet; a folder.
        mapping, with_optics: as in `run`.

    Returns:
        (rows, refused)

    Raises:
        TableError: the data set cannot be read or the scheduler not reached; a target that exists.
    """
    try:
        import dask.dataframe as dd
        from distributed import Client
    except ImportError:
        raise TableError("--cluster: read no Dask, accepted an installation with the extra `cluster`") from None
    if Path(target).exists():
        raise TableError(f"{target}: folder: read one that exists, accepted a new one")
    try:
        client = Client(address, timeout="10s")
    except (OSError, ValueError, TimeoutError) as error:
        raise TableError(
            f"--cluster: read {address} ({' '.join(str(error).split())[:120]}), accepted a scheduler"
        ) from None
    with client:
        try:
            data = dd.read_parquet(source)
        except (OSError, ValueError) as error:
            raise TableError(f"{source}: read {' '.join(str(error).split())[:200]}, accepted Parquet") from None
        meta = frame(data._meta, mapping, with_optics)
        done = data.map_partitions(frame, mapping, with_optics, meta=meta).persist()
        refused = (done["status"] == "refused").sum()
        rows, refused = client.compute([done.shape[0], refused], sync=True)
        done.to_parquet(target, write_index=False)
    return int(rows), int(refused)


def frame(part, mapping=None, with_optics=False):
    """One partition, a pandas frame in and out.

    Args:
        part: pandas DataFrame.
        mapping, with_optics: as in `run`.
    """
    import pyarrow as pa

    table = worked(pa.Table.from_pandas(part, preserve_index=False), mapping, with_optics)
    return table.to_pandas(types_mapper=None)
