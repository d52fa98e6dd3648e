"""The commands as processes of their own: exit codes, one line a fault, strict JSON, light imports, any terminal.

What a plan file may say is checked fault by fault in test_plan_file.py; here every refusal goes through the process.
"""

import json
import os
import shlex
import subprocess
import sys

import pytest
from helpers import ROOT, tissue

HEAD = "schema = 1\n[OD]\n"
EYE = "sphere_D = -6.00\ncylinder_D = -1.25\naxis_deg = 170\ncentral_thickness_um = 548\n"
CCT = "central_thickness_um = 548\n"
DEMO = sorted((ROOT / "demo_profiles").glob("*.toml"))

# the file, then the beginning of each line on stderr after the name of the file. Source: the refusals of the interface.
WRONG = {
    "no schema": ("[OD]\n" + EYE, ["schema: read nothing"]),
    "another schema": ("schema = 2\n[OD]\n" + EYE, ["schema: read 2"]),
    "schema as text": ('schema = "1"\n[OD]\n' + EYE, ["schema: read 1"]),
    "no eye": ("schema = 1\n", ["OD: read nothing"]),
    "an eye that is no table": ("schema = 1\nOD = 3\n", ["OD: read 3"]),
    "empty file": ("", ["schema: read nothing", "OD: read nothing"]),
    "not TOML": ("schema = 1\n[OD\n", ["file: "]),
    "a word without quotes": (HEAD + EYE + "profile = conic\n", ["file: "]),
    "a name twice": (HEAD + EYE + "sphere_D = -6.00\n", ["file: "]),
    "decimal comma without quotes": (HEAD + "sphere_D = -6,00\n" + CCT, ["file: "]),
    "code as number": ("schema = 1\ncode = 3\n[OD]\n" + EYE, ["code: read 3"]),
    "stray name outside": ("schema = 1\nclinic = 'x'\n[OD]\n" + EYE, ["clinic: read an unknown name"]),
    "field outside an eye": ("schema = 1\nzone_mm = 6\n[OD]\n" + EYE, ["zone_mm: read a value outside an eye"]),
    "unknown name": (HEAD + EYE + "zone = 6.5\n", ["OD: zone: read an unknown name"]),
    "two eyes, one wrong": (HEAD + EYE + "[OS]\n" + CCT, ["OS: sphere_D: read nothing"]),
    "no refraction": (HEAD + CCT, ["OD: sphere_D: read nothing"]),
    "no thickness": (HEAD + "sphere_D = -6.00\n", ["OD: central_thickness_um: read nothing"]),
    "nothing at all": (HEAD, ["OD: sphere_D: read nothing", "OD: central_thickness_um: read nothing"]),
    "power without sign": (HEAD + "sphere_D = 6.00\n" + CCT, ["OD: sphere_D: read 6.00 without a sign"]),
    "whole power without sign": (HEAD + "sphere_D = 6\n" + CCT, ["OD: sphere_D: read 6 without a sign"]),
    "cylinder without axis": (HEAD + "sphere_D = -6.00\ncylinder_D = -1.00\n" + CCT, ["OD: axis_deg: read nothing"]),
    "axis of 181": (HEAD + EYE.replace("170", "181"), ["OD: axis_deg: read 181"]),
    "text without sign": (HEAD + 'refraction = "6.00 -1.00 x 10"\n' + CCT, ["OD: refraction: read 6.00 -1.00 x 10"]),
    "text without axis": (HEAD + 'refraction = "-6.00 -1.00"\n' + CCT, ["OD: refraction: read -6.00 -1.00"]),
    "text and number": (HEAD + 'refraction = "-6.00"\nsphere_D = -6.00\n' + CCT, ["OD: sphere_D: read a value"]),
    "radius and K": (HEAD + EYE + "radius_mm = 7.8\nmean_K_D = 43\n", ["OD: mean_K_D: read a value"]),
    "half a treatment": (HEAD + EYE + "treated_sphere_D = -5.00\n", ["OD: treated_cylinder_D: read nothing"]),
    "NaN": (HEAD + EYE.replace("548", "nan"), ["OD: central_thickness_um: read nan"]),
    "infinity": (HEAD + EYE + "zone_mm = inf\n", ["OD: zone_mm: read inf"]),
    "a truth for a number": (HEAD + EYE + "zone_mm = true\n", ["OD: zone_mm: read true"]),
    "a list for a number": (HEAD + EYE + "zone_mm = [6]\n", ["OD: zone_mm: read a list"]),
    "code of a missing value": (HEAD + EYE.replace("548", "999"), ["OD: central_thickness_um: read 999"]),
    "thickness as -1": (HEAD + EYE.replace("548", "-1"), ["OD: central_thickness_um: read "]),
    "wrong unit": (HEAD + EYE + 'zone_mm = "6.5 µm"\n', ["OD: zone_mm: read 6.5 µm"]),
    "unknown choice": (HEAD + EYE + 'profile = "sphere"\n', ["OD: profile: read sphere"]),
    "flap in the epithelium": (HEAD + EYE + "flap_um = 60\nepithelium_um = 65\n", ["OD: flap_um: read 60"]),
    "measured cap in the epithelium": (HEAD + EYE + "cap_measured_um = 50\n", ["OD: cap_measured_um: read 50"]),
    "thinnest over the centre": (HEAD + EYE + "thinnest_um = 560\n", ["OD: thinnest_um: read 560"]),
    "place without thinnest": (
        HEAD + EYE + "thinnest_x_mm = 0\nthinnest_y_mm = 0\n", ["OD: thinnest_um: read nothing"],
    ),
    "half a place": (HEAD + EYE + "thinnest_um = 540\nthinnest_x_mm = 0\n", ["OD: thinnest_y_mm: read nothing"]),
    "reported within the base": (HEAD + EYE + "reported_lenticule_um = 15\n", ["OD: reported_lenticule_um: read 15"]),
    "reported and nothing to treat": (
        HEAD + "sphere_D = 0\nreported_ablation_um = 50\n" + CCT, ["OD: reported_ablation_um: read 50"],
    ),
    "surface that ends in the zone": (
        HEAD + EYE + "profile = 'conic'\ntarget_asphericity = 5\nzone_mm = 9\n",
        ["OD: zone_mm: read 9, accepted up to "],
    ),
    "one eye cannot be read, the other not be worked out": (
        HEAD + EYE + "zone_mm = 65\n[OS]\n" + EYE + "reported_lenticule_um = 15\n",
        ["OD: zone_mm: read 65", "OS: reported_lenticule_um: read 15"],
    ),
    "three faults in two eyes": (
        HEAD + EYE + "zone_mm = 65\nflap_um = 10\n[OS]\nsphere_D = -6.00\n",
        ["OD: zone_mm: read 65", "OD: flap_um: read 10", "OS: central_thickness_um: read nothing"],
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def refused(tmp_path_factory):
    """What the process said to every wrong file: two processes at a time."""
    folder = tmp_path_factory.mktemp("wrong")
    running, found = [], {}
    for i, (case, (text, _)) in enumerate(WRONG.items()):
        file = folder / f"plan{i}.toml"
        file.write_text(text, encoding="utf-8")
        command = [sys.executable, "-m", "tissue", "plan", str(file), *(["--json"] if i % 2 else [])]
        running.append(
            (case, file, subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE))
        )
        if len(running) == 2:
            _finish(running.pop(0), found)
    for started in running:
        _finish(started, found)
    return found


def _finish(started, found):
    case, file, process = started
    out, err = process.communicate(timeout=60)
    found[case] = (str(file), process.returncode, out, err.decode())


@pytest.mark.parametrize("case", WRONG)
def test_wrong_input_is_exit_2_with_a_line_a_fault(refused, case):
    file, code, out, err = refused[case]
    lines, expected = err.splitlines(), WRONG[case][1]
    assert (code, out) == (2, b"") and "Traceback" not in err
    assert len(lines) == len(expected)
    for line, begins in zip(lines, expected, strict=True):
        assert line.startswith(f"{file}: {begins}") and ", accepted " in line


@pytest.mark.parametrize("what", ["missing", "folder", "binary", "large"])
def test_a_file_that_cannot_be_read(what, tmp_path):
    file = tmp_path / "plan.toml"
    if what == "folder":
        file.mkdir()
    elif what == "binary":
        file.write_bytes(bytes(range(256)) * 4)
    elif what == "large":
        file.write_bytes(b"#" * 1_100_000)
    done = tissue("plan", file)
    lines = done.stderr.decode().splitlines()
    assert (done.returncode, done.stdout, len(lines)) == (2, b"", 1)
    assert lines[0].startswith(f"{file}: file: read ")


def test_a_name_of_two_lines_is_one_line(tmp_path):
    done = tissue("plan", tmp_path / "a\nb.toml")
    assert done.returncode == 2 and len(done.stderr.decode().splitlines()) == 1


@pytest.mark.parametrize(
    "arguments", [[], ["plan"], ["nosuch"], ["plan", "a", "b"], ["plan", "--nosuch", "a"], ["plan", "--js", "a"]]
)
def test_a_command_that_is_not_one(arguments):
    done = tissue(*arguments)
    assert (done.returncode, done.stdout) == (2, b"") and b"error" in done.stderr and b"Traceback" not in done.stderr


@pytest.mark.parametrize("arguments", [["plan", "a.toml", "\x1b[31mred\nline"], ["\x1b]0;title\x07"]])
def test_an_unknown_argument_reaches_no_terminal_as_it_is(arguments):
    found = tissue(*arguments)
    assert found.returncode == 2 and b"\x1b" not in found.stderr and b"\x07" not in found.stderr
    assert b"Traceback" not in found.stderr and found.stderr.splitlines()[-1].startswith(b"tissue")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
@pytest.mark.parametrize("line", [["plan", str(DEMO[0])], ["schema", "plan"], ["cite"], ["--help"], ["--version"]])
def test_a_full_disc_behind_standard_output_is_one_line(line):
    with open("/dev/full", "w") as full:
        command = [sys.executable, "-m", "tissue", *line]
        found = subprocess.run(command, check=False, stdout=full, stderr=subprocess.PIPE, text=True, cwd=ROOT)
    assert found.returncode == 2
    assert found.stderr == "standard output: read No space left on device, accepted a place to write to\n"


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="no device that is always full")
def test_where_nothing_can_be_said_the_exit_code_says_it():
    with open("/dev/full", "w") as full:
        line = [sys.executable, "-m", "tissue", "plan", "no.toml"]
        assert subprocess.run(line, check=False, stdout=full, stderr=full, cwd=ROOT).returncode == 2


