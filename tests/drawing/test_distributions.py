"""Distributions and scatters of a series: every eye counted, nothing drawn of what is not there."""

import numpy as np
import pytest

from tissue.drawing.base.palette import look
from tissue.drawing.charts.distributions import BINS, MOST_POINTS, describe_distributions, histogram, scatter

LIGHT = look("light")


def columns(count=500):
    rng = np.random.default_rng(3)
    values = rng.normal(300.0, 30.0, count)
    return {
        "surface": values + 60.0,
        "flap": values,
        "lenticule": np.where(np.arange(count) % 7, values - 10.0, np.nan),
    }


def test_steps_count_every_eye_as_numpy_does():
    """Against numpy.histogram: the heights of each option's steps are its counts."""
    found = columns()
    figure = histogram(found, LIGHT, "bed, µm")
    for trace, (_, values) in zip(figure["data"], found.items(), strict=True):
        heights = trace["y"][1:-1:2]
        assert len(heights) == BINS and sum(heights) == np.isfinite(values).sum()


def test_options_differ_by_line_as_well_as_by_colour():
    traces = histogram(columns(), LIGHT, "bed, µm")["data"]
    assert len({trace["line"]["dash"] for trace in traces}) == len({trace["line"]["color"] for trace in traces}) == 3


def test_a_scatter_shows_every_eye_by_itself_or_counted():
    """Nothing is left out: of too many eyes each cell has its count, as numpy.histogram2d counts them."""
    found, x = columns(), np.linspace(-9.0, 1.0, 500)
    points = [len(trace["x"]) for trace in scatter(x, found, LIGHT, "sphere_D", "bed")["data"]]
    assert points == [500, 500, int(np.isfinite(found["lenticule"]).sum())]
    many = {"flap": np.repeat([1.0, 2.0], [3 * MOST_POINTS, MOST_POINTS])}
    figure = scatter(np.zeros(4 * MOST_POINTS), many, LIGHT, "x", "y")
    trace = figure["data"][0]
    areas = np.array(trace["marker"]["size"]) ** 2
    assert len(trace["x"]) == 2 and areas.max() / areas.min() == pytest.approx(3.0, rel=0.01)
    assert f"up to {3 * MOST_POINTS}" in figure["layout"]["annotations"][-1]["text"]


def test_nothing_to_draw_is_an_empty_frame():
    empty = {"flap": np.array([np.nan, np.nan])}
    assert (
        histogram(empty, LIGHT, "bed")["data"] == [] == scatter(np.array([np.nan] * 2), empty, LIGHT, "x", "y")["data"]
    )
    assert "No figures" in describe_distributions(empty, "bed")


def test_words_carry_the_numbers():
    said = describe_distributions(columns(), "bed, µm")
    assert "500 eyes" in said and f"median {np.median(columns()['flap']):.1f}" in said


def test_names_of_options_do_not_lie_over_each_other():
    """Two options with one top: their words stand a line apart, and none on a step."""
    rng = np.random.default_rng(3)
    same = {name: rng.normal(300.0, 30.0, 800) for name in ("surface", "flap", "lenticule")}
    figure = histogram(same, LIGHT, "bed")
    placed = [(note["y"], note["yshift"]) for note in figure["layout"]["annotations"][2:]]
    assert len({shift for _, shift in placed}) == 3
    tops = [max(trace["y"]) for trace in figure["data"]]
    assert min(y for y, _ in placed) >= 0.9 * max(tops)
