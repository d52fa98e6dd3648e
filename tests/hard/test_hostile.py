"""Hostile files and names: each refused in clean lines, with little memory, and nothing is written.

The files are those of `hostile_cases.py`, here through one process; `hard/hostile.py` gives each its own and its time.
"""

import ast
import json
import os
import subprocess
import sys
import unicodedata

import pypdf
import pytest
from helpers import ROOT
from hostile_cases import HEAD, PLAN, ROW, cases
from hypothesis import given
from hypothesis import strategies as st

from tissue.command.command import main
from tissue.entry.file_name import file_name
from tissue.entry.plan_file import PlanError, read_plan

MOST_MB = 200.0
PROGRAM = """
import contextlib, io, json, sys
import pyarrow, pyarrow.parquet, tissue.series.run, tissue.series.tables.parquet, tissue.paper.record
from tissue.command.command import main
def peak():
    return next(int(line.split()[1]) for line in open("/proc/self/status") if line.startswith("VmHWM")) / 1000.0
for line in json.load(sys.stdin):
    said, before = io.StringIO(), peak()
    with contextlib.redirect_stderr(said):
        code = main(line)
    print(json.dumps([code, said.getvalue().splitlines(), before, peak()]), flush=True)
"""


@pytest.mark.skipif(not os.path.exists("/proc/self/status"), reason="memory is read where Linux tells it")
def test_every_hostile_file_is_refused_with_little_memory(tmp_path):
    """Exit code 2, at most a hundred printable lines, under 200 MB above the bare process, nothing written."""
    found = list(cases(tmp_path, heavy=False))
    for _, make, path, _ in found:
        make(path)
    before = sorted(path.name for path in tmp_path.iterdir())
    lines = [list(map(str, line)) for *_, line in found]
    command, work = [sys.executable, "-c", PROGRAM], json.dumps(lines).encode()
    done = subprocess.run(command, input=work, capture_output=True, timeout=120, check=True, cwd=ROOT)
    results = [json.loads(line) for line in done.stdout.splitlines()]
    bare = results[0][2]
    for (words, *_), (code, said, _, peak) in zip(found, results, strict=True):
        assert code == 2 and 1 <= len(said) <= 101, (words, code, said[:3])
        assert all(line.isprintable() for line in said) and "fault of the tool" not in said[0], words
        assert peak - bare < MOST_MB, (words, bare, peak)
    assert sorted(path.name for path in tmp_path.iterdir()) == before and len(found) > 55


@pytest.mark.parametrize("place", [".", "", "..", "folder", "/", "a\0b", "x" * 300, "no/such/folder/out"])
def test_what_is_no_place_for_a_file_is_refused(place, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    (tmp_path / "plan.toml").write_bytes(PLAN)
    (tmp_path / "in.csv").write_bytes(HEAD + ROW)
    for line in (
        ["record", "plan.toml", place],
        ["series", "in.csv", place],
        ["series", "in.csv", "o.csv", "--summary"],
    ):
        assert main(line + [place, "--by", "note"] * line[-1].startswith("--")) == 2
        assert "accepted" in capsys.readouterr().err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "in.csv", "plan.toml"]


def test_a_device_is_never_replaced(tmp_path):
    (tmp_path / "in.csv").write_bytes(HEAD + ROW)
    (tmp_path / "plan.toml").write_bytes(PLAN)
    for name in ("out.csv", "out.pdf"):
        (tmp_path / name).symlink_to("/dev/null")
    assert main(["series", str(tmp_path / "in.csv"), str(tmp_path / "out.csv")]) == 2
    assert main(["record", str(tmp_path / "plan.toml"), str(tmp_path / "out.pdf")]) == 2
    assert all((tmp_path / name).is_char_device() for name in ("out.csv", "out.pdf"))


def test_what_is_read_is_not_written_over(tmp_path):
    table, plan = tmp_path / "in.csv", tmp_path / "plan.toml"
    table.write_bytes(HEAD + ROW)
    plan.write_bytes(PLAN)
    (tmp_path / "again.csv").symlink_to(table)
    assert main(["series", str(table), str(table)]) == 2
    assert main(["series", str(table), str(tmp_path / "again.csv")]) == 2
    assert main(["record", str(plan), str(tmp_path / "." / "plan.toml")]) == 2
    assert main(["series", str(table), str(tmp_path / "o.csv"), "--summary", str(table), "--by", "note"]) == 2
    assert (table.read_bytes(), plan.read_bytes()) == (HEAD + ROW, PLAN) and not (tmp_path / "o.csv").exists()


