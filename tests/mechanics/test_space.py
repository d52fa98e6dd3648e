"""The plan in three dimensions: patches, statics, symmetry, and the section where a plan is alike all round."""

from functools import cache

import numpy as np
import pytest
from scipy.sparse import identity
from section_cases import comparison, even, figures

from tissue import CapCut, Cornea, EyeError, FlapCut, Refraction, Treatment, compare
from tissue.mechanics import PICTURE, Choice, section_plan
from tissue.mechanics.laws.law import Isotropic, Transverse
from tissue.mechanics.space.bricks import CORNERS, Bricks
from tissue.mechanics.space.columns import FINENESS, dissected
from tissue.mechanics.space.eye import ROWS, CutDisc, State, eye_in_space
from tissue.mechanics.space.plan import NO_RING, SPACE_STATES, SpaceRequest, states_in_space, steps_in_space

LAWS = [Isotropic(even, 1000.0, 0.49, 1.0), Transverse(even, 1000.0, 0.49, 1.0, even, 47.0)]


@cache
def solved(side=1.0, turn=0.0):
    """Steps of the toric plan by name, on the coarse mesh."""
    request = SpaceRequest(Choice(), mesh="coarse")
    return {step.name: step for step in states_in_space(toric(side, turn), request)}


def toric(side=1.0, turn=0.0, opening=0.0, hinge=90.0, x=0.4, y=-0.3):
    """A toric plan off the centre; side −1 mirrors it, turn turns it about the vertex [degrees]."""
    c, s = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def place(a, b):
        return side * a * c - b * s, side * a * s + b * c

    def towards(degrees):
        return (degrees if side > 0 else 180.0 - degrees) + turn

    thin, centre = place(-0.6, -0.5), place(x, y)
    treatment = Treatment(
        Refraction(-3.0, -2.5, towards(20.0) % 180.0), centre_x_mm=centre[0], centre_y_mm=centre[1], base_um=15.0
    )
    return compare(
        Cornea(550.0, 540.0, *thin),
        treatment,
        flap=FlapCut(flap_um=110.0, flap_diameter_mm=9.0, hinge_deg=towards(hinge) % 360.0),
        cap=CapCut(cap_um=130.0, cap_diameter_mm=7.6, incision_mm=3.0, incision_deg=towards(opening) % 360.0),
    )


# --- bricks ---


