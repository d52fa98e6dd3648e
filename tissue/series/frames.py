"""A series in a notebook: a pandas DataFrame or a pyarrow Table in, the same with every figure out."""

from collections.abc import Mapping
from typing import Any

from tissue.series.tables.header import Assigned
from tissue.series.tables.parquet import worked
from tissue.series.wrong import TableError


def with_figures(data: Any, mapping: Mapping[str, str | tuple] | None = None, optics: bool = False) -> Any:
    """A table of eyes with every figure, `status` and `reason`; a DataFrame keeps its index and its own columns.

    Args:
        data: pandas DataFrame or pyarrow Table; a row an eye, a column an input by the names of the interface. A
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

    assigned = {
        ours: Assigned(*([their] if isinstance(their, str) else their)) for ours, their in (mapping or {}).items()
    }
    if isinstance(data, pa.Table):
        return worked(data, assigned, optics)
    if not hasattr(data, "columns") or not hasattr(data, "index"):
        raise TableError(f"table: read {type(data).__name__}, accepted a pandas DataFrame or a pyarrow Table")
    import pandas as pd

    names = [str(name) for name in data.columns]
    columns = [_plain(data.iloc[:, i]) for i in range(len(names))]
    found = worked(pa.table(columns, names=names), assigned, optics).drop_columns(names)
    return pd.concat([data, found.to_pandas().set_axis(data.index)], axis=1)


def _plain(column: Any) -> Any:
    """A column as pyarrow has it; of mixed values their texts."""
    import pyarrow as pa

    try:
        return pa.Array.from_pandas(column)
    except (pa.ArrowInvalid, pa.ArrowTypeError):
        return pa.array([None if value != value or value is None else str(value) for value in column])
