"""Many eyes on a cluster: a Parquet data set by a Dask scheduler with two workers, beside one process.

Run with `python tests/bench/bench_cluster.py [rows]`. One process works out one file, two workers of one thread each
the same rows in eight files. The scheduler and its workers stand before the clock begins; the memory is that of all of
them together. Where other work keeps the machine busy the seconds of the processors tell more than those of the clock.
"""

import sys
import tempfile
from pathlib import Path

from bench_series import READ_PARQUET, _make
from measure import Row, children_s, run, show

PARTS, FASTER = 8, 1.5  # files of the data set; how many times as fast two workers are wanted
SPLIT = f"""
import sys
from pathlib import Path
from pyarrow import parquet as pq
table, folder = {READ_PARQUET}, Path(sys.argv[2])
folder.mkdir()
step = -(-len(table) // {PARTS})
for i in range({PARTS}):
    pq.write_table(table.slice(i * step, step), folder / f"part{{i}}.parquet")
"""
TIMED = """
import sys, time
from pathlib import Path
def timed(work):
    started = time.perf_counter()
    work(*sys.argv[1:3])
    Path(sys.argv[3]).write_text(str(time.perf_counter() - started))
"""
ALONE = f"{TIMED}\nfrom tissue.series.run import run\ntimed(lambda given, out: run(given, out, workers=1))"
ON_CLUSTER = f"""{TIMED}
from distributed import LocalCluster
from tissue.series.cluster import run_on_cluster
with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster:
    timed(lambda given, out: run_on_cluster(cluster.scheduler_address, given, out))
"""


def rows(size=1_000_000):
    """Rows of the table."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        given, took = folder / "given.parquet", folder / "seconds"
        _make(folder, size, given)
        run("-c", SPLIT, given, folder / "given")
        alone = None
        for words, code, source in (("one process", ALONE, given), ("two Dask workers", ON_CLUSTER, folder / "given")):
            worked = children_s()
            _, memory = run("-c", code, source, folder / f"out of {words}.parquet", took)
            worked, seconds = children_s() - worked, float(took.read_text())
            what, allowed = f"series, {size:,} rows parquet, {words}", None if alone is None else alone / FASTER
            yield Row(what, seconds, "s", allowed, alone, "one process, s")
            yield Row(f"{what}, all processors together, start included", worked, "s")
            yield Row(f"{what}, greatest memory", memory, "MB")
            alone = seconds


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
