"""Series: every row back in its order, the very figures of one plan, faults by line, nothing guessed."""

import csv
import io
import re
import time
from multiprocessing import get_context

import numpy as np
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tissue.command.command import main
from tissue.entry.eye import build
from tissue.ground.sources import published_series
from tissue.optics.figures import optics
from tissue.report.contract import figures
from tissue.series.demo import demo_rows
from tissue.series.names import decimals, figure_names, flat
from tissue.series.run import run
from tissue.series.tables.cells import guarded, unguard
from tissue.series.tables.csv_blocks import blocks, read_rows
from tissue.series.tables.header import read_map, write_map
from tissue.series.wrong import TableError

HEAD = "sphere_D,cylinder_D,axis_deg,central_thickness_um"


def table(path):
    """Header and rows of a CSV file."""
    with open(path, encoding="utf-8-sig", newline="") as file:
        head, *rows = csv.reader(file)
    return head, rows


def through(tmp_path, text, **more):
    """Rows of a series as dictionaries, from its text."""
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_bytes(text.encode() if isinstance(text, str) else text)
    run(source, target, **more)
    head, rows = table(target)
    return [dict(zip(head, row, strict=True)) for row in rows]


def test_figures_equal_those_of_one_plan_at_printed_precision(tmp_path):
    """300 invented eyes: every figure of every option, rounded as the interface says."""
    lines = list(demo_rows(300, seed=5))
    found = through(tmp_path, "\n".join(lines) + "\n")
    for row in found:
        values = {
            name: float(row[name])
            for name in lines[0].split(",")
            if name not in ("patient", "side", "surgeon") and row[name]
        }
        comparison = build(values).compare()
        for option, result in comparison.results.items():
            for name, value in flat(figures(result), option).items():
                places = decimals(name)
                if places is None:
                    continue
                expected = (
                    "" if np.isnan(value) else f"{float(np.round(value * 10**places)) / 10**places + 0.0:.{places}f}"
                )
                assert row[name] == expected, name
    assert [row["patient"] for row in found] == [line.split(",")[0] for line in lines[1:]]
    assert {row["status"] for row in found} == {"ok"}


def test_every_row_comes_back_in_its_order_with_its_line(tmp_path):
    """Quoted line ends count: a fault names the line where its row begins."""
    text = (
        f"{HEAD},note\n"
        '-4.00,,,550,"two\nlines"\n'
        "4.00,,,550,no sign\n"
        "-4.00,-1.00,,550,no axis\n"
        "-4.00,,,999,too thick\n"
        "-4.00,,,,no thickness\n"
        "-4.00,,,550\n"
        "-4.00,,,550,a,b\n"
        "nan,inf,0,550,no numbers\n"
        "-4.00,,,550,good\n"
    )
    rows = through(tmp_path, text)
    assert [row["note"] for row in rows] == [
        "two\nlines", "no sign", "no axis", "too thick", "no thickness", "", "a", "no numbers", "good",
    ]  # fmt: skip
    assert [row["status"] for row in rows] == ["ok", *["refused"] * 7, "ok"]
    reasons = [row["reason"] for row in rows]
    assert reasons[1] == (
        "line 4: sphere_D: read 4.00 without a sign, accepted +4 or −4 (−30 to +20 D, with its sign unless it is 0)"
    )
    assert reasons[2].startswith("line 5: axis_deg: read nothing")
    assert "central_thickness_um: read 999" in reasons[3]
    assert reasons[5] == "line 8: row: read 4 cells, accepted 5, as in the header"
    assert reasons[6] == "line 9: row: read 6 cells, accepted 5, as in the header"
    assert reasons[7].count("; ") == 1 and "sphere_D: read nan" in reasons[7] and "cylinder_D: read inf" in reasons[7]
    assert all(row["flap_bed_min_um"] == "" for row in rows if row["status"] == "refused")


def test_a_refused_surface_is_told_in_the_words_of_one_plan(tmp_path):
    rows = through(tmp_path, f"{HEAD},zone_mm,vertex_mm\n+20,+12,90,900,9,20\n-3.00,,,550,6.5,12\n")
    assert rows[0]["status"] == "refused" and "zone_mm: read 9, accepted up to" in rows[0]["reason"]
    assert rows[1]["status"] == "ok" and rows[1]["flap_bed_min_um"]


