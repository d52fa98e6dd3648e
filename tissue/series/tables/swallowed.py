"""Rows swallowed by a stray quote: the file is refused, because those rows would not come back as eyes."""

import csv
import re
from collections.abc import Sequence

from tissue.entry.notation import shown
from tissue.series.tables.cells import fast_numbers, unguard
from tissue.series.tables.row_ends import end_of_last_row, line_ends
from tissue.series.wrong import TableError

LINE_END = re.compile(r"\r\n|\n|\r")


def refuse_open_quote(name: str, delimiter: str, data: bytes, line: int) -> None:
    """Refuse a quote that is never closed.

    Args:
        name: what faults call the table.
        delimiter: what parts the cells, one character.
        data: bytes of whole rows, the last of which may end without a line end.
        line: number of the first line.

    Raises:
        TableError: with the line where the row with the quote begins.
    """
    whole = data if data.endswith(b"\n") else data + b"\n"
    end = end_of_last_row(whole, delimiter.encode())
    if end != len(whole):
        at = line + line_ends(data[:end])
        raise TableError(f"{name}: line {at}: read a quote that is never closed, accepted quotes in pairs")


def refuse_swallowed_rows(
    name: str,
    delimiter: str,
    header: Sequence[str],
    rows: Sequence[list[str]],
    begins: Sequence[int],
    numbered: Sequence[int] = (),
) -> None:
    """Refuse a quoted cell that holds line ends and what would be rows themselves.

    Args:
        name: what faults call the table.
        delimiter: what parts the cells, one character.
        header: names of the columns.
        rows, begins: rows of cells, and the line in which each begins.
        numbered: places of the columns that hold numbers.

    Raises:
        TableError: with the lines where the quote opens and where it closes.
    """
    width = len(header)
    if width < 2:
        return
    for row, begin in zip(rows, begins, strict=True):
        line = begin
        for i, cell in enumerate(row):
            ends = line_ends(cell.encode())
            if ends and (_holds_a_row(cell, delimiter, width) or _parts_two_rows(row, i, delimiter, width, numbered)):
                where = f"line {line}: {shown(header[min(i, width - 1)])}"
                read = f"read a quote that opens here and closes in line {line + ends}, rows within it"
                raise TableError(f"{name}: {where}: {read}, accepted a closing quote in the line where it opens")
            line += ends


def _holds_a_row(cell: str, delimiter: str, width: int) -> bool:
    """Whether a line of a cell after its first is as wide as a row."""
    return any(len(inner) == width for inner in csv.reader(LINE_END.split(cell)[1:], delimiter=delimiter))


def _parts_two_rows(row: list[str], i: int, delimiter: str, width: int, numbered: Sequence[int]) -> bool:
    """Whether a cell begins in one row and ends in another: both have a row's width and numbers in their places."""
    first, *_, last = LINE_END.split(row[i])
    both = [*row[:i], *first.split(delimiter)], [*last.split(delimiter), *row[i + 1 :]]
    return bool(numbered) and all(len(one) == width and _numbers_stand(one, numbered) for one in both)


def _numbers_stand(row: list[str], numbered: Sequence[int]) -> bool:
    """Whether the cells for numbers hold numbers or are empty, and some do hold one."""
    cells = [text for text in (unguard(row[i]).strip() for i in numbered) if text]
    return bool(cells) and not fast_numbers(cells)[1].any()
