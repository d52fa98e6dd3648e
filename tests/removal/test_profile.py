"""The shape of a removal against brute force (brute.py), where its extremes lie in the zone, at its edge, in the blend.

The eyes are chosen so that each place where a removal can be deepest, and each where the surfaces can be nearest, is
the one for some of them: centre, zone edge, a turning point of two conics, and the crest of the blend; along the axis
and across it. Source of every expected figure: the definition of the surfaces and of the blend.
"""

from functools import cache

import numpy as np
import pytest
from brute import Eye, Tissue
from helpers import is_itself_only

from tissue.eye.cornea import Cornea
from tissue.eye.refraction import Refraction
from tissue.removal.profile import Profile
from tissue.removal.removal import Treatment, profile_of, removal

AXIS = 30.0
SHAPES = {  # sphere, cylinder [D], Q before, Q wanted, zone, blend [mm]
    "myopia, deepest at the edge, turning along": (-1.5, 0.0, -1.0, 0.2, 6.5, 0.0),
    "myopia, deepest in the blend, turning across": (-1.5, -1.0, -1.0, 0.5, 6.5, 1.2),
    "turning within 1 mm across": (-0.5, -3.0, -1.0, 0.5, 6.5, 0.0),
    "turning within 1 mm along, crest across": (-1.5, 1.0, -1.0, 0.5, 6.5, 1.2),
    "deepest at a turning point along": (1.0, 0.0, -0.19, -0.5, 6.5, 1.2),
    "deepest at a turning point across": (2.0, 1.0, -0.19, -1.0, 6.5, 1.2),
    "deepest at a turning point along, edge adds": (0.25, 0.0, -0.19, -2.5, 6.5, 1.2),
    "deepest at a turning point across, edge adds": (-0.5, 1.0, -0.19, -2.5, 6.5, 0.0),
    "deepest at the centre, turning along": (-4.0, 0.0, -1.0, 0.2, 6.5, 1.2),
    "deepest at the centre, turning across": (-4.0, -1.0, -1.0, 0.5, 6.5, 0.0),
    "deepest at the edge across": (-4.0, 3.0, -0.19, 0.5, 6.5, 0.0),
    "deepest in the blend across": (-1.5, 3.0, -0.19, -0.5, 6.5, 1.2),
    "deepest at the edge along": (-1.0, -3.0, -0.19, 0.5, 6.5, 0.0),
    "hyperopia": (3.0, -2.0, -0.19, -0.19, 6.0, 1.5),
    "mixed": (2.0, -5.0, -0.19, -0.19, 6.5, 0.7),
    "strongly mixed over a wide zone": (8.0, -12.0, 0.3, 0.5, 9.0, 1.0),
    "a zone narrower than its blend": (-3.0, -1.0, -0.19, -0.19, 1.5, 2.0),
    "a hyperopic zone narrower than its blend": (3.0, 1.0, -0.19, -0.19, 1.5, 2.0),
}
PLANS = [(name, profile) for name in SHAPES for profile in ("conic", "munnerlyn", "parabolic")]


@cache
def made(shape, profile):
    """Profile and Removal of a shape, and the same by brute force."""
    sphere, cylinder, Q, wanted, zone, blend = shape
    treatment = Treatment(Refraction(sphere, cylinder, AXIS, 0.0), zone, profile, wanted)
    cornea = Cornea(550.0, asphericity=Q)
    values = {"sphere_D": sphere, "cylinder_D": cylinder, "axis_deg": AXIS, "vertex_mm": 0.0, "asphericity": Q}
    values |= {"target_asphericity": wanted, "profile": profile, "zone_mm": zone, "central_thickness_um": 550.0}
    shaped = profile_of(cornea, treatment, blend)
    return shaped, removal(cornea, treatment, blend), Tissue(Eye(values), zone, blend)


@pytest.mark.parametrize(("name", "profile"), PLANS)
def test_parts_deepest_rim_and_volume(name, profile):
    shape, taken, brute = made(SHAPES[name], profile)
    assert taken.refraction_part_um == pytest.approx(brute.plain_um, abs=1e-6)
    assert taken.central_um == pytest.approx(brute.central_um, abs=1e-6)
    assert taken.max_um == pytest.approx(brute.deepest_um, abs=1e-6)
    assert taken.t_um(taken.max_x_mm, taken.max_y_mm) == pytest.approx(taken.max_um, abs=1e-9)
    assert shape.deepest(taken.central_unscaled_um)[2] in (0, 1)  # along the axis or across it
    assert taken.rim_step_um == pytest.approx(brute.t(brute.a, brute.turns).max(), abs=1e-6)
    assert taken.optical_volume_mm3 == pytest.approx(brute.volume_mm3(), rel=1e-10, abs=1e-12)


@pytest.mark.parametrize(("name", "profile"), PLANS)
def test_the_map_itself(name, profile):
    _, taken, brute = made(SHAPES[name], profile)
    radius, angle = np.linspace(0.0, 1.3 * taken.radius_mm, 53)[:, None], np.radians(np.arange(0.0, 360.0, 7.0))
    found = taken.t_um(radius * np.cos(angle), radius * np.sin(angle))
    assert np.allclose(found, brute.t(radius, angle), rtol=0.0, atol=1e-9)


