"""The laws of the material: closed forms, differences, and figures of the base eye by each."""

import numpy as np
import pytest
from section_cases import comparison, even, figures, mean, pressed_sphere
from section_forms import displacement_mm

from tissue import EyeError
from tissue.mechanics import SLIDER, model, section_plan
from tissue.mechanics.laws.choice import Choice, share_of
from tissue.mechanics.laws.fibre import Fibre
from tissue.mechanics.laws.law import Isotropic, Tissue, Transverse, even_fibres

ISOTROPIC = Isotropic(even, 1000.0, 0.499, 1.0)
FIBRE = Fibre(even, 20.0, 1500.0, 400.0, 20000.0, 4.0)
LAWS = {
    "isotropic": ISOTROPIC,
    "transverse": Transverse(even, 1000.0, 0.499, 1.0, even, 47.0),
    "soft between": Transverse(even, 1000.0, 0.499, 1.0, even, 1000.0),
}


def layered_sphere(law, radius_mm, inner_mm, outer_mm, pressure_kPa):
    """Displacement [mm] and hoop stress [kPa] of a thick sphere with lamellae along its surface.

    r²u″ + 2r·u′ − m·u = 0, m = (2λ + 4G + E_f)/(2G + λ): two powers of r. Lekhnitskii, Theory of Elasticity of an
    Anisotropic Body (from memory); with E_f = 0 it is Lamé's sphere.
    """
    tissue = Tissue(np.zeros(()), np.ones(()), np.zeros((), bool))
    C = law.respond(np.zeros((3, 3)), np.array([0.0, 0.0, 1.0]), tissue)[1].reshape(3, 3, 3, 3)
    lam = float(law.bulk(tissue))
    across, along = C[2, 2, 2, 2] + lam, C[0, 0, 0, 0] + C[0, 0, 1, 1] + 2.0 * lam
    root = np.sqrt(1.0 + 4.0 * 2.0 * (along - lam) / across)
    powers = np.array([(-1.0 + root) / 2.0, (-1.0 - root) / 2.0])

    def radial(r):
        return (across * powers + 2.0 * lam) * r ** (powers - 1.0)

    scale = np.linalg.solve([radial(inner_mm), radial(outer_mm)], [-pressure_kPa, 0.0])
    r = np.asarray(radius_mm)[..., np.newaxis]
    return (r**powers) @ scale, (r ** (powers - 1.0)) @ (scale * (lam * powers + along))


@pytest.mark.parametrize("name", LAWS)
def test_thick_sphere(name):
    # a closed form: Lamé's sphere, in Timoshenko and Goodier, and its layered sister
    law = LAWS[name]
    field = pressed_sphere(7.3, 7.8, 8, 160, 0.499, law=law)
    basis = field.solid.displacement
    moved = np.hypot(*field.displacement[basis.nodal_dofs])
    expected = layered_sphere(law, np.hypot(*basis.mesh.p), 7.3, 7.8, 2.0)[0]
    np.testing.assert_allclose(moved, expected, rtol=1e-4)
    depth = np.hypot(*np.asarray(basis.global_coordinates()))
    hoop = layered_sphere(law, depth, 7.3, 7.8, 2.0)[1]
    assert np.sqrt(mean(field, (field.hoop_kPa / hoop - 1.0) ** 2)) < 1e-3


@pytest.mark.parametrize("name", [*LAWS, "fibre"])
def test_tangent_is_the_change_of_the_stress(name):
    law = {**LAWS, "fibre": FIBRE}[name]
    random = np.random.default_rng(5)
    tissue = Tissue(np.zeros(4), np.ones(4), np.array([False, False, True, False]))
    normal = random.normal(size=(4, 3))
    normal /= np.linalg.norm(normal, axis=1)[:, np.newaxis]
    gradient, change = random.normal(scale=0.02, size=(2, 4, 3, 3))
    stress, tangent = law.respond(gradient, normal, tissue)
    ends = [law.respond(gradient + s * 1e-6 * change, normal, tissue)[0] for s in (1.0, -1.0)]
    expected = (ends[0] - ends[1]) / 2e-6
    found = np.einsum("nij,nj->ni", tangent, change.reshape(4, 9)).reshape(4, 3, 3)
    np.testing.assert_allclose(found, expected, rtol=1e-6, atol=1e-6 * np.abs(expected).max())


