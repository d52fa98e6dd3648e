"""The table of groups and paired differences of a series that was worked out."""

import csv
import io
from collections.abc import Mapping
from pathlib import Path

import numpy as np

from tissue.series.names import decimals, output_names
from tissue.series.run import is_parquet
from tissue.series.statistics import Described, describe_columns, fellow_differences, one_eye_each
from tissue.series.tables.cells import fast_numbers, guard, unguard
from tissue.series.tables.csv_blocks import LONGEST_ROW, decoded
from tissue.series.tables.dialect import Dialect, sniff
from tissue.series.tables.distinct import Distinct
from tissue.series.tables.header import EXTRA
from tissue.series.wrong import TableError, words_of

SNIFFED = 100_000
BLOCK = 2 * LONGEST_ROW + 1_000_000  # of bytes; no row and its figures is longer
PAIRS = (("flap", "surface"), ("lenticule", "surface"), ("lenticule", "flap"))

MEASURES = tuple(
    f"{option}_{name}"
    for option in ("surface", "flap", "lenticule")
    for name in (
        "removal_central_um",
        "bed_central_um",
        "bed_min_um",
        "altered_percent",
        "strength_reinstein2013_percent",
        "removal_volume_mm3",
    )
)
HEADER = ("group", "measure", *Described._fields)


class Texts(Mapping):
    """Columns of a table as texts by name, each made when it is asked for."""

    def __init__(self, table):
        self.table = table

    def __getitem__(self, name):
        texts = ["" if value is None else str(value) for value in self.table.column(name).to_pylist()]
        return [unguard(text) for text in texts]

    def __iter__(self):
        return iter(self.table.schema.names)

    def __len__(self):
        return self.table.num_columns


class Series:
    """A series that was worked out: columns by name, as texts and as numbers.

    Args:
        table: pyarrow Table, figures as numbers, the other columns as they came.
        dialect: Dialect in which its summary is written.
        called: {"patient": its column, "side": its column} where they are called otherwise.
    """

    def __init__(self, table, dialect=None, called=None):
        self.table, self.texts, self.dialect = table, Texts(table), dialect or Dialect()
        self.called = dict(zip(EXTRA, EXTRA, strict=True)) | (called or {})

    def numbers(self, name):
        """A column as numbers, NaN where empty or no number."""
        import pyarrow as pa

        column = self.table.column(name)
        if pa.types.is_floating(column.type) or pa.types.is_integer(column.type):
            return np.array(column.cast(pa.float64(), safe=False).to_numpy(), dtype=float)
        column = Distinct.of(self.texts[name])
        return fast_numbers(column.distinct)[0][column.index]

    def __contains__(self, name):
        return name in self.texts

    def patients(self):
        """Who each eye belongs to, as numbers; None where the table does not say. An eye without a name is its own."""
        if self.called["patient"] not in self:
            return None
        known: dict[str | int, int] = {}
        names = (text or i for i, text in enumerate(self.texts[self.called["patient"]]))
        return np.array([known.setdefault(name, len(known)) for name in names], dtype=int)

    def sides(self):
        """Side of each eye, OD, OS or nothing; None where the table does not say."""
        if self.called["side"] not in self:
            return None
        return np.array([text.strip().upper() for text in self.texts[self.called["side"]]])

    @property
    def worked(self):
        """Which rows were not refused."""
        return np.array(self.texts["status"]) == "ok"


def load_series(path, names=None):
    """The Series in a table that was worked out, CSV or Parquet.

    Args:
        path: of the table; a folder is a Parquet data set.
        names: the columns wanted, as far as they are there; all where None.

    Raises:
        TableError: it cannot be read, or was not worked out.
    """
    if Path(path).is_dir() or is_parquet(path):
        return series_of(path, str(path), names)
    return series_of(Path(path).read_bytes(), str(path), names)


def series_of(data, name, names=None):
    """The Series in the bytes of a table that was worked out; arguments as in `load_series`.

    Raises:
        TableError: it cannot be read, or was not worked out.
    """
    import pyarrow as pa

    try:
        series = _parquet(data, names) if is_parquet(name) or not isinstance(data, bytes) else _csv(data, name, names)
    except pa.ArrowException as error:
        raise TableError(f"{name}: read {words_of(error)}, accepted a series that was worked out") from None
    if "status" not in series:
        raise TableError(f"{name}: status: read no such column, accepted a series that was worked out")
    return series


def _parquet(data, names):
    import pyarrow as pa
    import pyarrow.parquet as pq

    source = pa.BufferReader(data) if isinstance(data, bytes) else data
    there = pq.read_schema(source).names if isinstance(data, bytes) or Path(data).is_file() else None
    wanted = None if names is None or there is None else [name for name in there if name in names]
    return Series(pq.read_table(source, columns=wanted))


