"""The follow-up by its command: names of the JSON, the account, notices, refusals; and the enhancement of today."""

import json

import pytest
from helpers import tissue as run

from tissue.command.command import main
from tissue.eye.reading import Reading
from tissue.followup.notices import on_day

PLAN = """schema = 1
code = "harbour-21"
[OD]
refraction = "-6.00 -0.50 x 170"
central_thickness_um = 548
thickness_method = " Scheimpflug"
done = "lenticule"
[[OD.reading]]
days = 30
method = "oct"
thickness_um = 447
epithelium_um = 57
refraction = "-0.25"
[[OD.reading]]
days = 180
method = "oct"
thickness_um = 449
cut_um = 124
bed_um = 327
K_D = 38.5
"""
STRIP = "value expected low high between_sd eye_sd place_percent rows series eyes".split()
LEDGER = (
    "planned_um not_removed_um grown_back_um method_um unexplained_um measured_um not_removed_sd_um grown_back_sd_um "
    "method_sd_um unexplained_sd_um"
).split()


def followed(capfdbinary, tmp_path, text=PLAN, *more):
    path = tmp_path / "plan.toml"
    path.write_text(text, "utf-8")
    code = main(["follow", str(path), *more])
    out, err = capfdbinary.readouterr()
    return code, out.decode(), err.decode()


def test_names_of_a_follow_up(capfdbinary, tmp_path):
    code, out, _ = followed(capfdbinary, tmp_path, PLAN, "--json")
    plan = json.loads(out)
    assert code == 0 and list(plan) == ["schema", "version", "code", "eyes"] and list(plan["eyes"]) == ["OD"]
    eye = plan["eyes"]["OD"]
    assert list(eye) == ["done", "readings", "bed", "state", "reserve", "notices"] and eye["done"] == "lenticule"
    first, second = eye["readings"]
    assert list(first) == ["days", "method", "strips", "ledger"] and (first["days"], first["method"]) == (30, "oct")
    assert list(first["strips"]) == ["thickness_um", "epithelium_um", "SE_D"]
    assert list(second["strips"]) == ["thickness_um", "cut_um", "bed_um", "K_D"]
    assert list(first["strips"]["SE_D"]) == STRIP and sorted(first["ledger"]) == sorted(LEDGER)
    bed = "mean_um sd_um low_um high_um below_line_percent".split()
    assert list(eye["bed"]["before"]) == bed and list(eye["bed"]["today"]) == [*bed, "min_um"]
    assert list(eye["state"]) == (
        "thickness_before_um epithelium_before_um removal_um cut_um epithelium_um cut_today_um".split()
    )
    assert list(eye["reserve"]) == "planned_um mean_um sd_um low_um high_um flap_least_um room_um".split()


def test_the_account_of_the_json_closes(capfdbinary, tmp_path):
    """planned − not removed − grown back − method − unexplained = measured, to 0.01 µm; oct less Scheimpflug −13.5."""
    eye = json.loads(followed(capfdbinary, tmp_path, PLAN, "--json")[1])["eyes"]["OD"]
    for reading, thickness in zip(eye["readings"], (447, 449), strict=True):
        ledger = reading["ledger"]
        parts = sum(ledger[f"{name}_um"] for name in ("not_removed", "grown_back", "method", "unexplained"))
        assert ledger["planned_um"] - parts == pytest.approx(ledger["measured_um"], abs=0.01)
        assert ledger["measured_um"] == 548 - thickness
        assert ledger["method_um"] < 0


def test_the_table_says_the_same_in_words(capfdbinary, tmp_path):
    _, out, _ = followed(capfdbinary, tmp_path)
    assert "OD (right eye)   lenticule extraction was done" in out and "Day 180, by OCT" in out
    assert "130 eyes, 2 series" in out and "= measured 101" in out and "bed today" in out
    assert "It says where a reading lies, not why." in " ".join(out.split())


@pytest.mark.parametrize(
    ("change", "id", "words"),
    [
        (("thickness_um = 449", "thickness_um = 520"), "outside-strip",
         "outside 95 of 100 published readings of this kind"),
        ((" Scheimpflug", "lamp"), "method-before", "SD of 10 µm, our choice"),
        (("thickness_um = 447", "thickness_um = 579"), "reading-thicker", "look at eye, day and method again"),
        (("x", "x"), "one-series", "strip of K"),
        (("days = 30", "days = 3000"), "no-rows", "spherical equivalent"),
    ],
)  # fmt: skip
def test_what_is_to_be_known_is_told(change, id, words, capfdbinary, tmp_path):
    eye = json.loads(followed(capfdbinary, tmp_path, PLAN.replace(*change), "--json")[1])["eyes"]["OD"]
    told = [notice["text"] for notice in eye["notices"] if notice["id"] == id]
    assert told and words in told[0]


