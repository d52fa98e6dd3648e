"""A map as it is drawn: lines where the thickness has one value, the side they lie on, what is hatched, its words."""

import numpy as np
import pytest
from figures_read import all_words
from own_maps import map_of, nine

from tissue import Cornea, Refraction, Treatment, compare
from tissue.budget.map_figures import near_least_mm2
from tissue.drawing.base.palette import look
from tissue.drawing.front.front import front_view
from tissue.drawing.own_map.layer import REACH_MM, layer_of, level_lines
from tissue.drawing.own_map.over_front import near_least
from tissue.drawing.own_map.view import describe_map, map_view
from tissue.drawing.section.describe import describe_front, section_table


@pytest.fixture(scope="module")
def surface():
    return map_of(nine).thickness


def test_lines_of_a_saddle_do_not_cross_and_lie_on_the_level():
    """Source: the level of x·y, two branches of a hyperbola."""
    line = np.linspace(-1.0, 1.0, 42)
    found = level_lines(line, line, line[None, :] * line[:, None], 0.05)
    assert len(found) == 2
    for x, y in found:
        assert np.allclose(x * y, 0.05, atol=2e-3) and (np.all(x > 0) or np.all(x < 0))


def test_two_rings_are_two_closed_strokes():
    line = np.linspace(-2.0, 2.0, 61)
    two = np.minimum(np.hypot(line[None, :] - 1.0, line[:, None]), np.hypot(line[None, :] + 1.0, line[:, None]))
    found = level_lines(line, line, two, 0.5)
    assert len(found) == 2
    for x, y in found:
        assert (x[0], y[0]) == (x[-1], y[-1]) and np.allclose(np.hypot(np.abs(x) - 1.0, y), 0.5, atol=2e-3)


def test_lines_lie_where_the_map_has_their_thickness(surface):
    """Source: the formula the readings were made of."""
    found = layer_of(surface)
    for level, strokes in found.known.items():
        for x, y in strokes:
            assert np.abs(nine(x, y) - level).max() < 1.0
            assert surface.is_known(x, y).all()


def test_beyond_the_readings_lines_and_hatch_are_not_known(surface):
    """Source: rule of maps: beyond the cover nothing is measured, and it is drawn as such."""
    found = layer_of(surface)
    strokes = [stroke for part in found.beyond.values() for stroke in part] + found.hatch
    assert found.hatch and found.beyond
    for x, y in strokes:
        assert not surface.is_known(x, y).any() and np.hypot(x, y).max() <= REACH_MM + 1e-9


def test_directions_are_those_of_the_eye(surface):
    """Source: fact of the trade: nasal is to the viewer's right in a right eye, to the left in a left one."""
    right, left = describe_map(surface, "OD"), describe_map(surface, "OS")
    value = round(float(surface.thickness_um(2.5, 0.0)))
    assert f"nasal {value}" in right and f"temporal {value}" in left
    assert f"superior {round(float(surface.thickness_um(0.0, 2.5)))}" in right


@pytest.mark.parametrize("name", ["light", "dark"])
def test_the_picture_names_the_thinnest_and_the_hatch(surface, name):
    figure = map_view(surface, "OD", look(name), [(5.0, 5.0), (1.0, 1.0)], [(0.5, 0.5)])
    said = [note["text"] for note in figure["layout"]["annotations"]]
    said += [text for trace in figure["data"] for text in trace.get("text", [])]
    assert (
        str(round(float(surface.thinnest_um))) in said
        and "hatched: not measured; ○ no reading; × apart from the others" in said
    )
    assert not [item for trace in figure["data"] for item in trace["x"] if item is not None and not np.isfinite(item)]


def test_numbers_on_lines_stand_apart():
    """Source: size of the type; nearer than 20 px two numbers of three digits cut one another."""
    steep = map_of(lambda x, y: 480.0 + 9.0 * (x**2 + y**2)).thickness
    figure = map_view(steep, "OD", look("light"))["layout"]
    per_mm = 460.0 / np.ptp(figure["xaxis"]["range"])
    at = np.array([(one["x"], one["y"]) for one in figure["annotations"] if one["font"]["size"] == 11])
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1)) * per_mm
    assert len(at) > 2 and apart[~np.eye(len(at), dtype=bool)].min() >= 19.9


@pytest.fixture(scope="module")
def with_map():
    return compare(Cornea(None, own_map=map_of(nine)), Treatment(Refraction(-4.0)))


def test_the_outline_about_the_least_bed_holds_the_area_that_is_told(with_map):
    """Source: area of a polygon by its corners (Gauss), beside the figure counted on a raster."""
    near = near_least(with_map)
    assert list(near) == list(with_map.results)
    for name, strokes in near.items():
        [(x, y)] = strokes
        area = 0.5 * abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
        assert area == pytest.approx(near_least_mm2(with_map, with_map.results[name]), rel=0.03)


def test_the_front_view_says_map_hatch_and_outline_and_without_a_map_nothing(with_map):
    for side in ("OD", "OS"):
        said = all_words(front_view(with_map, side, look("light")))
        assert "hatched: not measured" in said and "bed within 8 µm<br>of its least, by the map" in said
        told = describe_front(with_map, side)
        assert "known over a disc of" in told and "flap ablation" in told
    plain = compare(with_map.cornea.without_map(), with_map.treatment)
    assert not near_least(plain) and "measured" not in all_words(front_view(plain, "OD", look("light")))
    assert "map" not in describe_front(plain, "OD")


def thinner_below(x, y):
    """Epithelium of an invented eye [µm]: thin below the centre, as over a bulge."""
    return 53.0 - 6.0 * np.exp(-((x + 0.5) ** 2 + (y + 1.4) ** 2) / 1.62)


def test_the_section_in_numbers_has_the_epithelium_of_its_map():
    """Source: formulas of both maps. Through the least bed of a surface ablation no bed of the table is under it."""
    eye = Cornea(None, own_map=map_of(nine, thinner_below), epithelium_um=float(thinner_below(0.0, 0.0)))
    plan = compare(eye, Treatment(Refraction(-4.0, -0.5, 175.0)))
    budget = plan.results["surface"].budget
    turn = float(np.degrees(np.arctan2(budget.bed_min_y_mm, budget.bed_min_x_mm))) % 180.0
    rows = [row for row in section_table(plan, turn, 0.05) if row["surface_bed_um"] is not None]
    beds = [row["surface_bed_um"] for row in rows]
    assert min(beds) == pytest.approx(float(budget.bed_min_um), abs=0.05) and min(beds) > budget.bed_min_um - 0.01
    for row in rows:
        wanted = thinner_below(row["x_mm"], row["y_mm"])
        assert row["surface_cut_depth_um"] == pytest.approx(wanted, abs=0.5)
        assert row["epithelium_depth_um"] == pytest.approx(wanted, abs=0.5)
        if row["flap_cut_depth_um"] is not None:
            assert row["flap_cut_depth_um"] == pytest.approx(float(plan.under_flap.option.cut_um), abs=1e-3)
