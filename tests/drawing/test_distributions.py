"""Distributions and scatters of a series: every eye counted, nothing drawn of what is not there."""

import numpy as np

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


def test_scatter_holds_at_most_so_many_and_only_what_is_there():
    found, x = columns(), np.linspace(-9.0, 1.0, 500)
    points = [len(trace["x"]) for trace in scatter(x, found, LIGHT, "sphere_D", "bed")["data"]]
    assert points == [500, 500, int(np.isfinite(found["lenticule"]).sum())]
    many = {"flap": np.ones(3 * MOST_POINTS)}
    assert len(scatter(np.arange(3.0 * MOST_POINTS), many, LIGHT, "x", "y")["data"][0]["x"]) == MOST_POINTS


def test_nothing_to_draw_is_an_empty_frame():
    empty = {"flap": np.array([np.nan, np.nan])}
    assert (
        histogram(empty, LIGHT, "bed")["data"] == [] == scatter(np.array([np.nan] * 2), empty, LIGHT, "x", "y")["data"]
    )
    assert "No figures" in describe_distributions(empty, "bed")


def test_words_carry_the_numbers():
    said = describe_distributions(columns(), "bed, µm")
    assert "500 eyes" in said and f"median {np.median(columns()['flap']):.1f}" in said
