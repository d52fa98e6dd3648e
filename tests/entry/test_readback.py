"""Read-back: what was typed beside what is planned. Source: the interface of the command; the hash by hashlib."""

import hashlib
import json

import pytest
from helpers import plan_text, tissue
from pypdf import PdfReader

from tissue.entry.plan_file import dumps, read_plan

OD = {"refraction": "-6.00 -3.75 x 10", "central_thickness_um": 548, "thinnest_um": 540, "zone_mm": 6.4}
OS = {"refraction": "-5.00 -1.00 x 170", "central_thickness_um": 551}
WHOLE = {"refraction": "-9.75 +3.75 x 100", "central_thickness_um": "0.548 mm", "zone_mm": 6.4, "cap_um": 120}
TREATED = {"treated_sphere_D": -6.0, "treated_cylinder_D": -3.75, "treated_axis_deg": 170}
SECOND = {"refraction": "-5.00 -1.00 x 170", "central_thickness_um": 551, "zone_mm": 6.5, "flap_um": 110}


@pytest.fixture
def run(tmp_path):
    def back(plan, typed, *more, code=0):
        for name, eyes in (("plan", plan), ("typed", typed)):
            (tmp_path / f"{name}.toml").write_text(plan_text(**eyes), encoding="utf-8")
        done = tissue("readback", tmp_path / "plan.toml", tmp_path / "typed.toml", *more)
        assert done.returncode == code, done.stderr.decode()
        return json.loads(done.stdout) if "--json" in more and not code else done

    return back


def test_all_agrees_in_the_other_form_and_unit(run):
    report = run({"OD": OD, "OS": OS}, {"OD": WHOLE, "OS": SECOND}, "--json")
    assert report["agrees"] and all(eye["agrees"] and not eye["not_typed"] for eye in report["eyes"].values())


def test_the_hash_is_that_of_the_values_used(run):
    lines = [
        "OD.sphere_D=-6", "OD.cylinder_D=-3.75", "OD.axis_deg=10", "OD.central_thickness_um=548", "OD.zone_mm=6.4",
        "OD.cap_um=120", "OD.flap_um=110", "OS.sphere_D=-5", "OS.cylinder_D=-1", "OS.axis_deg=170",
        "OS.central_thickness_um=551", "OS.zone_mm=6.5", "OS.cap_um=120", "OS.flap_um=110", "OS.procedure=flap",
    ]  # fmt: skip
    wanted = hashlib.sha256("\n".join(lines).encode()).hexdigest()[:12]
    assert run({"OD": OD, "OS": OS | {"procedure": "flap"}}, {"OD": WHOLE}, "--json")["of"] == wanted


def test_what_was_not_typed(run):
    eyes = run({"OD": OD, "OS": OS | {"procedure": "lenticule"}}, {"OD": {"zone_mm": 6.4}}, "--json")["eyes"]
    assert eyes["OD"]["not_typed"] == ["refraction", "central_thickness_um", "cap_um", "flap_um"]
    assert eyes["OS"]["not_typed"] == ["refraction", "central_thickness_um", "zone_mm", "procedure", "cap_um"]
    assert not eyes["OD"]["agrees"] and eyes["OD"]["differences"] == []


@pytest.mark.parametrize(
    ("typed", "field", "names"),
    [
        ({"refraction": "-6.00 -3.75 x 100"}, "refraction", ["axis-digit", "axis-90", "cylinder-form"]),
        ({"refraction": "+6.00 -3.75 x 10"}, "refraction", ["sign"]),
        ({"refraction": "-5.00 -1.00 x 170"}, "refraction", ["fellow-eye"]),
        ({"central_thickness_um": 540}, "central_thickness_um", ["thinnest-for-centre"]),
        ({"central_thickness_um": 551}, "central_thickness_um", ["fellow-eye"]),
        ({"central_thickness_um": 584}, "central_thickness_um", ["digits"]),
        ({"zone_mm": 4.6}, "zone_mm", ["digits"]),
        ({"zone_mm": 6.5}, "zone_mm", ["fellow-eye"]),
        ({"cap_um": 210}, "cap_um", ["digits"]),
        (TREATED, "treated", ["axis-digit", "axis-mirrored"]),
        ({"epithelium_um": 60}, "epithelium_um", []),
    ],
)
def test_a_difference_is_named(run, typed, field, names):
    differences = run({"OD": OD, "OS": OS}, {"OD": typed, "OS": SECOND}, "--json")["eyes"]["OD"]["differences"]
    assert [(one["field"], one["names"]) for one in differences] == [(field, names)]
    assert (differences[0]["residual"] is not None) == (field in ("refraction", "treated"))