def _csv(data, name, names):
    import pyarrow as pa
    from pyarrow import csv as reader

    text = decoded(data[: data.find(b"\n", SNIFFED) + 1] if len(data) > SNIFFED else data, name, 1)
    dialect = sniff(text, telling=lambda column: decimals(column) is not None and column in output_names())
    header = next(filter(None, csv.reader(io.StringIO(text, newline=""), delimiter=dialect.delimiter)), [])
    kinds = {column: pa.float64() if decimals(column) is not None else pa.string() for column in header}
    options = reader.ConvertOptions(
        column_types=kinds | {column: pa.string() for column in header if column not in output_names()},
        null_values=[""],
        decimal_point=dialect.decimal,
        include_columns=None if names is None else [column for column in header if unguard(column) in names],
    )
    table = reader.read_csv(
        pa.BufferReader(data),
        read_options=reader.ReadOptions(block_size=BLOCK),
        parse_options=reader.ParseOptions(delimiter=dialect.delimiter, newlines_in_values=True),
        convert_options=options,
    )
    return Series(table.rename_columns([unguard(column) for column in table.schema.names]), dialect)


def summary_rows(series, by, measures=MEASURES, one_eye=False):
    """Rows of the summary: each measure of each group and of all, right less left eye, and one option less another.

    Args:
        series: Series.
        by: the column that makes the groups.
        measures: names of the columns to describe.
        one_eye: whether one eye a patient is drawn.

    Raises:
        TableError: no such column.
    """
    if by not in series:
        raise TableError(f"--by: read {by}, accepted a column of the table")
    kept, patients = series.worked, series.patients()
    if one_eye and patients is not None:
        kept = kept & one_eye_each(patients, kept)
    measures = [name for name in measures if name in series]
    values = np.stack([series.numbers(name)[kept] for name in measures], axis=1)
    owners = None if patients is None else patients[kept]
    groups = np.array(series.texts[by])[kept]
    found = {f"{by} {group}": _each(measures, values, owners, groups == group) for group in sorted(set(groups))}
    found["all"] = _each(measures, values, owners)
    sides = series.sides()
    if patients is not None and sides is not None and len(values):
        difference = fellow_differences(values, owners, sides[kept])
        found["right less left eye"] = _each(measures, difference, None)
    found |= _options_paired(measures, values, owners)
    names = dict.fromkeys(name for group in found.values() for name in group)
    return [(label, name, *group[name]) for name in names for label, group in found.items() if name in group]


def _each(names, values, owners, mine=slice(None)):
    """Described of each column of some rows, by name."""
    owners = None if owners is None else owners[mine]
    return dict(zip(names, describe_columns(values[mine], owners), strict=True))


def _options_paired(measures, values, owners):
    """One option less another in the same eyes, by words and measure, where both have the measure."""
    column = dict(zip(measures, values.T, strict=True))
    found = {}
    for first, second in PAIRS:
        shared = [name.removeprefix(f"{first}_") for name in measures if name.startswith(f"{first}_")]
        shared = [name for name in shared if f"{second}_{name}" in column]
        if shared:
            difference = np.stack([column[f"{first}_{name}"] - column[f"{second}_{name}"] for name in shared], axis=1)
            found[f"{first} less {second}"] = _each(shared, difference, owners)
    return found


def summary_of(source, by, mapping=None):
    """The summary of a series that was worked out, as CSV.

    Args:
        source: path.
        by: the column that makes the groups.
        mapping: {our name: (their name, factor)}, or None; it tells the columns of patient and side.

    Raises:
        TableError: it cannot be read, or no such column.
    """
    called = {name: mapping[name][0] for name in EXTRA if name in (mapping or {})}
    series = load_series(source, {*MEASURES, "status", *EXTRA, *called.values(), by})
    return summary_bytes(Series(series.table, series.dialect, called), by)


def summary_bytes(series, by, one_eye=False):
    """The summary of a Series as CSV, in its own dialect."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=series.dialect.delimiter)
    writer.writerow(HEADER)
    comma = series.dialect.decimal == ","
    for label, name, *figures in summary_rows(series, by, one_eye=one_eye):
        writer.writerow([guard(label), name, *(_written(value, comma) for value in figures)])
    return out.getvalue().encode()


def _written(value, comma):
    """A figure of the summary: whole numbers whole, else four decimals, nothing for NaN."""
    if isinstance(value, int):
        return str(value)
    if np.isnan(value):
        return ""
    text = f"{value:.4f}"
    return text.replace(".", ",") if comma else text