@pytest.mark.parametrize(("name", "profile"), PLANS)
def test_nothing_in_the_blend_is_over_its_bound(name, profile):
    shape, taken, brute = made(SHAPES[name], profile)
    # Source: definition: (1 − s)²·(1 + 2·s) is at most 1 and (1 − s)²·s at most 4/27, at s = 0 and s = 1/3
    bound = shape.ring_um(taken.central_unscaled_um)
    in_blend = brute.t(np.linspace(brute.a, taken.radius_mm, 61)[:, None], brute.turns)
    rising = np.maximum(0.0, brute.eye.edge_slope(brute.turns, brute.a).max()) * brute.w
    assert in_blend.max() <= bound + 1e-9
    assert bound == pytest.approx(in_blend[0].max() + 4.0 / 27.0 * rising, abs=1e-6)


@pytest.mark.parametrize(("name", "profile"), PLANS)
def test_the_edge_of_the_zone_is_in_the_zone(name, profile):
    # Source: definition: the closed zone; a place at its edge may be rounded outwards
    sphere, cylinder, Q, wanted, zone, _ = SHAPES[name]
    _, taken, brute = made((sphere, cylinder, Q, wanted, zone, 0.0), profile)
    angle = np.radians(np.arange(0.0, 360.0, 0.5))
    at_edge = taken.t_um(taken.radius_mm * np.cos(angle), taken.radius_mm * np.sin(angle))
    assert np.allclose(at_edge, brute.t(brute.a, angle), rtol=0.0, atol=1e-9)


def test_columns_equal_numbers():
    """Every figure of a column is that of its row alone; what is one for all is spread over the rows."""
    rows = [shape for shape in SHAPES.values() if shape[4] == 6.5]
    sphere, cylinder, Q, wanted, _, blend = np.array(rows).T
    treatment = Treatment(Refraction(sphere, cylinder, AXIS, 0.0), 6.5, "conic", wanted)
    column = removal(Cornea(550.0, asphericity=Q), treatment, blend)
    assert column.profile.zone_radius_mm.shape == column.profile.before_per_mm.shape == (len(rows),)
    figures = "refraction_part_um blend_part_um max_um max_x_mm max_y_mm rim_step_um optical_volume_mm3 zone_cost_um"
    for name in figures.split():
        alone = [getattr(made(row, "conic")[1], name) for row in rows]
        assert np.array_equal(getattr(column, name), alone), name
    largest = [made(row, "conic")[0].largest_radius_mm for row in rows]
    assert np.array_equal(column.profile.largest_radius_mm, largest)


def test_a_parabola_or_a_hyperbola_has_a_surface_everywhere():
    # Source: textbook: only an ellipse ends; the first that ends sets the radius: here 1/(√0.5·0.125) = 11.31 mm
    for K in (0.0, -0.5):
        assert Profile(0.128, 0.11, 0.12, K, K, 3.25, 0.5).largest_radius_mm == np.inf
    assert Profile(0.128, 0.11, 0.125, -0.5, 0.5, 3.25, 0.5).largest_radius_mm == pytest.approx(11.3137, abs=5e-5)
    assert Profile(0.125, 0.5, 0.5, 0.5, -0.5, 3.25, 0.5).largest_radius_mm == pytest.approx(11.3137, abs=5e-5)


def deepest_um(power_D, zone_mm=6.5, blend_mm=1.0):
    """Deepest removal of a parabola for a sphere at the cornea."""
    plan = Treatment(Refraction(power_D, vertex_mm=0.0), zone_mm, "parabolic")
    return removal(Cornea(550.0), plan, blend_mm).max_um


def test_a_parabola_takes_by_the_dioptre_and_the_square_of_the_zone():
    # C: s = c·ρ²/2, so t is straight in the power; 14.046 µm a dioptre at 6.5 mm (table of depths), its square at 1.5
    for blend in (0.0, 1.0):
        for power in (-5.0, 5.0):
            assert deepest_um(power / 1000.0, blend_mm=blend) == pytest.approx(
                deepest_um(power, blend_mm=blend) / 1000.0, rel=1e-6
            )
    assert deepest_um(-1.0, 1.5, 0.0) == pytest.approx(14.046 * (1.5 / 6.5) ** 2, rel=1e-4)
    assert deepest_um(1.0, 1.5, 0.0) == pytest.approx(14.046 * (1.5 / 6.5) ** 2, rel=1e-4)


def test_where_nothing_is_corrected_nothing_is_taken():
    # Source: definition: two equal surfaces
    for profile in ("munnerlyn", "conic", "parabolic"):
        taken = removal(Cornea(550.0), Treatment(Refraction(0.0), profile=profile), 0.5)
        assert (taken.central_um, taken.max_um, taken.rim_step_um, taken.volume_mm3) == (0.0, 0.0, 0.0, 0.0)
        assert is_itself_only(taken.profile)
