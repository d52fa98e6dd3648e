"""`tissue sight`: JSON by its schema, refusals, notices, and the table."""

import json

import jsonschema
import pytest
from helpers import ROOT

from tissue.command.cite import schema_text
from tissue.command.command import main

DEMOS = sorted((ROOT / "demo_profiles").glob("*.toml"))
DEMO = next(path for path in DEMOS if "harbour-03" in path.name)
PLAN = 'schema = 1\n[OD]\nrefraction = "-6.00"\ncentral_thickness_um = 548\n'


DEEP = PLAN.replace("-6.00", "-9.00").replace("548", "480")


@pytest.fixture
def sight(capsysbinary):
    def run(*arguments):
        code = main(["sight", *map(str, arguments)])
        out, err = capsysbinary.readouterr()
        return code, out.decode(), err.decode()

    return run


def report(sight, *arguments):
    code, out, err = sight(*arguments, "--json")
    assert code == 0, err
    return json.loads(out)


def plan_file(folder, more="", text=PLAN):
    file = folder / "plan.toml"
    file.write_text(text + more, encoding="utf-8")
    return file


@pytest.mark.parametrize("demo", DEMOS, ids=lambda path: path.stem)
def test_every_demo_is_what_the_schema_says(demo, sight):
    """Source: the shipped schema, by the jsonschema library; an eye is named where a file has two."""
    checker = jsonschema.Draft202012Validator(json.loads(schema_text("sight")))
    for side in ("OD", "OS"):
        code, out, err = sight(demo, "--eye", side, "--json")
        if code:
            assert "asphericity" in err or f"[{side}]" in err
            continue
        assert list(checker.iter_errors(json.loads(out))) == []


def test_flags_bring_their_keys_and_no_others(tmp_path, sight):
    plain = report(sight, plan_file(tmp_path))
    assert {"ladder", "step", "offsets", "through_focus"} & set(plain) == set()
    assert (plain["light"], plain["smoothing_mm"], plain["stiles_crawford_per_mm2"]) == ("555", 0, 0)
    assert plain["eye_c40_um"] == 0.128 and plain["before"]["c40_change_um"] == 0
    assert plain["before"]["outside_zone_percent"] is None
    full = report(
        sight, plan_file(tmp_path), "--ladder", "--offsets", "--through-focus", "--pupil", 3, "--white", "--smoothed",
        "--stiles-crawford", 0.05, "--eye-c40", -0.1,
    )  # fmt: skip
    assert (full["light"], full["smoothing_mm"], full["eye_c40_um"], full["pupil_mm"]) == ("white", 0.42, -0.1, 3)
    assert full["options"]["flap"]["strehl"] is None
    assert [rung["zone_mm"] for rung in full["ladder"]] == pytest.approx([5.5 + 0.1 * i for i in range(21)])
    assert [rung["offset_mm"] for rung in full["offsets"]] == pytest.approx([0.1 * i for i in range(11)])
    assert [rung["defocus_D"] for rung in full["through_focus"]] == [-1 + 0.125 * i for i in range(17)]
    plan, wider = full["ladder"][10]["options"]["flap"], full["ladder"][11]["options"]["flap"]
    assert full["step"]["flap"] == pytest.approx({name: wider[name] - plan[name] for name in plan})
    checker = jsonschema.Draft202012Validator(json.loads(schema_text("sight")))
    assert list(checker.iter_errors(full)) == []


def test_ladder_stays_within_the_zones_of_a_plan(tmp_path, sight):
    found = report(sight, plan_file(tmp_path, "zone_mm = 8.8\n"), "--ladder", "--pupil", 3)
    assert [found["ladder"][end]["zone_mm"] for end in (0, -1)] == pytest.approx([7.8, 9.0])
    assert found["step"]["lenticule"]["bed_min_um"] < 0


def test_an_option_that_is_not_available_is_null(tmp_path, sight):
    found = report(sight, plan_file(tmp_path, "flap_um = 250\nzone_mm = 8\n", DEEP), "--ladder", "--pupil", 3)
    assert found["options"]["flap"] is None and found["step"]["flap"] is None
    assert found["ladder"][0]["options"]["flap"] is not None
    assert found["options"]["surface"] is not None


@pytest.mark.parametrize(
    ("more", "arguments", "line"),
    [
        ("", ("--pupil", "9.5"), "sight: pupil: read 9.5, accepted 2 to 9 mm"),
        ("", ("--pupil", "nan"), "sight: pupil: read nan, accepted 2 to 9 mm"),
        ("pupil_mm = 1.5\n", (), "sight: pupil_mm: read 1.5, accepted 2 to 9 mm"),
        ("", ("--stiles-crawford", "0.3"), "sight: stiles-crawford: read 0.3, accepted 0 to 0.2 /mm²"),
        ("", ("--eye-c40", "1.5"), "sight: eye-c40: read 1.5, accepted −0.5 to 1 µm"),
    ],
)
def test_refused_and_nothing_written(more, arguments, line, tmp_path, sight):
    code, out, err = sight(plan_file(tmp_path, more), *arguments)
    assert (code, out, err.strip()) == (2, "", line)


def test_a_surface_that_ends_within_the_pupil_is_refused(tmp_path, sight):
    more = "asphericity = 1.8\nradius_mm = 6.5\nzone_mm = 5\n"
    code, out, err = sight(plan_file(tmp_path, more), "--pupil", "9")
    assert (code, out) == (2, "")
    assert err.strip() == "sight: asphericity: read 1.8, accepted a front surface that reaches past the pupil"


def test_notices(tmp_path, sight):
    past = report(sight, plan_file(tmp_path, "ablation_blend_mm = 0.5\n"), "--pupil", 8)
    said = {notice["option"]: notice for notice in past["notices"]}
    assert said["flap"]["id"] == "sight-past-zone"
    assert said["flap"]["text"].startswith(
        "Flap ablation: 21.9 % of the pupil lies in the blend and 12.1 % is untreated"
    )
    assert report(sight, plan_file(tmp_path), "--pupil", 5)["notices"] == []
    off = report(sight, plan_file(tmp_path, "centre_x_mm = 2.0\nzone_mm = 4\npupil_x_mm = -1\n"), "--pupil", 3)
    assert {notice["id"] for notice in off["notices"]} == {"sight-off-zone"}
    assert off["options"]["flap"]["mtf_10"] is None and off["options"]["flap"]["outside_zone_percent"] > 75


def test_hyperopia_is_computed(tmp_path, sight):
    text = 'schema = 1\n[OD]\nrefraction = "+3.00"\ncentral_thickness_um = 548\n'
    assert 0 < report(sight, plan_file(tmp_path, text=text))["options"]["flap"]["mtf_10"] < 1


def test_table_says_what_it_is_not(sight):
    code, out, _ = sight(DEMO, "--eye", "OD", "--offsets", "--pupil", 4)
    assert code == 0
    assert "Not acuity, satisfaction or symptoms" in out and "does not say that an" in out
    assert "Light within 10′, %" in out and "Treatment centre beside the pupil's, mm" in out
