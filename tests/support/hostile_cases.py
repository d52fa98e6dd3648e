"""Files that mean harm or are broken: how each is made, and the command that must refuse it."""

import codecs
import os
import struct

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq

PLAN = b"schema = 1\n[OD]\nsphere_D = -6.00\ncentral_thickness_um = 548\n"
HEAD = b"sphere_D,cylinder_D,axis_deg,central_thickness_um,note\n"
ROW = b"-6.00,-1.25,170,548,x\n"
LARGE = 50_000_000


def _sparse(path, start=b"", size=2_000_000_000):
    """A file that says it is 2 GB and takes no room: its bytes after the start are NUL."""
    path.write_bytes(start)
    os.truncate(path, size)


def _header(path, names):
    path.write_text(",".join(names) + "\n")


def _eyes(count=3, **more):
    return pa.table({"sphere_D": [-6.0] * count, "central_thickness_um": [548.0] * count, **more})


def _parquet(path, **more):
    pq.write_table(_eyes(**more), path)


def _varint(value):
    """A number as Thrift writes it: zigzag, seven bits a byte."""
    value, found = value << 1, b""
    while value > 127:
        found, value = found + bytes([value & 127 | 128]), value >> 7
    return found + bytes([value])


def _announce(path, rows):
    """A Parquet file of 77 rows whose footer announces others: the first number of its kind is that of the rows."""
    pq.write_table(_eyes(77), path)
    data = path.read_bytes()
    size = struct.unpack("<I", data[-8:-4])[0]
    footer = data[-8 - size : -8].replace(b"\x16" + _varint(77), b"\x16" + _varint(rows), 1)
    path.write_bytes(data[: -8 - size] + footer + struct.pack("<I", len(footer)) + b"PAR1")


def _page_of_2_gb(path):
    """The first page announces that it is 2 GB when unpacked."""
    pq.write_table(_eyes(77), path, compression="zstd")
    data = bytearray(path.read_bytes())
    data[4:9] = b"\x15\x00\x15\xfe\xff"
    path.write_bytes(bytes(data))


def _wrong_pages(path):
    rng = np.random.default_rng(7)
    numbers = rng.normal(-4.0, 1.0, 5000)
    table = pa.table({"sphere_D": numbers, "central_thickness_um": numbers + 550.0})
    pq.write_table(table, path, write_page_checksum=True)
    data = bytearray(path.read_bytes())
    data[200:20000] = rng.bytes(19800)
    path.write_bytes(bytes(data))


def _one_text(path, count, size):
    """So many rows that all say the same long text, which stands once in the file."""
    said = pa.DictionaryArray.from_arrays(pa.array(np.zeros(count, dtype=np.int32)), pa.array(["a" * size]))
    table = pa.table({"sphere_D": np.full(count, -6.0), "central_thickness_um": np.full(count, 548.0), "note": said})
    pq.write_table(table, path, compression="zstd")


PLANS = {  # what a plan file is; made by a function of its path
    "nothing in it": lambda path: path.write_bytes(b""),
    "a folder": lambda path: path.mkdir(),
    "a pipe without a writer": os.mkfifo,
    "a device without an end": lambda path: path.symlink_to("/dev/zero"),
    "2 GB announced": _sparse,
    "NUL bytes": lambda path: path.write_bytes(PLAN.replace(b"548", b"5\x0048")),
    "UTF-16": lambda path: path.write_bytes(PLAN.decode().encode("utf-16")),
    "two encodings": lambda path: path.write_bytes(PLAN + "# µ é\n".encode() + "# µ é\n".encode("latin-1")),
    "line ends of another age": lambda path: path.write_bytes(PLAN.replace(b"\n", b"\r")),
    "a million keys": lambda path: path.write_text("\n".join(f"k{i} = 1" for i in range(1_000_000))),
    "as many keys as fit": lambda path: path.write_text("\n".join(f"k{i}=1" for i in range(11_000))),
    "as many tables as fit": lambda path: path.write_text("[[x]]\n" * 16_000),
    "lists in lists": lambda path: path.write_text("x = " + "[" * 90_000),
    "tables in tables": lambda path: path.write_text("x = " + "{a=" * 30_000),
    "a key of 49,000 parts": lambda path: path.write_text(".".join(["a"] * 49_000) + " = 1"),
    "a quoted key of 19,000 parts": lambda path: path.write_text('x."' + '"."'.join(["a"] * 19_000) + '" = 1'),
    "a number of 99,000 digits": lambda path: path.write_text("[OD]\nzone_mm = " + "9" * 99_000),
    "a text of 99,000 words": lambda path: path.write_text('[OD]\nrefraction = "' + "1 " * 49_000 + '"'),
    "quotes that never end": lambda path: path.write_bytes(b'\\"""\n' * 19_000),
}