def test_even_fibres_are_the_mean_over_directions():
    # A = mean of a⊗a⊗a⊗a over directions in the plane: 3/8 for 1111 and 2222, 1/8 for 1122 and 1212 (mathematics)
    angle = 2.0 * np.pi * np.arange(360) / 360.0
    a = np.stack([np.cos(angle), np.sin(angle), 0.0 * angle], axis=1)
    expected = np.einsum("ni,nj,nk,nl->ijkl", a, a, a, a) / 360.0
    A = even_fibres(np.array([0.0, 0.0, 1.0])).reshape(3, 3, 3, 3)
    np.testing.assert_allclose(A, expected, atol=1e-12)
    assert (A[0, 0, 0, 0], A[0, 0, 1, 1], A[0, 1, 0, 1]) == (3 / 8, 1 / 8, 1 / 8)


@pytest.mark.parametrize("ratio", [2.98, 10.0, 47.0, 1000.0])
def test_an_even_stretch_of_the_plane_is_met_alike_by_both_laws(ratio):
    # σ = E/(1 − ν)·ε where nothing presses across the lamellae (plane stress, mathematics)
    law = Transverse(even, 1000.0, 0.49, 1.0, even, ratio)
    tissue = Tissue(np.zeros(()), np.ones(()), np.zeros((), bool))
    C = law.respond(np.zeros((3, 3)), np.array([0.0, 0.0, 1.0]), tissue)[1].reshape(3, 3, 3, 3)
    C = C + law.bulk(tissue) * np.einsum("ij,kl->ijkl", np.eye(3), np.eye(3))
    thinner = -(C[2, 2, 0, 0] + C[2, 2, 1, 1]) / C[2, 2, 2, 2]
    assert C[0, 0, 0, 0] + C[0, 0, 1, 1] + C[0, 0, 2, 2] * thinner == pytest.approx(1000.0 / 0.51, rel=1e-12)


def test_ratio_2_98_with_the_same_relationship_is_the_isotropic_law():
    plain = figures("nambiar2023", back=None, setting=SLIDER)
    same = figures("nambiar2023", back=None, setting=SLIDER, choice=Choice("nambiar2023", "transverse", 2.98, "same"))
    for name, state in plain.items():
        np.testing.assert_allclose(list(vars(same[name]).values()), list(vars(state).values()), rtol=1e-9)


@pytest.mark.parametrize("relationship", ["nambiar2023", "petsche2012"])
def test_isotropic_section_is_that_of_a_library(relationship):
    # scikit-fem assembles the same virtual work; to 1e-6, as what was printed before the laws had one interface
    plan = section_plan(comparison())
    made = model(plan, SLIDER).bodies
    law = Choice(relationship).law_of(plan.shape, SLIDER)
    carried = np.concatenate([piece.carried for piece in made.pieces.values()])[:, np.newaxis]
    modulus = 1000.0 * made.tissue[0].mean(share_of(relationship, plan.shape), 4.0) * carried
    expected = displacement_mm(made.solid, modulus, 0.49, 2.0)
    np.testing.assert_allclose(
        made.load(law).field.displacement, expected, rtol=0.0, atol=1e-6 * np.abs(expected).max()
    )


@pytest.mark.parametrize(
    ("state", "expected"), [("surface", 1.18), ("flap", 1.50), ("lenticule_taut", 1.19), ("lenticule_slack", 1.62)]
)
def test_transverse_figures_of_the_base_eye(state, expected):
    # C, another program of this formulation: −6 D, back surface by the thickness law, ratio 47, shear by petsche2012
    found = figures("nambiar2023", back=None, choice=Choice(law="transverse"))
    assert found[state].bed_stress_ratio == pytest.approx(expected, abs=0.015)


@pytest.mark.parametrize(
    ("field", "given"),
    [
        ("relationship", ("nambiar", "isotropic")),
        ("law", ("orthotropic",)),
        ("shear_ratio", ("transverse", 2.5)),
        ("shear_ratio", ("transverse", 1001.0)),
        ("shear_ratio", ("transverse", np.nan)),
        ("shear_ratio", ("isotropic", 47.0)),
        ("shear_relationship", ("transverse", 47.0, "nambiar2023")),
        ("shear_relationship", ("isotropic", None, "same")),
        ("set", ("fibre", None, None, "living")),
        ("set", ("transverse", None, None, "soft")),
        ("shear_ratio", ("fibre", 47.0)),
    ],
)
def test_a_choice_that_cannot_be_is_refused(field, given):
    with pytest.raises(EyeError) as caught:
        Choice(*(given if field == "relationship" else ("nambiar2023", *given)))
    assert caught.value.field == field
