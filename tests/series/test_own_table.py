"""`tissue own` and `tissue published`: tables read and refused row by row, groups, files for plans, the JSON."""

import json

import numpy as np
import pytest

from tissue.command.command import main
from tissue.entry.own_errors import read_own
from tissue.followup.own import error_kinds, own_error
from tissue.series.own.table import differences, measured_table
from tissue.series.wrong import TableError

HEAD = "patient,side,date,cap_um,cap_measured_um"


def rows(count=24, head=HEAD, sign=",", decimal="."):
    rng = np.random.default_rng(5)
    lines = [head.replace(",", sign)]
    for i in range(count):
        value = f"{120 + 3 + rng.normal(0, 4):.1f}".replace(".", decimal)
        lines.append(sign.join((f"p{i // 2}", ("OD", "os")[i % 2], f"2026-01-{i + 1:02d}", "120", value)))
    return "\n".join(lines) + "\n"


def own(capfdbinary, tmp_path, text, *more):
    path = tmp_path / "table.csv"
    path.write_text(text, "utf-8")
    code = main(["own", str(path), *more])
    out, err = capfdbinary.readouterr()
    return code, out.decode(), err.decode()


def test_names_of_the_json(capfdbinary, tmp_path):
    code, out, _ = own(capfdbinary, tmp_path, rows(), "--json")
    found = json.loads(out)
    assert code == 0
    assert list(found) == ["schema", "version", "source", "rows", "refused", "groups", "values", "not_adjusted"]
    assert list(found["groups"]) == ["all"] and list(found["groups"]["all"]) == list(error_kinds())
    cap = found["groups"]["all"]["cap"]
    assert set(cap) >= set(
        "eyes patients excluded why_not own_bias own_bias_se bias bias_se bias_low bias_high eye_sd sd "
        "fellow_correlation inside of ten_more_se".split()
    )
    assert (cap["eyes"], cap["patients"], cap["excluded"], cap["why_not"]) == (24, 12, 0, None)
    assert found["groups"]["all"]["flap"]["why_not"] == "read 0 eyes of 0 patients, accepted 10 eyes of 5 patients"
    assert found["source"] == "own series, 24 eyes of 12 patients, 2026-01-01 to 2026-01-24"
    assert found["values"] == {"cap_bias_um": round(cap["bias"], 1), "cap_sd_um": round(cap["sd"], 1)}
    assert "who came back to be measured" in found["not_adjusted"]


@pytest.mark.parametrize(("sign", "decimal"), [(",", "."), (";", ","), ("\t", ",")])
@pytest.mark.parametrize("count", [24, 4000])  # row by row, and in columns
def test_every_dialect_gives_the_same(count, sign, decimal):
    plain = measured_table(rows(count).encode(), "t.csv")
    other = measured_table(rows(count, sign=sign, decimal=decimal).encode("utf-8-sig"), "t.csv")
    quoted = measured_table(rows(count).replace("p0,", '"p0",').encode(), "t.csv")
    for one in (other, quoted):
        assert one.numbers["cap_measured_um"].tolist() == plain.numbers["cap_measured_um"].tolist()
        assert one.patients.tolist() == plain.patients.tolist() and one.sides.tolist() == plain.sides.tolist()
        assert one.lines.tolist() == plain.lines.tolist() == list(range(2, count + 2)) and not one.refused


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("p0,OD,2026-02-01,120,121", "side: read OD of patient p0 twice, accepted each eye once"),
        (",OD,,120,121", "patient: read nothing, accepted who the eye belongs to"),
        ("q,left,,120,121", "side: read left, accepted OD or OS"),
        ("q,OD,,120,thick", "cap_measured_um: read thick, accepted a number"),
        ("q,OD,,,", "row: read no number, accepted a measured one"),
        ("q,OD,,120", "row: read 4 cells, accepted 5, as in the header"),
    ],
)
def test_a_row_that_cannot_be_used_is_refused_with_its_line(row, reason):
    found = measured_table((rows() + row + "\n").encode(), "t.csv")
    assert found.refused == [(26, reason)] and (found.rows, len(found.patients)) == (25, 24)


def test_two_eyes_without_a_side_cannot_be_told_apart():
    found = measured_table(b"patient,cap_um,cap_measured_um\na,120,121\na,120,122\nb,120,119\n", "t.csv")
    assert found.refused == [(3, "side: read two eyes of patient a without a side, accepted each eye once")]


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "read nothing"),
        (b"eye,cap_um\nOD,120\n", "no column patient"),
        (b"patient,cap_um,cap_um\na,1,2\n", "cap_um twice"),
        (b"patient,cap_um\n\xff,1\n", "line 2: read bytes that are not UTF-8"),
    ],
)
def test_a_table_that_cannot_be_read_is_refused_whole(data, says):
    with pytest.raises(TableError, match=says):
        measured_table(data, "t.csv")


def test_every_error_has_its_difference():
    """As defined: measured less planned or read-out; gain beyond 0.94 µm a dioptre; repeated thickness over √2."""
    head = (
        "patient,side,flap_um,flap_measured_um,reported_lenticule_um,stroma_before_um,stroma_after_um,"
        "reported_ablation_um,ablation_measured_um,epithelium_um,epithelium_after_um,days,SE_treated_D,SE_after_D,"
        "target_D,central_thickness_um,thickness_second_um"
    )
    row = "a,OD,110,114,100,500,412,80,78,53,60,45,-5,-0.5,-0.25,550,548"
    early = "b,OD,,,,,,,,53,60,20,-5,0.5,,,"
    found = dict(differences(measured_table(f"{head}\n{row}\n{early}\n".encode(), "t.csv")))
    rho = 1 - np.exp(-45 / 19)
    wanted = {"flap": 4.0, "lenticule": -12.0, "ablation": -2.0, "gain": 7 - rho * 0.94 * 5, "refraction": -0.25,
              "thickness": 2 / np.sqrt(2), "epithelium": 53.0}  # fmt: skip
    assert {id: found[id][0] for id in wanted} == pytest.approx(wanted)
    assert np.isnan(found["cap"]).all() and np.isnan(found["gain"][1]) and found["refraction"][1] == 0.5


