"""What machines and the terminal are told of rescue options and of an enhancement: names, nulls, notices, words."""

import json
import re

import pytest

from tissue import CapCut, Cornea, Judgement, Refraction, Treatment, compare
from tissue.budget.strength.relationship import relationships
from tissue.ground.sources import data
from tissue.ground.vocabulary import STAGES
from tissue.report.measures import STANDING_LINE
from tissue.report.routes_json import enhance_report, rescue_report
from tissue.report.routes_terminal import enhance_table, rescue_table
from tissue.routes.enhancement import enhancement
from tissue.routes.ways import ANOTHER_DAY, PROTOCOL, enhancement_ways, rescue_ways, suction_counts

ROUTE = (
    "id text cut_um removal_central_um bed_central_um bed_min_um altered_percent strength_percent clearance_min_um "
    "clearance_x_mm clearance_y_mm available why_not source"
).split()
RESCUE = "schema eye routes notices cut_radius_mm seconds thickest_flap_um".split()
ENHANCE = "schema eye routes notices reserve_um".split()
RESIDUAL = Refraction(-0.75, -0.25, 90.0)
WAYS = [*rescue_ways().values(), *enhancement_ways().values()]


def plan(sphere=-6.0, cap=None, line=250.0, margin=30.0):
    judgement = Judgement(bed_line_um=line, margin_um=margin)
    return compare(Cornea(550.0), Treatment(Refraction(sphere)), cap=cap or CapCut(), judgement=judgement)


def ids(report):
    return [notice["id"] for notice in report["notices"]]


@pytest.mark.parametrize("sphere", [-6.0, 0.0, 3.0])
@pytest.mark.parametrize("stage", STAGES)
def test_rescue_has_the_names_of_the_interface(stage, sphere):
    """Strict JSON with exactly those names; null where a figure cannot be given."""
    report = rescue_report(plan(sphere), "OD", stage, 0.5)
    assert json.loads(json.dumps(report, allow_nan=False)) == report
    assert sorted(report) == sorted(RESCUE) and report["eye"] == "OD" and report["schema"] == 1
    assert all(list(route) == ROUTE for route in report["routes"])
    assert all(list(route["strength_percent"]) == list(relationships()) for route in report["routes"])
    assert (report["cut_radius_mm"] is None) == (stage in ("lenticule-side", "incision"))


@pytest.mark.parametrize("residual", [RESIDUAL, Refraction(0.0), Refraction(2.0)])
def test_enhance_has_the_names_of_the_interface(residual):
    report = enhance_report(plan(), "OS", residual)
    assert json.loads(json.dumps(report, allow_nan=False)) == report
    assert sorted(report) == sorted(ENHANCE) and report["eye"] == "OS"
    assert [route["id"] for route in report["routes"]] == ["surface", "thin-flap", "cap-to-flap", "deeper-lenticule"]
    assert all(list(route) == ROUTE for route in report["routes"])


def test_a_route_that_is_not_there_has_a_sentence_and_no_bed():
    """One sentence with the missing µm; bed, PTA and strengths null."""
    for route in enhance_report(plan(), "OD", RESIDUAL)["routes"]:
        if route["available"]:
            assert route["why_not"] is None and route["bed_central_um"] > 0
        else:
            assert re.fullmatch(r"[^.]*\d+ µm are missing\.", route["why_not"])
            assert route["bed_central_um"] is route["bed_min_um"] is route["altered_percent"] is None
            assert set(route["strength_percent"].values()) == {None}


def test_a_new_cut_nearer_than_the_margin_is_a_notice():
    """−6 D at 12 mm, flap 90: 120 + 15 − 90 − 15.5 ≈ 29.5, just short of 30; a margin of 20 is kept (C)."""
    near, far = (rescue_report(plan(-6.0, margin=margin), "OD", "lenticule", 0.5) for margin in (30.0, 20.0))
    assert ids(near)[:2] == ["clearance", "abandoned-cut"] and "clearance" not in ids(far)
    text = near["notices"][0]["text"]
    assert near["notices"][0]["field"] == "rescue_flap_um" and "30 µm margin" in text


def test_the_notice_says_what_would_end_it():
    """The thickest flap, or that none of 60 µm or more keeps the margin (model §9)."""
    some = rescue_report(plan(), "OD", "lenticule", 0.5)
    assert f"A flap of {int(some['thickest_flap_um'])} µm would end this" in some["notices"][0]["text"]
    none = rescue_report(plan(cap=CapCut(cap_um=100.0)), "OD", "lenticule", 0.5)
    assert none["thickest_flap_um"] and "A flap of" in none["notices"][0]["text"]
    through = rescue_report(plan(), "OD", "cap", 0.5)
    flap = next(route for route in through["routes"] if route["id"] == "flap")
    assert through["thickest_flap_um"] is None and not flap["available"] and "cut already" in flap["why_not"]


