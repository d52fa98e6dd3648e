"""Columns of pyarrow from arrays and back through their buffers: its own functions import pandas, for half a second."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pyarrow as pa
from numpy.typing import NDArray


def numbers_in(column: Any) -> NDArray[np.float64]:
    """The numbers of an Array or ChunkedArray of numbers, NaN where null.

    >>> numbers_in(pa.chunked_array([pa.array([1, None])]))
    array([ 1., nan])
    """
    whole = column.cast(pa.float64(), safe=False)
    whole = whole.combine_chunks() if isinstance(whole, pa.ChunkedArray) else whole
    return pa.RecordBatch.from_arrays([whole], ["numbers"]).to_tensor(null_to_nan=True).to_numpy()[:, 0]


def column_of(values: NDArray[Any]) -> Any:
    """Numbers, truth values or texts as an Array, null where NaN or empty.

    >>> [column_of(np.array(values)).to_pylist() for values in ([0.5, np.nan], [True, False], ["a", ""])]
    [[0.5, None], [True, False], ['a', None]]
    """
    if values.dtype.kind == "f":
        return _array(pa.float64(), len(values), ~np.isnan(values), np.ascontiguousarray(values, dtype=float))
    if values.dtype.kind == "b":
        return _array(pa.bool_(), len(values), None, np.packbits(values, bitorder="little"))
    return text_column(values.tolist())


def text_column(texts: Sequence[str]) -> Any:
    """Texts as an Array, null where empty."""
    data = [text.encode() for text in texts]
    ends = np.cumsum([0, *map(len, data)], dtype=np.int32)
    return _array(pa.string(), len(data), ends[1:] > ends[:-1], ends, b"".join(data))


def _array(kind: Any, count: int, known: NDArray[np.bool_] | None, *buffers: Any) -> Any:
    """An Array made of buffers, null where a value is not known."""
    bits = None if known is None or known.all() else pa.py_buffer(np.packbits(known, bitorder="little"))
    return pa.Array.from_buffers(kind, count, [bits, *map(pa.py_buffer, buffers)])
