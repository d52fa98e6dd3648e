"""The section as a solid: closed forms, laws that hold exactly, and the regression figures of the base case."""

from dataclasses import asdict, replace

import numpy as np
import pytest
from conftest import published
from section_cases import BACK, comparison, figures, lame, mean, pressed_sphere, shell, sphere_errors

from tissue import CapCut, Cornea, EyeError, FlapCut, Refraction, Treatment, compare
from tissue.mechanics import PICTURE, SLIDER, STATES, Setting, mechanics, model, section_plan, spread, states
from tissue.mechanics.body import bodies
from tissue.mechanics.mesh import Cut, NoBed, column_radii, division, section
from tissue.mechanics.plan import SectionPlan
from tissue.mechanics.shape import EyeShape, thickness_between, thickness_law
from tissue.mechanics.solve import field_of, solid
from tissue.mechanics.states import share_of

RATIOS = ("bed_stress_ratio", "bed_strain_ratio", "mean_strain_ratio", "apex_ratio")


def nothing(r_mm):
    return 0.0 * np.asarray(r_mm, float)


def same(share):
    """Stiffness that does not change with depth."""
    return share


def untouched(flap_mm=0.11, cap_mm=0.13):
    """The base eye with cuts and nothing taken."""
    shape = section_plan(comparison(), BACK).shape
    cap = Cut(cap_mm, 3.8, nothing, (3.25,))
    return SectionPlan(shape, replace(cap, ablates_front=True), Cut(flap_mm, 4.5, nothing, (3.25,)), cap, {}, {})


# --- closed forms ---


def test_thick_sphere():
    # Lamé's thick sphere, Timoshenko and Goodier, Theory of Elasticity: 7.3/7.8 mm, four elements through the wall
    displacement, hoop = sphere_errors(4, 160, 0.499)
    assert displacement < 1e-4
    assert hoop < 1e-3


def test_order_of_convergence():
    # Taylor–Hood elements on straight-sided quadrilaterals: stress of second order (mathematics)
    hoop = [sphere_errors(n, 10 * n, 0.499)[1] for n in (2, 4, 8)]
    orders = np.log2(np.array(hoop[:-1]) / hoop[1:])
    print(f"order of the hoop stress, 2 to 4 to 8 elements: {orders.round(2)}")
    assert np.all(orders >= 2.0)


@pytest.mark.parametrize("which", [0, 1], ids=["displacement", "hoop stress"])
def test_no_locking(which):
    # an element that locks gets worse without bound as Poisson's ratio nears one half
    errors = [sphere_errors(4, 40, poisson)[which] for poisson in (0.49, 0.4999)]
    assert errors[1] / errors[0] < 1.2


def test_thin_sphere():
    # thin sphere t = 0.05 mm: the mean hoop stress is 0.9936 of pR/2t at the middle radius (C, from Lamé)
    field = pressed_sphere(7.75, 7.8, 2, 200, 0.49)
    assert mean(field, field.hoop_kPa) / (2.0 * 7.775 / (2.0 * 0.05)) == pytest.approx(0.9936, abs=1e-3)


def hemisphere():
    """An eye that is one thick sphere: concentric surfaces, the sclera as stiff and as thick as the cornea."""
    shape = EyeShape(7.8, 0.0, 0.0, thickness_between((7.8, 0.0), (7.3, 0.0), 0.5))
    setting = Setting(sclera_radius_mm=7.8, sclera_thickness_mm=0.5, sclera_modulus_ratio=1.0, poisson=0.499)
    cut = Cut(0.13, 3.8, nothing, (3.8,))
    return shape, setting, cut, division(shape, (cut,), setting)


def test_an_eye_that_is_a_sphere():
    # the same closed form through the section's own elements: columns, cut, limbus and shell
    shape, setting, cut, divided = hemisphere()
    loaded = bodies({"eye": section(shape, cut, divided, setting)}, setting).load(same)
    basis = loaded.field.solid.displacement
    depth = np.hypot(*(np.asarray(basis.global_coordinates()) - np.array([0.0, 7.8])[:, None, None]))
    hoop = lame(depth, 7.3, 7.8, 0.499)[1]
    for layer in (0, 1):
        assert loaded.mean("eye", loaded.field.stress_kPa / hoop, layer) == pytest.approx(1.0, abs=1e-3)
    assert loaded.apex_mm("eye") == pytest.approx(lame(7.3, 7.3, 7.8, 0.499)[0], rel=1e-3)


