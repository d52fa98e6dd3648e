"""Maps in a plan and from a table: what is read, what is refused, and what is kept. Forms and ranges: the interface."""

import json
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from helpers import ROOT
from own_maps import nine
from schema_cases import faults

from tissue.command.command import main
from tissue.entry.eye import build
from tissue.entry.own_map.tables import Asked, maps_of_table
from tissue.entry.own_map.taken import surface_of
from tissue.entry.own_map.written import WrittenMap, read_written
from tissue.entry.plan_file import PlanError, dumps, read_plan
from tissue.ground.errors import EyeError
from tissue.report.map_json import map_phrases

LINE = np.arange(-4.5, 4.6, 0.5)
HEAD = "schema = 1\n[{side}]\nsphere_D = -4.00\n{more}\n[{side}.thickness_map] # own\n"


def rows(formula=nine, decimals=0, right=1.0, up=1.0):
    """The lines of a grid whose x runs to the right (1) or left (−1) and y up or down."""
    return "\n".join(
        " ".join("-" if np.hypot(x, y) > 4.61 else f"{formula(right * x, up * y):.{decimals}f}" for x in LINE)
        for y in LINE
    )


def plan(values=None, side="OD", x="nasal", y="up", more="", extra=""):
    places = " ".join(f"{v:g}" for v in LINE)
    keys = f'form = "grid"\npositive_x = "{x}"\npositive_y = "{y}"\nx_mm = "{places}"\ny_mm = "{places}"\n{extra}'
    return HEAD.format(side=side, more=more) + keys + f"values = '''\n{values or rows()}'''\n"


def refused(text):
    with pytest.raises(PlanError) as error:
        read_plan(text.encode(), "F")
    return "\n".join(error.value.lines)


@pytest.mark.parametrize(
    ("side", "x", "y", "right", "up"),
    [
        ("OD", "nasal", "up", 1, 1),
        ("OD", "right", "down", 1, -1),
        ("OS", "nasal", "up", -1, 1),
        ("OS", "right", "up", 1, 1),
    ],
)
def test_a_map_lies_as_was_said(side, x, y, right, up):
    """Nasal is to the viewer's right in a right eye and to the left in a left one: ISO 8429, the usual drawing."""
    values = read_plan(plan(rows(right=right, up=up), side, x, y).encode()).eyes[side]
    cornea = build(values, side).cornea
    assert cornea.thinnest_um == pytest.approx(529.6, abs=0.5)
    assert float(cornea.thickness_um(2.0, -1.0)) == pytest.approx(nine(2.0, -1.0), abs=0.4)


def test_a_plan_with_a_map_needs_no_thickness_and_is_kept_as_it_stands():
    text = plan()
    read = read_plan(text.encode())
    assert dumps(read) == text
    assert read_plan(dumps(replace(read, text="")).encode()).eyes == read.eyes
    assert "central_thickness_um" not in read.eyes["OD"]


def test_millimetres_are_micrometres():
    um = read_plan(plan().encode()).eyes["OD"]["thickness_map"]
    mm = read_plan(plan(rows(lambda x, y: nine(x, y) / 1000.0, 3)).encode()).eyes["OD"]["thickness_map"]
    assert surface_of(um)[1].central_um == pytest.approx(surface_of(mm)[1].central_um, abs=1e-6)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (plan().replace("531", "999", 1), "values: read 999, accepted 300 to 950 µm, or 0.3 to 0.95 mm in all"),
        (plan().replace("531", "0.531", 1), "thickness_map.values: read 0.531, accepted 300 to 950"),
        (plan().replace("531", "nan", 1), "thickness_map.values: read nan, accepted a number or -"),
        (plan().replace("531 ", "", 1), "accepted 19 words, one for each x_mm"),
        (plan(x="left"), "thickness_map.positive_x: read left, accepted right"),
        (plan().replace('positive_y = "up"\n', ""), "thickness_map.positive_y: read nothing, accepted up or down"),
        (plan().replace('"-4.5 -4 -3.5', '"-4.5 -3.5 -4', 1), "x_mm: read -4, accepted 3 to 201 numbers"),
        (plan(extra="sd_um = 31\n"), "thickness_map.sd_um: read 31, accepted 0 to 30 µm"),
        (plan(extra='colour = "red"\n'), "thickness_map.colour: read an unknown name"),
        (plan().replace('"grid"', '"raster"'), "form: read raster, accepted points, grid, polar, sectors"),
        (plan().replace("531", "591", 1), "accepted within 15 µm of the surface of the others"),
        (plan(more="central_thickness_um = 580"), "read 580, accepted within 30 µm of the map's centre"),
        (
            plan(more="central_thickness_um = 531\nthinnest_um = 530\nthinnest_x_mm = 0.6\nthinnest_y_mm = -0.4"),
            "mirrored it fits, is positive_x right?",
        ),
    ],
)
def test_what_is_refused(text, said):
    assert said in refused(text)


