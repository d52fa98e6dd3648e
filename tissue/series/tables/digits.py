"""Writes columns of figures fast: a number is looked up in a table of all its spellings."""

from functools import cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

LOW, HIGH = -1000, 10000  # numbers outside this range are written one by one
NEAR_TIE = 1e-6  # part of the last digit's step; this near to a half the exact number decides on rounding
PIECE = 1024  # rows whose bytes stay in the processor's cache


@cache
def _table(decimals: int, comma: bool, before: bytes) -> tuple[NDArray[np.bytes_], int]:
    """A table of numbers as bytes with so many decimals, each after its delimiter, the last empty; its first number.

    Between LOW and HIGH with one decimal, fewer as there are more decimals; the first one in steps of the last digit.
    """
    steps = 10**decimals
    low, high = (end * min(steps, 10) // steps for end in (LOW, HIGH))
    point = (b"," if comma else b".") if decimals else b""
    tails = np.array([point + f"{i + steps}"[1:].encode() for i in range(steps)])
    above, below = (
        np.char.add(np.array([before + sign + b"%d" % whole for whole in range(end)])[:, None], tails).ravel()
        for sign, end in ((b"", high), (b"-", -low))
    )
    return np.concatenate([below[:0:-1], above, [before]]), 1 + low * steps


def _tidy(text: str, comma: bool) -> str:
    """A number without the minus of a zero, with its decimal sign."""
    if text.startswith("-0") and not text.strip("-0."):
        text = text[1:]
    return text.replace(".", ",") if comma else text


def digits(values: ArrayLike, decimals: int, comma: bool = False, before: bytes = b"") -> NDArray[np.bytes_]:
    """Numbers rounded and written, as an array of bytes; empty for NaN.

    Args:
        values: numbers [any unit], shape (rows,).
        decimals: digits behind the point.
        comma: whether the point is a comma.
        before: what is put before each, such as the delimiter.

    >>> digits(np.array([303.512, -0.04, np.nan, 20000.0, 52.45]), 1).tolist()
    [b'303.5', b'0.0', b'', b'20000.0', b'52.5']
    """
    table, start = _table(decimals, comma, before)
    empty = len(table) - 1
    values = np.asarray(values, dtype=float)
    exact = values * 10.0**decimals
    step = np.rint(exact)
    looked_up = (np.abs(exact - step) < 0.5 - NEAR_TIE) & (step >= start) & (step < start + empty)
    written = table.take(np.where(looked_up, step - start, empty).astype(np.intp))
    odd = np.flatnonzero(~looked_up & np.isfinite(values))
    if odd.size:
        texts = [before + _tidy(f"{values[i]:.{decimals}f}", comma).encode() for i in odd]
        written = written.astype(f"S{max(written.dtype.itemsize, *map(len, texts))}")
        written[odd] = texts
    return written


def line_bytes(columns: list[NDArray[Any]]) -> bytes:
    """Rows of bytes: the columns side by side and a line end.

    Args:
        columns: arrays of bytes, shape (rows,), with their delimiters.

    >>> line_bytes([np.array([b"a", b"b"]), np.array([b",1.0", b","])])
    b'a,1.0\\r\\nb,\\r\\n'
    """
    named = {str(i): column for i, column in enumerate(columns)}
    row = np.dtype([*((name, column.dtype) for name, column in named.items()), ("end", "S2")])
    written = []
    for start in range(0, len(columns[0]), PIECE):
        count = min(PIECE, len(columns[0]) - start)
        whole = bytearray(count * row.itemsize)
        grid = np.frombuffer(whole, dtype=row)
        for name, column in named.items():
            grid[name] = column[start : start + count]
        grid["end"] = b"\r\n"
        written.append(whole.translate(None, b"\x00"))
    return b"".join(written)