def test_faces_do_not_slide_where_nothing_drags_them():
    # a uniform sphere grows evenly: faces free to slide stay where they are (symmetry)
    shape, setting, cut, divided = hemisphere()
    both = {"held": section(shape, cut, divided, setting), "free": section(shape, cut, divided, setting, sliding=True)}
    loaded = bodies(both, setting).load(same)
    for layer in (0, 1):
        held, free = (loaded.mean(name, loaded.field.stress_kPa, layer) for name in both)
        assert free == pytest.approx(held, rel=2e-3)
    assert loaded.field.displacement.size > 2 * loaded.bodies.solid.displacement.mesh.p.shape[1]


# --- laws ---


def test_equilibrium():
    # what holds the equator carries the pressure on its circle: pπr² (statics)
    plan = untouched()
    made = model(plan, PICTURE)
    loaded = made.bodies.load(share_of("nambiar2023", plan.shape))
    basis = loaded.field.solid.displacement
    for piece in made.bodies.pieces.values():
        in_piece = np.unique(basis.mesh.t[:, piece.elements])
        bottom = basis.mesh.p[1, in_piece].max()
        rim = np.isclose(basis.doflocs[1], bottom, atol=1e-9)
        mine = np.isin(np.arange(basis.N), basis.element_dofs[:, piece.elements])
        vertical = np.zeros(basis.N, bool)
        vertical[np.concatenate([basis.nodal_dofs[1], basis.facet_dofs[1]])] = True
        force = 2.0 * np.pi * np.sum(loaded.field.reaction[rim & mine & vertical])
        inner = basis.mesh.p[0, in_piece][np.isclose(basis.mesh.p[1, in_piece], bottom, atol=1e-9)].min()
        assert abs(force) == pytest.approx(2.0 * np.pi * inner**2, rel=1e-9)


def test_a_rigid_shift_strains_nothing():
    points, quads, named = shell(7.3, 7.8, 2, 20)
    body = solid(points, quads, **named)
    shifted = np.zeros(body.displacement.N)
    for degrees in (
        body.displacement.nodal_dofs[1],
        body.displacement.facet_dofs[1],
        body.displacement.interior_dofs[1],
    ):
        shifted[degrees] = 1.0
    field = field_of(body, shifted, np.zeros(body.pressure.N), np.ones(body.displacement.dx.shape), shifted)
    assert np.max(np.abs(field.strain)) < 1e-12
    assert np.max(np.abs(body.coupling @ shifted)) < 1e-12


def test_nothing_taken_changes_nothing():
    plan = untouched()
    found = states(model(plan, SLIDER, flap_kept=1.0), share_of("reinstein2013", plan.shape))
    for name in ("intact", "surface", "flap", "lenticule_taut"):
        for figure in RATIOS:
            assert getattr(found[name].figures, figure) == pytest.approx(1.0, abs=1e-9)


@pytest.mark.parametrize("changed", [{"modulus_kPa": 2000.0}, {"pressure_kPa": 4.0}], ids=["modulus", "pressure"])
def test_ratios_know_neither_modulus_nor_pressure(changed):
    before = figures("nambiar2023", setting=SLIDER)
    after = figures("nambiar2023", setting=replace(SLIDER, **changed))
    for name in STATES:
        np.testing.assert_allclose(list(asdict(after[name]).values()), list(asdict(before[name]).values()), rtol=1e-9)


def test_a_slack_cap_is_a_flap_of_its_depth_and_diameter():
    plan = section_plan(replace_flap(comparison()))
    found = states(model(plan, SLIDER), share_of("nambiar2023", plan.shape))
    for figure in RATIOS:
        flap, slack = (getattr(found[name].figures, figure) for name in ("flap", "lenticule_slack"))
        assert flap == pytest.approx(slack, abs=1e-9)


def replace_flap(plan):
    """The same plan with a flap of the cap's depth and diameter."""
    return compare(plan.cornea, plan.treatment, flap=FlapCut(130.0, 7.6), cap=plan.cap)


def test_finer_elements_move_the_bed_stress_by_less_than_one_percent():
    coarse, picture, fine = (
        figures("nambiar2023", back=None, setting=Setting(size_mm=size)) for size in (0.3, 0.15, 0.075)
    )
    for name in STATES:
        assert coarse[name].bed_stress_ratio == pytest.approx(picture[name].bed_stress_ratio, rel=0.01)
        assert picture[name].bed_stress_ratio == pytest.approx(fine[name].bed_stress_ratio, rel=0.01)


