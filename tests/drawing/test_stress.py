"""Stress pictures: one colour scale, true scale, the cap's three states together, words with the numbers."""

import re

import numpy as np
import pytest

from tissue import Cornea, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.charts.stress import (
    TITLES,
    describe_map,
    describe_ratios,
    draw_stress,
    raster,
    ratio_picture,
    scale_kPa,
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


def test_all_states_share_one_scale_and_true_scale(solved):
    found, _ = solved
    scale = scale_kPa(found)
    for name, state in found.items():
        figure = draw_stress(state, name, look("light"), scale, front)
        heat = next(trace for trace in figure["data"] if trace["type"] == "heatmap")
        assert (heat["zmin"], heat["zmax"]) == scale and heat["colorscale"] == "Cividis"
        assert figure["layout"]["yaxis"]["scaleanchor"] == "x" and figure["layout"]["yaxis"]["scaleratio"] == 1
        assert all(value is not None and np.isfinite(value) for row in heat["z"] for value in row)


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
    said = describe_ratios(found, ranges) + "".join(describe_map(state, name) for name, state in found.items())
    assert f"{found['flap'].figures.bed_stress_ratio:.2f}" in said and "kPa" in said
    assert not re.search(r"\bD\b|dioptre|µm|risk", said)
    assert all(title in said for name, title in TITLES.items() if name != "intact")


def test_a_state_that_is_not_there_says_why():
    plan = section_plan(compare(Cornea(550.0), Treatment(Refraction(0.0))))
    found = states(model(plan, SLIDER), Choice("uniform").law_of(plan.shape, SLIDER))
    missing = [name for name, state in found.items() if state.map is None]
    assert missing
    figure = draw_stress(found[missing[0]], missing[0], look("light"), (0.0, 30.0), front)
    assert found[missing[0]].why_not in " ".join(note["text"] for note in figure["layout"]["annotations"])