def test_a_seed_below_zero_and_a_factor_without_end_are_wrong_input(tmp_path, capsys):
    assert main(["demo-series", "3", str(tmp_path / "o.csv"), "--seed", "-1"]) == 2
    assert "--seed: read -1, accepted 0 or more" in capsys.readouterr().err
    (tmp_path / "in.csv").write_bytes(HEAD + ROW)
    for factor in ("inf", "nan", "1" + "0" * 400, "2e6"):
        (tmp_path / "map.toml").write_text(f'zone_mm = {{name = "note", factor = {factor}}}')
        line = ["series", str(tmp_path / "in.csv"), str(tmp_path / "o.csv"), "--columns", str(tmp_path / "map.toml")]
        assert main(line) == 2 and "factor" in capsys.readouterr().err


def test_a_fault_cannot_steer_the_terminal(tmp_path, capsys):
    """Names of files, of columns and of keys come back without the signs that a terminal obeys."""
    for name in ("\x1b[31mx.toml", "a\u202eb.toml", "a\u2028b"):
        assert main(["plan", str(tmp_path / name)]) == 2
        assert all(line.isprintable() for line in capsys.readouterr().err.split("\n"))
    with pytest.raises(PlanError) as caught:
        read_plan(b'"\\u001b[31m" = 1\n"a\\nb" = 2')
    assert all(line.isprintable() for line in caught.value.lines)
    (tmp_path / "in.csv").write_bytes(b"\x1b[2Jsphere_D,sphere_D,sphere_D\n")
    assert main(["series", str(tmp_path / "in.csv"), str(tmp_path / "out.csv")]) == 2
    assert "\x1b" not in capsys.readouterr().err


NAMES = ("../../x", "C:\\x", "..", ".", "", "/", "a\nb", "\x1b[31m", "CON", "nul.txt", "~/x", "-rf", "a" * 500, "é 🦆")


@given(st.text(max_size=40) | st.sampled_from(NAMES))
def test_a_name_for_a_download_is_harmless(words):
    """No separators, no control signs, no name of a folder, a device or a hidden file; short enough for any system.

    Source: the names that file systems refuse (POSIX: slash and NUL; Windows: the nine signs, trailing dots, devices).
    """
    name = file_name(words, ".toml")
    assert not set(name) & set('/\\:*?"<>|') and name.endswith(".toml") and 6 <= len(name) <= 130
    assert not any(unicodedata.category(sign) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp") for sign in name)
    assert name[0] not in ".-~ " and name.split(".")[0].casefold() not in ("con", "nul", "aux", "prn", "com1", "lpt1")
    assert file_name(name.removesuffix(".toml"), ".toml") == name


def test_every_download_of_the_screens_has_such_a_name():
    """All files are handed over in one place, which gives the name; the charts do so in another."""
    screens = ROOT / "tissue" / "screens"
    calls = [
        path.name
        for path in screens.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("download_button")
    ]
    assert calls == []
    for place in ("desk/link.py", "parts/chart/chart.py"):
        assert "file_name(" in (screens / place).read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["C:\\x.toml", "a\nb.toml", "a\udcffb.toml", "\x1b[31m.toml", "x" * 240 + ".toml"])
def test_a_plan_of_any_name_gives_a_record_with_a_harmless_one(name, tmp_path):
    (tmp_path / name).write_bytes(PLAN)
    assert main(["record", str(tmp_path / name), str(tmp_path / "out.pdf")]) == 0
    inside = pypdf.PdfReader(tmp_path / "out.pdf").attachments
    (attached,) = inside
    assert attached == file_name(name) and inside[attached][0] == PLAN


@pytest.mark.parametrize("words", ["../../x", "C:\\x", "a;b", "=1+1", "'", "../" * 50])
def test_a_path_in_a_cell_or_as_a_pseudonym_is_a_text_like_any_other(words, tmp_path):
    plan = tmp_path / "plan.toml"
    plan.write_bytes(f"code = '''{words[:80]} '''\n".encode() + PLAN)
    assert main(["record", str(plan), str(tmp_path / "out.pdf")]) == 0
    (tmp_path / "in.csv").write_bytes(HEAD + ROW.replace(b"x", f'"{words}"'.encode()))
    assert main(["series", str(tmp_path / "in.csv"), str(tmp_path / "out.csv")]) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["in.csv", "out.csv", "out.pdf", "plan.toml"]
