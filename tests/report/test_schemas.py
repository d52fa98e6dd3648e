"""What the commands print is what their shipped schemas say, by the jsonschema library (draft 2020-12)."""

import json
import re

import pytest
from helpers import ROOT
from schema_cases import faults

from tissue.command.cite import SCHEMAS
from tissue.command.command import main

DEMOS = sorted((ROOT / "demo_profiles").glob("*.toml"))
RESCUES = [("lenticule", "0.3"), ("lenticule-side", "1"), ("cap", "0.5"), ("incision", "0")]


def said(capsysbinary, *arguments):
    """The JSON that a command prints; None where it refuses the input in one way or another."""
    code = main([*map(str, arguments), "--json"])
    out = capsysbinary.readouterr().out
    return json.loads(out) if code == 0 else None


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_plans_of_all_demos(demo, capsysbinary):
    printed = said(capsysbinary, "plan", demo)
    assert printed is not None and faults("plan", printed) == []
    for side in printed["eyes"]:
        for stage, done in RESCUES:
            found = said(capsysbinary, "rescue", demo, "--eye", side, "--stage", stage, "--done", done)
            assert found is None or faults("rescue", found) == []
        found = said(capsysbinary, "enhance", demo, "--eye", side, "--residual", "-0.75 -0.25 x 90")
        assert found is None or faults("enhance", found) == []


def test_mechanics(capsysbinary):
    demo = ROOT / "demo_profiles" / "harbour-03_moderate_myopia.toml"
    assert faults("mechanics", said(capsysbinary, "mechanics", demo, "--eye", "OD")) == []


LETTER = """Dear colleague,
Right: -4.50 -1.25 x 12, CCT 548, pupil 6.2 mesopic
Left: 5.00, CCT 551 / 540
She wore contact lenses until May.
"""


def test_letter(tmp_path, capsysbinary):
    file = tmp_path / "letter.txt"
    file.write_text(LETTER, encoding="utf-8")
    assert faults("letter", said(capsysbinary, "letter", file)) == []


def test_a_schema_refuses_what_is_not_so(capsysbinary):
    """The check can fail: a missing name, a word for a number, a name that nobody knows."""
    printed = said(capsysbinary, "plan", DEMOS[0])
    side = next(iter(printed["eyes"]))
    flap = printed["eyes"][side]["options"]["flap"]
    flap["bed_min_um"], flap["bed_minimum_um"] = "300", 300
    del flap["cut_um"]
    assert len(faults("plan", printed)) == 3


@pytest.mark.parametrize("letter", sorted((ROOT / "tests" / "letters").glob("*.txt")), ids=lambda path: path.stem)
def test_invented_letters(letter, capsysbinary):
    assert faults("letter", said(capsysbinary, "letter", letter)) == []


FOLLOWED = """schema = 1
[OD]
refraction = "-6.00 -0.50 x 170"
central_thickness_um = 548
done = "{done}"
[[OD.reading]]
days = 30
method = "oct"
thickness_um = 447
epithelium_um = 57
refraction = "-0.25"
[[OD.reading]]
days = 200
method = "scheimpflug"
thickness_um = 452
K_D = 38.5
"""


@pytest.mark.parametrize("done", ["surface", "flap", "lenticule"])
def test_follow(done, tmp_path, capsysbinary):
    plan = tmp_path / "plan.toml"
    plan.write_text(FOLLOWED.format(done=done), encoding="utf-8")
    assert faults("follow", said(capsysbinary, "follow", plan)) == []


TYPED = ['refraction = "-6.00 -1.25 x 17"\ncentral_thickness_um = 584', "zone_mm = 6.5", 'refraction = "+6.00"']


@pytest.mark.parametrize("typed", TYPED)
def test_readback(typed, tmp_path, capsysbinary):
    file = tmp_path / "typed.toml"
    file.write_text(f"schema = 1\n[OD]\n{typed}\n", encoding="utf-8")
    assert faults("readback", said(capsysbinary, "readback", DEMOS[2], file)) == []


def test_own(tmp_path, capsysbinary):
    file = tmp_path / "eyes.csv"
    rows = [f"harbour-{i // 2},OD,120,{118 + i % 7}" for i in range(40)]
    file.write_text("patient,side,cap_um,cap_measured_um\n" + "\n".join([*rows, "harbour-99,OD,120,x"]) + "\n")
    printed = said(capsysbinary, "own", file)
    assert printed is not None and faults("own", printed) == []


@pytest.mark.parametrize("law", ["isotropic", "transverse", "fibre"])
def test_mechanics_of_every_law(law, capsysbinary):
    demo = ROOT / "demo_profiles" / "harbour-03_moderate_myopia.toml"
    printed = said(capsysbinary, "mechanics", demo, "--eye", "OD", "--law", law, "--no-spread")
    assert faults("mechanics", printed) == []


def test_mechanics_in_three_dimensions(capsysbinary):
    demo = ROOT / "demo_profiles" / "harbour-03_moderate_myopia.toml"
    printed = said(capsysbinary, "mechanics", demo, "--eye", "OD", "--three-d", "--mesh", "coarse", "--no-spread")
    assert "three_d" in printed and faults("mechanics", printed) == []


def test_every_schema_that_is_shipped_can_be_asked_for_and_is_laid_beside_an_output():
    """None is shipped that no test holds an output to; `schema NAME` knows all of them."""
    shipped = {path.stem for path in (ROOT / "tissue" / "data" / "schemas").glob("*.json")}
    tests = "".join(path.read_text("utf-8") for path in (ROOT / "tests").rglob("test_*.py"))
    assert shipped == set(SCHEMAS)
    assert [name for name in SCHEMAS if not re.search(rf'(faults|schema_text)\("{name}"', tests)] == []
