"""Maps, sweeps, searches and costs: the same figures as the plan alone, to the last digit, and known answers."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tissue import EyeError
from tissue.budget.notices import notices
from tissue.entry.eye import build
from tissue.explore.costs import beside, planned_and_measured, step_costs, thin_lenticule_cures
from tissue.explore.draws import strength_name
from tissue.explore.tradeoffs import PAIRS, grid, seek, sweep
from tissue.explore.variation import NO_SURFACE, NOT_DEEPER, figure_of, known_measures, plan_value, values_along, varied

EYE = {
    "sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0, "thinnest_um": 543.0,
    "thinnest_x_mm": -0.6, "thinnest_y_mm": -0.5, "mean_K_D": 43.25,
}  # fmt: skip
OPTIONS = ("surface", "flap", "lenticule")
STRENGTH = strength_name("reinstein2013")
MEASURES = (
    "bed_central_um",
    "bed_min_um",
    "altered_max_percent",
    "removal_volume_mm3",
    "bed_below_line_percent",
    STRENGTH,
)


def alone(values, option, measure):
    """The figure of the plan as the table has it."""
    result = build(values).compare().results[option]
    for part in (result.budget, result.spread):
        if hasattr(part, measure):
            return float(getattr(part, measure))
    return float(result.strength.strength_percent[measure.removeprefix("strength_").removesuffix("_percent")])


@pytest.mark.parametrize("pair", PAIRS, ids="-".join)
@pytest.mark.parametrize("measure", MEASURES)
@pytest.mark.parametrize("option", OPTIONS)
def test_the_map_at_the_cross_is_the_plan(option, measure, pair):
    # Source: the plan itself, computed whole; equal to the last digit.
    made = grid(EYE, option, measure, *pair, number=12)
    i, j = np.flatnonzero(made.y == made.plan[1])[0], np.flatnonzero(made.x == made.plan[0])[0]
    assert made.values[i, j] == made.plan[2] == alone(EYE, option, measure)


@settings(max_examples=12)
@given(
    st.floats(-9.0, 5.0),
    st.floats(-3.0, 0.0),
    st.floats(480.0, 620.0),
    st.tuples(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0)),
    st.floats(5.5, 7.5),
    st.sampled_from(PAIRS),
    st.sampled_from(OPTIONS),
)
def test_every_cell_of_a_map_is_a_plan_of_its_own(sphere, cylinder, thickness, place, zone, pair, option):
    # Source: plans computed one by one.
    eye = {"sphere_D": sphere, "cylinder_D": cylinder, "axis_deg": 25.0, "central_thickness_um": thickness}
    eye |= {"thinnest_um": thickness - 5.0, "thinnest_x_mm": place[0], "thinnest_y_mm": place[1], "zone_mm": zone}
    for measure in ("bed_min_um", "altered_max_percent"):
        made = grid(eye, option, measure, *pair, number=3)
        for i, y in enumerate(made.y):
            for j, x in enumerate(made.x):
                np.testing.assert_equal(made.values[i, j], alone(eye | {pair[0]: x, pair[1]: y}, option, measure))


def test_all_figures_can_be_mapped():
    # Source: the plan itself.
    for measure in known_measures():
        np.testing.assert_equal(float(figure_of(build(EYE), "lenticule", measure)[0]), alone(EYE, "lenticule", measure))


@pytest.mark.parametrize("reported", [{"reported_ablation_um": 110.0}, {"reported_lenticule_um": 140.0}])
def test_a_reported_depth_is_held_in_its_ratio(reported):
    # Source: definition of the scale, t × (reported − B)/max t: at the plan as reported, elsewhere the ratio.
    eye = EYE | reported
    option = "flap" if "reported_ablation_um" in reported else "lenticule"
    made = grid(eye, option, "removal_max_um", "zone_mm", "sphere_D", x=[6.0, 6.5, 7.0], y=[-7.0, -6.0, -4.0])
    free = grid(EYE, option, "removal_max_um", "zone_mm", "sphere_D", x=[6.0, 6.5, 7.0], y=[-7.0, -6.0, -4.0])
    base = 15.0 if option == "lenticule" else 0.0
    ratio = (made.values - base) / (free.values - base)
    np.testing.assert_allclose(ratio, ratio[1, 1], rtol=1e-12)
    assert made.values[1, 1] == next(iter(reported.values()))
    bases = grid(eye, "lenticule", "removal_central_um", "cap_um", "base_um", x=[120.0, 130.0], y=[15.0, 25.0])
    np.testing.assert_allclose(np.diff(bases.values, axis=0), 10.0, atol=1e-9)


def test_a_treated_refraction_follows_the_sphere():
    # Source: definition: the map's sphere is the measured one, what was programmed beside it keeps its distance.
    eye = EYE | {"treated_sphere_D": -6.5, "treated_cylinder_D": -1.25, "treated_axis_deg": 170.0}
    inputs, _ = varied(eye, sphere_D=np.array([-6.0, -4.0]))
    assert inputs.treatment.refraction.sphere_D.tolist() == [-6.5, -4.5]
    made = grid(eye, "flap", "bed_min_um", "zone_mm", "sphere_D", number=4)
    assert made.plan[2] == alone(eye, "flap", "bed_min_um")
    assert made.plan[2] in made.values


def test_zones_without_a_surface_are_blank_with_a_reason():
    # Source: the plan alone is refused there.
    eye = {"sphere_D": 8.0, "central_thickness_um": 560.0, "mean_K_D": 51.0, "profile": "conic", "asphericity": 1.0}
    made = grid(eye, "flap", "removal_max_um", "zone_mm", "sphere_D", x=np.linspace(5.0, 9.0, 15), y=[4.0, 8.0])
    blank = made.why == NO_SURFACE
    assert blank.any() and not blank.all()
    for i, y in enumerate(made.y):
        for j, x in enumerate(made.x):
            if blank[i, j]:
                with pytest.raises(EyeError, match="zone_mm"):
                    build(eye | {"zone_mm": x, "sphere_D": y}).compare()
            else:
                np.testing.assert_equal(
                    made.values[i, j], alone(eye | {"zone_mm": x, "sphere_D": y}, "flap", made.measure)
                )
    assert np.isnan(made.values[blank]).all()


def test_blank_cells_say_why():
    # Source: definition of what is not available, and of what the form refuses.
    made = grid(
        EYE | {"cylinder_D": 0.0}, "lenticule", "bed_min_um", "zone_mm", "sphere_D", x=[6.0, 7.0], y=[-10.0, 0.0]
    )
    assert made.why[1].tolist() == ["there is nothing to treat"] * 2 and made.why[0].tolist() == [""] * 2
    thick = EYE | {"epithelium_um": 85.0, "cap_um": 120.0}
    made = grid(thick, "lenticule", "bed_min_um", "zone_mm", "cap_um", x=[6.0], y=[80.0, 90.0])
    assert made.why[:, 0].tolist() == [NOT_DEEPER, ""]
    gone = EYE | {"central_thickness_um": 300.0, "thinnest_um": 300.0, "sphere_D": -10.0}
    made = grid(gone, "lenticule", "bed_min_um", "zone_mm", "cap_um", x=[5.0, 8.0], y=[90.0])
    assert made.why[0, 1] == "no bed is left at the thinnest place" and np.isnan(made.values[0, 1])


def test_rows_of_the_grid():
    # Source: definition.
    made = grid(EYE, "flap", "bed_min_um", "zone_mm", "flap_um", x=[6.0, 6.5], y=[100.0, 110.0])
    head, *rows = made.rows()
    assert head == ("zone_mm", "flap_um", "flap_bed_min_um", "reason") and len(rows) == 4
    assert rows[-1] == (6.5, 110.0, alone(EYE, "flap", "bed_min_um"), "")
    empty = grid(EYE | {"cylinder_D": 0.0}, "flap", "bed_min_um", "zone_mm", "sphere_D", x=[6.0], y=[0.0, -1.0])
    assert list(empty.rows())[1] == (6.0, 0.0, None, "there is nothing to treat")


@pytest.mark.parametrize("field", ["zone_mm", "cap_um", "flap_um", "base_um", "sphere_D"])
def test_an_axis_has_the_plan_in_it(field):
    # Source: definition.
    eye = EYE | {"zone_mm": 8.3, "cap_um": 87.0, "base_um": 44.5, "sphere_D": -11.25}
    made = values_along(eye, field)
    assert plan_value(eye, field) in made and np.all(np.diff(made) > 0)


@pytest.mark.parametrize(
    ("field", "ends", "named"),
    [("zone_mm", (3.0, 7.0), "zone_mm"), ("cap_um", (100.0, 300.0), "cap_um"), ("zone_mm", (7.0, 6.0), "zone_mm"),
     ("axis_deg", (0.0, 90.0), "field")],
)  # fmt: skip
def test_an_axis_that_is_refused(field, ends, named):
    with pytest.raises(EyeError) as caught:
        values_along(EYE, field, *ends)
    assert caught.value.field == named


def test_an_unknown_measure_is_refused_with_the_known_ones():
    with pytest.raises(EyeError, match="bed_min_um"):
        grid(EYE, "flap", "bedd", "zone_mm", "cap_um", number=3)
    with pytest.raises(EyeError, match="bed_min_um"):
        sweep(EYE, "bedd", "zone_mm", number=3)


@pytest.mark.parametrize("measure", ["bed_central_um", "bed_min_um", STRENGTH, "altered_percent", "K_after_D"])
def test_a_sweep_is_the_plans_one_by_one(measure):
    # Source: plans computed one by one, with their closed spread.
    made = sweep(EYE, measure, "zone_mm", [6.0, 6.5, 7.0])
    for option, line in made.lines.items():
        for x, value in zip(made.x, line.values, strict=True):
            np.testing.assert_equal(value, alone(EYE | {"zone_mm": x}, option, measure))
        result = build(EYE).compare().results[option]
        if measure == "bed_central_um":
            assert (line.low[1], line.high[1]) == (result.spread.bed_low_um, result.spread.bed_high_um)
        if measure == "K_after_D":
            assert np.isnan(line.low).all()
        else:
            assert np.all(line.low < line.high)


def test_a_sweep_over_nothing_to_treat_has_a_gap_with_a_reason():
    made = sweep(EYE | {"cylinder_D": 0.0}, "bed_min_um", "sphere_D", [-1.0, 0.0])
    for line in made.lines.values():
        assert line.why.tolist() == ["", "there is nothing to treat"]
        assert np.isnan([line.values[1], line.low[1], line.high[1]]).all()


@pytest.mark.parametrize("wanted", [270.0, 300.0, 330.0])
def test_the_zone_that_gives_a_bed(wanted):
    # Source: put back into the plan.
    found = seek(EYE, "lenticule", "bed_min_um", wanted, "zone_mm")
    assert found.there
    assert abs(alone(EYE | {"zone_mm": found.value}, "lenticule", "bed_min_um") - wanted) < 1e-5


def test_the_cap_that_gives_a_bed_in_closed_form():
    # Source: bed = CCT − cap − r, so the cap is CCT − bed − r.
    r = alone(EYE, "lenticule", "removal_central_um")
    assert abs(seek(EYE, "lenticule", "bed_central_um", 310.0, "cap_um").value - (548.0 - 310.0 - r)) < 1e-8


def test_no_cap_gives_the_flaps_strength():
    # Source: with the cap counted the lenticule is stronger at every cap; under the uniform curve the cap is nothing.
    none = seek(EYE, "lenticule", STRENGTH, alone(EYE, "flap", STRENGTH), "cap_um")
    assert not none.there and not none.flat and none.at_low[1] > none.wanted
    assert "no value from 80 to 250 gives 48.4" in none.words("Cap, µm", "{:.1f} %".format)
    flat = seek(EYE, "lenticule", strength_name("uniform"), alone(EYE, "flap", STRENGTH), "cap_um")
    assert flat.flat and not flat.there and "does not depend" in flat.words("Cap, µm", "{:.1f} %".format)


def test_the_zone_of_the_lenticule_with_the_strength_of_the_surface():
    # Source: put back into the plan.
    wanted = alone(EYE, "surface", STRENGTH)
    found = seek(EYE, "lenticule", STRENGTH, wanted, "zone_mm")
    assert found.there and abs(alone(EYE | {"zone_mm": found.value}, "lenticule", STRENGTH) - wanted) < 1e-5
    assert "gives 61.6 %" in found.words("Zone, mm", "{:.1f} %".format)


def test_a_search_where_there_is_no_figure():
    nothing = seek(EYE | {"sphere_D": 0.0, "cylinder_D": 0.0}, "flap", "bed_min_um", 300.0, "zone_mm")
    assert not nothing.there and "no figure" in nothing.words("Zone, mm", "{:.0f} µm".format)
    hyperopic = {"sphere_D": 4.0, "central_thickness_um": 550.0}
    assert not seek(hyperopic, "flap", STRENGTH, 60.0, "zone_mm").there


def test_what_a_step_costs():
    # Source: a cut's step is the bed's, sign turned; the zone's is the plan with the wider zone.
    costs = step_costs(EYE)
    step, changes, why = costs["cap_um"]
    assert (step, why) == (10.0, "")
    assert abs(changes["lenticule"]["bed_central_um"] + 10.0) < 1e-9 and changes["flap"]["bed_min_um"] == 0.0
    assert abs(costs["flap_um"][1]["flap"]["bed_min_um"] - 10.0) < 1e-9
    wider = EYE | {"zone_mm": 6.6}
    for option, change in costs["zone_mm"][1].items():
        for name in ("bed_min_um", "altered_percent", "removal_volume_mm3"):
            assert change[name] == alone(wider, option, name) - alone(EYE, option, name)
        assert change["strength_percent"] == alone(wider, option, STRENGTH) - alone(EYE, option, STRENGTH)
        zone_cost = build(EYE).compare().results[option].budget.zone_cost_um
        assert abs(change["removal_max_um"] - zone_cost) < 1e-9


def test_a_step_out_of_range_has_a_reason():
    _, changes, why = step_costs(EYE | {"zone_mm": 9.0})["zone_mm"]
    assert "4 to 9 mm" in why and np.isnan(changes["flap"]["bed_min_um"])


def test_two_cures_of_a_thin_lenticule():
    # Source: the notice of the thin lenticule; raising the base by d takes d of bed and no power.
    eye = {"sphere_D": -1.25, "central_thickness_um": 548.0}
    planned, wider, thicker = thin_lenticule_cures(eye)
    deepest = planned.figures["lenticule"]["removal_max_um"]
    assert deepest < 50.0
    assert abs(thicker.figures["lenticule"]["removal_max_um"] - 50.0) < 1e-9
    assert wider.figures["lenticule"]["removal_max_um"] >= 50.0
    cost = thicker.less(planned)["lenticule"]
    assert abs(cost["bed_central_um"] + 50.0 - deepest) < 1e-9
    text = next(n.text for n in notices(build(eye).compare()) if n.id == "thin-lenticule")
    assert f"{wider.inputs['zone_mm']:.2f} mm" in text and f"{np.ceil(thicker.inputs['base_um']):.0f} µm" in text


def test_no_cure_where_none_is_needed_or_reaches():
    assert [row.id for row in thin_lenticule_cures(EYE)] == ["as-planned"]
    assert [row.id for row in thin_lenticule_cures(EYE | {"sphere_D": 0.0, "cylinder_D": 0.0})] == ["as-planned"]
    tiny = {"sphere_D": -0.25, "central_thickness_um": 548.0, "base_um": 10.0}
    assert [row.id for row in thin_lenticule_cures(tiny)] == ["as-planned", "thicker-base"]


def test_planned_against_measured():
    # Source: a flap 40 µm thicker than planned leaves 40 µm less of bed; its bias is gone, its SD stays.
    planned, measured = planned_and_measured(EYE | {"flap_measured_um": 150.0})["flap"]
    assert planned.figures["flap"]["bed_central_um"] == alone(EYE, "flap", "bed_central_um")
    cost = measured.less(planned)["flap"]
    assert abs(cost["bed_central_um"] + 40.0) < 1e-9 and abs(cost["bed_min_um"] + 40.0) < 1e-9
    assert abs(cost["bed_low_um"] + 36.0) < 1e-9 and abs(cost["bed_high_um"] + 36.0) < 1e-9
    assert measured.less(planned)["lenticule"]["bed_min_um"] == 0.0
    assert planned_and_measured(EYE) == {}


def test_plans_beside_each_other_are_the_plans_alone():
    # Source: plans computed one by one.
    rows = beside(EYE, {"a": {}, "b": {"zone_mm": 7.0, "cap_um": 140.0}, "c": {"base_um": 30.0}})
    for row in rows:
        for option in OPTIONS:
            assert row.figures[option]["bed_min_um"] == alone(EYE | row.inputs, option, "bed_min_um")


def test_results_cannot_be_changed():
    made = grid(EYE, "flap", "bed_min_um", "zone_mm", "cap_um", number=3)
    with pytest.raises(dataclasses.FrozenInstanceError):
        made.option = "surface"