def test_the_command_gives_what_the_arithmetic_gives(capfdbinary, tmp_path):
    text = rows()
    cap = json.loads(own(capfdbinary, tmp_path, text, "--json")[1])["groups"]["all"]["cap"]
    cells = [line.split(",") for line in text.splitlines()[1:]]
    direct = own_error([float(c[4]) - 120 for c in cells], [c[0] for c in cells], error_kinds()["cap"])
    assert (cap["bias"], cap["sd"], cap["inside"]) == pytest.approx((direct.bias, direct.sd, direct.inside))


def test_a_gross_error_is_left_out_by_name(capfdbinary, tmp_path):
    text = rows() + "q9,OD,2026-03-01,120,412\n"
    _, out, _ = own(capfdbinary, tmp_path, text)
    assert "left out, line 26: q9 OD +292.0" in out and "23 of 25 inside" in out or "24 of 25 inside" in out
    cap = json.loads(own(capfdbinary, tmp_path, text, "--json")[1])["groups"]["all"]["cap"]
    assert (cap["excluded"], cap["eyes"], cap["of"]) == (1, 24, 25)


def test_groups_and_names_of_their_own(capfdbinary, tmp_path):
    text = rows(48).replace("cap_measured_um", "OCT cap").replace("date", "surgeon").replace("2026-01-", "dr ")
    text = "\n".join(line if i == 0 else line[: line.index("dr ")] + ("A" if i % 2 else "") + line[line.index(",120"):]
                     for i, line in enumerate(text.splitlines())) + "\n"  # fmt: skip
    (tmp_path / "map.toml").write_text('cap_measured_um = "OCT cap"\n', "utf-8")
    code, out, err = own(
        capfdbinary, tmp_path, text, "--columns", str(tmp_path / "map.toml"), "--by", "surgeon", "--json"
    )
    found = json.loads(out)
    assert code == 0 and list(found["groups"]) == ["A", "(not given)"] and found["values"] == {}
    assert own(capfdbinary, tmp_path, text, "--by", "surgeons")[0] == 2


def test_a_file_for_a_plan(capfdbinary, tmp_path):
    target = tmp_path / "own.toml"
    assert own(capfdbinary, tmp_path, rows(), "-o", str(target))[0] == 0
    found = read_own(target)
    assert set(found.values) == {"cap_bias_um", "cap_sd_um"} and found.source.startswith("own series, 24 eyes")
    code, _, err = own(capfdbinary, tmp_path, rows(), "-o", str(tmp_path / "b.toml"), "--by", "side")
    assert code == 2 and "--by" in err and not (tmp_path / "b.toml").exists()


@pytest.mark.parametrize("count", [0, 9])
def test_too_few_eyes_end_with_2_and_write_nothing(count, capfdbinary, tmp_path):
    target = tmp_path / "own.toml"
    code, out, err = own(capfdbinary, tmp_path, rows(count), "-o", str(target))
    assert code == 2 and not out and not target.exists()
    assert count == 0 or "cap: read 9 eyes of 5 patients, accepted 10 eyes of 5 patients" in err


def test_dates_that_are_not_given_are_said(capfdbinary, tmp_path):
    _, out, _ = own(capfdbinary, tmp_path, rows().replace("2026-01-05", ""))
    assert "own series, 24 eyes of 12 patients, dates not given" in out


def test_published_rows_and_pools(capfdbinary):
    """Every row by the names of the data file; counts under 1,000 with exact ends."""
    assert main(["published", "--json"]) == 0
    found = json.loads(capfdbinary.readouterr().out)
    assert list(found) == ["rows", "pools"]
    by_id = {row["id"]: row for row in found["rows"]}
    names = "id quantity procedure method days n_eyes SE_D mean sd count of unit pool source status note".split()
    assert sorted(by_id["r01"]) == sorted(names) and by_id["r01"]["mean"] == 8.2
    assert by_id["f03"]["high_percent"] == pytest.approx(19.5, abs=0.05) and "high_percent" not in by_id["s01"]
    assert list(found["pools"][0])[:2] == ["id", "rows"] and found["pools"][0]["low"] < found["pools"][0]["mean"]
    assert main(["published"]) == 0
    text = capfdbinary.readouterr().out.decode()
    assert "suction lost, %" in text and "0 of 17 eyes (0.0 to 19.5 %)" in text


@pytest.mark.parametrize(
    "quoted, says",
    [
        ({500: '"15 mm ring'}, "line 501: read a quote that is never closed"),
        ({100: '"15 mm ring', 600: 'end"'}, "line 101: note: read a quote that opens here and closes in line 601"),
    ],
)
def test_a_stray_quote_swallows_no_eye(quoted, says):
    rows = [f"p{i},OD,120,121,{quoted.get(i, 'good')}" for i in range(1, 1001)]
    text = "\n".join(["patient,side,cap_um,cap_measured_um,note", *rows]) + "\n"
    with pytest.raises(TableError, match=says):
        measured_table(text.encode(), "t.csv")


def test_a_text_that_ends_with_a_line_end_is_no_stray_quote():
    text = 'patient,side,cap_um,cap_measured_um,note\np1,OD,120,121,"good\n"\np2,OD,120,122,next\n'
    assert list(measured_table(text.encode(), "t.csv").patients) == ["p1", "p2"]
