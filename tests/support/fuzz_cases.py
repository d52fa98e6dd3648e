"""What must hold for any input at all: each case draws one, puts it through, and says `refused` or `taken`.

Anything but the declared errors leaves a case as it is, and so does a property that does not hold. Properties: faults
are one printable line each; a refused row carries no figure; every row and every cell comes back; what was read is
written so that it reads back the same; a command ends with 0 or 2, and with 2 it has written nothing.
"""

import io
import json
import math
import tempfile
import warnings
from pathlib import Path

import fuzz_inputs as make
import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
from fuzz_commands import clean, command

from tissue.entry import plan_file
from tissue.entry.checks import Fault, check_one, faults
from tissue.entry.eye import build
from tissue.entry.fields import fields
from tissue.entry.notation import read_refraction, read_text, write
from tissue.ground.errors import EyeError
from tissue.report.contract import plan_as_dict
from tissue.series.finished import series_of
from tissue.series.names import figure_names
from tissue.series.report import summary_bytes
from tissue.series.run import run, stream
from tissue.series.tables.cells import unguard
from tissue.series.tables.csv_blocks import open_job, read_rows
from tissue.series.tables.header import read_map
from tissue.series.wrong import TableError


def notation(r):
    """Any text in any field: a value that can be said again, or an EyeError."""
    name, text = r.choice(make.NAMES), make.text(r)
    try:
        value = read_text(name, text)
    except EyeError as error:
        assert error.field == name
        return "refused"
    if name == "refraction":
        sphere, cylinder, axis = value
        again = read_refraction(write(sphere, cylinder, 180.0 if math.isnan(axis) else axis)[0])
        assert np.allclose(again[:2], np.round([sphere, cylinder], 2) if cylinder <= 0 else again[:2], atol=0.005)
    elif fields()[name].is_number:
        assert isinstance(value, float) and not math.isnan(value)
    else:
        assert value.isprintable() and value
    return "taken"


def checks(r):
    """Any text in any field: a value in its range, or a Fault in one clean line."""
    name, text = r.choice(make.NAMES), make.text(r)
    found = check_one(name, text)
    if isinstance(found, Fault):
        clean([found.text])
        assert ";" not in found.text
        return "refused"
    if fields()[name].is_number and text.strip():
        assert fields()[name].low <= found <= fields()[name].high
    return "taken"


def eye(r):
    """Any values within their ranges: an EyeError or a Fault, or figures that are numbers, as strict JSON."""
    values = {"sphere_D": make.sound_value(r, "sphere_D"), "central_thickness_um": make.sound_value(r, "cap_um") + 400}
    values |= {name: make.sound_value(r, name) for name in r.sample(make.NAMES, r.randint(0, 12))}
    values.pop("refraction", None)
    if faults(values):
        clean([finding.fault().text for finding in faults(values)])
        return "refused"
    try:
        inputs = build(values, "OD")
        found = plan_as_dict("", {"OD": (inputs, inputs.compare(), "")})
    except EyeError as error:
        assert error.field in fields()
        return "refused"
    json.dumps(found, allow_nan=False)
    return "taken"


def plan(r):
    """Any bytes as a plan file: a PlanError with clean lines, or values that are written and read back the same."""
    data = make.plan_bytes(r)
    try:
        found = plan_file.read_plan(data)
    except plan_file.PlanError as error:
        clean(error.lines)
        return "refused"
    again = plan_file.read_plan(plan_file.dumps(found).encode())
    assert (again.code, again.eyes) == (found.code, found.eyes)
    return "taken"


def rows_of(data, delimiter):
    return read_rows(data.decode("utf-8-sig"), delimiter, 1)[0]


def table(r):
    """Any bytes as a CSV table: a TableError with clean lines, or every row and cell back."""
    data = make.table(r)
    out, plus, optics = io.BytesIO(), r.random() < 0.3, r.random() < 0.1
    try:
        job = open_job(io.BytesIO(data), "in.csv", None, optics, plus)
        found = stream(job, io.BytesIO(data), out)
    except TableError as error:
        clean(error.lines)
        return "refused"
    head, *rows = rows_of(out.getvalue(), job.dialect.delimiter)
    before = rows_of(data, job.dialect.delimiter)[1:]
    width = len(job.header)
    assert len(rows) == len(before) == found.rows and len(set(head)) == len(head)
    assert sum(row[-2] == "refused" for row in rows) == found.refused
    for was, row in zip(before, rows, strict=True):
        assert len(row) == len(head)
        assert [unguard(cell) for cell in row[:width]] == [unguard(cell) for cell in (was + [""] * width)[:width]]
        figures = row[head.index(figure_names()[0]) : -2]
        if row[-2] == "refused":
            assert not any(figures) and row[-1].startswith("line ")
            clean([row[-1]])
        else:
            assert row[-2:] == ["ok", ""] and any(figures) and "nan" not in figures and "inf" not in figures
    series = series_of(out.getvalue(), "out.csv")
    assert series.worked.sum() == found.rows - found.refused
    assert summary_bytes(series, unguard(head[0]))
    return "taken" if found.rows > found.refused else "refused"


