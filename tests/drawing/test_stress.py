"""Stress pictures: one colour scale, one stretch, the cap's three states together, words with the numbers."""

import re

import numpy as np
import pytest

from tissue import Cornea, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.charts.stress import (
    TITLES,
    common_scale,
    describe_map,
    describe_ratios,
    draw_stress,
    frame_of,
    intact_bed_kPa,
    raster,
    ratio_picture,
)
from tissue.mechanics import model, runs, section_plan, spread_of_runs, states
from tissue.mechanics.laws.choice import Choice
from tissue.mechanics.shape import SLIDER


@pytest.fixture(scope="module")
def solved():
    """States and ranges of one eye on the coarse mesh."""
    plan = section_plan(compare(Cornea(550.0), Treatment(Refraction(-6.0, -1.0, 20.0))))
    names = ("uniform", "nambiar2023", "petsche2012")
    laws = {name: Choice(name).law_of(plan.shape, SLIDER) for name in names}
    found = runs(model(plan, SLIDER), laws, pictures=["nambiar2023"])
    return found["nambiar2023"], spread_of_runs(found)


def front(r_mm):
    return np.asarray(r_mm) ** 2 / 15.6


def test_all_states_share_one_scale_and_one_stretch(solved):
    found, _ = solved
    scale, shared = common_scale(found), frame_of(found, front)
    for name, state in found.items():
        figure = draw_stress(state, name, look("light"), shared)
        heat = next(trace for trace in figure["data"] if trace["type"] == "heatmap")
        assert (heat["zmin"], heat["zmax"]) == scale and heat["colorscale"] == "Cividis"
        assert figure["layout"]["yaxis"]["scaleanchor"] == "x" and figure["layout"]["yaxis"]["scaleratio"] == 4
        assert all(value is not None and np.isfinite(value) for row in heat["z"] for value in row)


@pytest.mark.parametrize("wide_px", [349, 531, 740])
def test_a_section_fills_its_width(solved, wide_px):
    """On one scale a mm across and a quarter of a mm down are as long; in a narrow window a third was left empty."""
    laid = draw_stress(solved[0]["intact"], "intact", look("light"), frame_of(solved[0], front), wide_px)["layout"]
    across, down = (np.ptp(laid[name]["range"]) for name in ("xaxis", "yaxis"))
    left, right, top, bottom = (laid["margin"][side] for side in "lrtb")
    assert laid["height"] - top - bottom == pytest.approx(down * 4.0 * (wide_px - left - right) / across, abs=1.0)


def test_raster_gives_the_stress_of_the_picture_at_its_nodes(solved):
    """Linear between the nodes: at a node of the axis the raster has the node's own value (C)."""
    picture = solved[0]["intact"].map
    r, z, values, edges = raster(picture)
    for grid in (0, 1):
        for depth, stress in zip(picture.z_mm[grid][1:-1, 0], picture.stress_kPa[grid][1:-1, 0], strict=True):
            assert np.interp(depth, z, values[:, 0]) == pytest.approx(stress, rel=0.02)
    assert np.all(edges["front"] <= edges["cut"]) and np.all(edges["cut"] <= edges["back"])


def test_the_cap_is_shown_taut_sliding_and_slack_together(solved):
    found, ranges = solved
    figure = ratio_picture(found, ranges, look("dark"))
    texts = " ".join(note["text"] for note in figure["layout"]["annotations"])
    for name, word in (("lenticule_taut", "taut"), ("lenticule_sliding", "sliding"), ("lenticule_slack", "nothing")):
        assert word in texts and f"{found[name].figures.bed_stress_ratio:.2f}" in texts


def test_words_carry_the_numbers_and_no_forbidden_unit(solved):
    """No dioptres, micrometres of bulge or risk anywhere in the pictures (mechanics, what it must never claim)."""
    found, ranges = solved
    said = describe_ratios(found, ranges) + "".join(
        describe_map(state, name, intact_bed_kPa(found)) for name, state in found.items()
    )
    assert f"{found['flap'].figures.bed_stress_ratio:.2f}" in said and "over the mean of the intact bed" in said
    assert not re.search(r"\bD\b|dioptre|µm|risk|kPa", said)
    assert all(TITLES[name] in said for name in found if name != "intact")


def test_a_state_that_is_not_there_says_why():
    plan = section_plan(compare(Cornea(550.0), Treatment(Refraction(0.0))))
    found = states(model(plan, SLIDER), Choice("uniform").law_of(plan.shape, SLIDER))
    missing = [name for name, state in found.items() if state.map is None]
    assert missing
    figure = draw_stress(found[missing[0]], missing[0], look("light"), frame_of(found, front))
    assert found[missing[0]].why_not in " ".join(note["text"] for note in figure["layout"]["annotations"])


def test_colours_are_stress_over_the_intact_bed(solved):
    """The intact bed's mean is 1 of the scale (definition): near the axis the intact section lies about it."""
    found, _ = solved
    heat = draw_stress(found["intact"], "intact", look("light"), frame_of(found, front))["data"][0]
    r, _, kPa, _ = raster(found["intact"].map)
    middle = len(r) - 1
    drawn, expected = np.array(heat["z"])[:50, middle], kPa[:50, 0] / found["intact"].bed_stress_kPa
    np.testing.assert_allclose(drawn, expected, atol=0.006)


def test_the_closed_cap_of_the_fibre_law_has_its_mark():
    plan = section_plan(compare(Cornea(550.0), Treatment(Refraction(-4.0))))
    laws = Choice(law="fibre").laws(plan.shape, SLIDER, ranged=False)
    found = runs(model(plan, SLIDER), laws)
    states_found, ranges = found["middle"], spread_of_runs(found)
    texts = " ".join(n["text"] for n in ratio_picture(states_found, ranges, look("light"))["layout"]["annotations"])
    assert "closed" in texts and "sliding" not in texts
    assert "no sliding faces" in describe_ratios(states_found, ranges)
