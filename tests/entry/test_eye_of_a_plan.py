"""From plan files to the arithmetic and back to every value used: demonstration plans, defaults, columns."""

import math
from pathlib import Path

import pytest

from tissue.entry.eye import build, not_given, used
from tissue.entry.fields import fields
from tissue.entry.own_map.names import MAPS
from tissue.entry.plan_file import dumps, read_plan

DEMOS = sorted((Path(__file__).parents[2] / "demo_profiles").glob("*.toml"))
FROM_A_MAP = ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm", "epithelium_um")


ONE_EYE = {"harbour-10", "harbour-21", "harbour-22", "harbour-23"}  # thinner below the centre; what came of three


def test_the_demonstration_plans_are_all_there_and_each_says_it_is_invented():
    assert [path.name.split("_")[0] for path in DEMOS] == [f"harbour-0{n}" for n in range(1, 10)] + sorted(ONE_EYE)
    for path in DEMOS:
        assert "Invented" in path.read_text(encoding="utf-8").splitlines()[0]
        assert read_plan(path).code == path.name.split("_")[0]


@pytest.mark.parametrize("path", DEMOS, ids=lambda path: path.stem)
def test_demonstration_plans_are_read_and_read_back(path):
    plan = read_plan(path)
    assert read_plan(dumps(plan).encode()).eyes == plan.eyes
    assert len(plan.eyes) == (1 if plan.code in ONE_EYE else 2)
    for side, values in plan.eyes.items():
        inputs = build(values, side)
        everything = used(inputs, inputs.compare())
        assert list(everything) == list(fields())
        of_map = [name for name in everything if name.startswith("thinnest_")] if MAPS[0] in values else []
        assert all(everything[name] == value for name, value in values.items() if name not in (*MAPS, *of_map))
        assert not set(not_given(values)) & set(values)


def test_eye_of_the_pictures():
    # Source: the drawn aim of the screens: cut/removed/bed/least bed 53/124/371/368, 110/124/314/311, 120/124/304/300
    values = read_plan(next(path for path in DEMOS if path.name.startswith("harbour-03"))).eyes["OD"]
    found = [
        [round(float(v)) for v in (b.cut_um, b.removal_central_um, b.bed_central_um, b.bed_min_um)]
        for b in (result.budget for result in build(values, "OD").compare().results.values())
    ]
    assert found == [[53, 124, 371, 368], [110, 124, 314, 311], [120, 124, 304, 300]]


def test_treated_is_measured_less_target_unless_given():
    # Source: the arithmetic of the tool, refraction: treated defaults to measured less target at the cornea
    base = {"sphere_D": -6.0, "cylinder_D": -1.0, "axis_deg": 10.0, "central_thickness_um": 548.0, "target_D": -0.5}
    treated = build(base).treatment.refraction
    along, across = (F / (1.0 - 0.012 * F) + 0.5 / 1.006 for F in (-6.0, -7.0))
    at_cornea = treated.at_cornea()
    assert (at_cornea.sphere_D, at_cornea.cylinder_D) == pytest.approx((along, across - along))
    assert treated.axis_deg == 10.0
    own = base | {"treated_sphere_D": -6.25, "treated_cylinder_D": 0.0}
    treated = build(own).treatment.refraction
    assert (treated.sphere_D, treated.cylinder_D) == (-6.25, 0.0)
    both = build(
        {name: [base[name], own[name]] for name in base}
        | {
            "treated_sphere_D": [math.nan, -6.25],
            "treated_cylinder_D": [math.nan, 0.0],
            "profile": ["", "conic"],
        }
    )
    assert both.treatment.refraction.sphere_D == pytest.approx([build(base).treatment.refraction.sphere_D, -6.25])
    assert both.treatment.profile.tolist() == ["munnerlyn", "conic"]


def test_rules_are_worked_out_among_the_values_used():
    # Source: the arithmetic of the tool: ablation blend 0.5 + 0.5·h, lenticule blend 1.0·h, base 15 + 15·h with h = 1
    # from +1 D up; cap diameter zone + 2·blend + 1.0; K = 337.5/radius (convention)
    inputs = build({"sphere_D": 3.0, "central_thickness_um": 548.0, "radius_mm": 7.5, "zone_mm": 6.0})
    everything = used(inputs, inputs.compare(), "+3.00 DS")
    wanted = {"ablation_blend_mm": 1.0, "lenticule_blend_mm": 1.0, "base_um": 30.0, "cap_diameter_mm": 9.0}
    wanted |= {"mean_K_D": 45.0, "thinnest_um": 548.0, "thinnest_x_mm": 0.0, "treated_sphere_D": 3.0}
    assert {name: everything[name] for name in wanted} == pytest.approx(wanted)
    assert math.isnan(everything["axis_deg"])
    assert math.isnan(everything["flap_measured_um"])
    assert everything["refraction"] == "+3.00 DS"


def test_what_stands_in_for_what_was_not_given():
    missing = not_given({"sphere_D": -4.0, "central_thickness_um": 548.0, "mean_K_D": 43.0, "zone_mm": math.nan})
    assert "zone_mm" in missing
    assert "base_um" in missing
    assert not {"sphere_D", "mean_K_D", "radius_mm", "flap_measured_um"} & set(missing)


def test_a_column_of_eyes_is_the_eyes_one_by_one():
    plans = [values for path in DEMOS for values in read_plan(path).eyes.values() if MAPS[0] not in values]
    names = [name for name, field in fields().items() if field.is_number]
    columns = {name: [values.get(name, math.nan) for values in plans] for name in names}
    together = build(columns).compare().results
    for i, values in enumerate(plans):
        for name, result in build(values).compare().results.items():
            column = together[name].budget
            for figure in ("bed_central_um", "bed_min_um", "removal_max_um"):
                assert getattr(column, figure)[i] == pytest.approx(getattr(result.budget, figure), abs=1e-6)


def test_what_a_map_gives_is_no_default():
    """A record printed the epithelium and the thinnest point of a measured map as defaults of the tool."""
    plan = read_plan(next(path for path in DEMOS if "harbour-10" in path.name).read_bytes())
    missing = not_given({name: value for name, value in plan.eyes["OD"].items() if name not in FROM_A_MAP})
    assert not {*FROM_A_MAP} & {*missing} and "vertex_mm" in missing