TABLES = {  # what a CSV table is
    "nothing in it": lambda path: path.write_bytes(b""),
    "a folder": lambda path: path.mkdir(),
    "a pipe without a writer": os.mkfifo,
    "a device without an end": lambda path: path.symlink_to("/dev/zero"),
    "2 GB announced": _sparse,
    "2 GB announced after a sound row": lambda path: _sparse(path, HEAD + ROW),
    "NUL bytes in a late row": lambda path: path.write_bytes(HEAD + ROW * 100_000 + b"-6.00,,,54\x008,x\n"),
    "UTF-16": lambda path: path.write_bytes((HEAD + ROW).decode().encode("utf-16")),
    "UTF-16 without a mark": lambda path: path.write_bytes((HEAD + ROW).decode().encode("utf-16-be")),
    "two encodings": lambda path: path.write_bytes(HEAD + "-6,,,548,é\n".encode() + "-6,,,548,é\n".encode("latin-1")),
    "two marks": lambda path: path.write_bytes(codecs.BOM_UTF8 * 2 + HEAD + ROW),
    "a million columns": lambda path: _header(path, [f"{i}" for i in range(1_000_000)]),
    "more columns than are looked at": lambda path: _header(path, [f"{i}" for i in range(9_000)]),
    "a header of 50 MB": lambda path: path.write_bytes(b"a" * LARGE + b"\n" + ROW),
    "a header of 50 MB of cells": lambda path: path.write_bytes(b"a," * (LARGE // 2) + b"\n" + ROW),
    "a quoted cell of 50 MB": lambda path: path.write_bytes(HEAD + b'-6.00,,,548,"' + b"a" * LARGE),
    "a row of 50 MB": lambda path: path.write_bytes(HEAD + b"," * LARGE),
    "2,000 names near to ours": lambda path: _header(path, [*(f"thinnest_um{i:04}" for i in range(1_999)), "zne_mm"]),
    "700 names of 2,000 letters": lambda path: _header(path, [f"n{i:03}" * 500 for i in range(700)]),
    "1,500 times one of our names": lambda path: _header(path, ["Zone mm" + " " * i for i in range(1_500)]),
}  # fmt: skip

PARQUETS = {  # what a Parquet table is
    "nothing in it": lambda path: path.write_bytes(b""),
    "a folder": lambda path: path.mkdir(),
    "a pipe without a writer": os.mkfifo,
    "a device without an end": lambda path: path.symlink_to("/dev/zero"),
    "2 GB announced": lambda path: _sparse(path, b"PAR1"),
    "no Parquet at all": lambda path: path.write_bytes(HEAD + ROW),
    "a footer of 4 GB": lambda path: path.write_bytes(b"PAR1" + bytes(40) + b"\xff\xff\xff\xffPAR1"),
    "cut short": lambda path: (_parquet(path), path.write_bytes(path.read_bytes()[:-60])),
    "10^18 rows announced": lambda path: _announce(path, 10**18),
    "40,000,000 rows announced": lambda path: _announce(path, 40_000_000),
    "fewer rows announced": lambda path: _announce(path, 3),
    "60,000,000 rows": lambda path: pq.write_table(pa.table({"sphere_D": np.zeros(60_000_000, dtype=np.int8)}), path),
    "a page of 2 GB announced": _page_of_2_gb,
    "wrong pages": _wrong_pages,
    "a text of 80 MB": lambda path: _one_text(path, 1, 80_000_000),
    "20,000 times a text of 5 MB": lambda path: _one_text(path, 20_000, 5_000_000),
    "lists in a column": lambda path: _parquet(path, note=[[1.0]] * 3),
    "a table in a column": lambda path: _parquet(path, zone_mm=[{"a": 6.5}] * 3),
    "3,000 columns": lambda path: pq.write_table(pa.table({f"c{i}": [1] for i in range(3_000)}), path),
    "30,000 columns": lambda path: pq.write_table(pa.table({f"c{i}": [1] for i in range(30_000)}), path),
    "bytes that are not UTF-8": lambda path: _parquet(
        path, note=pa.Array.from_buffers(pa.string(), 3, pa.array([b"x", b"\xff\xfe", b"y"]).buffers())
    ),
}  # fmt: skip

MAPS = {name: PLANS[name] for name in PLANS if name not in ("nothing in it", "as many tables as fit")}
HEAVY = ("60,000,000 rows", "30,000 columns", *(f"map, {name}" for name in MAPS))  # to make, or as for a plan
LIGHT = ("map, a folder", "map, a pipe without a writer", "map, a key of 49,000 parts", "map, lists in lists")


def cases(folder, heavy=True):
    """Every case: (words, function that makes its file, its path, arguments of the command that must refuse it)."""
    for words, make, path, line in _cases(folder):
        if heavy or words in LIGHT or not words.endswith(HEAVY):
            yield words, make, path, line


def _cases(folder):
    out = folder / "out"
    few = {words: PLANS[words] for words in ("a folder", "a pipe without a writer", "a device without an end")}
    for command, kinds, ending in (("plan", PLANS, "toml"), ("record", few, "toml"), ("series", TABLES, "csv")):
        for number, (words, make) in enumerate(kinds.items()):
            path = folder / f"{command}{number}.{ending}"
            line = (
                ["plan", path]
                if command == "plan"
                else [command, path, f"{out}.{'pdf' if ending == 'toml' else 'csv'}"]
            )
            yield f"{command}, {words}", make, path, line
    for number, (words, make) in enumerate(PARQUETS.items()):
        path = folder / f"in{number}.parquet"
        yield f"Parquet, {words}", make, path, ["series", path, f"{out}.parquet"]
    (folder / "sound.csv").write_bytes(HEAD + ROW)
    for number, (words, make) in enumerate(MAPS.items()):
        path = folder / f"map{number}.toml"
        yield f"map, {words}", make, path, ["series", folder / "sound.csv", f"{out}.csv", "--columns", path]
