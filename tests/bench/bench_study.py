"""Agreement and comparison of 100,000 eyes: what `--agree` and `--compare` add to a series that was worked out.

Run with `python tests/bench/bench_study.py [rows]`. The eyes are invented; every fellow pair shares part of its error.
The floor reads the columns that the question needs. A second row is the same of the groups (`--summary`).
"""

import sys
import tempfile
from pathlib import Path

import numpy as np
from measure import Row, median_s, run, show

from tissue.series.finished import load_series
from tissue.series.report import summary_bytes
from tissue.series.study.question import Pair, Question
from tissue.series.study.results import agreement_rows, comparison_rows

ROWS, REPEATS, ALLOWED_S = 100_000, 3, 5.0
ASKED = Question("surgeon", (), (Pair("flap_bed_min_um", "bed OCT"),), ("bed OCT", "flap_bed_min_um"), "sphere_D")
NAMES = ("patient", "side", "surgeon", "status", "reason", "flap_bed_min_um", "bed OCT", "sphere_D")


def rows(number=ROWS):
    """Rows of the table."""
    with tempfile.TemporaryDirectory() as folder:
        made, out = Path(folder) / "made.csv", Path(folder) / "out.csv"
        run("-m", "tissue", "demo-series", number, made)
        _with_measured(made)
        run("-m", "tissue", "series", made, out)
        read = median_s(lambda: load_series(out, NAMES), REPEATS)
        series = load_series(out, NAMES)
        for words, ask in (
            ("agreement", lambda: agreement_rows(series, ASKED)),
            ("comparison, two columns, adjusted too", lambda: comparison_rows(series, ASKED)),
            ("groups of the least bed", lambda: summary_bytes(series, "surgeon")),
        ):
            yield Row(f"{words}, {number:,} eyes", median_s(ask, REPEATS), "s", ALLOWED_S, read, "read, s")


def _with_measured(path):
    """A column of a measured bed beside each eye."""
    head, *lines = path.read_text("utf-8").splitlines()
    rng = np.random.default_rng(1)
    pairs, own = rng.normal(0.0, 6.0, len(lines) // 2 + 1), rng.normal(0.0, 6.0, len(lines))
    beds = (f"{350.0 + pairs[i // 2] + own[i]:.0f}" for i in range(len(lines)))
    path.write_text("\n".join([f"{head},bed OCT", *map(",".join, zip(lines, beds, strict=True))]) + "\n", "utf-8")


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
