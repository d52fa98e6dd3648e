"""The table of groups and paired differences of a series that was worked out."""

import csv
import io
from pathlib import Path

import numpy as np

from tissue.entry.whole_file import write_whole
from tissue.series.cells import guard, unguard
from tissue.series.csv_blocks import decoded
from tissue.series.dialect import sniff
from tissue.series.run import is_parquet
from tissue.series.statistics import Described, describe, fellow_differences, one_eye_each
from tissue.series.wrong import TableError

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


class Series:
    """A series that was worked out: columns by name, texts and numbers."""

    def __init__(self, texts, dialect=None):
        self.texts, self.dialect = texts, dialect or sniff("a,b")

    def numbers(self, name):
        """A column as numbers, NaN where empty or no number."""
        comma = self.dialect.decimal == ","
        return np.array([_number(text, comma) for text in self.texts[name]])

    def __contains__(self, name):
        return name in self.texts

    def patients(self):
        """Who each eye belongs to; None where the table does not say."""
        if "patient" not in self.texts:
            return None
        return np.array([text or f"\x00{i}" for i, text in enumerate(self.texts["patient"])])

    @property
    def worked(self):
        """Which rows were not refused."""
        return np.array([text == "ok" for text in self.texts["status"]])


def _number(text, comma):
    """A cell as a number, NaN where it is none."""
    try:
        return float(text.replace(",", ".") if comma else text)
    except ValueError:
        return np.nan


def load_series(path):
    """The Series in a table that was worked out.

    Raises:
        TableError: it cannot be read, or was not worked out.
    """
    if is_parquet(path):
        import pyarrow.parquet as pq

        table = pq.read_table(path)
        texts = {
            name: ["" if value is None else str(value) for value in table.column(name).to_pylist()]
            for name in table.schema.names
        }
        return Series(texts)
    return series_of(Path(path).read_bytes(), str(path))


def series_of(data, name):
    """The Series in the bytes of a CSV table that was worked out.

    Raises:
        TableError: it cannot be read, or was not worked out.
    """
    text = decoded(data, name, 1)
    dialect = sniff(text[:100_000])
    rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=dialect.delimiter))
    columns = list(zip(*rows[1:], strict=True)) if len(rows) > 1 else [()] * len(rows[0])
    texts = {name: [unguard(cell) for cell in column] for name, column in zip(rows[0], columns, strict=True)}
    if "status" not in texts:
        raise TableError(f"{name}: status: read no such column, accepted a series that was worked out")
    return Series(texts, dialect)


def summary_rows(series, by, measures=MEASURES, one_eye=False):
    """Rows of the summary: each measure of each group, of all, and right less left eye.

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
        kept = kept & one_eye_each(patients)
    groups = np.array(series.texts[by])
    rows = []
    for name in (name for name in measures if name in series):
        values = np.where(kept, series.numbers(name), np.nan)
        for group in (*sorted(set(groups[kept])), None):
            mine = kept if group is None else kept & (groups == group)
            label = "all" if group is None else f"{by} {group}"
            rows.append((label, name, *describe(values[mine], None if patients is None else patients[mine])))
        if patients is not None and "side" in series:
            difference = fellow_differences(values[kept], patients[kept], np.array(series.texts["side"])[kept])
            rows.append(("right less left eye", name, *describe(difference)))
    return rows


def write_summary(source, target, by, one_eye=False):
    """Write the summary of a series that was worked out, whole or not at all.

    Raises:
        TableError: it cannot be read, no such column, or a place that cannot be written to.
    """
    try:
        write_whole(target, summary_bytes(load_series(source), by, one_eye))
    except OSError as error:
        raise TableError(f"{target}: file: read {error.strerror or error}, accepted a place to write to") from None


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
