"""The evidence tables hold together: published eyes give their printed sums, lines and rules point at what exists."""

import csv
import tomllib
from pathlib import Path

import pytest
from published_eyes import EYES, altered, bed, numbers, removed

from tissue.ground.sources import data

PUBLISHED = Path(__file__).parent / "published"
FIELDS = tomllib.loads((Path(__file__).parents[1] / "tissue" / "entry" / "fields.toml").read_text("utf-8"))


def depth_per_dioptre(case_id):
    """Depth that the reported bed leaves under a 160 µm flap, over the steepest meridian."""
    thickness, reported, sphere, cylinder = numbers(case_id, "cct_um", "rsb_reported_um", "sphere_D", "cyl_D")
    return (thickness - 160.0 - reported) / -(sphere + cylinder)


SUMS = {
    "bed_central_um": bed,
    "altered_percent": altered,
    "removed_percent": removed,
    "total_um": lambda case_id: sum(numbers(case_id, "flap_or_cap_um", "rsb_reported_um")),
    "depth_per_dioptre_um": depth_per_dioptre,
    "bed_reported_um": lambda case_id: numbers(case_id, "rsb_reported_um")[0],
}


def sums():
    with (PUBLISHED / "eyes.csv").open(encoding="utf-8") as file:
        return [row for row in csv.DictReader(file) if row["quantity"] in SUMS]


@pytest.mark.parametrize("row", sums(), ids=lambda row: row["check"])
def test_sums_of_the_published_eyes(row):
    value = SUMS[row["quantity"]](row["case_id"])
    assert value == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize("rule", data("rules_of_thumb").values(), ids=list(data("rules_of_thumb")))
def test_rules_point_at_eyes_and_lines(rule):
    assert set(rule["eyes"]) <= set(EYES)
    assert rule.get("line", "bed") in data("lines")


@pytest.mark.parametrize("line", data("lines").values(), ids=list(data("lines")))
def test_a_line_has_a_source_a_purpose_and_what_speaks_against_it(line):
    assert line["source"] and line["meant_for"] and line["against"] and line["status"] in "PCMT"


def test_one_line_is_drawn_unless_changed():
    """The default draws 250 only."""
    assert [line["value"] for line in data("lines").values() if line["default"]] == [250]


def test_ectatic_eyes_on_the_good_side_of_a_line():
    """The eyes said to break a line are ectatic in the table and lie on its good side by their own numbers."""
    assert all(
        "ectasia" in EYES[eye]["outcome"]
        for rule in ("altered_under_40", "index_under_28")
        for eye in data("rules_of_thumb")[rule]["eyes"]
    )
    assert altered("L07") < data("lines")["altered"]["value"] and bed("L07") > 300
    assert removed("S01") < data("lines")["lenticule_share"]["value"]
    for eye in data("rules_of_thumb")["bed_over_300"]["eyes"]:
        assert "ectasia" in EYES[eye]["outcome"]
        assert float(EYES[eye]["rsb_reported_um"] or bed(eye)) > 300


@pytest.mark.parametrize(("way", "per_100000"), [("surface", 20), ("flap", 90), ("lenticule", 11)])
def test_counts_give_their_printed_rates(way, per_100000):
    """Rates per 100,000 as printed (Ophthalmol Ther 2021;10), in whole numbers."""
    reports = [one for one in data("counts")["ectasia"] if one["source"] == "moshirfar2021"]
    (entry,) = [one for one in reports if one["way"] == way]
    assert len(reports) == 3 and round(100_000 * entry["count"] / entry["of"]) == per_100000
    assert "no incidence" in entry["caveat"]


def test_counts_are_shares_of_something():
    for group in data("counts").values():
        for entry in group:
            assert "percent" in entry or 0 <= entry["count"] <= entry["of"]


def test_contradictions_are_complete():
    """Twenty-three findings and six limits, each finding with a source; those against the model's order come first."""
    table = data("contradictions")
    assert (len(table["finding"]), len(table["limit"])) == (23, 6)
    first = [key for entry in table["finding"][:4] for key in entry["sources"]]
    assert first == ["cap_thickness2020", "chen2023", "matched227", "guo2019"]
    assert all(entry["sources"] and entry["text"].endswith(".") for entry in table["finding"])


def test_defaults_are_the_published_figures_they_say_they_are():
    """An error row or a line that names an input holds the very number that the input takes when nothing is given."""
    for row in data("errors")["error"]:
        for name in row.get("default_of", ()):
            assert FIELDS[name]["default"] == row["bias" if "bias" in name else "sd"]
    for line in data("lines").values():
        assert "field" not in line or FIELDS[line["field"]]["default"] == line["value"]


def test_defaults_lie_near_the_published_normal_cornea():
    """A default is a published mean or lies between two; it is rounded to the step of its field."""
    for name in ("radius_mm", "asphericity", "epithelium_um", "white_to_white_mm"):
        figures = [row for row in data("normals")["figure"] if row.get("field") == name]
        ends = [row[key] for row in figures for key in ("value", "low", "high") if key in row]
        half = FIELDS[name]["step"] / 2
        assert min(ends) - half <= FIELDS[name]["default"] <= max(ends) + half


def test_flap_default_is_the_mean_of_the_three_published_flaps():
    """+4 and 5 are the means of the three femtosecond flaps (Korean J Ophthalmol 2011;25:8), rounded."""
    flaps = [row for row in data("errors")["error"] if row["source"] == "kim2011"]
    bias, spread = (sum(row[key] for row in flaps) / len(flaps) for key in ("bias", "sd"))
    assert FIELDS["flap_bias_um"]["default"] == round(bias) and FIELDS["flap_sd_um"]["default"] == round(spread)
