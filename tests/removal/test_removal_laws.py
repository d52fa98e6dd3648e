"""Laws of a removal: nothing is added, the deepest is deepest, slopes and volumes are what the map says."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tissue.eye.cornea import Cornea
from tissue.eye.refraction import Refraction
from tissue.removal.removal import Treatment, removal

plans = st.fixed_dictionaries(
    {
        "sphere": st.floats(-14.0, 8.0),
        "cylinder": st.one_of(st.just(0.0), st.floats(-6.0, 6.0)),
        "axis": st.floats(0.0, 180.0),
        "zone": st.floats(4.0, 6.5),
        "blend": st.one_of(st.just(0.0), st.floats(0.05, 3.0)),
        "profile": st.sampled_from(["munnerlyn", "conic", "parabolic"]),
        "Q": st.floats(-2.0, 0.5),
        "Q2": st.floats(-3.0, 0.5),
        "centre": st.tuples(st.floats(-2.0, 2.0), st.floats(-2.0, 2.0)),
    }
)


def made(p, base=0.0, reported=None, **changed):
    p = {**p, **changed}
    treatment = Treatment(
        Refraction(p["sphere"], p["cylinder"], p["axis"]),
        p["zone"],
        p["profile"],
        target_asphericity=p["Q2"],
        centre_x_mm=p["centre"][0],
        centre_y_mm=p["centre"][1],
    )
    return removal(Cornea(550.0, asphericity=p["Q"]), treatment, p["blend"], base, reported)


def ring(p, radius, turns=73):
    """Places of a ring about the treatment centre."""
    angle = np.linspace(0.0, 2.0 * np.pi, turns)
    return p["centre"][0] + radius * np.cos(angle), p["centre"][1] + radius * np.sin(angle)


@given(plans)
def test_nowhere_is_tissue_added(p):
    taken = made(p)
    for radius in np.linspace(0.0, p["zone"] / 2.0 + p["blend"], 60):
        assert np.all(taken.t_um(*ring(p, radius)) >= -1e-9)
    assert np.all(taken.t_um(*ring(p, p["zone"] / 2.0 + p["blend"] + 1e-6)) == 0.0)


@given(plans)
def test_deepest_and_rim_are_the_greatest(p):
    taken = made(p, base=15.0)
    for radius in np.linspace(0.0, p["zone"] / 2.0 + p["blend"], 60):
        assert np.all(taken.r_um(*ring(p, radius)) <= taken.max_um + 1e-9)
    assert taken.r_um(taken.max_x_mm, taken.max_y_mm) == pytest.approx(taken.max_um, abs=1e-9)
    # 5°-turns miss the greatest by at most 1 − cos² 2.5° of what the cylinder changes at the edge
    assert taken.t_um(*ring(p, p["zone"] / 2.0, 721)).max() == pytest.approx(taken.rim_step_um, abs=0.02)


@given(plans)
def test_slope_is_continuous_at_both_ends_of_the_blend(p):
    """One-sided slopes from three points 0.1 µm apart; their error, h²·t‴/3, stays below 0.01 µm/mm."""
    p = {**p, "blend": max(p["blend"], 0.2)}
    taken, h = made(p), 1e-4
    for edge in (p["zone"] / 2.0, p["zone"] / 2.0 + p["blend"]):
        far_in, near_in, here, near_out, far_out = (taken.t_um(*ring(p, edge + k * h)) for k in (-2, -1, 0, 1, 2))
        before = (3.0 * here - 4.0 * near_in + far_in) / (2.0 * h)
        after = (4.0 * near_out - 3.0 * here - far_out) / (2.0 * h)
        assert np.all(np.abs(after - before) < 0.02)


@given(plans)
def test_central_removal_has_its_parts(p):
    taken = made(p, base=15.0)
    assert taken.central_um == taken.refraction_part_um + taken.blend_part_um + 15.0
    assert taken.r_um(*p["centre"]) == pytest.approx(taken.central_um, abs=1e-9)
    assert taken.refraction_part_um >= 0.0 and taken.blend_part_um >= 0.0
    assert made(p, blend=0.0).central_um == pytest.approx(taken.refraction_part_um, abs=1e-9)


@given(plans, st.floats(1.0, 60.0))
def test_the_base_adds_itself_and_nothing_else(p, base):
    with_base, without = made(p, base=base), made(p)
    assert with_base.central_um - without.central_um == pytest.approx(base, abs=1e-9)
    x, y = ring(p, p["zone"] / 4.0)
    assert np.all(with_base.t_um(x, y) == without.t_um(x, y))
    area = np.pi * (p["zone"] / 2.0 + p["blend"]) ** 2
    assert with_base.volume_mm3 - with_base.optical_volume_mm3 == pytest.approx(area * base / 1000.0)


@given(plans.filter(lambda p: abs(p["sphere"]) + abs(p["cylinder"]) > 0.5), st.floats(20.0, 250.0))
def test_a_reported_depth_is_the_deepest_point(p, reported):
    base = 15.0
    plain, scaled = made(p, base), made(p, base, reported)
    assert scaled.max_um == pytest.approx(reported) and scaled.computed_um == plain.max_um
    factor = (reported - base) / (plain.max_um - base)
    for name in ("refraction_part_um", "blend_part_um", "rim_step_um", "optical_volume_mm3"):
        assert getattr(scaled, name) == pytest.approx(factor * getattr(plain, name), rel=1e-9, abs=1e-9)
    assert scaled.base_um == base


@given(plans)
def test_volume_is_the_integral_of_the_removal(p):
    """Simpson's rule over 200 rings in zone and blend each and 120 directions; the model asks 1e-4."""
    taken, total, a = made(p), 0.0, p["zone"] / 2.0
    angle = np.linspace(0.0, 2.0 * np.pi, 120, endpoint=False)
    for low, high in ((0.0, a), (a, a + p["blend"])):
        rho = np.linspace(low, high, 201)
        x, y = p["centre"][0] + rho[:, None] * np.cos(angle), p["centre"][1] + rho[:, None] * np.sin(angle)
        weight = np.ones(201)
        weight[1:-1:2], weight[2:-1:2] = 4.0, 2.0
        total += (weight * rho * taken.t_um(x, y).mean(axis=1)).sum() * (high - low) / 600.0 * 2.0 * np.pi
    assert taken.optical_volume_mm3 == pytest.approx(total / 1000.0, rel=1e-4, abs=1e-6)