@pytest.mark.parametrize(
    ("typed", "same"),
    [("-6.004 -3.75 x 10", True), ("-6.006 -3.75 x 10", False), ("-6 -3.75 x 10.05", True), ("-6 -3.75 x 10.2", False)],
)
def test_how_near_is_the_same(run, typed, same):
    eye = run({"OD": OD}, {"OD": WHOLE | {"refraction": typed}}, "--json")["eyes"]["OD"]
    assert eye["agrees"] == same


def test_the_residual_is_plan_less_typed(run):
    report = run({"OD": OD}, {"OD": {"refraction": "-6.00 -3.75 x 100"}}, "--json")
    left = report["eyes"]["OD"]["differences"][0]["residual"]
    three = [left[name] for name in ("sphere_D", "cylinder_D", "axis_deg", "size_D")]
    assert three == pytest.approx([3.75, -7.5, 10.0, 3.75])


def test_the_only_eye_typed_under_the_other(run):
    eyes = run({"OD": OD}, {"OS": WHOLE}, "--json")["eyes"]
    assert [(one["field"], one["typed"], one["names"]) for one in eyes["OS"]["differences"]] == [
        ("eye", "OS", ["other-eye"])
    ]
    assert len(eyes["OD"]["not_typed"]) == 5


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"OD": {"zone_mm": 65}}, "zone_mm: read 65"),
        ({"OD": {"sphere_D": "6.00"}}, "sphere_D: read 6.00 without a sign"),
        ({"OD": {"refraction": "-6.00 -3.75"}}, "refraction: read -6.00 -3.75"),
        ({"OD": {"treated_sphere_D": -6.0}}, "treated_cylinder_D: read nothing"),
        ({"OD": {"zoned_mm": 6.4}}, "zoned_mm: read an unknown name"),
    ],
)
def test_typed_wrongly_is_refused(run, typed, words):
    assert words in run({"OD": OD}, typed, "--json", code=2).stderr.decode()


def test_out_keeps_it_and_the_record_says_it(run, tmp_path):
    out = tmp_path / "out.toml"
    run({"OD": OD}, {"OD": WHOLE}, "--out", out, "--date", "2026-11-29")
    plan = read_plan(out)
    assert plan.readback["agrees"] and plan.readback["date"] == "2026-11-29" and plan.readback["differences"] == []
    assert read_plan(dumps(plan).encode()).readback == plan.readback
    assert "Read back 2026-11-29: agrees." in _record(out, tmp_path)
    out.write_text(out.read_text("utf-8").replace("6.4", "6.5"), encoding="utf-8")
    assert "agrees. The plan was changed since." in _record(out, tmp_path)
    run({"OD": OD}, {"OD": WHOLE | {"zone_mm": 4.6}}, "--out", out)
    page = _record(out, tmp_path)
    assert "Optical zone: planned 6.4 mm, typed 4.6 mm" in page
    assert "Not read back." in _record(tmp_path / "plan.toml", tmp_path)


def _record(plan, folder):
    assert tissue("record", plan, folder / "page.pdf").returncode == 0
    return " ".join(" ".join(page.extract_text() for page in PdfReader(folder / "page.pdf").pages).split())


@pytest.mark.parametrize("wrong", ['of = "xyz"', "agrees = 1", "differences = [1]", "date = 3", "who = 1"])
def test_a_kept_readback_that_is_none_is_refused(wrong):
    text = plan_text(OD=OD) + f'[readback]\nof = "0123456789ab"\nagrees = true\n{wrong}\n'
    lines = text.splitlines()
    name = wrong.split(" ")[0]
    kept = [line for line in lines if not (line.startswith(name) and line != wrong)]
    with pytest.raises(ValueError, match=f"readback.{name}"):
        read_plan("\n".join(kept).encode())


def test_out_is_none_of_its_sources(run, tmp_path):
    assert "made from" in run({"OD": OD}, {"OD": WHOLE}, "--out", tmp_path / "plan.toml", code=2).stderr.decode()