def test_semicolon_and_comma_stay_as_they_came(tmp_path):
    text = "\ufeffsphere_D;cylinder_D;axis_deg;central_thickness_um;zone_mm\r\n-4,50;;;548;6,4\r\n"
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_bytes(text.encode())
    run(source, target)
    data = target.read_bytes()
    assert data.startswith(b"\xef\xbb\xbfsphere_D;cylinder_D")
    assert b"-4,50;;;548;6,4;true;;53,0;" in data and b"." not in data.split(b"\n")[1]


def test_unsigned_powers_only_when_said(tmp_path):
    rows = through(tmp_path, f"{HEAD}\n4.00,,,550\n-4.00,,,550\n0,,,550\n", unsigned_plus=True)
    assert [row["powers_read"] for row in rows] == ["unsigned as plus", "signed", "signed"]
    assert rows[0]["status"] == "ok" and float(rows[0]["flap_K_after_D"]) > 43.27


def test_formulas_are_made_harmless_and_taken_off_again(tmp_path):
    rows = through(tmp_path, f"{HEAD},note\n-4.00,,,550,=1+1\n-4.00,,,550,-4.75\n-4.00,,,550,-x\n")
    assert [row["note"] for row in rows] == ["'=1+1", "-4.75", "'-x"]
    again = through(tmp_path, f"{HEAD},note\n-4.00,,,550,'=1+1\n")
    assert again[0]["note"] == "'=1+1"


@given(st.text(max_size=12))
def test_guard_and_unguard_are_inverse(text):
    if "'" not in text:
        assert unguard(guarded(text)) == text


def parted(text):
    """Cells of a text whichever sign parts them, as a spreadsheet may take it."""
    return [
        cell for sign in ",;\t" for row in csv.reader(io.StringIO(text, newline=""), delimiter=sign) for cell in row
    ]


@pytest.mark.parametrize("sign", [",", ";", "\t"])
@pytest.mark.parametrize("note", ["\n=1+1", "x,=1+1", "x;@here", "a\tb\n-x", "\r=1"])
def test_no_cell_is_a_formula_whatever_parts_the_cells(tmp_path, sign, note):
    """Source: CSV injection as OWASP describes it: the separator and line ends can begin a cell too (M)."""
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    with open(source, "w", newline="", encoding="utf-8") as file:
        heads = ["central_thickness_um", "sphere_D", "note"]
        csv.writer(file, delimiter=sign).writerows([heads, ["550", "-4.00", note]])
    run(source, target)
    text = target.read_bytes().decode()
    numbers = re.compile(r"[+-]?[0-9.,]+")
    odd = [cell for cell in parted(text) if cell.startswith(("=", "+", "-", "@")) and not numbers.fullmatch(cell)]
    assert not odd
    with open(target, newline="", encoding="utf-8") as file:
        back = list(csv.DictReader(file, delimiter=sign))
    assert [unguard(row["note"]) for row in back] == [note] and guarded(back[0]["note"]) == back[0]["note"]


@pytest.mark.parametrize(
    "head, words",
    [
        ("sphere_D,sphere_D,central_thickness_um", "twice"),
        ("Sphere_d,central_thickness_um", "accepted sphere_D"),
        ("sphere_D,central_thickness,x", "accepted central_thickness_um"),
        ("sphere_D,central_thickness_um,flap_bed_min_um", "name of an output"),
        ("sphere_D,central_thickness_um,status", "name of an output"),
    ],
)
def test_a_header_that_could_be_misread_refuses_the_file(tmp_path, head, words):
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text(head + "\n")
    with pytest.raises(TableError, match=words):
        run(source, target)
    assert not target.exists() and list(tmp_path.iterdir()) == [source]


def test_map_gives_our_names_and_units(tmp_path):
    map_file = tmp_path / "map.toml"
    map_file.write_text('sphere_D = "Sph"\ncentral_thickness_um = {name = "Pachy", factor = 1000}\n')
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text("Sph,Pachy\n-4.00,0.55\n")
    assert main(["series", str(source), str(target), "--columns", str(map_file)]) == 0
    head, rows = table(target)
    row = dict(zip(head, rows[0], strict=True))
    assert head[:2] == ["Sph", "Pachy"] and row["flap_bed_central_um"] == row["flap_bed_planned_um"] != ""
    assert float(row["flap_healed_thickness_um"]) + float(row["flap_removal_central_um"]) == pytest.approx(550.0)


