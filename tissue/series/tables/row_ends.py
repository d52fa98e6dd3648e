"""Finds where rows of CSV end: not at a line end inside a quoted cell; a quote inside an unquoted cell opens none."""

import numpy as np
from numpy.typing import NDArray

QUOTE, NEWLINE, RETURN = b'"\n\r'


def line_ends(data: bytes) -> int:
    """Number of line ends in some bytes, however they are written.

    >>> line_ends(b"a\\r\\nb\\nc\\r")
    3
    """
    return data.count(b"\n") + data.count(b"\r") - data.count(b"\r\n")


def end_of_last_row(data: bytes, delimiter: bytes) -> int:
    """Where the last whole row of some bytes ends; 0 where none does.

    Args:
        data: bytes that begin with a row.
        delimiter: the sign between cells, one byte.

    >>> end_of_last_row(b'a,"b\\nc"\\nd,"e\\n', b",")
    8
    """
    end = data.rfind(b"\n") + 1
    if data.find(b'"', 0, end) < 0:
        return end
    quotes = np.flatnonzero(np.frombuffer(data, dtype=np.uint8) == QUOTE)
    if not _in_pairs(data, quotes, delimiter):
        return _end_by_cells(data, delimiter)
    while end and np.searchsorted(quotes, end) % 2:
        end = data.rfind(b"\n", 0, end - 1) + 1
    return end


def _in_pairs(data: bytes, quotes: NDArray[np.intp], delimiter: bytes) -> bool:
    """Whether every quote opens a cell, closes one or is written twice within one."""
    whole = np.frombuffer(data, dtype=np.uint8)
    first, last = quotes[0::2], quotes[1::2]
    before = whole[np.maximum(first - 1, 0)]
    after = whole[np.minimum(last + 1, len(data) - 1)]
    parted = [*delimiter, NEWLINE, RETURN, QUOTE]
    opened = np.isin(before, parted) | (first == 0)
    return bool(opened.all() and (np.isin(after, parted) | (last == len(data) - 1)).all())


def _end_by_cells(data: bytes, delimiter: bytes) -> int:
    """Where the last whole row ends, cell by cell: as `csv` reads, a quote counts only where a cell begins."""
    at = end = 0
    while True:
        quote = data.find(b'"', at)
        end = max(end, data.rfind(b"\n", at, quote if quote >= 0 else len(data)) + 1)
        if quote < 0:
            return end
        opens = quote == 0 or data[quote - 1] in (*delimiter, NEWLINE, RETURN)
        at = _closed(data, quote + 1) if opens else quote + 1
        if at == 0:
            return end


def _closed(data: bytes, at: int) -> int:
    """Where a quoted cell is closed; 0 where it is not. A doubled quote belongs to its text."""
    while (quote := data.find(b'"', at)) >= 0:
        if data[quote + 1 : quote + 2] != b'"':
            return quote + 1
        at = quote + 2
    return 0