def test_a_recut_at_the_abandoned_depth_is_said():
    report = rescue_report(plan(cap=CapCut(recut_cap_um=120.0)), "OD", "lenticule", 0.5)
    assert [n["field"] for n in report["notices"] if n["id"] == "clearance"] == ["rescue_flap_um", "recut_cap_um"]


@pytest.mark.parametrize("stage", ["lenticule-side", "cap"])
def test_going_on_with_the_plan_abandons_no_cut(stage):
    """No new plan, no notice on tissue beside an abandoned cut."""
    assert rescue_report(plan(), "OD", stage, 0.0)["notices"] == []


def test_beds_under_the_line_are_said_for_new_plans_only():
    """The missing µm of each new plan whose bed is under the line the user draws."""
    report = enhance_report(plan(line=320.0), "OD", RESIDUAL)
    under = [n for n in report["notices"] if n["id"] == "under-line"]
    low = {r["id"]: 320.0 - r["bed_min_um"] for r in report["routes"] if r["id"] in ("cap-to-flap", "deeper-lenticule")}
    assert [n["option"] for n in under] == ["flap", "lenticule"]
    assert all(
        f"{short:.0f} µm under the 320 µm line" in n["text"] for n, short in zip(under, low.values(), strict=True)
    )


def test_missing_strengths_are_said():
    for report in (rescue_report(plan(3.0), "OD", "lenticule", 0.5), enhance_report(plan(), "OD", Refraction(2.0))):
        assert "off-centre" in ids(report)
        assert {r["strength_percent"]["reinstein2013"] for r in report["routes"]} == {None}


def test_another_day_stands_above_the_ways_at_every_stage():
    """The sentence of the model, word for word."""
    assert ANOTHER_DAY == "Stopping here and planning again another day remains an option."
    for stage in STAGES:
        text = rescue_table(rescue_report(plan(), "OD", stage, 0.5), stage, 0.5)
        assert text.index(ANOTHER_DAY) < text.index("Described in")
        assert PROTOCOL in text and " ".join(text.split()).endswith(STANDING_LINE)


@pytest.mark.parametrize("way", WAYS, ids=lambda way: way.id)
def test_a_way_is_described_and_no_instruction(way):
    """Each begins with what is done (Docking, Cutting …), names where it is described, with a status."""
    assert way.what.split()[0].endswith("ing")
    assert f"Described in: {way.source}" in way.text
    groups = [data("ways_out")[group]["ways"] for group in ("rescue", "enhancement")]
    (described,) = [ways[way.id]["described"] for ways in groups if ways.get(way.id, {}).get("name") == way.name]
    assert described and {place["status"] for place in described} <= set("PTM")


def test_counts_stand_over_counts_and_add_up():
    """20 of 4,000 (Acta Ophthalmol 2020) and 27 of 12,057 (J Refract Surg 2020;36(5):308-316), by stage (P)."""
    for key, cases in (("suction_acta2020", 20), ("suction2020", 27)):
        by_stage = [row["count"] for row in data("counts")["suction"] if row["source"] == key and "stage" in row]
        assert sum(by_stage) == cases
    went_on = [r["count"] for r in data("counts")["suction"] if r["source"] == "suction_acta2020" and r["of"] == 20]
    assert sum(went_on) == 40  # stages 7 + 1 + 9 + 3, then ways 7 + 4 + 8 + 1
    assert "20 of 4,000" in suction_counts()[1] and "27 of 12,057" in suction_counts()[2]


def test_lost_suction_is_pooled_over_all_series():
    """Seven series: .50 %, a new centre .07 to 3.7 % (C, from the printed counts); the years of two series are told."""
    first, *each = suction_counts()
    assert "0.50 % of eyes" in first and "0.07 to 3.7 %" in first
    assert sum("by year" in words for words in each) == 2


def test_the_table_of_a_second_correction_shows_the_trade_of_the_cap():
    """A cap of 120 closes the thin flap; the cap that would keep it open, its cost in bed, and 135 to 145 (P)."""
    comparison = plan()
    found = enhancement(comparison, RESIDUAL)
    text = " ".join(enhance_table(enhance_report(comparison, "OD", RESIDUAL), comparison, found).split())
    needs = int(found.cap_needed_um) + 1
    assert f"needs a cap of {needs} µm: {needs - 120} µm more than this one, and as much less bed" in text
    assert "135 to 145 µm" in text and "± 11 µm" in text
    assert all(f"after {words}" in text for words in ("a flap: lifting it", "surface ablation: surface ablation again"))


def test_no_word_is_a_verdict():
    """House rule: never safe, unsafe, pass, fail, suitable, candidate."""
    texts = [rescue_table(rescue_report(plan(s), "OD", stage, 0.5)) for stage in STAGES for s in (-6.0, 3.0)]
    texts += [enhance_table(enhance_report(plan(), "OD", r)) for r in (RESIDUAL, Refraction(-6.0))]
    for text in texts:
        assert not re.search(r"\b(un)?safe|\bpass|\bfail|\bsuitable|\bcandidate", text.lower())