def test_no_word_is_a_diagnosis(capfdbinary, tmp_path):
    _, out, _ = followed(capfdbinary, tmp_path, PLAN.replace("thickness_um = 449", "thickness_um = 530"))
    for word in ("ectasia", "abnormal", "normal", "safe", "fail", "suspicious", "warning"):
        assert word not in out.lower().replace("it does not say that an eye is fit for surgery", "")


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (('done = "lenticule"\n', ""), "OD: done: read nothing, accepted surface, flap or lenticule"),
        (("-6.00 -0.50 x 170", "0.00"), "OD: done: read lenticule, which has no figures"),
        (("thickness_um = 447", "thickness_um = 95"), "OD: reading 1: thickness_um: read 95, accepted 200 to 900 µm"),
    ],
)  # fmt: skip
def test_refused(change, line, capfdbinary, tmp_path):
    code, out, err = followed(capfdbinary, tmp_path, PLAN.replace(*change))
    assert code == 2 and not out and line in err


def test_a_plan_without_readings_is_refused_and_an_eye_without_them_left_out(capfdbinary, tmp_path):
    bare = PLAN.partition("[[OD")[0]
    assert "OD: reading: read nothing" in followed(capfdbinary, tmp_path, bare)[2]
    other = '[OS]\nrefraction = "-3.00"\ncentral_thickness_um = 550\n'
    assert list(json.loads(followed(capfdbinary, tmp_path, PLAN + other, "--json")[1])["eyes"]) == ["OD"]
    assert "OS: reading: read nothing" in followed(capfdbinary, tmp_path, PLAN + other + 'done = "flap"\n')[2]


def test_readings_do_not_move_the_plan(tmp_path):
    """`tissue plan` gives the same figures with and without them, as a process of its own."""
    with_, without = tmp_path / "a.toml", tmp_path / "b.toml"
    with_.write_text(PLAN, "utf-8")
    without.write_text(PLAN.partition("[[OD")[0].replace('done = "lenticule"\n', ""), "utf-8")
    one, other = (json.loads(run("plan", path, "--json").stdout) for path in (with_, without))
    assert one["eyes"]["OD"]["options"] == other["eyes"]["OD"]["options"]
    assert one["eyes"]["OD"]["errors_source"] is None


def test_the_enhancement_of_today_has_the_bed_of_today(capfdbinary, tmp_path):
    """CCT E[T], the cap E[c] as measured, r moved to E[r]: the reserve is that of the follow-up."""
    path = tmp_path / "plan.toml"
    path.write_text(PLAN, "utf-8")
    left = json.loads(followed(capfdbinary, tmp_path, PLAN, "--json")[1])["eyes"]["OD"]["reserve"]
    assert main(["enhance", str(path), "--residual", "-0.50", "--today", "--json"]) == 0
    today = json.loads(capfdbinary.readouterr().out)
    assert today["reserve_um"] == pytest.approx(left["mean_um"], abs=0.01)
    assert main(["enhance", str(path), "--residual", "-0.50", "--json"]) == 0
    assert json.loads(capfdbinary.readouterr().out)["reserve_um"] == pytest.approx(left["planned_um"], abs=0.01)


@pytest.mark.parametrize("done", ["flap", "surface"])
def test_only_an_extraction_has_an_enhancement_of_today(done, capfdbinary, tmp_path):
    path = tmp_path / "plan.toml"
    path.write_text(PLAN.replace('done = "lenticule"', f'done = "{done}"').replace("cut_um = 124\n", ""), "utf-8")
    assert main(["enhance", str(path), "--residual", "-0.50", "--today"]) == 2
    assert f"done: read {done}, accepted lenticule with --today" in capfdbinary.readouterr().err.decode()


def test_own_errors_of_a_plan_are_told(capfdbinary, tmp_path):
    own = 'schema = 1\nkind = "own errors"\nsource = "own series, 84 eyes"\n[errors]\nlenticule_bias_um = -3\n'
    (tmp_path / "own.toml").write_text(own, "utf-8")
    text = PLAN.replace('code = "harbour-21"', 'code = "harbour-21"\nerrors_from = "own.toml"')
    plain, mine = (json.loads(followed(capfdbinary, tmp_path, t, "--json")[1])["eyes"]["OD"] for t in (PLAN, text))
    assert mine["state"]["removal_um"]["mean_um"] > plain["state"]["removal_um"]["mean_um"]
    assert [n["text"] for n in mine["notices"] if n["id"] == "own-errors"] == [
        "The errors of the plan are own ones: own series, 84 eyes."
    ]
    assert run("plan", tmp_path / "plan.toml", "--json").stdout.decode().count("own series, 84 eyes") == 1


def test_days_are_said_as_people_say_them():
    assert [on_day(Reading(days, "oct")) for days in (0, 1, -1, -20)] == [
        "day 0", "day 1", "1 day before surgery", "20 days before surgery",
    ]  # fmt: skip
