"""Removal against printed and computed depths (tests/published/removal.csv names each source), and its refusals."""

from dataclasses import replace

import numpy as np
import pytest
from helpers import is_itself_only
from printed import published

from tissue.eye.cornea import Cornea
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError
from tissue.removal.profile import Profile
from tissue.removal.removal import Treatment, default_blends, floor_zone_mm, largest_zone_mm, removal, with_surfaces


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


def test_what_is_not_given_and_what_is_a_column():
    # Source: the model's defaults; the conventions: None is NaN, a list is a column
    plan = Treatment(Refraction(-3.0))
    assert (plan.zone_mm, plan.centre_x_mm, plan.centre_y_mm, plan.target_D) == (6.5, 0.0, 0.0, 0.0)
    for missing in (plan.target_asphericity, plan.reported_ablation_um, plan.reported_lenticule_um):
        assert np.isnan(missing)
    assert (Treatment(Refraction(-3.0), [6.0, 6.5]).zone_mm / 2.0).tolist() == [3.0, 3.25]
    assert is_itself_only(plan) and is_itself_only(removal(Cornea(550.0), plan, 0.5))


# --- places. Source: definition of the deepest point: of equal ones that of the smallest angle from the right ---

CENTRE = (0.3, -0.2)


def deepest_place(refraction):
    """Angle [degrees] and distance [mm] of the deepest removal about a treatment centre off the vertex."""
    plan = Treatment(refraction, 6.0, centre_x_mm=CENTRE[0], centre_y_mm=CENTRE[1])
    taken = removal(Cornea(550.0), plan, 1.5)
    x, y = taken.max_x_mm - CENTRE[0], taken.max_y_mm - CENTRE[1]
    return np.degrees(np.arctan2(y, x)), np.hypot(x, y)


@pytest.mark.parametrize(
    ("refraction", "angle"),
    [
        (Refraction(3.0, 0.0, 40.0, 0.0), 0.0),  # a ring: a sphere has no axis
        (Refraction(4.0, -3.0, 20.0), 20.0),
        (Refraction(4.0, -3.0, 180.0), 0.0),
        (Refraction(1.0, 3.0, 20.0), 110.0),
        (Refraction(1.0, 3.0, 170.0), 80.0),
        (Refraction(1.0, 1.0, 170.0), 80.0),
        (Refraction(4.0, -1.0, 20.0), 20.0),
    ],
)
def test_where_hyperopia_is_deepest(refraction, angle):
    found, distance = deepest_place(refraction)
    assert found == pytest.approx(angle, abs=1e-9)
    assert distance == pytest.approx(3.18, abs=0.02)  # C: 3.18 mm for +3 D in the table of depths


def test_where_myopia_is_deepest():
    assert deepest_place(Refraction(-3.0, -1.0, 30.0))[1] == 0.0


def test_the_base_lies_under_the_treated_disc_and_nowhere_else():
    # Source: definition: zone and blend with their rim, base 15 at the rim, nothing beyond
    plan = Treatment(Refraction(-3.0, -1.0, 30.0), 6.5, centre_x_mm=CENTRE[0], centre_y_mm=CENTRE[1])
    taken = removal(Cornea(550.0), plan, 0.5, 15.0)
    assert (taken.zone_mm, taken.blend_mm, taken.radius_mm) == (6.5, 0.5, 3.75)
    angle = np.linspace(0.0, 2.0 * np.pi, 721)
    for part, depth in ((1.0, 15.0), (1.0 + 1e-9, 0.0), (1.3, 0.0), (10.0, 0.0)):
        x, y = CENTRE[0] + part * 3.75 * np.cos(angle), CENTRE[1] + part * 3.75 * np.sin(angle)
        assert np.allclose(taken.r_um(x, y), depth, rtol=0.0, atol=1e-9)
    assert np.all(taken.r_um(CENTRE[0] + 3.0 * np.cos(angle), CENTRE[1] + 3.0 * np.sin(angle)) > 15.0)


def test_where_nothing_is_treated_a_wider_zone_costs_nothing():
    # Source: definition
    assert removal(Cornea(550.0), Treatment(Refraction(0.0)), 0.5).zone_cost_um == 0.0


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
    column = Treatment(Refraction(-3.0), profile=["conic", "toric", "flat"])  # the rows are refused, each for its own
    assert [words.partition(",")[0] for words in column.reasons] == ["", "profile: read toric", "profile: read flat"]
    assert list(column.profile) == ["conic", "munnerlyn", "munnerlyn"]  # the usual one stands in, without figures


