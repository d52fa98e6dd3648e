"""The fibre law and the shape without pressure: small strains, differences, and figures of the base eye."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from section_cases import comparison, even, nothing

from tissue.ground.errors import EyeError
from tissue.mechanics import SLIDER, STATES, Choice, model, section_plan, states
from tissue.mechanics.body import Bodies, bodies
from tissue.mechanics.laws.choice import under
from tissue.mechanics.laws.fibre import Fibre, directions
from tissue.mechanics.laws.law import Isotropic, Tissue, Transverse, even_fibres
from tissue.mechanics.solve import NoEquilibrium, large
from tissue.mechanics.stress_free import MOST_STEPS, NO_EQUILIBRIUM, NO_SLIDING


@cache
def base_eye(name="middle", pressure_mmHg=15.0):
    """Model of the base eye, its law, and its states on the coarse mesh."""
    setting, plan = under(SLIDER, pressure_mmHg), section_plan(comparison())
    made, law = model(plan, setting), Choice(law="fibre", set=name).law_of(plan.shape, setting)
    return made, law, states(made, law, pictures=False)


@pytest.mark.parametrize(
    ("state", "expected"),
    [
        ("surface", 1.17),
        ("flap", 1.47),
        ("lenticule_taut", 1.20),
        ("lenticule_closed", 1.61),
        ("lenticule_slack", 1.58),
    ],
)
def test_figures_of_the_base_eye(state, expected):
    # C, another program of the same formulation: −6 D, middle set
    assert base_eye()[2][state].figures.bed_stress_ratio == pytest.approx(expected, abs=0.035)


def test_what_the_fibre_law_does_not_give():
    found = base_eye()[2]
    assert tuple(found) == (*STATES, "lenticule_closed")
    assert found["lenticule_sliding"].why_not == NO_SLIDING and found["lenticule_sliding"].figures is None
    assert np.isnan(found["flap"].figures.apex_ratio)


@pytest.mark.parametrize("name", ["soft", "middle", "donor"])
def test_the_pressure_gives_the_measured_shape(name):
    made, law, _ = base_eye(name)
    shape, part = made.stress_free(law), made.sections["intact"]
    assert shape.steps <= MOST_STEPS and shape.error_um < 0.1
    points = {"intact": shape.points_mm(part)}
    again = bodies({"intact": part}, made.setting, points=points).load(law)
    reached = points["intact"] + again.moved_mm("intact")
    assert 1000.0 * np.hypot(*(reached - part.points_mm)).max() < 0.1


def test_the_pressure_carries_the_equator():
    # what holds the equator carries the pressure on the circle of the deformed eye: pπr² (statics)
    made, law, _ = base_eye()
    part = made.sections["intact"]
    loaded = bodies({"intact": part}, made.setting, points={"intact": made.stress_free(law).points_mm(part)}).load(law)
    basis, rim = loaded.field.solid.displacement, part.line_of_nodes(-1)
    between = np.isin(basis.mesh.facets, rim).all(axis=0)
    vertical = np.concatenate([basis.nodal_dofs[1, rim], basis.facet_dofs[1, between]])
    inner = (basis.mesh.p[0] + loaded.field.displacement[basis.nodal_dofs[0]])[part.grids[1][-1, -1]]
    assert abs(loaded.field.reaction[vertical].sum()) == pytest.approx(2.0 * inner**2 / 2.0, rel=1e-6)


def test_nothing_taken_changes_nothing():
    plan = section_plan(comparison())
    cap = replace(plan.lenticule, removal_mm=nothing)
    plan = replace(plan, surface=replace(cap, ablates_front=True), flap=replace(cap, radius_mm=4.5), lenticule=cap)
    made = model(plan, SLIDER, flap_kept=1.0)
    found = states(made, Choice(law="fibre").law_of(plan.shape, SLIDER), pictures=False)
    for name in ("surface", "flap", "lenticule_taut", "lenticule_closed"):
        assert found[name].figures.bed_stress_ratio == pytest.approx(1.0, abs=1e-9)
        assert found[name].figures.bed_strain_ratio == pytest.approx(1.0, abs=1e-9)


def test_small_strains_are_those_of_the_transverse_law():
    # C: G = 2c and E_f = 4·k_f·E(x); at 0.5 mmHg and without the volume part. Here the very tangents at no strain.
    law = Fibre(even, 20.0, 1500.0, 400.0, 20000.0, 4.0)
    tissue = Tissue(np.zeros(3), np.ones(3), np.zeros(3, bool))
    normal = np.array([[0.0, 0.0, 1.0], [0.6, 0.8, 0.0], [0.48, 0.6, 0.64]])
    stretched = np.zeros((3, 3, 3)) + 1e-7 * (np.eye(3) - normal[:, :, np.newaxis] * normal[:, np.newaxis, :])
    tangent = law.respond(stretched, normal, tissue)[1]
    plane = 4.0 * 1500.0 * even_fibres(normal)
    ground = tangent - plane
    even_part = np.eye(9).reshape(3, 3, 3, 3)
    expected = 40.0 * (even_part + np.swapaxes(even_part, 2, 3)).reshape(9, 9) - 80.0 / 3.0 * np.outer(
        np.eye(3).ravel(), np.eye(3).ravel()
    )
    np.testing.assert_allclose(ground, np.broadcast_to(expected, ground.shape), atol=0.02)


def test_at_half_a_millimetre_of_mercury_it_is_the_transverse_law():
    # small strains: the section by both laws, G = 2c, E_f = 4·k_f·E(x), and the bulk that goes with K
    made, law, found = base_eye(pressure_mmHg=0.5)
    linear = Small(law, made.setting.sclera_modulus_ratio)
    plain = states(made, linear, pictures=False)
    for name in ("surface", "flap", "lenticule_taut", "lenticule_slack"):
        ratio = plain[name].figures.bed_stress_ratio
        assert found[name].figures.bed_stress_ratio == pytest.approx(ratio, abs=0.02)


class Small(Transverse):
    """The transverse law that a fibre law is at small strains; its sclera is layered too."""

    def __init__(self, law, sclera_ratio):
        super().__init__(law.share, 1.0, 0.49, sclera_ratio, law.share, 1.0)
        object.__setattr__(self, "law", law)

    def bulk(self, tissue):
        ground = self.law.ground_kPa * np.where(tissue.sclera, self.sclera_ratio, 1.0)
        return self.law.bulk(tissue) - 4.0 / 3.0 * ground

    def respond(self, gradient, normal, tissue):
        ground = self.law.ground_kPa * np.where(tissue.sclera, self.sclera_ratio, np.ones(gradient.shape[:-2]))
        plain = Isotropic(even, 4.0 * 1.49, 0.49, 1.0).respond(gradient, normal, tissue)[1]
        fibres = 4.0 * self.law.fibre_kPa * tissue.mean(self.share, self.sclera_ratio)
        tangent = ground[..., np.newaxis, np.newaxis] * plain + fibres[..., np.newaxis, np.newaxis] * even_fibres(
            normal
        )
        stress = np.matmul(tangent, gradient.reshape(*gradient.shape[:-2], 9, 1)).reshape(gradient.shape)
        return stress, tangent


def test_fibres_lie_across_the_normal_and_are_even():
    normal = np.array([[0.0, 0.0, 1.0], [0.6, 0.8, 0.0], [0.48, 0.6, 0.64]])
    a = directions(normal)
    np.testing.assert_allclose(np.einsum("nfi,ni->nf", a, normal), 0.0, atol=1e-12)
    mean = np.einsum("nfi,nfj,nfk,nfl->nijkl", a, a, a, a) / a.shape[1]
    np.testing.assert_allclose(mean.reshape(3, 9, 9), even_fibres(normal), atol=1e-12)


def test_change_of_volume_and_of_area_are_derivatives_of_each_other():
    random = np.random.default_rng(3)
    gradient, change = random.normal(scale=0.1, size=(2, 6, 5))
    volume, cofactor, further = large(gradient)
    ends = [large(gradient + s * 1e-6 * change) for s in (1.0, -1.0)]
    np.testing.assert_allclose(
        np.sum(cofactor * change, axis=1), (ends[0][0] - ends[1][0]) / 2e-6, rtol=1e-6, atol=1e-8
    )
    moved = np.einsum("nij,nj->ni", further, change)
    np.testing.assert_allclose(moved, (ends[0][1] - ends[1][1]) / 2e-6, rtol=1e-6, atol=1e-8)


def test_no_stress_free_shape_is_an_error_of_the_law():
    setting, plan = replace(SLIDER, pressure_kPa=4000.0), section_plan(comparison())
    with pytest.raises(EyeError) as caught:
        model(plan, setting).stress_free(Choice(law="fibre", set="soft").law_of(plan.shape, setting))
    assert caught.value.field == "law"


def test_a_state_without_equilibrium_says_so(monkeypatch):
    # no eye of the accepted ranges was found that has none: the solver is told to fail with the flap alone
    made, law, before = base_eye()
    load = Bodies.load

    def fails_with_the_flap(self, given):
        if "flap" in self.pieces:
            raise NoEquilibrium
        return load(self, given)

    monkeypatch.setattr(Bodies, "load", fails_with_the_flap)
    found = states(made, law, pictures=False)
    assert found["flap"].figures is None and found["flap"].why_not == NO_EQUILIBRIUM
    assert found["surface"].figures.bed_stress_ratio == pytest.approx(before["surface"].figures.bed_stress_ratio, 1e-6)