def test_a_hole_in_the_middle_is_refused():
    words = [line.split() for line in rows().split("\n")]
    for i in range(7, 12):
        words[i][7:12] = ["-"] * 5
    assert "readings that cover a disc of 4.0 mm about the vertex" in refused(
        plan("\n".join(" ".join(w) for w in words))
    )


def test_a_plan_without_a_map_stays_small():
    """A plan is at most 100 kB, one with a map 1 MB: a limit that was found sound."""
    assert "100 kB" in refused("schema = 1\n[OD]\nsphere_D = -4\n" + "#" * 100_000)
    read_plan((plan() + "#" * 200_000).encode())
    assert "1 MB" in refused(plan() + "#" * 1_000_000)


def test_cuts_lie_below_the_thickest_epithelium():
    thick = plan(rows(lambda x, y: 70.0 + 0 * x)).replace("thickness_map", "epithelium_map")
    thick = thick.replace("\n[OD.", "\ncentral_thickness_um = 540\nflap_um = 65\n[OD.", 1)
    assert "flap_um: read 65, accepted deeper than the thickest epithelium of the map (70 µm)" in refused(thick)


def test_polar_angles_run_from_x_towards_y():
    """A left eye whose table runs towards nasal and up: angle 0 is nasal, to the viewer's left."""
    lines = "\n".join(f"{r:g} {a} {560 + (10 if a == 0 else 0)}" for r in (1, 2, 3) for a in range(0, 360, 30))
    read = read_written(WrittenMap("thickness_map", "OS", "polar", lines, "nasal", "up")).readings
    thicker = read.value_um == 570
    assert read.x_mm[thicker].tolist() == [-1.0, -2.0, -3.0] and np.allclose(read.y_mm[thicker], 0.0)


@pytest.mark.parametrize(("side", "temporal"), [("OD", 180.0), ("OS", 0.0)])
def test_sectors_are_named(side, temporal):
    """Temporal is to the viewer's left in a right eye; superior is up in both."""
    names = "S ST T IT I IN N SN".split()
    lines = "\n".join(["0 2 all 540", *(f"2 5 {name} {550 + k}" for k, name in enumerate(names))])
    read = read_written(WrittenMap("thickness_map", side, "sectors", lines)).readings
    by_name = dict(zip(["all", *names], read.middle_deg % 360.0, strict=True))
    assert (by_name["T"], by_name["S"], by_name["I"]) == (temporal, 90.0, 270.0)
    with pytest.raises(EyeError, match="sectors are named"):
        read_written(WrittenMap("thickness_map", side, "sectors", lines, "right", "up"))