@pytest.mark.parametrize(
    "text, words",
    [
        ('sphre_D = "Sph"', "accepted a name such as sphere_D"),
        ('sphere_D = "Nope"', "accepted a column of the table"),
        ('sphere_D = "Sph"\ncylinder_D = "Sph"', "one each"),
        ('sphere_D = {name = "Sph", factor = 0}', "a number above 0"),
        ("sphere_D = [", "accepted valid TOML"),
    ],
)
def test_a_map_that_does_not_fit_refuses_the_file(tmp_path, capsys, text, words):
    source, map_file = tmp_path / "in.csv", tmp_path / "map.toml"
    source.write_text("Sph,Pachy\n-4.00,550\n")
    map_file.write_text(text)
    assert main(["series", str(source), str(tmp_path / "out.csv"), "--columns", str(map_file)]) == 2
    assert words in capsys.readouterr().err and not (tmp_path / "out.csv").exists()


@pytest.mark.parametrize(
    "data, words",
    [
        (b"", "read nothing"),
        (b"sphere_D\n\xff\xfe\n", "not UTF-8"),
        (b"sphere_D,central_thickness_um\n-4,\x00\n", "no text"),
        (("," * 3000).encode() + b"\n", "3001 columns"),
    ],
)
def test_what_is_no_table_is_refused_whole(tmp_path, capsys, data, words):
    source = tmp_path / "in.csv"
    source.write_bytes(data)
    assert main(["series", str(source), str(tmp_path / "out.csv")]) == 2
    error = capsys.readouterr().err
    assert words in error and "Traceback" not in error and not (tmp_path / "out.csv").exists()


def test_parquet_gives_the_same_figures_unrounded(tmp_path):
    lines = list(demo_rows(40, seed=8))
    rows = through(tmp_path, "\n".join(lines))
    columns = {name: [row[name] for row in rows] for name in lines[0].split(",")}
    numbers = {
        name: pa.array([float(text) if text else None for text in texts])
        for name, texts in columns.items()
        if name not in ("patient", "side", "surgeon")
    }
    source, target = tmp_path / "in.parquet", tmp_path / "out.parquet"
    pq.write_table(pa.table(numbers | {"patient": columns["patient"]}), source)
    assert run(source, target).refused == 0
    out = pq.read_table(target)
    for name in figure_names():
        if decimals(name) is not None:
            for value, row in zip(out.column(name).to_pylist(), rows, strict=True):
                assert (value is None) == (row[name] == "")
                assert value is None or abs(value - float(row[name])) <= 0.5001 * 10.0 ** -decimals(name)


def test_two_runs_are_byte_equal_and_processes_do_not_matter(tmp_path):
    source = tmp_path / "in.csv"
    source.write_text("\n".join(demo_rows(25_000, seed=3)) + "\n")
    targets = [tmp_path / f"out{i}.csv" for i in range(3)]
    for target, workers in zip(targets, (1, 2, 2), strict=True):
        assert run(source, target, workers=workers).rows == 25_000
    first = targets[0].read_bytes()
    assert all(target.read_bytes() == first for target in targets[1:])


def test_killed_at_any_moment_there_is_no_half_written_output(tmp_path):
    """50 kills between the start and well past the end; the target is whole or not there.

    The kills are spread over the shortest of three runs: one that the machine held up took them past every end.
    """
    source, target = tmp_path / "in.csv", tmp_path / "out.csv"
    source.write_text("\n".join(demo_rows(1500, seed=2)) + "\n")
    took = []
    for _ in range(3):
        started = time.perf_counter()
        run(source, target, workers=1)
        took.append(time.perf_counter() - started)
    whole, lasts = target.read_bytes(), min(took)
    rng = np.random.default_rng(1)
    killed = 0
    for moment in rng.uniform(0.0, 1.1, 50) * lasts:
        target.unlink(missing_ok=True)
        process = get_context("fork").Process(target=run, args=(source, target), kwargs={"workers": 1})
        process.start()
        time.sleep(moment)
        process.kill()
        process.join()
        killed += not target.exists()
        assert not target.exists() or target.read_bytes() == whole
    assert killed >= 10


def test_published_eyes_are_a_ready_series(tmp_path):
    """The published eyes run as they are: plus cylinders as printed, refusals with their reason."""
    out = io.StringIO()
    csv.writer(out).writerows(published_series())
    rows = through(tmp_path, out.getvalue())
    by_id = {row["patient"]: row for row in rows}
    assert unguard(by_id["L07"]["refraction"]) == "-7.00 +3.00 x 100" and by_id["L07"]["status"] == "ok"
    parts = [float(by_id["S01"][f"lenticule_removal_parts_{part}_um"]) for part in ("refraction", "base")]
    assert sum(parts) == pytest.approx(127, abs=0.5)  # printed lenticule, its zone without a blend


