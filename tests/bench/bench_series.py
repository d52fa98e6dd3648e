"""Many eyes: seconds and memory of `tissue series`, CSV to CSV and Parquet to Parquet, beside only reading and writing.

Run with `python tests/bench/bench_series.py [greatest number of rows]`. The series are invented and made first. The
floor reads the table that came out and writes it again, with pyarrow: the same columns, no arithmetic.
"""

import sys
import tempfile
from pathlib import Path

from measure import Row, run, show

ALLOWED_S, ALLOWED_MB, AT_ROWS = 24.0, 1000.0, 1_000_000
COPY = {
    ".csv": "import sys\nfrom pyarrow import csv\ncsv.write_csv(csv.read_csv(sys.argv[1]), sys.argv[2])",
    ".parquet": "import sys\nfrom pyarrow import parquet as p\np.write_table(p.read_table(sys.argv[1]), sys.argv[2])",
}


def rows(most=AT_ROWS):
    """Rows of the table: every size in both formats."""
    sizes = [size for size in (10_000, 100_000) if size < most] + [most]
    with tempfile.TemporaryDirectory() as folder:
        for size in sizes:
            for ending in COPY:
                yield from _one(Path(folder), size, ending, size == AT_ROWS)


def _one(folder, size, ending, limited):
    given, out, again = (folder / f"{name}{ending}" for name in ("given", "out", "again"))
    run("-m", "tissue", "demo-series", size, given)
    took, memory = run("-m", "tissue", "series", given, out)
    copied, _ = run("-c", COPY[ending], out, again)
    kind, allowed = ending[1:], (ALLOWED_S, ALLOWED_MB) if limited else (None, None)
    yield Row(f"series, {size:,} rows {kind}, {size / took:,.0f} rows/s", took, "s", allowed[0], copied, "read, write")
    yield Row(f"series, {size:,} rows {kind}, greatest memory", memory, "MB", allowed[1])
    for path in (given, out, again):
        path.unlink()


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