def test_tables_of_many_kinds_say_the_same():
    asked = Asked("OD", "right", "up")
    x, y = (part.ravel() for part in np.meshgrid(np.arange(-3, 4), np.arange(-3, 4)))
    cells = [(f"{a}", f"{b}", f"{nine(a, b):.1f}") for a, b in zip(x, y, strict=True)]
    comma = "\n".join(["x_mm,y_mm,thickness_um", *(",".join(c) for c in cells)])
    german = "\n".join(["# a note", "thickness_um;x_mm;y_mm", *(f"{c};{a};{b}".replace(".", ",") for a, b, c in cells)])
    grid = "\n".join(
        ["\t".join(["", *map(str, range(-3, 4))])]
        + ["\t".join([str(b), *(f"{nine(a, b):.1f}" for a in range(-3, 4))]) for b in range(-3, 4)]
    )
    found = [maps_of_table(text.encode(), asked)["thickness_map"] for text in (comma, "\ufeff" + german, grid)]
    values = [read_written(one).readings.value_um.tolist() for one in found]
    assert values[0] == values[1] == values[2]


def table(tmp_path, values=None, name="map.csv"):
    lines = [",".join(["", *(f"{v:g}" for v in LINE)])]
    lines += [",".join([f"{y:g}", *line.split()]) for y, line in zip(LINE, (values or rows()).split("\n"), strict=True)]
    file = tmp_path / name
    file.write_text("\n".join(lines), encoding="utf-8")
    return file


def test_command_reads_a_table_and_writes_the_plan(tmp_path, capsysbinary):
    file, out = tmp_path / "plan.toml", tmp_path / "new.toml"
    file.write_text("schema = 1 # mine\n[OD]\nsphere_D = +4 # plus\n", encoding="utf-8")
    told = ["map", str(file), str(table(tmp_path)), "--eye", "OD", "--positive-y", "up"]
    assert main(told) == 2 and b"positive_x: read nothing" in capsysbinary.readouterr().err
    told += ["--positive-x", "nasal", "--out", str(out)]
    assert main([*told, "--json"]) == 0
    found = json.loads(capsysbinary.readouterr().out)
    assert faults("map", found) == []
    assert found["map"]["epithelium"] is None and found["map"]["thickness"]["thinnest_um"] == pytest.approx(
        529.6, abs=0.3
    )
    text = out.read_text(encoding="utf-8")
    assert text.startswith("schema = 1 # mine\n[OD]\nsphere_D = +4 # plus\n")
    assert tomllib.loads(text)["OD"]["thickness_map"]["form"] == "grid"
    assert main(["plan", str(out), "--json"]) == 0
    eye = json.loads(capsysbinary.readouterr().out)["eyes"]["OD"]
    assert (
        eye["input"]["central_thickness_um"] == pytest.approx(531.1, abs=0.3)
        and "bed_near_least_mm2" in eye["options"]["flap"]
    )


def test_a_reading_apart_is_left_out_when_that_is_said(tmp_path, capsysbinary):
    file, out = tmp_path / "plan.toml", tmp_path / "new.toml"
    file.write_text("schema = 1\n[OD]\nsphere_D = -4\n", encoding="utf-8")
    told = ["map", str(file), str(table(tmp_path, rows().replace("531", "591", 1))), "--eye", "OD"]
    told += ["--positive-x", "right", "--positive-y", "up", "--out", str(out)]
    assert main(told) == 2 and b"or left out" in capsysbinary.readouterr().err and not out.exists()
    assert main([*told, "--leave-out"]) == 0
    capsysbinary.readouterr()
    assert main(["plan", str(out), "--json"]) == 0
    eye = json.loads(capsysbinary.readouterr().out)["eyes"]["OD"]
    assert eye["map"]["thickness"]["left_out"] == [{"x_mm": -1.0, "y_mm": -0.5, "read_um": 591.0}]
    assert "map-left-out" in [notice["id"] for notice in eye["notices"]]


