"""From a plan to a section: meridians, cuts and columns where the arithmetic has them, and what is refused."""

import numpy as np
import pytest
from section_cases import comparison, nothing

from tissue import CapCut, Cornea, EyeError, FlapCut, Refraction, Treatment, compare
from tissue.mechanics import PICTURE, SLIDER, STATES, Setting, mechanics, model, section_plan
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.mesh import Cut, NoBed, column_radii, division, meshed_section
from tissue.mechanics.shape import EyeShape, thickness_law


def test_a_toric_plan_takes_the_meridian_where_more_is_taken():
    eye = Cornea(548.0, 543.0, -0.6, -0.5)
    plan = section_plan(compare(eye, Treatment(Refraction(-6.0, -1.25, 170.0), centre_x_mm=0.2)))
    taken = compare(eye, Treatment(Refraction(-6.0, -1.25, 170.0), centre_x_mm=0.2)).results["lenticule"].option.removal
    r = np.array([0.0, 1.0, 2.0, 3.0])
    c, s = np.cos(np.radians(170.0)), np.sin(np.radians(170.0))
    np.testing.assert_allclose(1000.0 * plan.lenticule.removal_mm(r), taken.r_um(0.2 + r * c, r * s), atol=1e-9)
    assert plan.meridian_deg["lenticule"] == 170.0
    assert np.all(plan.lenticule.removal_mm(r) * 1000.0 >= taken.r_um(0.2 - r * s, r * c) - 1e-9)
    assert len(plan.notes) == 4


def test_a_sphere_has_no_meridian_and_one_note():
    plan = section_plan(compare(Cornea(550.0), Treatment(Refraction(-3.0))))
    assert set(plan.meridian_deg.values()) == {None}
    assert len(plan.notes) == 1


def test_cut_and_removal_lie_where_the_arithmetic_has_them():
    # on the axis the bed is that of the arithmetic; everywhere the back surface is front + T, the cap as thick as cut
    plan = section_plan(comparison())
    part = model(plan, PICTURE).bodies.pieces["lenticule_taut"].section
    cap, bed = (part.points_mm[:, grid[:, : part.column[part.inside].max() + 1]] for grid in part.grids)
    budget = comparison().results["lenticule"].budget
    assert 1000.0 * (bed[1, -1, 0] - bed[1, 0, 0]) == pytest.approx(float(budget.bed_central_um), abs=1e-6)
    np.testing.assert_allclose(
        bed[1, -1], plan.shape.front_mm(bed[0, -1]) + plan.shape.thickness_mm(bed[0, -1]), atol=1e-9
    )
    np.testing.assert_allclose(np.hypot(*(cap[:, -1] - cap[:, 0])), 0.130 - 0.053, atol=1e-12)


def test_what_cannot_be_is_missing_with_its_reason():
    found = mechanics(compare(Cornea(550.0), Treatment(Refraction(0.0))), setting=SLIDER)
    assert found["intact"].figures.bed_stress_ratio == 1.0
    assert {found[name].why_not for name in STATES[1:]} == {"there is nothing to treat"}
    thin = mechanics(compare(Cornea(330.0), Treatment(Refraction(-16.0))), setting=SLIDER)
    assert thin["lenticule_taut"].why_not == "no bed is left at the thinnest place"
    assert "depth of the cut" in thin["surface"].why_not


@pytest.mark.parametrize(
    ("field", "act"),
    [
        ("relationship", lambda: mechanics(comparison(), Choice("nambiar"))),
        ("flap_kept", lambda: mechanics(comparison(), flap_kept=1.5)),
        ("boundary", lambda: Setting(boundary="glued")),
        (
            "asphericity",
            lambda: mechanics(compare(Cornea(550.0, radius_mm=6.6, asphericity=0.6), comparison().treatment)),
        ),
    ],
)
def test_refused(field, act):
    with pytest.raises(EyeError) as caught:
        act()
    assert caught.value.field == field


def test_a_cut_behind_the_cornea_is_no_section():
    shape = EyeShape(7.8, -0.2, 0.053, thickness_law(0.5, 0.0088))
    cut = Cut(0.499, 3.8, nothing, (3.25,))
    with pytest.raises(NoBed):
        meshed_section(shape, cut, division(shape, (cut,), SLIDER), SLIDER)


def test_a_cornea_thinner_than_its_cuts_is_refused():
    plan = compare(Cornea(300.0), Treatment(Refraction(-3.0)), flap=FlapCut(295.0), cap=CapCut(296.0))
    with pytest.raises(EyeError, match="thicker than flap or cap"):
        mechanics(plan, setting=SLIDER)


def test_columns_meet_every_edge_and_never_stand_too_far_apart():
    radii = column_radii(0.15, (1.0, 3.8, 4.5, 3.25, 3.26), 5.8)
    assert {1.0, 3.8, 4.5, 3.25, 5.8} <= set(radii.round(12))
    assert np.all(np.diff(radii) <= 0.15 + 1e-12)
    assert np.min(np.diff(radii)) > 0.01


@pytest.mark.parametrize("power", [4.0, -13.0])
def test_hyperopia_and_high_myopia_run(power):
    found = mechanics(compare(Cornea(600.0), Treatment(Refraction(power, -2.0, 30.0))), setting=SLIDER)
    assert all(np.isfinite(state.figures.bed_stress_ratio) for state in found.values())
