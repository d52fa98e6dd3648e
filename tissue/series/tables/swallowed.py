"""Rows that a stray quote swallows: the file is refused, for none of them would come back as an eye."""

import csv

from tissue.entry.notation import shown
from tissue.series.tables.row_ends import end_of_last_row, line_ends
from tissue.series.wrong import TableError


def refuse_open_quote(job, data, line):
    """Refuse a quote that is never closed.

    Args:
        job: Job of the table.
        data: bytes of whole rows, the last of which may end without a line end.
        line: number of the first line.

    Raises:
        TableError: with the line where the row with the quote begins.
    """
    whole = data if data.endswith(b"\n") else data + b"\n"
    end = end_of_last_row(whole, job.dialect.delimiter.encode())
    if end != len(whole):
        at = line + line_ends(data[:end])
        raise TableError(f"{job.name}: line {at}: read a quote that is never closed, accepted quotes in pairs")


def refuse_swallowed_rows(job, rows, begins):
    """Refuse a quoted cell that holds line ends and lines which would be rows themselves.

    Args:
        job: Job of the table.
        rows, begins: rows of cells, and the line in which each begins.

    Raises:
        TableError: with the lines where the quote opens and where it closes.
    """
    width = len(job.header)
    if width < 2:
        return
    for row, begin in zip(rows, begins, strict=True):
        line = begin
        for i, cell in enumerate(row):
            lines = cell.splitlines()
            inner = csv.reader(lines[1:], delimiter=job.dialect.delimiter)
            if len(lines) > 1 and any(len(one) == width for one in inner):
                where = f"line {line}: {shown(job.header[min(i, width - 1)])}"
                read = (
                    f"read a quote that opens here and closes in line {line + line_ends(cell.encode())}, rows within it"
                )
                raise TableError(f"{job.name}: {where}: {read}, accepted a closing quote in the line where it opens")
            line += line_ends(cell.encode())