def test_demo_eyes_say_what_they_are_for(capsysbinary):
    """harbour-09: thinnest inferotemporal, 0.57 mm off (P, 120 people, ± 0.4). harbour-10, map less paraboloid (C)."""
    files = [next((ROOT / "demo_profiles").glob(f"harbour-{n}_*.toml")) for n in ("09", "10")]
    nine_, ten = (json.loads(_said(file, capsysbinary)) for file in files)
    for side, sign in (("OD", -1.0), ("OS", 1.0)):
        found = nine_["eyes"][side]["map"]["thickness"]
        assert np.hypot(found["thinnest_x_mm"], found["thinnest_y_mm"]) == pytest.approx(0.57, abs=0.1)
        assert sign * found["thinnest_x_mm"] > 0 and found["thinnest_y_mm"] < 0
    expected = {"surface": -15.0, "flap": -18.0, "lenticule": -18.0}
    for name, option in ten["eyes"]["OD"]["options"].items():
        assert option["bed_min_um"] - option["bed_min_paraboloid_um"] == pytest.approx(expected[name], abs=1.0)


def _said(file, capsysbinary):
    assert main(["plan", str(file), "--json"]) == 0
    return capsysbinary.readouterr().out


def test_ring_means_of_the_demo_eye():
    """Means of 0–2, 2–5 and 5–7 mm: 533.5, 551, 579.5 ± 1. Source: published ring means by OCT (IOVS, 2694578)."""
    values = read_plan(next((ROOT / "demo_profiles").glob("harbour-09_*.toml"))).eyes["OD"]
    cornea = build(values, "OD").cornea
    turns = np.radians(np.arange(0.0, 360.0, 5.0))
    for low, high, mean in ((0.0, 1.0, 533.5), (1.0, 2.5, 551.0), (2.5, 3.5, 579.5)):
        rings = np.sqrt(np.linspace(low**2, high**2, 81)[1::2])[:, None]
        assert cornea.thickness_um(rings * np.cos(turns), rings * np.sin(turns)).mean() == pytest.approx(mean, abs=1.0)


def test_a_record_says_that_a_map_was_used_and_how_it_lies():
    plan_of_ten = read_plan(next((ROOT / "demo_profiles").glob("harbour-10_*.toml")))
    phrases = map_phrases(build(plan_of_ten.eyes["OD"], "OD"))
    assert phrases[0] == (
        "thickness by a map of its own (OCT, 277 readings, its x to the right, y up, "
        "524 µm at the vertex by the map, 532 typed, confirmed on the picture)"
    )
    assert "typed" not in phrases[1]
    assert len(phrases) == 2 and map_phrases(build({"sphere_D": -4.0, "central_thickness_um": 550.0}, "OD")) == []


@pytest.mark.parametrize("cell", ["55 1", "0 5"])
def test_two_numbers_in_a_cell_are_not_taken_for_one(cell):
    """`0 5` was read as 5: nothing is guessed."""
    rows = [f"{x},{y},{cell if (x, y) == (0, 0) else 540}" for x in range(-3, 4) for y in range(-3, 4)]
    text = "\n".join(["x_mm,y_mm,thickness_um", *rows]).encode()
    with pytest.raises(EyeError, match="one number in a cell"):
        maps_of_table(text, Asked("OD", "right", "up"))


def test_an_error_of_a_reading_has_a_decimal_comma_as_every_number_has():
    """`4,5` was refused in the dialog and the command. Source: rule of fields: a decimal comma is read."""
    rows = "\n".join(f"{x},{y},540" for x in range(-3, 4) for y in range(-3, 4))
    found = maps_of_table(f"x_mm,y_mm,thickness_um\n{rows}".encode(), Asked("OD", "right", "up", sd_um="4,5"))
    assert surface_of(found["thickness_map"])[1].sd_um == 4.5


def test_an_error_of_a_reading_is_refused_for_an_epithelium_alone():
    """It was dropped without a word. Source: rule of maps: `sd_um` belongs to a map of the thickness."""
    rows = "\n".join(f"{x},{y},53" for x in range(-3, 4) for y in range(-3, 4))
    table = f"x_mm,y_mm,epithelium_um\n{rows}".encode()
    assert "epithelium_map" in maps_of_table(table, Asked("OD", "right", "up"))
    with pytest.raises(EyeError, match="sd_um: read 3; accepted nothing"):
        maps_of_table(table, Asked("OD", "right", "up", sd_um="3"))