@given(plans)
def test_both_spellings_take_the_same(p):
    other = made(p, sphere=p["sphere"] + p["cylinder"], cylinder=-p["cylinder"], axis=(p["axis"] + 90.0) % 180.0)
    taken = made(p)
    assert other.central_um == pytest.approx(taken.central_um, abs=1e-9)
    x, y = ring(p, p["zone"] / 2.0)
    assert np.allclose(other.t_um(x, y), taken.t_um(x, y), rtol=0.0, atol=1e-9)
    assert other.optical_volume_mm3 == pytest.approx(taken.optical_volume_mm3, abs=1e-12)


def test_a_myopic_sphere_touches_zero_at_the_edge_and_eases_out_with_a_blend():
    # Source: the rule of the model in its own words
    sharp = removal(Cornea(550.0), Treatment(Refraction(-6.0)), 0.0)
    assert sharp.rim_step_um == pytest.approx(0.0, abs=1e-12)
    eased = removal(Cornea(550.0), Treatment(Refraction(-6.0)), 0.5)
    rho = np.linspace(3.25, 3.75, 200)
    assert np.all(np.diff(eased.t_um(rho, 0.0)) <= 0.0)  # no ridge


def test_hyperopia_takes_nothing_at_the_centre_except_where_made_more_prolate():
    # Source: the rule of the model in its own words
    assert removal(Cornea(550.0), Treatment(Refraction(3.0)), 1.0).central_um == 0.0
    prolate = Treatment(Refraction(1.0), profile="conic", target_asphericity=-1.5)
    assert removal(Cornea(550.0), prolate, 1.0).central_um > 0.0