@given(st.text(alphabet='ab,"\n\r', max_size=60), st.integers(1, 20))
@settings(max_examples=400)
def test_blocks_hold_the_rows_that_the_csv_module_reads(text, size):
    """However quotes stand: rows and the lines where they begin, block by block, are those of the whole text."""
    rows, begins = read_rows(text, ",", 1)
    parts = list(blocks(io.BytesIO(text.encode()), "in", size=size))
    found = [read_rows(data.decode(), ",", line) for data, line in parts]
    assert [row for part, _ in found for row in part] == rows
    assert [line for _, part in found for line in part] == begins


def test_blocks_lose_nothing(tmp_path):
    path = tmp_path / "in.csv"
    path.write_text("a,b\n" + 'x,"y\ny"\n' * 40 + "last,row")
    with path.open("rb") as file:
        parts = list(blocks(file, "in", size=50))
    assert b"".join(data for data, _ in parts) == path.read_bytes() and len(parts) > 3
    assert parts[1][1] == 1 + parts[0][0].count(b"\n")


def test_nothing_in_it(tmp_path):
    assert through(tmp_path, f"{HEAD}\n") == []


def test_a_cell_with_an_apostrophe_comes_back_as_it_was(tmp_path):
    """A passed-through text of a signed number; as an input it is the number that a spreadsheet made a text."""
    rows = through(tmp_path, f"{HEAD},note\n'-4.00,,,550,'-0.75\n-4.00,,,550,'tis\n")
    assert [row["note"] for row in rows] == ["'-0.75", "'tis"]
    assert {row["status"] for row in rows} == {"ok"}


def test_one_column_feeds_two_inputs_where_the_map_says_so(tmp_path):
    source = tmp_path / "in.csv"
    source.write_text("sphere_D,Pachy,OZ\n-4.00,0.55,6.5\n")
    text = 'central_thickness_um = {name = "Pachy", factor = 1000}\n'
    shared = 'zone_mm = {name = "OZ", shared = true}\npupil_mm = {name = "OZ", shared = true}\n'
    map_file, target = tmp_path / "map.toml", tmp_path / "out.csv"
    map_file.write_text(text + shared)
    assert read_map(map_file) == read_map_again(tmp_path, read_map(map_file))
    assert main(["series", str(source), str(target), "--columns", str(map_file), "--optics"]) == 0
    head, rows = table(target)
    row = dict(zip(head, rows[0], strict=True))
    plan = build({"sphere_D": -4.0, "central_thickness_um": 550.0, "zone_mm": 6.5, "pupil_mm": 6.5}).compare()
    seen = flat({"optics": vars(optics_of(plan, "flap"))}, "flap")
    assert row["flap_optics_c40_change_um"] == f"{float(seen['flap_optics_c40_change_um']):.4f}"
    map_file.write_text(text + shared.replace("shared = true", "factor = 1"))
    assert main(["series", str(source), str(target), "--columns", str(map_file)]) == 2


def read_map_again(tmp_path, mapping):
    again = tmp_path / "again.toml"
    again.write_text(write_map(mapping))
    return read_map(again)


def optics_of(plan, name):
    return optics(plan.cornea, plan.treatment, plan.results[name].option, plan.pupil)


def test_another_encoding_is_refused_with_the_way_out(tmp_path, capsys):
    source = tmp_path / "in.csv"
    source.write_bytes(f"{HEAD},note\n-4.00,,,550,naïve\n".encode("cp1252"))
    assert main(["series", str(source), str(tmp_path / "out.csv")]) == 2
    error = capsys.readouterr().err
    assert "line 2: read bytes that are not UTF-8" in error and "save as, CSV UTF-8" in error


def test_a_text_that_is_parted_like_rows_is_no_stray_quote(tmp_path):
    text = 'sphere_D,note,central_thickness_um\n-4.00,"dry, red\nwatery, itching",550\n'
    assert through(tmp_path, text)[0]["note"] == "dry, red\nwatery, itching"


def test_a_text_of_two_lines_is_no_stray_quote(tmp_path):
    rows = through(tmp_path, f'{HEAD},note\n-4.00,,,550,"first, then\nsecond, ""third"""\n')
    assert rows[0]["note"] == 'first, then\nsecond, "third"' and rows[0]["status"] == "ok"


def test_a_table_without_any_input_refuses_its_rows(tmp_path):
    rows = through(tmp_path, "note,age\na,3\nb,4\n")
    assert [row["status"] for row in rows] == ["refused", "refused"]
    assert all("sphere_D: read nothing" in row["reason"] for row in rows)
