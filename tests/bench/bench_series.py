"""Many eyes: seconds and memory of `tissue series`, CSV to CSV and Parquet to Parquet, beside only reading and writing.

Run with `python tests/bench/bench_series.py [numbers of rows]`. The series are invented and made first; one of more
than a million rows is the first million over again, its patients by names of their own. The floor reads the table that
came out and writes it again, with pyarrow: the same columns, no arithmetic; it holds the whole table, so there is none
over a million rows. Where other work keeps the machine busy the seconds of the processors tell more than those of the
clock. Growth lies beside the size before it: times so many rows, times so many seconds.
"""

import sys
import tempfile
from pathlib import Path

from measure import Row, children_s, run, show

ALLOWED_S, ALLOWED_MB, AT_ROWS = 24.0, 1000.0, 1_000_000
SIZES = (10_000, 100_000, 1_000_000)
GROWTH = 1.2  # times the rows that the seconds may grow
READ_CSV, READ_PARQUET = "csv.read_csv(sys.argv[1])", "pq.read_table(sys.argv[1])"
WRITE_CSV, WRITE_PARQUET = "csv.write_csv({}, sys.argv[2])", "pq.write_table({}, sys.argv[2])"
IMPORTS = "import sys\nfrom pyarrow import csv, parquet as pq\n"
COPY = {".csv": WRITE_CSV.format(READ_CSV), ".parquet": WRITE_PARQUET.format(READ_PARQUET)}


def rows(*sizes):
    """Rows of the table: every size in both formats."""
    with tempfile.TemporaryDirectory() as folder:
        for ending in COPY:
            before = None
            for size in sizes or SIZES:
                took = yield from _one(Path(folder), size, ending, before)
                before = (size, *took)


def _one(folder, size, ending, before):
    given, out = folder / f"given{ending}", folder / f"out{ending}"
    _make(folder, size, given)
    worked = children_s()
    took, memory = run("-m", "tissue", "series", given, out)
    worked = children_s() - worked
    copied = _copied(out) if size <= AT_ROWS else None
    what, allowed = f"series, {size:,} rows {ending[1:]}", (ALLOWED_S, ALLOWED_MB) if size == AT_ROWS else (None, None)
    yield Row(f"{what}, {size / took:,.0f} rows/s", took, "s", allowed[0], copied, "read, write")
    yield Row(f"{what}, all processors together", worked, "s")
    yield Row(f"{what}, greatest memory", memory, "MB", allowed[1])
    if before is not None:
        less, seconds, processors = before
        more = size / less
        yield Row(f"{what}, growth", took / seconds, "× the seconds", GROWTH * more, more, "the rows")
        yield Row(f"{what}, growth of the processors", worked / processors, "× the seconds", None, more, "the rows")
    given.unlink()
    out.unlink()
    return took, worked


def _copied(out):
    """Seconds of reading and writing a table alone."""
    again = out.with_stem("again")
    took, _ = run("-c", IMPORTS + COPY[out.suffix], out, again)
    again.unlink()
    return took


def _make(folder, size, given):
    """An invented series, as CSV or made Parquet of it."""
    made = folder / "made.csv"
    run("-m", "tissue", "demo-series", min(size, AT_ROWS), made)
    if size > AT_ROWS:
        _repeat(made, size // AT_ROWS)
    if given.suffix == ".csv":
        made.rename(given)
    else:
        run("-c", IMPORTS + WRITE_PARQUET.format(READ_CSV), made, given)
        made.unlink()


def _repeat(made, times):
    """The rows of a table over again; patients are named after the turn."""
    head, rows = made.read_bytes().split(b"\n", 1)
    with made.open("wb") as file:
        file.write(head + b"\n")
        for turn in range(times):
            file.write(rows.replace(b"harbour-", b"harbour%d-" % turn))


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
