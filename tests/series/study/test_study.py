"""A study from the command line: what is asked, what comes out, what is refused, and the bundle."""

import csv
import hashlib
import json
import os
import shutil
import subprocess
import sys

import jsonschema
import numpy as np
import pyarrow.parquet as pq
import pytest
import study_dense
from helpers import ROOT
from schema_cases import faults, table_as_json
from scipy import stats
from statsmodels.stats.proportion import proportion_confint
from study_cases import MAP, messy, written

from tissue.command.cite import SCHEMAS, schema_text
from tissue.command.command import main
from tissue.ground.sources import keys, source
from tissue.series.study.outcomes import share

ASKED = (
    "--by", "Operation", "--agree", "own_cut_planned_um:Cut OCT", "--compare", "achieved_SE_D",
    "--compare", "own_bed_min_um", "--adjust", "age", "--where", "age >= 21",
)  # fmt: skip

TABLES = {"series": "output"} | {name: name for name in ("summary", "agreement", "comparison", "dictionary")}


def asked(folder, *more, source="eyes.csv", target="out.csv"):
    """`tissue series` in a folder; the exit code."""
    return main(["series", str(folder / source), str(folder / target), "--columns", str(folder / "map.toml"), *more])


def table(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def bundle(tmp_path_factory):
    """A bundle of a messy table."""
    folder = tmp_path_factory.mktemp("study")
    written(folder, messy())
    assert asked(folder, *ASKED, "--bundle", str(folder / "bundle")) == 0
    return folder / "bundle"


def test_the_bundle_holds_what_a_paper_needs(bundle):
    names = {path.relative_to(bundle).as_posix() for path in bundle.rglob("*") if path.is_file()}
    wanted = "output.csv summary.csv agreement.csv comparison.csv columns.toml dictionary.csv manifest.json"
    assert names >= {*wanted.split(), "methods.txt", "command.txt"} and (bundle / "figures").is_dir()
    drawn = {path.stem for path in (bundle / "figures").iterdir()}
    assert {"agreement-1", "comparison-1", "comparison-2", "distribution-bed_min_um"} <= drawn
    assert all((bundle / "figures" / f"{name}.{kind}").is_file() for name in drawn for kind in ("svg", "pdf", "png"))
    manifest = json.loads((bundle / "manifest.json").read_text("utf-8"))
    jsonschema.Draft202012Validator(json.loads(schema_text("manifest"))).validate(manifest)
    sums = {name: hashlib.sha256((bundle / name).read_bytes()).hexdigest() for name in names - {"manifest.json"}}
    assert manifest["files"] == sums
    assert manifest["input_sha256"] == hashlib.sha256((bundle.parent / "eyes.csv").read_bytes()).hexdigest()
    head = next(csv.reader((bundle / "output.csv").open(encoding="utf-8")))
    described = {row["name"]: row for row in table(bundle / "dictionary.csv")}
    assert list(described) == head == list(manifest["units"])
    assert all(row["meaning"] for row in described.values())
    assert described["flap_bed_min_um"]["unit"] == "µm" and described["Pachy mm"]["unit"] == "1000 µm"
    assert manifest["sources"]["cap_um"]["default"] == "120 µm" and "zone_mm" not in manifest["sources"]
    said = (bundle / "methods.txt").read_text("utf-8")
    assert "A table of 120 eyes" in said and "age >= 21" in said and "Kenward" in said


def test_the_methods_say_what_shares_do_at_their_ends_and_name_no_identifier_as_an_input(bundle):
    """Source: `share`: no interval under five patients; where all eyes or none have it, as many as there are patients.

    Patient and side say whose eye a row is; no figure is made from them.
    """
    said = (bundle / "methods.txt").read_text("utf-8")
    inputs = said.partition("The inputs were ")[2].partition("; every other input")[0].split("; ")
    assert len(inputs) > 3 and not {"patient", "side"} & set(inputs)
    ends = "With fewer than 5 patients a share has no interval; where all eyes have the outcome or none has it, eyes"
    assert f"{ends} of one patient count as one." in said


def test_the_methods_say_what_an_exact_interval_promises_and_which_sources_nobody_has_looked_up(bundle):
    """Source: Clopper and Pearson's interval has at least its share of coverage (a fact of the trade)."""
    said = (bundle / "methods.txt").read_text("utf-8")
    assert "With one eye a patient such an interval holds the true share in at least 95 of 100 studies" in said
    assert "with fellow eyes the number of independent eyes is estimated, and the interval is approximate" in said
    listed = [line for line in said.splitlines() if line[:1].isdigit()]
    assert any(line.startswith("2. Edmund. ") for line in listed)
    assert [line.endswith("*") for line in listed] == [bool(source(key).doubt) for key in cited_keys(said)]
    assert "* Written from memory or incomplete: look it up before you cite it." in said


def cited_keys(said):
    """Keys of the sources listed under a methods paragraph, by their citations."""
    listed = [line.partition(". ")[2].rstrip("*.") for line in said.splitlines() if line[:1].isdigit()]
    return [next(key for key in keys() if source(key).citation == words) for words in listed]


def held(pairs, singles, true):
    """How often the interval holds the true share, every outcome counted out: both eyes of a pair are alike."""
    owners = np.r_[np.repeat(np.arange(pairs), 2), pairs + np.arange(singles)]
    sums = 0.0
    for both in range(pairs + 1):
        for one in range(singles + 1):
            eyes = np.r_[np.arange(2 * pairs) < 2 * both, np.arange(singles) < one].astype(float)
            _, low, high = share(eyes, owners)
            chance = stats.binom.pmf(both, pairs, true) * stats.binom.pmf(one, singles, true)
            sums += chance * (low <= 100.0 * true <= high)
    return sums


@pytest.mark.parametrize("true", [0.05, 0.2, 0.5, 0.8])
def test_a_share_holds_the_truth_as_often_as_the_methods_say(true):
    """Every outcome with its binomial chance: 95 with one eye a patient; with fellow eyes within 95 ± 2."""
    assert held(0, 18, true) >= 0.95
    assert held(10, 8, true) >= 0.93
    assert held(10, 8, 0.2) < 0.95


def test_fellow_eyes_that_differ_tell_as_much_as_strangers_and_no_more():
    """The outcome in one eye of each patient: the exact interval of as many independent eyes, by statsmodels."""
    found = share(np.tile([1.0, 0.0], 10), np.repeat(np.arange(10), 2))
    low, high = proportion_confint(10, 20, method="beta")
    assert found[1:] == pytest.approx((100.0 * low, 100.0 * high), rel=1e-10)


def test_every_table_of_the_bundle_is_what_its_schema_says(bundle):
    """JSON Schema, draft 2020-12, by the jsonschema library; the names are those of the table and no others."""
    tables = {name: table_as_json(bundle / f"{file}.csv", name) for name, file in TABLES.items()}
    assert all(tables.values())
    assert faults("series", tables["series"]) == faults("summary", tables["summary"]) == []
    assert faults("agreement", tables["agreement"]) == faults("comparison", tables["comparison"]) == []
    assert faults("dictionary", tables["dictionary"]) == []
    row = table_as_json(bundle / "agreement.csv", "agreement")[0]
    assert len(faults("agreement", [row | {"icc": 3, "eyes": -1, "bias": "none", "new": 1}])) == 4


def test_the_schema_of_a_series_has_every_name_that_goes_out():
    from tissue.series.names import output_names

    assert set(json.loads(schema_text("series"))["items"]["properties"]) == output_names()


def test_no_file_of_the_bundle_holds_a_path_of_the_machine(bundle):
    place = str(bundle.parent).encode()
    assert [path.name for path in bundle.rglob("*") if path.is_file() and place in path.read_bytes()] == []


def test_made_again_by_its_own_command_it_is_byte_equal(bundle, tmp_path, monkeypatch):
    """Elsewhere, from the table and the map in the bundle, by the words of command.txt."""
    import shlex

    shutil.copy(bundle.parent / "eyes.csv", tmp_path)
    shutil.copy(bundle / "columns.toml", tmp_path)
    monkeypatch.chdir(tmp_path)
    assert main(shlex.split((bundle / "command.txt").read_text("utf-8"))[1:]) == 0
    first, second = (
        {path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()}
        for root in (bundle, tmp_path / "bundle")
    )
    assert first == second


@pytest.mark.parametrize(
    "elsewhere",
    [
        {"LC_ALL": "de_DE.UTF-8", "TZ": "Asia/Tokyo", "PYTHONHASHSEED": "1"},
        {"LC_ALL": "C", "TZ": "America/New_York", "PYTHONHASHSEED": "4242", "PYTHONOPTIMIZE": "2", "HOME": "/nowhere"},
    ],
    ids=lambda settings: settings["LC_ALL"],
)
def test_made_from_its_manifest_in_another_process_it_is_equal_but_for_the_date(bundle, tmp_path, elsewhere):
    """Another locale, time zone, hash seed and Python process; every file by the sum that the manifest has of it."""
    shutil.copy(bundle.parent / "eyes.csv", tmp_path)
    shutil.copy(bundle / "columns.toml", tmp_path)
    kept = json.loads((bundle / "manifest.json").read_text("utf-8"))
    line = ["--columns", "columns.toml", "--date", "2026-11-29", "--by", kept["settings"]["by"], "--bundle", "again"]
    for flag in ("where", "agree", "compare"):
        line += [part for words in kept["settings"][flag] for part in (f"--{flag}", words)]
    line += ["--adjust", kept["settings"]["adjust"]]
    command = [sys.executable, "-m", "tissue", "series", kept["input"], "o.csv", *line]
    paths = {"PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path]), "PATH": os.environ["PATH"]}
    subprocess.run(command, check=True, cwd=tmp_path, env=paths | elsewhere, capture_output=True)
    again = json.loads((tmp_path / "again" / "manifest.json").read_text("utf-8"))
    assert again.pop("date") == "2026-11-29"
    kept["files"].pop("command.txt"), again["files"].pop("command.txt")  # it holds the date
    assert again == kept
    assert {path.name for path in (tmp_path / "again").iterdir()} == {path.name for path in bundle.iterdir()}


def test_the_tables_say_what_the_output_holds(bundle):
    """Group means, own figures and a test of fellow eyes, worked out again from output.csv with SciPy."""
    rows = [row for row in table(bundle / "output.csv") if float(row["age"]) >= 21]
    options = {row["Operation"] for row in rows} - {""}
    for row in rows:
        if row["Operation"]:
            assert row["own_bed_min_um"] == row[f"{row['Operation']}_bed_min_um"]
        else:
            assert row["own_bed_min_um"] == "" and row["own_available"] == "false"
    summary = {(row["group"], row["measure"]): row for row in table(bundle / "summary.csv")}
    assert "Operation (not given)" in {group for group, _ in summary}
    for option in options:
        values = [float(row["SE after"]) for row in rows if row["Operation"] == option and row["SE after"]]
        found = summary[f"Operation {option}", "achieved_SE_D"]
        assert float(found["mean"]) == pytest.approx(np.mean(values), abs=1e-4)
        assert float(found["quartile_upper"]) == pytest.approx(np.quantile(values, 0.75), abs=1e-4)
        near = summary[f"Operation {option}", "achieved_SE_D within 0.50 D of target"]
        whose = np.array([row["Record"] for row in rows if row["Operation"] == option and row["SE after"]])
        exact = study_dense.share(np.abs(values) <= 0.5, whose)
        assert (float(near["share_low"]), float(near["share_high"])) == pytest.approx(exact, abs=1e-4)
    agreed = {row["group"]: row for row in table(bundle / "agreement.csv")}
    assert set(agreed) == {"(not given)", *options, "all"} and float(agreed["lenticule"]["bias"]) < 0
    cut = [float(row["Cut OCT"]) - 120.0 for row in rows if row["Operation"] == "lenticule" and row["Cut OCT"]]
    assert int(agreed["lenticule"]["eyes"]) == len(cut)
    assert float(agreed["lenticule"]["bias"]) == pytest.approx(np.mean(cut), abs=0.5)
    tests = {(row["column"], row["group_a"], row["group_b"], row["method"]) for row in table(bundle / "comparison.csv")}
    assert ("achieved_SE_D", "flap", "lenticule", "two groups, CR2 by patient, t") in tests
    assert any("adjusted for age" in method for *_, method in tests)


def test_shares_against_scipy():
    """SciPy's exact binomial interval. At 1e-8."""
    for k, n in ((0, 5), (3, 7), (7, 7), (40, 100)):
        exact = stats.binomtest(k, n).proportion_ci(method="exact")
        found = share(np.repeat([1.0, 0.0], [k, n - k]))
        assert found == pytest.approx((100 * k / n, 100 * exact.low, 100 * exact.high), rel=1e-8, abs=1e-9)


def test_parquet_says_its_units(tmp_path):
    """Field metadata: the unit; of the table: the sum of what came in. The bundle of Parquet is byte-equal too."""
    import pyarrow as pa
    from pyarrow import csv as reader

    rows = messy(30)
    source = written(tmp_path, rows)
    kinds = reader.ConvertOptions(column_types={name: pa.string() for name in ("Operation", "SE after", "Cut OCT")})
    pq.write_table(reader.read_csv(source, convert_options=kinds), tmp_path / "eyes.parquet")
    for name in ("one", "two"):
        more = ("--by", "Operation", "--bundle", str(tmp_path / name))
        assert asked(tmp_path, *more, source="eyes.parquet", target="out.parquet") == 0
    made = pq.read_schema(tmp_path / "one" / "output.parquet")
    assert faults("series", pq.read_table(tmp_path / "one" / "output.parquet").to_pylist()) == []
    assert made.field("flap_bed_min_um").metadata == {b"unit": "µm".encode()}
    assert (
        made.metadata[b"input_sha256"].decode() == hashlib.sha256((tmp_path / "eyes.parquet").read_bytes()).hexdigest()
    )
    for path in (tmp_path / "one").rglob("*.*"):
        assert path.read_bytes() == (tmp_path / "two" / path.relative_to(tmp_path / "one")).read_bytes(), path.name


@pytest.mark.parametrize(
    "more, words",
    [
        (["--agree", "nope:Cut OCT", "--agreement", "a.csv"], "--agree: read nope"),
        (["--agree", "own_cut_um:nope", "--agreement", "a.csv"], "--agree: read nope"),
        (["--agree", "own_cut_um:flap_cut_um", "--agreement", "a.csv"], "--agree: read flap_cut_um"),
        (["--agree", "surgeon:Cut OCT", "--agreement", "a.csv"], "--agree: read surgeon, a column without a number"),
        (["--agree", "own_cut_um:surgeon", "--agreement", "a.csv"], "--agree: read surgeon, a column without a number"),
        (["--agree", "own_cut_um:Cut OCT"], "--agreement: read one of"),
        (["--agreement", "a.csv"], "--agreement: read one of"),
        (["--compare", "age", "--comparison", "c.csv"], "--compare: read no --by"),
        (
            ["--compare", "surgeon", "--comparison", "c.csv", "--by", "Operation"],
            "--compare: read surgeon, a column with",
        ),
        (["--compare", "age", "--comparison", "c.csv", "--by", "Record"], "accepted 2 to 30 groups"),
        (["--where", "age ~ 3", "--by", "Operation", "--summary", "s.csv"], "--where: read age ~ 3"),
        (["--where", "nope = 3", "--by", "Operation", "--summary", "s.csv"], "--where: read nope"),
        (["--where", "surgeon > B", "--by", "Operation", "--summary", "s.csv"], "accepted a number after >"),
        (["--bundle", "."], "--bundle: read"),
        (["--summary", "s.csv", "--by", "nope"], "--by: read nope"),
    ],
)
def test_what_cannot_be_answered_is_refused_and_nothing_is_written(tmp_path, capsys, monkeypatch, more, words):
    monkeypatch.chdir(tmp_path)
    written(tmp_path, messy(80))
    before = sorted(tmp_path.iterdir())
    assert asked(tmp_path, *more) == 2
    error = capsys.readouterr().err
    assert words in error and error.count("\n") == 1 and sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize(
    "text, words",
    [
        ('[outcomes]\nUCVA = "UDVA"', "outcomes.UCVA: read that name"),
        ('[outcomes]\nUDVA_logMAR = {name = "UDVA", written = "letters"}', "written letters, accepted logMAR"),
        ('[outcomes]\nK_D = "nope"', "outcomes.K_D: read nope"),
        ("outcomes = 3", "outcomes: read 3, accepted a table"),
    ],
)
def test_a_map_of_outcomes_that_does_not_fit_is_refused(tmp_path, capsys, text, words):
    written(tmp_path, messy(10), MAP.partition("[outcomes]")[0] + text)
    assert asked(tmp_path, "--by", "Operation", "--summary", str(tmp_path / "s.csv")) == 2
    assert words in capsys.readouterr().err


def test_refused_rows_are_counted_by_group_and_field(tmp_path):
    rows = messy(20)
    place, operation = rows[0].index("sphere_D"), rows[0].index("Operation")
    for row, kind in zip(rows[1:5], ("flap", "flap", "surface", ""), strict=True):
        row[place], row[operation] = "4.00", kind
    written(tmp_path, rows)
    assert asked(tmp_path, "--by", "Operation", "--summary", str(tmp_path / "s.csv")) == 0
    summary = {(row["group"], row["measure"]): row["eyes"] for row in table(tmp_path / "s.csv")}
    assert summary["Operation flap", "rows refused"] == summary["Operation flap", "refused: sphere_D"] == "2"
    assert summary["Operation (not given)", "rows refused"] == "1" and summary["all", "rows refused"] == "4"


def test_a_mapped_patient_column_makes_the_pairs(tmp_path):
    """truth.md A8: 120 eyes of 60 patients, whatever the column is called."""
    written(tmp_path, messy(120))
    assert asked(tmp_path, "--by", "side", "--summary", str(tmp_path / "s.csv")) == 0
    summary = {(row["group"], row["measure"]): row for row in table(tmp_path / "s.csv")}
    assert summary["all", "flap_bed_min_um"]["patients"] == "60"
    assert summary["right less left eye", "flap_bed_min_um"]["eyes"] == "60"


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_schema_is_one(name, capsysbinary):
    """JSON Schema, draft 2020-12, by the jsonschema library."""
    assert main(["schema", name]) == 0
    schema = json.loads(capsysbinary.readouterr().out)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_the_tool_is_cited_with_version_and_commit(capsysbinary):
    import tissue
    from tissue.report.origin import commit

    assert main(["cite"]) == 0
    both = capsysbinary.readouterr().out.decode()
    assert both.startswith("@software{tissue,") and "cff-version: 1.2.0" in both
    assert both.count(tissue.__version__) >= 2 and (commit() is None or both.count(commit()) == 2)
    assert main(["cite", "--cff"]) == 0
    assert capsysbinary.readouterr().out.startswith(b"cff-version")


def test_what_a_killed_study_left_is_cleared_away(tmp_path):
    """A folder of a process that has ended, beside the bundle: gone with the next run."""
    written(tmp_path, messy(20))
    left = tmp_path / ".bundle.999999999.part" / "figures"
    left.mkdir(parents=True)
    assert asked(tmp_path, "--bundle", str(tmp_path / "bundle")) == 0
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bundle", "eyes.csv", "map.toml", "out.csv"]


def test_a_row_longer_than_a_block_is_read_too(tmp_path):
    """A note of 3 MB: the answers are read in blocks of 2 MB, and of more where a row needs them."""
    rows = messy(12)
    rows[0].append("note")
    for i, row in enumerate(rows[1:]):
        row.append("long " * 600_000 if i == 5 else "short")
    written(tmp_path, rows)
    assert asked(tmp_path, "--by", "side", "--summary", str(tmp_path / "s.csv")) == 0
    summary = {(row["group"], row["measure"]): row["eyes"] for row in table(tmp_path / "s.csv")}
    assert summary["all", "flap_bed_min_um"] == "12"
