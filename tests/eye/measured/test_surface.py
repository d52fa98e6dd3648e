"""Where a map is known, and what it is there and beyond."""

import numpy as np
import pytest
from own_maps import grid, map_of, nine, readings_of
from scipy.spatial import Delaunay, cKDTree

from tissue.eye.cornea import Cornea
from tissue.eye.measured.cover import cover_of
from tissue.eye.measured.readings import Places, Sectors
from tissue.eye.measured.surface import measured_surface
from tissue.ground.errors import EyeError


def test_cover_is_near_a_reading_and_inside_the_outline():
    """Against SciPy: inside the Delaunay triangles of the readings, and within 0.75 mm of one of them."""
    x, y = grid(0.5, 4.0)
    keep = np.hypot(x - 1.5, y) > 1.3
    known = cover_of(Places(x[keep], y[keep], x[keep]))
    places = np.random.default_rng(1).uniform(-5.0, 5.0, (4000, 2))
    readings = np.column_stack([x[keep], y[keep]])
    inside = Delaunay(readings).find_simplex(places) >= 0
    near = cKDTree(readings).query(places)[0] <= 0.75
    mine = known.holds(*places.T)
    assert np.all(mine[inside] == near[inside])
    assert not mine[np.hypot(*places.T) > 4.1].any()


@pytest.mark.parametrize(("x", "y"), [(0.0, 0.0), (0.3, -0.4), (1.2, 0.8)])
def test_largest_disc_that_is_covered(x, y):
    """Of readings on a square of ±4 mm the outline goes 0.1 mm beyond: a fact of the drawing."""
    line = np.arange(-4.0, 4.01, 0.5)
    gx, gy = (part.ravel() for part in np.meshgrid(line, line))
    known = cover_of(Places(gx, gy, gx))
    assert float(known.radius_mm(x, y)) == pytest.approx(4.1 - max(abs(x), abs(y)), abs=2e-3)


def test_a_hole_ends_the_cover():
    x, y = grid(0.5, 4.0)
    keep = np.hypot(x - 2.0, y) > 1.3
    known = cover_of(Places(x[keep], y[keep], x[keep]))
    nearest = np.hypot(x[keep] - 2.0, y[keep]).min()
    assert float(known.radius_mm(0.0, 0.0)) < 2.0 - nearest + 0.75 + 0.2


def test_sectors_cover_their_area():
    """A disc of 2 mm and a ring to 5 mm whose temporal sector is missing."""
    middle = np.arange(8) * 45.0
    kept = middle != 180.0
    inner, outer = np.append(0.0, np.full(7, 1.0)), np.append(1.0, np.full(7, 2.5))
    known = cover_of(Sectors(inner, outer, np.append(0.0, middle[kept]), np.append(360.0, np.full(7, 45.0)), inner))
    assert known.holds(np.array([2.4, -2.4, -0.9]), np.array([0.0, 0.0, 0.0])).tolist() == [True, False, True]
    assert float(known.radius_mm(0.0, 0.0)) == pytest.approx(1.0, abs=2e-3)


def test_beyond_the_cover_it_grows_as_a_cornea_does():
    """T_edge + k·T_thin·(ρ² − ρ_edge²), k = 0.0088 per mm²."""
    found = measured_surface(readings_of(nine, reach_mm=4.0))
    edge = float(found.edge_mm(1.0, 0.0))
    at_edge = float(found.spline.at(edge, 0.0))
    assert float(found.thickness_um(5.0, 0.0)) == pytest.approx(at_edge + 0.0088 * found.thinnest_um * (25.0 - edge**2))
    held = measured_surface(readings_of(nine, reach_mm=4.0), grows=False)
    assert float(held.thickness_um(5.0, 0.0)) == pytest.approx(at_edge)


def test_thinnest_point_is_where_the_formula_is_least():
    x, y = (part.ravel() for part in np.meshgrid(np.arange(-1.0, 0.5, 0.002), np.arange(-1.0, 0.5, 0.002)))
    values = nine(x, y)
    found = measured_surface(readings_of(nine))
    assert found.thinnest_um == pytest.approx(values.min(), abs=0.02)
    assert np.hypot(found.thinnest_x_mm - x[values.argmin()], found.thinnest_y_mm - y[values.argmin()]) < 0.02


def test_cornea_takes_centre_and_thinnest_point_from_its_map():
    eye = Cornea(None, own_map=map_of(nine))
    assert eye.central_thickness_um == pytest.approx(float(nine(0.0, 0.0)), abs=0.01)
    assert eye.thinnest_um == pytest.approx(529.58, abs=0.02)
    typed = Cornea(525.0, 510.0, 1.0, 1.0, own_map=map_of(nine))
    assert typed.central_thickness_um == 525.0 and typed.thinnest_um == pytest.approx(529.58, abs=0.02)
    assert float(typed.thickness_um(0.0, 0.0)) == pytest.approx(float(nine(0.0, 0.0)), abs=0.01)


def test_readings_that_leave_the_middle_open_are_refused():
    x, y = grid(0.5, 4.0)
    ring = np.hypot(x, y) > 2.0
    with pytest.raises(EyeError, match="cover a disc of 4.0 mm"):
        measured_surface(Places(x[ring], y[ring], nine(x[ring], y[ring])))
    with pytest.raises(EyeError, match="cover"):
        measured_surface(Places(np.arange(-4.0, 5.0), np.arange(-4.0, 5.0), np.arange(540.0, 549.0)))