@pytest.mark.parametrize("relationship", ["nambiar2023", "reinstein2013", "uniform"])
def test_order_of_the_states(relationship):
    # what carries more relieves the bed: taut before sliding before slack, and a flap part kept before none (physics)
    found = figures(relationship, back=None, setting=SLIDER)
    taut, sliding, slack = (found[f"lenticule_{kind}"].bed_stress_ratio for kind in ("taut", "sliding", "slack"))
    assert 1.0 < taut < sliding < slack
    plan = section_plan(comparison())
    kept = [
        states(model(plan, SLIDER, g), share_of(relationship, plan.shape), pictures=False)["flap"].figures
        for g in (0.0, 0.28, 1.0)
    ]
    assert kept[0].bed_stress_ratio > kept[1].bed_stress_ratio > kept[2].bed_stress_ratio
    assert 0.0 == kept[0].load_share_percent < kept[1].load_share_percent < kept[2].load_share_percent


# --- figures ---


@pytest.mark.parametrize("row", list(published("mechanics")))
def test_regression(row):
    found = figures(row["relationship"], BACK if row["back"] == "given" else None)[row["state"]]
    assert getattr(found, row["figure"]) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


@pytest.mark.parametrize(
    ("relationship", "back", "expected", "within"),
    [("uniform", BACK, 1.239, 0.01), ("nambiar2023", BACK, 1.19, 0.02), ("nambiar2023", None, 1.192, 0.02)],
)
def test_the_earlier_figures_of_surface_ablation(relationship, back, expected, within):
    # the earlier program took the back three quarters of what is left, over the intact stroma behind the flap cut;
    # here both are the stroma behind the depth of the cap, so that nothing taken gives 1
    plan = section_plan(comparison(), back)
    E, left = plan.shape.epithelium_mm, plan.shape.central_thickness_mm - float(plan.surface.removal_mm(0.0))
    quarter = replace(plan.surface, depth_mm=E + 0.25 * (left - E))
    divided = division(plan.shape, (quarter, plan.flap), PICTURE)
    parts = {
        "intact": section(plan.shape, plan.flap, divided, PICTURE, taken=False),
        "surface": section(plan.shape, quarter, divided, PICTURE),
    }
    loaded = bodies(parts, PICTURE).load(share_of(relationship, plan.shape))
    intact, surface = (loaded.mean(name, loaded.field.stress_kPa, 1) for name in parts)
    assert surface / intact == pytest.approx(expected, abs=within)


@pytest.mark.parametrize(("power", "percent"), [(-3.0, 0.6), (-6.0, 1.2), (-10.0, 2.0)])
def test_closing_strain(power, percent):
    # C: r/R1 with the munnerlyn lenticule over 6.5 mm on 7.8 mm, no base
    plan = comparison(power, profile="munnerlyn")
    found = mechanics(plan, "uniform", SLIDER)
    assert found["lenticule_taut"].figures.closing_strain_percent == pytest.approx(percent, abs=0.05)
    assert np.isnan(found["flap"].figures.closing_strain_percent)


def test_spread_is_least_and_greatest_over_the_relationships():
    made = model(section_plan(comparison()), SLIDER)
    names = ("uniform", "nambiar2023", "petsche2012")
    ranges = spread(made, names)
    each = [figures(name, back=None, setting=SLIDER)["flap"].bed_stress_ratio for name in names]
    assert ranges["flap"]["bed_stress_ratio"] == pytest.approx((min(each), max(each)), rel=1e-9)


def test_the_picture_averages_to_the_figure():
    # the mean of the map over the bed's central columns is the mean bed stress, within the coarseness of its nodes
    state = mechanics(comparison(), "uniform")["lenticule_taut"]
    r, stress = state.map.r_mm[1], state.map.stress_kPa[1]
    central = r[0] <= 1.0
    radius, values = r[:, central].mean(axis=0), stress[:, central]
    through = (values[0] / 2.0 + values[1:-1].sum(axis=0) + values[-1] / 2.0) / (len(values) - 1)
    weighted = np.trapezoid(through * radius, radius) / np.trapezoid(radius, radius)
    assert weighted == pytest.approx(state.bed_stress_kPa, rel=0.01)
    flap = mechanics(comparison(), "uniform")["flap"].map
    assert np.all(flap.stress_kPa[0][:, flap.r_mm[0][0] < 4.4] == 0.0)


# --- plans ---


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
        ("relationship", lambda: mechanics(comparison(), "nambiar")),
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
        section(shape, cut, division(shape, (cut,), SLIDER), SLIDER)


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