def patch(law):
    """A block of 3 × 3 × 3 bricks with its inner corners moved about, and its stiffness."""
    grid = np.stack(np.meshgrid(*[np.arange(4.0)] * 3, indexing="ij"), axis=-1)
    inner = np.zeros(grid.shape[:3], bool)
    inner[1:3, 1:3, 1:3] = True
    grid[inner] += np.random.default_rng(4).uniform(-0.25, 0.25, (8, 3))
    number = np.arange(64).reshape(4, 4, 4)
    first = np.stack(np.meshgrid(*[np.arange(3)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    at = first[:, np.newaxis] + (CORNERS + 1).astype(int) // 2
    corners = number[at[..., 0], at[..., 1], at[..., 2]]
    nodes = grid.reshape(-1, 3)
    place = nodes[corners][..., 2] / 3.0
    made = Bricks(nodes, corners, place, np.zeros(27, bool), np.arange(27), identity(192, format="csc"))
    tissue, normal = made.tissue
    tangent = law.respond(np.zeros((27, 8, 3, 3)), normal, tissue)[1]
    return made, made._matrix(tangent, np.broadcast_to(law.bulk(tissue), (27, 8))), inner.ravel()


@pytest.mark.parametrize("law", LAWS, ids=["isotropic", "transverse"])
def test_patch(law):
    # an even strain is met exactly by any mesh: no force on the inner corners (Irons' patch test, mathematics)
    made, whole, inner = patch(law)
    strain = np.random.default_rng(8).normal(size=(3, 3))
    moved = (made.nodes_mm @ strain.T).ravel()
    force = (whole @ moved).reshape(-1, 3)
    assert np.abs(force[inner]).max() < 1e-9 * np.abs(force).max()
    np.testing.assert_allclose(made.gradients(moved), np.broadcast_to(strain, (27, 8, 3, 3)), atol=1e-12)
    np.testing.assert_allclose(made.dilatation(moved), np.trace(strain), atol=1e-12)


@pytest.mark.parametrize("law", LAWS, ids=["isotropic", "transverse"])
def test_only_a_rigid_body_moves_without_force(law):
    # six of them: three shifts, three turns (mechanics)
    whole = patch(law)[1].toarray()
    assert np.allclose(whole, whole.T, atol=1e-9 * np.abs(whole).max())
    values = np.linalg.eigvalsh(whole)
    assert np.sum(np.abs(values) < 1e-9 * values.max()) == 6


def test_columns_are_eliminated_each_once():
    eye = eye_in_space(Cornea(550.0), CutDisc(0.13, 0.3, 0.2, 3.8), PICTURE, FINENESS["coarse"])
    order = dissected(np.stack([eye.grid.x_mm, eye.grid.y_mm], axis=1), eye.grid.cells[~eye.grid.sclera])
    assert sorted(order) == list(range(eye.grid.corneal))


def test_the_eye_is_as_thick_as_its_map():
    # on the normals of the front the back surface is front + T(x, y); the bed behind the cut is less by the removal
    plan = toric()
    eye = eye_in_space(plan.cornea, CutDisc(0.13, 0.4, -0.3, 3.8), PICTURE, FINENESS["coarse"])
    taken = plan.results["lenticule"].option.removal.r_um
    for state in (State(taken), State()):
        nodes = eye.bricks(state).nodes_mm[: eye.grid.corneal * ROWS].reshape(-1, ROWS, 3)
        x, y, z = nodes[:, -1].T
        np.testing.assert_allclose(z, plan.cornea.front_mm(x, y) + plan.cornea.thickness_um(x, y) / 1000.0, atol=1e-9)
    middle = int(np.argmin(np.hypot(eye.grid.x_mm, eye.grid.y_mm)))
    assert np.linalg.norm(nodes[middle, 1] - nodes[middle, 0]) == pytest.approx(0.13 - 0.053, abs=1e-12)


# --- statics ---


@pytest.mark.parametrize("mesh", ["fine", "coarse"])
def test_the_equator_carries_the_pressure(mesh):
    # pπr² (statics); the equator of the mesh is a polygon of the same area
    request = SpaceRequest(Choice(), mesh=mesh, states=("surface",))
    assert next(states_in_space(comparison(), request)).reaction_ratio == pytest.approx(1.0, abs=0.001)


def test_nothing_taken_changes_nothing():
    made = comparison(0.0)
    eye = eye_in_space(made.cornea, CutDisc(0.13, 0.0, 0.0, 3.8), PICTURE, FINENESS["coarse"])
    law = LAWS[1]
    before, after = (eye.bricks(State(taken)).solve(law, 2.0) for taken in (None, lambda x, y: 0.0 * x))
    np.testing.assert_allclose(after.stress_kPa, before.stress_kPa, rtol=1e-9)


# --- the section ---


@pytest.mark.parametrize(("mesh", "within"), [("fine", 0.02), ("coarse", 0.03)])
def test_a_plan_alike_all_round_is_the_section(mesh, within):
    # the section has neither hinge nor incision: the opening is shut and the flap is off as a whole
    section = figures("nambiar2023", back=None)
    shut = shut_eye(mesh)
    for name, ratio in shut.items():
        assert ratio == pytest.approx(section[name].bed_stress_ratio, rel=within), name


@cache
def shut_eye(mesh):
    """Ratios of stress of the base plan without hinge and incision, by states, within 1 mm."""
    plan = comparison()
    taken = {name: result.option.removal.r_um for name, result in plan.results.items()}
    under_cap = {
        "surface": State(taken["surface"], ablates_front=True),
        "lenticule_taut": State(taken["lenticule"]),
        "lenticule_sliding": State(taken["lenticule"], cap="sliding"),
        "lenticule_slack": State(taken["lenticule"], cap="gone"),
    }
    under_flap = {"flap": State(taken["flap"], cap="gone")}
    flap = CutDisc(plan.flap.flap_um / 1000.0, 0.0, 0.0, plan.flap.flap_diameter_mm / 2.0)
    law, found = Choice().law_of(section_plan(plan).shape, PICTURE), {}
    for disc, states in ((CutDisc(0.13, 0.0, 0.0, 3.8), under_cap), (flap, under_flap)):
        eye = eye_in_space(plan.cornea, disc, PICTURE, FINENESS[mesh])
        before = central(eye.bricks(State()).solve(law, 2.0))
        found |= {name: central(eye.bricks(state).solve(law, 2.0)) / before for name, state in states.items()}
    return found


def central(rested):
    """Mean stress of the three rows behind the cut within 1 mm."""
    count = len(rested.bricks.pressed) * 3
    weight, stress, at = (a[-count:] for a in (rested.bricks.weight, rested.stress_kPa, rested.bricks.points_mm))
    near = weight * (np.hypot(at[..., 0], at[..., 1]) <= 1.0)
    return float(np.sum(near * stress) / np.sum(near))


# --- symmetry ---


def test_mirrored_plans_have_mirrored_maps():
    # a left eye is a right eye in the mirror
    one, other = solved(), solved(side=-1.0)
    for name in SPACE_STATES:
        a, b = one[name].state.map.bed_stress_ratio, other[name].state.map.bed_stress_ratio
        np.testing.assert_allclose(a, b[:, ::-1], atol=0.012)


def test_a_turned_plan_has_a_turned_map():
    one, other = solved(), solved(turn=90.0)
    for name in SPACE_STATES:
        a, b = one[name].state.map.bed_stress_ratio, other[name].state.map.bed_stress_ratio
        np.testing.assert_allclose(np.rot90(a, -1), b, atol=0.012)


def test_more_is_carried_where_more_is_taken():
    # the greatest ratio lies within the treated disc; a hinge relieves the bed on its own side (mechanics)
    found = solved()
    worst = found["flap"].state.worst
    assert np.hypot(worst.x_mm - 0.4, worst.y_mm + 0.3) <= 3.75
    assert worst.bed_stress_ratio >= found["flap"].state.centre.bed_stress_ratio
    ratios = found["flap"].state.map.bed_stress_ratio
    far, near = ratios[4, 16], ratios[28, 16]  # 3 mm from the vertex, away from the hinge and towards it
    assert near < far


def test_a_wider_incision_leaves_the_bed_more_to_carry():
    # a cap that slides hangs on its edge alone: what the edge no longer carries the bed does (statics)
    beds = []
    for width in (2.0, 8.0):
        cap = CapCut(cap_um=130.0, cap_diameter_mm=7.6, incision_mm=width, incision_deg=0.0)
        plan = compare(toric().cornea, toric().treatment, cap=cap)
        request = SpaceRequest(Choice(), mesh="coarse", states=("lenticule_sliding",))
        beds.append(
            {s.name: s for s in states_in_space(plan, request)}["lenticule_sliding"].state.centre.bed_stress_ratio
        )
    assert beds[1] > beds[0]


# --- what cannot be ---


def test_steps_are_counted_and_come_one_by_one():
    plan = toric()
    request = SpaceRequest(Choice(), mesh="coarse", states=("surface", "flap"))
    steps = states_in_space(plan, request)
    assert steps_in_space(plan, request) == 4
    assert next(steps).name == "intact"  # stopping here costs nothing more
    assert steps_in_space(plan, SpaceRequest(Choice(), mesh="coarse")) == 7


def test_what_is_not_there_says_why():
    thin = compare(Cornea(330.0), Treatment(Refraction(-16.0)))
    found = {s.name: s for s in states_in_space(thin, SpaceRequest(Choice(), mesh="coarse"))}
    assert all(found[name].state.why_not for name in SPACE_STATES)
    wide = compare(Cornea(550.0), Treatment(Refraction(-3.0), centre_x_mm=1.5), flap=FlapCut(110.0, 9.0))
    found = {s.name: s for s in states_in_space(wide, SpaceRequest(Choice(), mesh="coarse", states=("flap",)))}
    assert found["flap"].state.why_not == NO_RING


@pytest.mark.parametrize(
    ("field", "given"),
    [("three_d", {"choice": Choice(law="fibre")}), ("mesh", {"mesh": "finest"}), ("states", {"states": ("cap",)})],
)
def test_refused(field, given):
    with pytest.raises(EyeError) as caught:
        SpaceRequest(**{"choice": Choice(), **given})
    assert caught.value.field == field
