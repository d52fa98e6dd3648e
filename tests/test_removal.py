"""Removal against printed and computed depths (tests/published/removal.csv names each source), and its laws."""

import numpy as np
import pytest
from conftest import published
from hypothesis import given
from hypothesis import strategies as st

from tissue.cornea import Cornea
from tissue.errors import EyeError
from tissue.refraction import Refraction
from tissue.removal import Treatment, default_blends, largest_zone_mm, removal


def taken_of(row, **changed):
    """The Removal of a row of the table."""
    v = {n: float(row[n]) if row[n] else np.nan for n in row if n.endswith(("_D", "_deg", "_mm", "_um", "asphericity"))}
    v |= changed
    refraction = Refraction(v["sphere_D"], np.nan_to_num(v["cylinder_D"]), np.nan_to_num(v["axis_deg"]), v["vertex_mm"])
    eye = Cornea(550.0, radius_mm=v["radius_mm"], asphericity=v["asphericity"])
    plan = Treatment(
        refraction, v["zone_mm"], changed.get("profile", row["profile"]), target_asphericity=v["target_asphericity"]
    )
    return removal(eye, plan, v["blend_mm"], v["base_um"])


def asphericity_left(row):
    """Q of the surface left: the eye's own conic less the profile (Gatinel 2001), fitted near the axis.

    By Baker's form of a conic, x² + (1 + Q)·s² = 2·R·s.
    """
    taken, Q, R = taken_of(row), float(row["asphericity"]), float(row["radius_mm"])
    x = np.array([0.2, 0.4, 0.6])
    before = x**2 / R / (1.0 + np.sqrt(1.0 - (1.0 + Q) * x**2 / R**2))
    after = before - (taken.central_um - taken.t_um(x, 0.0)) / 1000.0
    radius, conic = np.linalg.lstsq(np.stack([2.0 * after, -(after**2)], axis=1), x**2, rcond=None)[0]
    return conic - 1.0


QUANTITIES = {
    "radius_after_mm": lambda row: 1.0 / taken_of(row).profile.along_per_mm,
    "central_um": lambda row: taken_of(row).central_um,
    "asphericity_after": asphericity_left,
    "rise_for_target_um": lambda row: taken_of(row).central_um - taken_of(row, target_asphericity=np.nan).central_um,
    "optical_volume_mm3": lambda row: taken_of(row).optical_volume_mm3,
    "rim_step_um": lambda row: taken_of(row).rim_step_um,
    "max_um": lambda row: taken_of(row).max_um,
    "max_radius_mm": lambda row: np.hypot(taken_of(row).max_x_mm, taken_of(row).max_y_mm),
    "blend_part_um": lambda row: taken_of(row).blend_part_um,
    "munnerlyn_less_parabolic_um": lambda row: taken_of(row).central_um - taken_of(row, profile="parabolic").central_um,
}


@pytest.mark.parametrize("row", list(published("removal")))
def test_published(row):
    assert QUANTITIES[row["quantity"]](row) == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]))


# --- the ramps of blend and base. Source: the model's definition of the defaults ---


@pytest.mark.parametrize(
    ("refraction", "expected"),
    [
        (Refraction(-6.0), (0.5, 0.0, 15.0)),
        (Refraction(-6.0, -1.25, 170.0), (0.5, 0.1, 15.0)),
        (Refraction(-6.0, -0.125, 170.0), (0.5, 0.05, 15.0)),
        (Refraction(-7.25, 1.25, 80.0), (0.5, 0.1, 15.0)),
        (Refraction(0.5, 0.0, 0.0, 0.0), (0.75, 0.5, 22.5)),
        (Refraction(1.0, 0.0, 0.0, 0.0), (1.0, 1.0, 30.0)),
        (Refraction(4.0), (1.0, 1.0, 30.0)),
        (Refraction(2.0, -4.0, 10.0), (1.0, 1.0, 30.0)),
        (Refraction(0.05, -4.0, 10.0, 0.0), (0.525, 0.1, 15.75)),
    ],
)
def test_default_blends_and_base(refraction, expected):
    assert [float(v) for v in default_blends(refraction)] == pytest.approx(expected, abs=1e-12)


def test_what_is_given_stands_before_a_default():
    plan = Treatment(Refraction(3.0), ablation_blend_mm=[0.0, np.nan], lenticule_blend_mm=0.3, base_um=12.0)
    assert plan.ablation_blend_mm.tolist() == [0.0, 1.0]
    assert (plan.lenticule_blend_mm, plan.base_um) == (0.3, 12.0)


# --- refusals. Source: the model's refusals of a removal ---


def refused(**plan):
    with pytest.raises(EyeError) as caught:
        eye, field = Cornea(550.0), plan.pop("field", "reported_um")
        blend, base, reported = (plan.pop(n, d) for n, d in (("blend", 0.0), ("base", 0.0), ("reported", None)))
        removal(eye, Treatment(**plan), blend, base, reported, field)
    return caught.value


def test_an_unknown_profile():
    error = refused(refraction=Refraction(-3.0), profile="spherical")
    assert (error.field, error.value) == ("profile", "spherical") and "munnerlyn" in error.limit


def test_a_surface_that_ends_inside_the_zone():
    # C: Q2 = 5 after −2 D on 7.8: c = 1/7.8 − 2/376, the root ends at 1/(√6·c) = 3.32 mm: 6.60 mm is the largest zone
    steep = {"refraction": Refraction(-2.0, vertex_mm=0.0), "profile": "conic", "target_asphericity": 5.0}
    error = refused(**steep, zone_mm=6.7)
    assert error.field == "zone_mm" and "6.60 mm" in error.limit
    assert largest_zone_mm(Cornea(550.0), Treatment(**steep)) == pytest.approx(6.60)
    assert np.isfinite(removal(Cornea(550.0), Treatment(**steep, zone_mm=6.6), 0.0).rim_step_um)


def test_a_reported_depth_within_the_base_or_with_nothing_to_treat():
    myope = Refraction(-3.0)
    assert refused(refraction=myope, base=20.0, reported=20.0, field="reported_lenticule_um").field == (
        "reported_lenticule_um"
    )
    assert refused(refraction=myope, base=20.0, reported=19.0).field == "reported_um"
    assert refused(refraction=Refraction(0.0), reported=50.0).limit == "no reported depth where nothing is treated"
    assert removal(Cornea(550.0), Treatment(myope), 0.0, 20.0, 20.5).max_um == pytest.approx(20.5)


def test_one_wrong_row_refuses_and_nothing_given_does_not():
    eye = Cornea([550.0, np.nan])
    column = removal(eye, Treatment(Refraction([np.nan, -3.0])), 0.0, 15.0, [np.nan, np.nan])
    assert np.isnan(column.central_um[0]) and np.isfinite(column.central_um[1])


# --- laws ---

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
