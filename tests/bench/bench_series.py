"""Many eyes: seconds and memory of `tissue series`, CSV to CSV and Parquet to Parquet, beside only reading and writing.

Run with `python tests/bench/bench_series.py [greatest number of rows]`. The series are invented and made first. The
floor reads the table that came out and writes it again, with pyarrow: the same columns, no arithmetic. Where other
work keeps the machine busy the seconds of the processors tell more than those of the clock. Growth lies beside the
size before it: times so many rows, times so many seconds.
"""

import sys
import tempfile
from pathlib import Path

from measure import Row, children_s, run, show

ALLOWED_S, ALLOWED_MB, AT_ROWS = 24.0, 1000.0, 1_000_000
SIZES = (10_000, 100_000, 1_000_000)
READ_CSV, READ_PARQUET = "csv.read_csv(sys.argv[1])", "pq.read_table(sys.argv[1])"
WRITE_CSV, WRITE_PARQUET = "csv.write_csv({}, sys.argv[2])", "pq.write_table({}, sys.argv[2])"
IMPORTS = "import sys\nfrom pyarrow import csv, parquet as pq\n"
COPY = {".csv": WRITE_CSV.format(READ_CSV), ".parquet": WRITE_PARQUET.format(READ_PARQUET)}


def rows(most=AT_ROWS):
    """Rows of the table: every size in both formats."""
    before = {}
    with tempfile.TemporaryDirectory() as folder:
        for size in [*(size for size in SIZES if size < most), most]:
            for ending in COPY:
                yield from _one(Path(folder), size, ending, before)


def _one(folder, size, ending, before):
    given, out, again = (folder / f"{name}{ending}" for name in ("given", "out", "again"))
    _make(folder, size, given)
    worked = children_s()
    took, memory = run("-m", "tissue", "series", given, out)
    worked = children_s() - worked
    copied, _ = run("-c", IMPORTS + COPY[ending], out, again)
    what, allowed = f"series, {size:,} rows {ending[1:]}", (ALLOWED_S, ALLOWED_MB) if size == AT_ROWS else (None, None)
    yield Row(f"{what}, {size / took:,.0f} rows/s", took, "s", allowed[0], copied, "read, write")
    yield Row(f"{what}, all processors together", worked, "s")
    yield Row(f"{what}, greatest memory", memory, "MB", allowed[1])
    if ending in before:
        less, seconds = before[ending]
        yield Row(f"{what}, growth", took / seconds, "× the seconds", None, size / less, "the rows")
    before[ending] = size, took
    for path in (given, out, again):
        path.unlink()


def _make(folder, size, given):
    """An invented series, as CSV or made Parquet of it."""
    made = folder / "made.csv"
    run("-m", "tissue", "demo-series", size, made)
    if given.suffix == ".csv":
        made.rename(given)
    else:
        run("-c", IMPORTS + WRITE_PARQUET.format(READ_CSV), made, given)
        made.unlink()


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
