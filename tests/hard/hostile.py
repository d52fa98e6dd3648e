"""Every hostile file through its command, each in a process of its own: what it said, how long it took, its memory.

Run with `python tests/hard/hostile.py`; ends with 1 where a file is not refused in one line with exit code 2, takes
more than 2 s, or more than 200 MB above the same command refusing an empty file.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from hostile_cases import cases

MOST_S, MOST_MB = 2.0, 200.0
PROGRAM = """
import json, sys, time
import pyarrow, pyarrow.parquet, tissue.series.run, tissue.series.tables.parquet, tissue.paper.record
from tissue.command.command import main
start = time.perf_counter()
code = main(sys.argv[1:])
peak = next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM")) / 1000.0
print(json.dumps([code, time.perf_counter() - start, peak]))
"""


def refused(line):
    """Exit code, seconds, peak memory [MB] and the lines on stderr of a command in a process of its own."""
    root = {**os.environ, "PYTHONPATH": str(Path(__file__).resolve().parents[2])}
    started = time.perf_counter()
    command = [sys.executable, "-c", PROGRAM, *map(str, line)]
    try:
        done = subprocess.run(command, capture_output=True, timeout=60, check=False, env=root)
        return *json.loads(done.stdout.splitlines()[-1]), done.stderr.decode().splitlines()
    except (subprocess.TimeoutExpired, IndexError, ValueError):
        return None, time.perf_counter() - started, float("nan"), ["no answer"]


def main():
    wrong = 0
    print(f"{'case':<50} {'code':>4} {'lines':>5} {'s':>6} {'MB':>6}")
    with tempfile.TemporaryDirectory() as folder:
        folder = Path(folder)
        empty = folder / "empty.csv"
        empty.write_bytes(b"")
        bare = refused(["series", empty, folder / "out.csv"])[2]
        for words, make, path, line in cases(folder):
            make(path)
            code, seconds, peak, lines = refused(line)
            written = [each.name for each in folder.iterdir() if each.name.startswith((".", "out"))]
            good = code == 2 and 1 <= len(lines) <= 101 and seconds <= MOST_S and peak - bare <= MOST_MB and not written
            wrong += not good
            mark = "" if good else f"  <- {written or lines[:1]}"
            print(f"{words:<50} {code!s:>4} {len(lines):>5} {seconds:6.2f} {peak - bare:6.0f}{mark}", flush=True)
            for each in folder.iterdir():
                if each.is_file() and each.name not in ("sound.csv", "empty.csv"):
                    each.unlink()
    print(f"{wrong} not refused as they should be; the bare process {bare:.0f} MB")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
