"""What the benchmarks share: times of a call, rows of a table, processes with the memory of all their children."""

import os
import resource
import statistics
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
EVERY_S = 0.05  # how often the memory of a process is looked at


@dataclass(frozen=True)
class Row:
    """One measured thing: what, the figure and its unit, what is allowed, and the floor it is laid beside."""

    what: str
    figure: float
    unit: str
    allowed: float | None = None
    floor: float | None = None
    floor_words: str = ""

    def __str__(self):
        allowed = "–" if self.allowed is None else f"{self.allowed:g}"
        ratio = "–" if not self.floor else f"{self.figure / self.floor:.1f} × {self.floor_words} ({self.floor:.3g})"
        return f"| {self.what} | {self.figure:.3g} {self.unit} | {allowed} | {ratio} |"


def show(rows):
    """Print rows as a table."""
    print("| what | median | allowed | ratio to the floor |\n|---|---|---|---|")
    for row in rows:
        print(row, flush=True)


def median_s(call, repeats, clock=time.perf_counter):
    """Median seconds of a call; by `time.process_time` those of the processor alone, whatever else the machine does."""
    took = []
    for _ in range(repeats):
        start = clock()
        call()
        took.append(clock() - start)
    return statistics.median(took)


def run(*arguments, root=ROOT):
    """Seconds and the greatest memory [MB] of `python …` in a tree with its children; what they share counts once."""
    start, most = time.perf_counter(), 0.0
    process = subprocess.Popen([sys.executable, *map(str, arguments)], cwd=root, stdout=subprocess.DEVNULL)
    while process.poll() is None:
        most = max(most, tree_mb(process.pid))
        time.sleep(EVERY_S)
    if process.returncode:
        raise RuntimeError(f"{arguments} ended with {process.returncode}")
    return time.perf_counter() - start, most


def seconds(*arguments, root=ROOT):
    """Seconds of `python …` in a tree, to the moment it ends: nothing looks at it meanwhile."""
    start = time.perf_counter()
    subprocess.run([sys.executable, *map(str, arguments)], cwd=root, stdout=subprocess.DEVNULL, check=True)
    return time.perf_counter() - start


def children_s():
    """Seconds that the processors have worked for the processes started from here and for theirs, all that ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def tree_mb(pid):
    """Memory of a process and all that came from it [MB]."""
    return sum(map(_own_mb, _tree(pid)))


def _tree(pid):
    """A process and all that came from it, by whichever of its threads."""
    found = [pid]
    try:
        for thread in Path(f"/proc/{pid}/task").iterdir():
            found += [one for child in (thread / "children").read_text().split() for one in _tree(int(child))]
    except OSError:
        pass
    return found


def _own_mb(pid):
    """Memory of a process [MB], its share of what it shares."""
    try:
        text = Path(f"/proc/{pid}/smaps_rollup").read_text()
    except OSError:
        return 0.0
    return next((int(line.split()[1]) / 1024 for line in text.splitlines() if line.startswith("Pss:")), 0.0)


def machine():
    """What the figures were measured on, in a line."""
    words = Path("/proc/cpuinfo").read_text() if Path("/proc/cpuinfo").exists() else ""
    model = next((line.partition(":")[2].strip() for line in words.splitlines() if "model name" in line), "unknown")
    return f"{os.cpu_count()} cores, {model}, Python {sys.version.split()[0]}"
