"""Commands with arguments sound and odd, put through in this process, and what must hold of every fault."""

import contextlib
import io
import sys
import tempfile
from pathlib import Path

import fuzz_inputs as make

from tissue.command.command import main

LONGEST_LINE = 2000


def clean(lines):
    """A fault a line: printable, not endless, at least one."""
    assert lines
    for line in lines:
        assert line.isprintable() and 0 < len(line) < LONGEST_LINE, line[:200]


PLACES = (
    "out.pdf", "out.csv", "out.parquet", "sub/out.csv", "no/such/out.csv", "../out.csv", ".", "", "..", "a\nb.csv",
    "sub", "é.csv", "x" * 300 + ".csv", "x\0y.csv", "plan.toml", "in.csv", "C:\\x.csv", "\udcff.csv", "\x1b[31m.csv",
)  # fmt: skip
FILES = (*["plan.toml"] * 8, "in.csv", "map.toml", "missing", ".", "", "sub", "x\0y", "\udcff", "a\nb")


def arguments(r):
    """A command with its arguments, sound or not."""
    command = r.choice(("plan",) * 4 + ("series",) * 5 + ("record", "rescue", "enhance", "demo-series", "other"))
    file, out = r.choice(FILES), r.choice(PLACES)
    line = {
        "plan": ["plan", file, *r.choice(([], ["--json"]))],
        "series": ["series", r.choice(("in.csv",) * 6 + FILES), r.choice(("out.csv", out))],
        "record": ["record", file, out, *r.choice(([], ["--date", make.text(r)]))],
        "rescue": ["rescue", file, "--stage", r.choice(("cap", "lenticule", "incision", "x")), "--done", _share(r)],
        "enhance": ["enhance", file, f"--residual={make.text(r)}", *r.choice(([], ["--json"]))],
        "demo-series": ["demo-series", r.choice(("3", "0", "-1", "9" * 30, make.text(r))), out, "--seed", _share(r)],
        "other": [make.text(r), *r.choice(([], ["--help"], [make.text(r)]))],
    }[command]
    if command == "series":
        line += r.choice(([], [], ["--unsigned", "plus"], ["--columns", r.choice(("map.toml", file))], ["--optics"]))
        line += r.choice(([], [], ["--summary", out, "--by", r.choice(("patient", "side", "note", make.text(r)))]))
    if command in ("rescue", "enhance") and r.random() < 0.7:
        line += ["--eye", r.choice(("OD", "OS", "OU"))]
    return [part for part in line if part != "app"] if line[0] == "app" else line


def _share(r):
    return r.choice(("0.5", "0", "1", "nan", "inf", "-0.1", "1e999", "7", make.text(r)))


def tree(folder):
    """Every file under a folder with its bytes."""
    return {path: path.read_bytes() if path.is_file() else None for path in Path(folder).rglob("*")}


def command(r):
    """A command in this process: 0 or 2; with 2 clean lines on stderr and nothing written or printed."""
    line = arguments(r)
    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder) / "a" / "b"
        (here / "sub").mkdir(parents=True)
        (here / "plan.toml").write_bytes(make.plan_bytes(r))
        (here / "in.csv").write_bytes(make.table(r))
        (here / "map.toml").write_bytes(make.column_map(r))
        before = tree(folder)
        with contextlib.chdir(here):
            code, out, err = called(line)
        after = tree(folder)
    assert code in (0, 2), err
    assert "Traceback" not in err and "fault of the tool" not in err
    assert not [path for path in after if path.name.endswith(".part")]
    if code == 2:
        assert out == b"" and before == after, sorted(set(after) ^ set(before))
        if "usage:" not in err:
            clean(err.splitlines())
        return "refused"
    return "taken"


def called(line):
    """Exit code, bytes of stdout and text of stderr of a command in this process."""
    out, err = io.TextIOWrapper(io.BytesIO(), encoding="utf-8"), io.StringIO()
    kept = sys.stdout
    sys.stdout = out
    try:
        with contextlib.redirect_stderr(err):
            code = main(line)
    except SystemExit as ended:
        code = ended.code
    finally:
        sys.stdout = kept
    out.flush()
    return code, out.buffer.getvalue(), err.getvalue()
