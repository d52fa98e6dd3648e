"""Columns of figures as digits, fast: a number is looked up in a table of all its spellings."""

from functools import cache

import numpy as np

LOW, HIGH = -1000, 10000  # numbers outside are written one by one


@cache
def _table(decimals, comma):
    """All numbers from LOW to HIGH with so many decimals as bytes, the last one empty."""
    steps = 10**decimals
    texts = [f"{i / steps:.{decimals}f}" for i in range(LOW * min(steps, 10), HIGH * min(steps, 10) + 1)]
    texts = ["0" + text[2:] if text.startswith("-0") and not text.strip("-0.") else text for text in texts]
    if comma:
        texts = [text.replace(".", ",") for text in texts]
    return np.array([text.encode() for text in texts] + [b""])


def digits(values, decimals, comma=False):
    """Numbers rounded and written, as an array of bytes; empty for NaN.

    Args:
        values: numbers [any unit], shape (rows,).
        decimals: digits behind the point.
        comma: whether the point is a comma.

    >>> digits(np.array([303.512, -0.04, np.nan, 20000.0]), 1).tolist()
    [b'303.5', b'0.0', b'', b'20000.0']
    """
    table = _table(decimals, comma)
    start = LOW * min(10**decimals, 10)
    step = np.round(np.asarray(values, dtype=float) * 10.0**decimals)
    with np.errstate(invalid="ignore"):
        inside = (step >= start) & (step <= start + len(table) - 2)
    place = np.where(inside, step - start, len(table) - 1).astype(np.int64)
    written = table[place]
    odd = np.flatnonzero(~inside & np.isfinite(step))
    if odd.size:
        texts = [f"{step[i] / 10**decimals:.{decimals}f}".replace(".", "," if comma else ".") for i in odd]
        written = written.astype(f"S{max(written.dtype.itemsize, *map(len, texts))}")
        written[odd] = [text.encode() for text in texts]
    return written


def lines(columns, delimiter, first):
    """Rows of bytes: what stands first in each row, then the columns, each after a delimiter, then a line end.

    Args:
        columns: arrays of bytes, shape (rows,).
        delimiter: one byte.
        first: the beginnings of the rows, a list of bytes.

    >>> lines([np.array([b"1.0", b""])], b",", [b"a", b"b"])
    b'a,1.0\\r\\nb,\\r\\n'
    """
    parts = [np.array(first)] if first else []
    for column in columns:
        parts += [np.broadcast_to(np.array(delimiter), column.shape), column]
    parts.append(np.broadcast_to(np.array(b"\r\n"), parts[0].shape))
    widths = [part.dtype.itemsize for part in parts]
    whole = np.zeros((len(first), sum(widths)), dtype=np.uint8)
    at = 0
    for part, width in zip(parts, widths, strict=True):
        if width:
            flat = np.ascontiguousarray(part)
            whole[:, at : at + width] = flat.view(np.uint8).reshape(-1, width)
        at += width
    return whole.tobytes().translate(None, b"\x00")
