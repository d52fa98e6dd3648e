"""The most rows of a table on the screen, which holds it in memory; the commands have no such limit."""

import pyarrow as pa

from tissue.screens.html import put, strip
from tissue.series.run import is_parquet
from tissue.series.tables.parquet_file import opened
from tissue.series.tables.row_ends import line_ends
from tissue.series.wrong import TableError

MOST_ROWS = 100_000


def fits(name: str, data: bytes, command: str = "tissue series IN OUT") -> bool:
    """Whether a table has no more rows than the screen takes; where it has more, this is said on the screen.

    Args:
        name, data: name and bytes of the table. command: the one that takes more rows.
    """
    try:
        rows = opened(pa.py_buffer(data), name)[0].metadata.num_rows if is_parquet(name) else line_ends(data) - 1
    except TableError:
        return True  # other faults are reported where the table is read
    if rows > MOST_ROWS:
        more = f"the command takes tables of any length: {command}"
        put(strip(f"{name}: read about {rows:,} rows, accepted up to {MOST_ROWS:,} on this screen; {more}."))
    return rows <= MOST_ROWS