def test_a_surface_that_ends_inside_the_zone():
    # C: Q2 = 5 after −2 D on 7.8: c = 1/7.8 − 2/376, the root ends at 1/(√6·c) = 3.32 mm: 6.60 mm is the largest zone
    steep = {"refraction": Refraction(-2.0, vertex_mm=0.0), "profile": "conic", "target_asphericity": 5.0}
    error = refused(**steep, zone_mm=6.7)
    assert error.field == "zone_mm" and "6.60 mm" in error.limit
    assert largest_zone_mm(Cornea(550.0), Treatment(**steep)) == pytest.approx(6.60)
    assert np.isfinite(removal(Cornea(550.0), Treatment(**steep, zone_mm=6.6), 0.0).rim_step_um)
    # of a column each row that cannot be is refused alone, with its own limit; with Q2 = 6 the root ends at 3.076 mm
    steep["target_asphericity"] = [5.0, 5.0, 6.0]
    column = removal(Cornea(550.0), Treatment(**steep, zone_mm=[6.6, 6.7, 6.8]), 0.0)
    assert [words.partition(" with")[0] for words in column.reasons] == [
        "", "zone_mm: read 6.7, accepted up to 6.60 mm", "zone_mm: read 6.8, accepted up to 6.15 mm",
    ]  # fmt: skip
    assert np.array_equal(np.isnan(column.central_um), [False, True, True])


def test_the_largest_zone_is_rounded_down_to_what_has_a_surface():
    # C: two spheres of radius R: the surface before ends at R upright, so a zone of 2R itself is refused
    for radius in np.arange(2.0, 4.0, 0.025):
        ball = Profile(1.0 / radius, 0.1, 0.1, 1.0, 1.0, 0.0, 0.0)
        assert floor_zone_mm(ball) == pytest.approx(2.0 * radius - 0.05)
        assert floor_zone_mm(replace(ball, before_per_mm=1.0 / (radius + 0.01))) == pytest.approx(2.0 * radius)
        with pytest.raises(EyeError):
            with_surfaces(replace(ball, zone_radius_mm=ball.largest_radius_mm), 2.0 * radius)
        with_surfaces(replace(ball, zone_radius_mm=ball.largest_radius_mm - 1e-6), 2.0 * radius)


def test_a_row_whose_reported_depth_lies_within_the_base_has_no_removal():
    # Source: a rule of the project: a refused row of a column has no figure, and its neighbour keeps its own
    column = Treatment(Refraction([-6.0, -6.0]))
    found = removal(Cornea(550.0), column, 0.5, 20.0, np.array([10.0, 120.0]), "reported_lenticule_um")
    assert np.isnan(found.max_um[0]) and found.max_um[1] == pytest.approx(120.0)


def test_a_reported_depth_within_the_base_or_with_nothing_to_treat():
    myope = Refraction(-3.0)
    assert refused(refraction=myope, base=20.0, reported=20.0, field="reported_lenticule_um").field == (
        "reported_lenticule_um"
    )
    assert refused(refraction=myope, base=20.0, reported=19.0).field == "reported_um"
    assert refused(refraction=Refraction(0.0), reported=50.0).limit == "no reported depth where nothing is treated"
    assert removal(Cornea(550.0), Treatment(myope), 0.0, 20.0, 20.5).max_um == pytest.approx(20.5)
    # C: 0.05 D take 0.7 µm of a parabola 6.5 mm wide (14.046 µm a dioptre): little, but something
    little = Treatment(Refraction(-0.05, vertex_mm=0.0), profile="parabolic")
    assert removal(Cornea(550.0), little, 0.0).max_um == pytest.approx(0.7023, abs=5e-5)
    assert removal(Cornea(550.0), little, 0.0, 0.0, 1.0).max_um == pytest.approx(1.0)


def test_one_wrong_row_refuses_and_nothing_given_does_not():
    eye = Cornea([550.0, np.nan])
    column = removal(eye, Treatment(Refraction([np.nan, -3.0])), 0.0, 15.0, [np.nan, np.nan])
    assert np.isnan(column.central_um[0]) and np.isfinite(column.central_um[1])
