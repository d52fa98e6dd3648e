"""A cluster that is lost on the way: one line within seconds, nothing left behind, and what is not lost is done.

Source: Dask's own scheduler and workers as separate processes, ended as a machine ends them.
"""

import json
import os
import signal
import subprocess
import sys
import time

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from signals import heard

pytest.importorskip("distributed", reason="Dask is not installed (extra `cluster`)")
pytestmark = pytest.mark.skipif(os.name == "nt", reason="signals of this kind are not on Windows")
PARTS, ROWS = 24, 3000
QUIET = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}


@pytest.fixture
def cluster(tmp_path):
    """A scheduler's process, those of its two workers, and its address."""
    said = tmp_path / "scheduler.json"
    begin = [sys.executable, "-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0"]
    scheduler = subprocess.Popen([*begin, "--no-dashboard", "--scheduler-file", str(said)], **QUIET)
    end = time.monotonic() + 60.0
    while not (said.exists() and said.read_text("utf-8").endswith("}")) and time.monotonic() < end:
        time.sleep(0.1)
    address = json.loads(said.read_text("utf-8"))["address"]
    worker = [sys.executable, "-m", "distributed.cli.dask_worker", address, "--no-nanny", "--no-dashboard"]
    workers = [subprocess.Popen([*worker, "--nthreads", "1"], cwd=tmp_path, **QUIET) for _ in range(2)]
    yield scheduler, workers, address
    for process in (*workers, scheduler):
        process.kill()
        process.wait()


@pytest.fixture
def running(cluster, tmp_path):
    """The command at work on a data set."""
    folder, rng = tmp_path / "in", np.random.default_rng(24)
    folder.mkdir()
    for part in range(PARTS):
        columns = {"sphere_D": rng.uniform(-8.0, -1.0, ROWS), "central_thickness_um": rng.uniform(480.0, 600.0, ROWS)}
        pq.write_table(pa.table(columns), folder / f"part{part:02}.parquet")
    command = [sys.executable, "-m", "tissue", "series", str(folder), str(tmp_path / "out"), "--cluster", cluster[2]]
    with heard(signal.SIGINT):
        process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    end = time.monotonic() + 90.0
    while not list(tmp_path.glob(".out.*.part")) and process.poll() is None and time.monotonic() < end:
        time.sleep(0.05)
    yield process
    process.kill()
    process.wait()


def ended(process, tmp_path):
    """Exit code and what the command said, and what lies in the folder now."""
    said, _ = process.communicate(timeout=60)
    return process.returncode, said, sorted(one.name for one in tmp_path.iterdir() if one.name != "scheduler.json")


def test_one_worker_of_two_dies(cluster, running, tmp_path):
    cluster[1][0].kill()
    assert ended(running, tmp_path) == (0, f"{PARTS * ROWS} rows, 0 refused\n", ["in", "out"])


@pytest.mark.parametrize(("whose", "ending", "words"), [
    ("workers", signal.SIGKILL, "a scheduler without workers, accepted a scheduler with a running worker"),
    ("workers", signal.SIGSTOP, "workers that do not answer, accepted a scheduler with a running worker"),
    ("scheduler", signal.SIGKILL, "a scheduler that has ended, accepted one that runs until the end"),
    ("scheduler", signal.SIGSTOP, "a scheduler that does not answer, accepted a running one"),
])  # fmt: skip
def test_what_is_lost_is_said_in_one_line_and_nothing_is_left(cluster, running, tmp_path, whose, ending, words):
    begun = time.monotonic()
    for process in cluster[1] if whose == "workers" else cluster[:1]:
        process.send_signal(ending)
    assert ended(running, tmp_path) == (2, f"--cluster: read {words}\n", ["in"])
    assert time.monotonic() - begun < 15  # of which 10 s are patience


def test_a_request_to_end_is_one_word(running, tmp_path):
    running.send_signal(signal.SIGINT)
    assert ended(running, tmp_path) == (1, "stopped\n", ["in"])