def test_too_little_memory_is_no_fault_of_the_tool(monkeypatch, capsys):
    from tissue.command.command import main

    def without_memory(_):
        raise MemoryError

    monkeypatch.setattr("tissue.command.command.plan_command", without_memory)
    assert main(["plan", "a.toml"]) == 2
    assert capsys.readouterr().err.startswith("memory: read too little for this input, accepted ")


@pytest.mark.skipif(os.name == "nt", reason="no shell that closes a stream")
@pytest.mark.parametrize(("line", "code", "words"), [
    (f"plan {DEMO[0]} >&-", 2, "standard output: read closed, accepted a place to write to\n"),
    ("plan no.toml >&-", 2, "no.toml: file: read no such file, accepted a plan file\n"),
    ("plan no.toml 2>&-", 2, ""),
    ("plan 2>&-", 2, ""),
    (f"series {ROOT}/tests/published/none.csv o.csv >&- 2>&-", 2, ""),
    ("demo-series 3 d.csv 2>&- && python series d.csv o.csv >&- 2>/dev/full && cat o.csv | wc -l >&2", 0, "4\n"),
])  # fmt: skip
def test_a_stream_that_was_closed_before_the_command_began(tmp_path, line, code, words):
    begin = f"{shlex.quote(sys.executable)} -m tissue "
    told = f"{begin}{line}".replace("&& python", f"&& {begin}")
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    found = subprocess.run(told, check=False, shell=True, capture_output=True, text=True, cwd=tmp_path, env=environment)
    assert (found.returncode, found.stdout, found.stderr) == (code, "", words)


