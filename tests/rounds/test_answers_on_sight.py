"""The answers of a round on an eye's own map and on sight, from outside.

Sources: the readings of the map file itself; SciPy's cubic spline; areas counted on a fine grid; rays of a thin lens.
"""

import brute
import numpy as np
import pytest
from helpers import ROOT
from round_cases import case_of, map_cases
from round_models import each, setting
from scipy.interpolate import RegularGridInterpolator

from tissue.entry.own_map.written import WrittenMap
from tissue.entry.plan_file import read_plan
from tissue.rounds.about.own_map import map_law


def numbers(question):
    return [float(row.text.split()[0].replace("−", "-").replace("+", "")) for row in question.given]


def grid_of(side="OD"):
    """The map of the demo eye as it stands in its file: axes [mm] and readings [µm], NaN where there is none."""
    held = read_plan(ROOT / "demo_profiles" / "harbour-09_own_map.toml").eyes[side]["thickness_map"]
    x, y = (np.array(text.split(), float) for text in (held.x_mm, held.y_mm))
    words = [line.split() for line in held.values.split("\n") if line.strip()]
    return x, y, np.array([[np.nan if one == "-" else float(one) for one in line] for line in words])


def test_a_map_is_read_as_its_file_has_it():
    """Source: the readings round the place; the smooth surface stays within the error of a reading of them."""
    x, y, readings = grid_of()
    between = RegularGridInterpolator((y[::-1], x), readings[::-1])
    for case, question in each("map-law"):
        if (case.code, case.side) != ("harbour-09", "OD"):
            continue
        across, up = map(float, setting(question).split())
        assert numbers(question)[1] == pytest.approx(float(between((up, across))), abs=4.0), question.id


def test_the_usual_growth_is_the_published_one():
    """Source: the paraboloid of the written model: thinnest · (1 + k · distance²)."""
    for _, question in each("map-law"):
        _, read, thinnest, away, growth = numbers(question)
        assert growth == brute.GROWTH
        law = brute.Eye({"sphere_D": -4.0, "central_thickness_um": thinnest}).thickness_um(away, 0.0)
        assert question.answer == pytest.approx(read - law, abs=question.tolerance), question.id
    assert len(map_cases()) >= 2


def test_the_share_outside_the_zone_is_counted_on_a_grid():
    """Source: counting: 2,000 × 2,000 places over the pupil."""
    along = np.linspace(-1.0, 1.0, 2000)
    r2 = along[:, None] ** 2 + along**2
    for _, question in each("zone-share")[::5]:
        zone, pupil = numbers(question)
        counted = 100.0 * np.mean(r2[r2 <= 1.0] > (zone / pupil) ** 2)
        assert question.answer == pytest.approx(counted, abs=0.1), question.id


def test_a_blurred_point_is_as_wide_as_its_rays():
    """Source: a thin lens: rays through both rims of the pupil meet F away; seen from there they part by pupil / F."""
    for _, question in each("blur")[::5]:
        sphere, pupil = numbers(question)
        far_m = 1.0 / abs(sphere)
        degrees = np.degrees(2.0 * np.arctan(pupil / 2000.0 / far_m))
        assert question.answer == pytest.approx(60.0 * degrees, rel=1e-3), question.id


def test_the_rays_of_the_tool_are_the_same():
    """95 of 100 rays of an evenly lit disc lie within √0.95 of its radius. Source: geometry."""
    from tissue.eye.cornea import Pupil
    from tissue.optics.sight.focus import InPupil
    from tissue.optics.sight.wave import OwnWave

    for _, question in each("blur")[:2]:
        sphere, pupil = numbers(question)
        seen = InPupil(OwnWave(0.0), Pupil(pupil), sphere)
        assert 2.0 * seen.radius_95_arcmin(0.0) / np.sqrt(0.95) == pytest.approx(question.answer, rel=0.01)


def test_no_thickness_is_asked_by_the_map_where_it_has_no_reading():
    """A map of ±2 mm knows nothing at 2.5 or 3 mm: the usual growth was asked there as if it were the map's."""
    places = "-2 -1.5 -1 -0.5 0 0.5 1 1.5 2"
    rows = "\n".join([" ".join(["540"] * 9)] * 9)
    written = WrittenMap("thickness_map", "OD", "grid", rows, "right", "up", x_mm=places, y_mm=places)
    case = case_of(sphere_D=-4.0, thickness_map=written)
    assert [map_law(case, np.random.default_rng(seed)) for seed in range(12)] == [None] * 12
