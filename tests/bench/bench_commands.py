"""What a whole process takes: `tissue plan --json` and `tissue record`; and a page of the record by itself.

Run with `python tests/bench/bench_commands.py [repeats]`. The floor of a process is one that only loads NumPy.
"""

import statistics
import sys
import tempfile
from pathlib import Path

from measure import ROOT, Row, median_s, run, show

PLAN = ROOT / "demo_profiles" / "harbour-03_moderate_myopia.toml"


def rows(repeats=9):
    """Rows of the table."""
    floor = statistics.median(run("-c", "import numpy")[0] for _ in range(repeats))
    took = statistics.median(run("-m", "tissue", "plan", PLAN, "--json")[0] for _ in range(repeats))
    yield Row("tissue plan --json, whole process", took, "s", 0.7, floor, "a process with NumPy")
    with tempfile.TemporaryDirectory() as folder:
        page = Path(folder) / "page.pdf"
        took = statistics.median(run("-m", "tissue", "record", PLAN, page)[0] for _ in range(repeats))
    yield Row("tissue record, whole process", took, "s", None, floor, "a process with NumPy")
    made, empty = _page()
    made()
    yield Row(
        "record, one page of both eyes", median_s(made, repeats), "s", 0.3, median_s(empty, repeats), "empty page"
    )


def _page():
    """Makes the record of the demo plan, and an empty page with the same fonts."""
    from tissue.command.loading import load
    from tissue.paper.page import Paper
    from tissue.paper.record import record

    code, eyes = load(PLAN)

    def empty():
        paper = Paper("empty")
        paper.text(20.0, 20.0, "empty")
        paper.close_page()
        return paper.finish()

    return lambda: record(code, eyes, PLAN.read_bytes()), empty


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