@pytest.mark.parametrize(
    "line, accepted",
    [
        (["series", "e.csv", "o.xlsx"], ".csv or .tsv or .txt"),
        (["series", "e.csv", "o.csv", "--by", "side", "--summary", "s.ods"], ".csv or .tsv or .txt"),
        (["record", str(DEMO[0]), "o.docx"], ".pdf"),
        (["own", "own.csv", "-o", "own.json"], ".toml"),
    ],
)
def test_no_file_is_written_under_the_name_of_another_kind(tmp_path, monkeypatch, line, accepted):
    """A spreadsheet that is CSV within is opened as a broken file, or not at all."""
    from tissue.command.command import main
    from tissue.series.demo import write_demo
    from tissue.series.own.demo import own_demo

    monkeypatch.chdir(tmp_path)
    write_demo(4, "e.csv")
    (tmp_path / "own.csv").write_text(own_demo())
    said: list = []
    monkeypatch.setattr("tissue.command.command.say", said.extend)
    ending = line[-1][line[-1].index(".") :]
    assert main(line) == 2 and said == [f"{line[-1]}: file: read the ending {ending}, accepted {accepted}"]
    assert {path.name for path in tmp_path.iterdir()} == {"e.csv", "own.csv"}


@pytest.mark.parametrize("line", [
    "series e.csv -", "series e.csv o.csv --by side --summary -", "series e.csv o.csv --bundle -",
    f"record {DEMO[0]} -", "own own.csv -o -", f"readback {DEMO[0]} {DEMO[0]} --out -",
])  # fmt: skip
def test_no_file_is_named_as_the_sign_for_standard_output(tmp_path, monkeypatch, line):
    """What is written is written whole or not at all, which a stream cannot be; before, a file or folder named -."""
    from tissue.command.command import main
    from tissue.series.demo import write_demo
    from tissue.series.own.demo import own_demo

    monkeypatch.chdir(tmp_path)
    write_demo(4, "e.csv")
    (tmp_path / "own.csv").write_text(own_demo())
    before = set(tmp_path.iterdir())
    said: list = []
    monkeypatch.setattr("tissue.command.command.say", said.extend)
    assert main(shlex.split(line)) == 2 and set(tmp_path.iterdir()) == before
    assert len(said) == 1 and "read the sign for standard output, accepted a" in said[0]


