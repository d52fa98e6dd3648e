"""What the mechanics hand to machines and to the terminal."""

import json

import pytest

from tissue import Cornea, Refraction, Treatment, compare
from tissue.budget.strength.relationship import relationships
from tissue.mechanics import SLIDER, STATES, Choice
from tissue.mechanics.laws.choice import under
from tissue.report.mechanics_json import mechanics_report, mechanics_table

# the names of the interface and of the plan of the mechanics
NAMES = {
    "bed_stress_ratio",
    "bed_strain_ratio",
    "cap_stress_ratio",
    "load_share_percent",
    "closing_strain_percent",
    "closing_strain_other_percent",
    "apex_ratio",
}


@pytest.fixture(scope="module")
def report():
    plan = compare(Cornea(548.0, 543.0, -0.6, -0.5), Treatment(Refraction(-6.0, -1.25, 170.0)))
    return mechanics_report(plan, "OD", setting=SLIDER)


def test_names_of_the_interface(report):
    assert {"schema", "eye", "states"} <= set(report)
    assert tuple(report["states"]) == STATES
    for state in report["states"].values():
        assert NAMES <= set(state)
        assert NAMES <= set(state["spread"])


def test_strict_json(report):
    assert json.loads(json.dumps(report, allow_nan=False)) == report


def test_the_chosen_relationship_lies_within_the_spread(report):
    for state in report["states"].values():
        for name in NAMES:
            if state[name] is not None:
                low, high = state["spread"][name]
                assert low <= state[name] <= high  # value and range are of the same runs


def test_every_map_has_the_same_grid(report):
    # same topology for every state: pictures compare node by node
    shapes = {
        tuple((len(grid["r_mm"]), len(grid["r_mm"][0]), len(grid["stress_kPa"][0])) for grid in state["map"].values())
        for state in report["states"].values()
    }
    assert len(shapes) == 1


def test_the_table_names_every_state_the_range_and_what_is_left_out(report):
    text = mechanics_table(report)
    lines = text.splitlines()
    assert sum(line.startswith("lenticule extraction, cap") for line in lines) == 3
    assert "range is the message" in text
    assert "Hinge and incision" in text and "most is taken" in text and "thinnest point" in text
    assert not {"dioptre", "dioptres", "risk", "safe", "bulge"} & set(text.lower().replace(",", " ").split())


def test_a_state_that_cannot_be_says_why():
    report = mechanics_report(compare(Cornea(550.0), Treatment(Refraction(0.0))), "OS", setting=SLIDER, maps=False)
    flap = report["states"]["flap"]
    assert flap["why_not"] == "there is nothing to treat"
    assert flap["bed_stress_ratio"] is None and flap["spread"] is None
    assert "there is nothing to treat" in mechanics_table(report)


def test_the_law_and_what_it_takes_are_named():
    plan = compare(Cornea(550.0), Treatment(Refraction(-3.0)))
    setting = under(SLIDER, 20.0)
    made = mechanics_report(plan, "OD", Choice(law="transverse", shear_ratio=100.0), setting, maps=False, ranged=False)
    named = {"law": "transverse", "shear_ratio": 100.0, "shear_relationship": "petsche2012", "pressure_mmHg": 20.0}
    assert named.items() <= made.items()
    assert made["spread_over"] is None and made["states"]["flap"]["spread"] is None
    text = mechanics_table(made)
    assert "law transverse" in text and "shear_ratio 100" in text and "20 mmHg" in text and "brackets" not in text


def test_what_a_law_does_not_take_is_null(report):
    assert (report["law"], report["shear_ratio"], report["shear_relationship"]) == ("isotropic", None, None)
    assert report["spread_over"] == list(relationships()) and report["pressure_mmHg"] == 15.0


def test_the_fibre_law_gives_its_set_its_shape_and_one_more_state():
    plan = compare(Cornea(550.0), Treatment(Refraction(-4.0)))
    made = mechanics_report(plan, "OS", Choice(law="fibre", set="soft"), SLIDER, maps=False)
    assert (made["law"], made["set"], made["shear_ratio"]) == ("fibre", "soft", None)
    assert made["spread_over"] == ["soft", "middle", "donor"]
    assert set(made["stress_free"]) == {"error_um", "steps", "newton_steps"} and made["stress_free"]["error_um"] < 0.1
    assert tuple(made["states"]) == (*STATES, "lenticule_closed")
    sliding = made["states"]["lenticule_sliding"]
    assert sliding["why_not"] == "the fibre law has no sliding faces" and sliding["bed_stress_ratio"] is None
    assert made["states"]["flap"]["apex_ratio"] is None
    text = mechanics_table(made)
    assert "set soft" in text and "cap closed" in text and "cannot fold" in text
    assert json.loads(json.dumps(made, allow_nan=False)) == made