def column_map(r):
    """Any bytes as a map of columns: a TableError with clean lines, or names and factors that can be used."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "map.toml"
        path.write_bytes(make.column_map(r))
        try:
            found = read_map(path)
        except TableError as error:
            clean(error.lines)
            return "refused"
    assert all(isinstance(one.name, str) and 0 < one.factor < math.inf for one in found.values())
    assert all(isinstance(one.shared, bool) for one in found.values())
    return "taken"


KINDS = (
    lambda r, n: pa.array([r.choice((-6.0, 0.0, 548.0, math.nan, math.inf, 1e308, None)) for _ in range(n)]),
    lambda r, n: pa.array([r.choice((548, -6, 2**62, None)) for _ in range(n)], pa.int64()),
    lambda r, n: pa.array([make.text(r) for _ in range(n)], pa.string()),
    lambda r, n: pa.array([r.choice((b"x", b"\xff\x00", None)) for _ in range(n)], pa.binary()),
    lambda r, n: pa.array([r.choice(("OD", "OS", None)) for _ in range(n)], pa.string()).dictionary_encode(),
    lambda r, n: pa.array([r.choice((True, None)) for _ in range(n)], pa.bool_()),
    lambda r, n: pa.array([[1.0]] * n, pa.list_(pa.float64())),
    lambda r, n: pa.array([{"a": 1}] * n, pa.struct([("a", pa.int64())])),
    lambda r, n: pa.nulls(n),
    lambda r, n: pa.array([0] * n, pa.timestamp("s")),
    lambda r, n: pa.array([-4] * n).cast(pa.decimal128(30, 2)),
    lambda r, n: pa.array(np.full(n, -4.0, dtype=np.float16)),
)  # fmt: skip


def parquet(r):
    """Columns of any kind, and files with wrong bytes: a TableError with clean lines, or every row back."""
    n = r.randint(0, 4)
    columns = {"sphere_D": pa.array([-6.0] * n), "central_thickness_um": pa.array([548] * n)}
    names = r.sample((*make.NAMES, "side", "patient", "note", text_name(r)), r.randint(0, 4))
    columns |= {name: r.choice(KINDS)(r, n) for name in names}
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "in.parquet", Path(folder) / "out.parquet"
        pq.write_table(pa.table(columns), source, compression=r.choice(("none", "snappy", "zstd", "gzip")))
        if r.random() < 0.5:
            source.write_bytes(_wrong_bytes(r, source.read_bytes()))
        try:
            found = run(source, target)
        except TableError as error:
            clean(error.lines)
            assert not target.exists() and list(Path(folder).iterdir()) == [source]
            return "refused"
        rows = pq.read_table(target).to_pylist()
    assert len(rows) == found.rows
    for row in rows:
        figures = [row[name] for name in figure_names()]
        if row["status"] == "refused":
            assert not any(figures) and row["reason"]
            clean([row["reason"]])
        else:
            assert any(figures)
    return "taken" if found.rows > found.refused else "refused"


def text_name(r):
    return make.text(r).encode("utf-8", "replace").decode()


def _wrong_bytes(r, data):
    """A Parquet file with bytes changed: anywhere, or in its footer, or cut."""
    data = bytearray(data)
    for _ in range(r.randint(1, 4)):
        low = 0 if r.random() < 0.5 else max(0, len(data) - 400)
        data[r.randrange(low, len(data))] = r.randrange(256)
    return bytes(data[: r.choice((len(data), len(data), len(data), r.randrange(len(data))))])


TARGETS = {  # name: (case, share of a run)
    "notation": (notation, 0.40),
    "checks": (checks, 0.32),
    "eye": (eye, 0.03),
    "plan file": (plan, 0.15),
    "table": (table, 0.04),
    "map of columns": (column_map, 0.04),
    "Parquet": (parquet, 0.01),
    "commands": (command, 0.01),
}


def outcome(case, r):
    """`refused` or `taken` of one case; a warning counts as an error. The figures of a run do not depend on others."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        return case(r)