def test_help_and_version():
    assert tissue("--help").returncode == tissue("plan", "--help").returncode == 0
    from tissue import __version__

    assert tissue("--version").stdout.decode() == f"tissue {__version__}\n"


def test_a_fault_of_the_tool_is_exit_1_in_one_line():
    """Forced: the arithmetic is made to raise, as a fault of the tool would."""
    program = (
        "import sys, tissue.entry.plan_file as p, tissue.command.command as c\n"
        "def broken(path): raise ZeroDivisionError('for a test')\n"
        "p.read_plan = broken\n"
        "sys.exit(c.main(['plan', 'x']))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], check=False, cwd=ROOT, capture_output=True, timeout=60)
    assert (done.returncode, done.stdout) == (1, b"")
    assert done.stderr.decode().splitlines() == [
        "tissue: a fault of the tool, not of the input: ZeroDivisionError: for a test"
    ]


def strict(text):
    """JSON that refuses NaN and infinity, and a name twice."""

    def no(word):
        raise AssertionError(word)

    def once(pairs):
        assert len(pairs) == len({name for name, _ in pairs})
        return dict(pairs)

    return json.loads(text, parse_constant=no, object_pairs_hook=once)


@pytest.mark.parametrize("file", DEMO, ids=lambda path: path.stem)
def test_every_demo_plan(file):
    done = tissue("plan", file, "--json")
    assert (done.returncode, done.stderr) == (0, b"")
    plan = strict(done.stdout)
    assert plan["code"].startswith("harbour-") and plan["eyes"]


def test_an_eye_with_nulls_is_strict_json(tmp_path):
    file = tmp_path / "plan.toml"
    file.write_text(HEAD + "sphere_D = 0\n" + CCT)
    done = tissue("plan", file, "--json")
    assert done.returncode == 0 and strict(done.stdout)["eyes"]["OD"]["options"]["flap"]["bed_min_um"] is None


def test_the_table():
    done = tissue("plan", DEMO[0])
    assert (done.returncode, done.stderr) == (0, b"")
    text = done.stdout.decode()
    assert "Residual bed" in text and "does not say that an eye is fit for surgery" in text


@pytest.mark.parametrize("arguments", [(), ("--json",)])
def test_a_terminal_that_knows_only_ascii_gets_utf8(arguments):
    ascii_only = {**os.environ, "LC_ALL": "C", "LANG": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"}
    ascii_only["PYTHONCOERCECLOCALE"] = "0"
    plain, usual = (tissue("plan", DEMO[0], *arguments, env=env) for env in (ascii_only, None))
    assert (plain.returncode, plain.stderr) == (0, b"") and plain.stdout == usual.stdout
    wrong = tissue("plan", "µ.toml", env=ascii_only)
    assert wrong.returncode == 2 and b"Traceback" not in wrong.stderr


def test_faults_are_utf8_on_any_terminal(tmp_path):
    file = tmp_path / "plan.toml"
    file.write_text(HEAD + EYE.replace("548", "9"))
    done = tissue("plan", file, env={**os.environ, "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii"})
    assert "accepted 300 to 900 µm" in done.stderr.decode()


def test_a_reader_that_goes_away_is_no_fault():
    command = f'"{sys.executable}" -m tissue plan "{DEMO[0]}" --json | head -c 1 > /dev/null; echo "${{PIPESTATUS[0]}}"'
    done = subprocess.run(["bash", "-c", command], check=False, cwd=ROOT, capture_output=True, timeout=60)
    assert done.stdout.strip() == b"0" and b"Traceback" not in done.stderr


HEAVY = (
    "streamlit",
    "plotly",
    "pandas",
    "pyarrow",
    "pydantic",
    "reportlab",
    "skfem",
    "scipy.stats",
    "scipy.optimize",
    "matplotlib",
)


def test_a_plan_loads_nothing_heavy():
    """Source: a definition; what it takes is measured in tests/bench/bench_commands.py."""
    command = [sys.executable, "-X", "importtime", "-m", "tissue", "plan", str(DEMO[0]), "--json"]
    done = subprocess.run(command, check=True, cwd=ROOT, capture_output=True, timeout=60)
    loaded = {line.rsplit(b"|", 1)[-1].strip().decode() for line in done.stderr.splitlines() if b"|" in line}
    assert "numpy" in loaded and "tissue.report.contract" in loaded
    assert {name for name in loaded if name in HEAVY or name.split(".")[0] in HEAVY} == set()


LATER = 'procedure = "lenticule"\nresidual = "-0.75 -0.25 x 90"\nsuction_stage = "cap"\nsuction_done = 0.4\n'


def test_what_comes_later_stands_in_the_plan_and_changes_no_figure(tmp_path):
    """Source: the interface, plan file: none of these keys changes a figure; two commands take them from the plan."""
    bare, full = tmp_path / "bare.toml", tmp_path / "full.toml"
    bare.write_text(HEAD + EYE)
    full.write_text(HEAD + EYE + LATER)
    plans = [strict(tissue("plan", file, "--json").stdout)["eyes"]["OD"] for file in (bare, full)]
    assert plans[0]["options"] == plans[1]["options"] and plans[0]["notices"] == plans[1]["notices"]
    for command, given in (
        ("rescue", ("--stage", "cap", "--done", "0.4")),
        ("enhance", ("--residual", "-0.75 -0.25 x 90")),
    ):
        assert tissue(command, full).stdout == tissue(command, bare, *given).stdout != b""
        missing = tissue(command, bare)
        assert missing.returncode == 2 and b"read nothing, accepted --" in missing.stderr


def test_a_plan_far_from_nothing_loads_no_more_than_it_needs():
    """What takes longer to load than a plan takes to compute is loaded where it is used: scipy doubled the process.

    What is loaded is hidden from the garbage collector, which took a tenth of the process to look through it.
    """
    code = (
        "import gc, sys\nfrom tissue.command.command import main\n"
        f"sys.argv[1:] = ['plan', {str(ROOT / 'demo_profiles' / 'harbour-03_moderate_myopia.toml')!r}, '--json']\n"
        "main()\n"
        "assert gc.get_freeze_count() > 10_000, gc.get_freeze_count()\n"
        "heavy = {'scipy', 'numpy.ma', 'tissue.entry.letter.clause', 'tissue.series.own.table', 'tomlkit',\n"
        "'tempfile', 'tissue.eye.measured', 'tissue.entry.own_map.written', 'tissue.command.own_map',\n"
        "'tissue.optics.rotation', 'tissue.entry.readings', 'tissue.report.terminal', 'numpy.typing'}\n"
        "sys.exit(','.join(sorted(heavy & set(sys.modules))) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=False, cwd=ROOT, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(os.name != "posix", reason="a folder in use cannot be removed elsewhere")
@pytest.mark.parametrize("line", ["series {}/d.csv o.csv", "record {}/p.toml {}/o.pdf"])
def test_a_folder_that_was_removed_under_the_command_is_said(tmp_path, line):
    """Before: a fault of the tool. What needs no folder, a plan by its whole path, is done."""
    from tissue.series.demo import write_demo

    write_demo(3, tmp_path / "d.csv")
    (tmp_path / "p.toml").write_bytes(DEMO[0].read_bytes())
    begin = f"mkdir {tmp_path}/gone && cd {tmp_path}/gone && rmdir {tmp_path}/gone && {shlex.quote(sys.executable)}"
    told = f"{begin} -m tissue {line.format(tmp_path, tmp_path)}"
    environment = os.environ | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(told, check=False, shell=True, capture_output=True, text=True, env=environment)
    words = "folder: read one that is gone, accepted a folder that is there to run the command in\n"
    assert (done.returncode, done.stdout, done.stderr) == (2, "", words)
