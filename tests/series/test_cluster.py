"""A Parquet data set through a Dask scheduler of two workers gives the figures of one process."""

import socket
import time

import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from tissue.series.cluster import run_on_cluster
from tissue.series.run import run
from tissue.series.wrong import TableError

distributed = pytest.importorskip("distributed", reason="Dask is not installed (extra `cluster`)")


@pytest.fixture(scope="module")
def cluster():
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as running:
        yield running


def test_partitions_on_two_workers(cluster, tmp_path):
    folder = tmp_path / "in"
    folder.mkdir()
    for i, spheres in enumerate(([-4.0, -6.5], [2.0, -40.0])):
        columns = {"patient": [f"p{i}a", f"p{i}b"], "sphere_D": spheres, "central_thickness_um": [550.0, 520.0]}
        pq.write_table(pa.table(columns), folder / f"part{i}.parquet")
    assert run_on_cluster(cluster.scheduler_address, folder, tmp_path / "out") == (4, 1)
    together = pq.read_table(tmp_path / "out").to_pylist()
    alone = []
    for i in range(2):
        run(folder / f"part{i}.parquet", tmp_path / f"alone{i}.parquet")
        alone += pq.read_table(tmp_path / f"alone{i}.parquet").to_pylist()
    by_patient = [{row["patient"]: row for row in rows} for rows in (together, alone)]
    assert by_patient[0] == by_patient[1] and len(by_patient[0]) == 4
    assert [row["status"] for row in together].count("refused") == 1


def test_a_target_that_exists_is_left_alone(cluster, tmp_path):
    with pytest.raises(TableError, match="accepted a new one"):
        run_on_cluster(cluster.scheduler_address, tmp_path, tmp_path)


def test_a_port_without_a_scheduler_is_told_in_one_line(tmp_path):
    """Something else answers there, or nothing: within 15 s, not after the minutes that the library waits."""
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        started = time.monotonic()
        with pytest.raises(TableError, match="accepted a running scheduler") as caught:
            run_on_cluster(f"tcp://127.0.0.1:{silent.getsockname()[1]}", tmp_path / "in", tmp_path / "out")
    assert time.monotonic() - started < 15 and len(caught.value.lines) == 1


def test_a_scheduler_without_workers_is_told_in_one_line(tmp_path):
    pq.write_table(pa.table({"sphere_D": [-4.0], "central_thickness_um": [550.0]}), tmp_path / "in.parquet")
    with distributed.LocalCluster(n_workers=0, dashboard_address=None) as empty:
        started = time.monotonic()
        with pytest.raises(TableError, match="without workers"):
            run_on_cluster(empty.scheduler_address, tmp_path / "in.parquet", tmp_path / "out")
    assert time.monotonic() - started < 20 and not (tmp_path / "out").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["in.parquet"]
