"""A series in a notebook: a pandas DataFrame or a pyarrow Table in, the same with every figure out."""

from collections.abc import Mapping
from typing import Any

import numpy as np

from tissue.ground.errors import as_read
from tissue.series.tables.header import Assigned
from tissue.series.tables.parquet import worked
from tissue.series.wrong import TableError


def with_figures(data: Any, mapping: Mapping[str, str | tuple] | None = None, optics: bool = False) -> Any:
    """A table of eyes with every figure, `status` and `reason`; a DataFrame keeps its index and its columns.

    Args:
        data: pandas DataFrame or pyarrow Table: a row for each eye, a column for each input, by our names. A
            number's own sign counts, a text is read as people write it.
        mapping: {our name: their name, or (their name, factor)} where columns are called otherwise.
        optics: whether the optical figures are wanted.

    Raises:
        TableError: no such table, or columns that cannot be understood. What is wrong with a row stands in `reason`.

    >>> import pandas as pd
    >>> eyes = pd.DataFrame({"sphere_D": [-4.0, -6.0], "central_thickness_um": [548, 999]}, index=["first", "second"])
    >>> with_figures(eyes)[["flap_bed_min_um", "status"]].round(1)
            flap_bed_min_um   status
    first             366.2       ok
    second              NaN  refused
    """
    import pyarrow as pa

    assigned = _assigned({} if mapping is None else mapping)
    if not isinstance(optics, bool | np.bool_):
        raise TableError(f"optics: read {as_read(optics)}, accepted True or False")
    if isinstance(data, pa.Table):
        return worked(data, assigned, optics)
    if not hasattr(data, "columns") or not hasattr(data, "index"):
        raise TableError(f"table: read {type(data).__name__}, accepted a pandas DataFrame or a pyarrow Table")
    import pandas as pd

    names = [str(name) for name in data.columns]
    columns = [_plain(data.iloc[:, i]) for i in range(len(names))]
    found = worked(pa.table(columns, names=names), assigned, optics).drop_columns(names)
    return pd.concat([data, found.to_pandas().set_axis(data.index)], axis=1)


def _assigned(mapping: Any) -> dict[str, Assigned]:
    """The map of columns as the tables take it.

    Raises:
        TableError: it is none, or one of its entries is no column and factor.
    """
    if not isinstance(mapping, Mapping):
        raise TableError(f"mapping: read a {type(mapping).__name__}, accepted names of columns by our names")
    found = {}
    for ours, their in mapping.items():
        name, *factor = [their] if isinstance(their, str) or not isinstance(their, tuple | list) else their or [None]
        good = isinstance(ours, str) and isinstance(name, str) and all(isinstance(one, int | float) for one in factor)
        if not good or len(factor) > 1:
            raise TableError(
                f"mapping: read {ours}: {as_read(their)}, accepted the name of a column, or (name, factor)"
            )
        found[ours] = Assigned(name, *factor)
    return found


def _plain(column: Any) -> Any:
    """A column as pyarrow has it; of mixed values their texts."""
    import pyarrow as pa

    try:
        return pa.Array.from_pandas(column)
    except (pa.ArrowException, OverflowError, TypeError, ValueError):
        return pa.array([_text(value) for value in column], pa.string())


def _text(value: Any) -> str | None:
    """A value as text; None where there is none, or where it cannot be compared with itself."""
    try:
        return None if value is None or bool(value != value) else str(value)
    except Exception:  # a foreign object may raise anything when it is compared or written
        return f"a {type(value).__name__}"
