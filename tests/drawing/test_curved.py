"""True scale and depth times four: one scale where it is claimed, and said where it is not."""

import json

import numpy as np
import pytest
from drawn_eyes import EYES, eye
from figures_read import all_words, traces

from tissue.drawing.base.palette import look
from tissue.drawing.section.curved import arches, depth_times_four, true_scale

LIGHT = look("light")
VIEWS = {"true": true_scale, "x4": depth_times_four}


def px_per_unit(figure, width_px):
    """Px per unit of both axes."""
    layout = figure["layout"]
    across, down = layout["xaxis"]["range"], layout["yaxis"]["range"]
    height = layout["height"] - layout["margin"]["t"] - layout["margin"]["b"]
    return width_px / abs(across[1] - across[0]), height / abs(down[1] - down[0])


@pytest.mark.parametrize("name", EYES)
@pytest.mark.parametrize("view", VIEWS)
def test_strict_json(name, view):
    json.loads(json.dumps(VIEWS[view](eye(name), "OD", LIGHT, 35.0), allow_nan=False))


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("width", [744, 1104])
def test_a_millimetre_is_as_long_across_as_down(view, width):
    figure = VIEWS[view](eye("usual"), "OD", LIGHT, width_px=width)
    across, down = px_per_unit(figure, width)
    assert across == pytest.approx(down, rel=2e-3)
    axis = figure["layout"]["yaxis"]
    assert axis["scaleanchor"] == "x" and axis["scaleratio"] == 1


@pytest.mark.parametrize(("view", "factor"), [("true", 1.0), ("x4", 4.0)])
def test_thickness_is_drawn_at_its_scale(view, factor):
    """The dimension line at the centre is T(0, 0) long; depth is multiplied where the picture says so."""
    plan = eye("usual")
    figure = VIEWS[view](plan, "OD", LIGHT)
    line = next(t for t in traces(figure, mode="lines") if t["line"].get("width") == 1.0 and t["x"][:2] == [0.0, 0.0])
    thickness = float(plan.cornea.thickness_um(0.0, 0.0)) / 1000.0
    assert line["y"][1] - line["y"][0] == pytest.approx(factor * thickness, abs=1e-3)


@pytest.mark.parametrize("view", VIEWS)
def test_front_keeps_its_scale(view):
    """Sag of the conic R 7.803, Q −0.19 at 4 mm is 1.1015 mm in either view (C)."""
    figure = VIEWS[view](eye("usual"), "OD", LIGHT)
    widths = {"true": 1.1, "x4": 1.5}
    fronts = next(t for t in traces(figure, mode="lines") if t["line"].get("width") == widths[view])
    gap = fronts["x"].index(None)
    x, y = np.array(fronts["x"][:gap]), np.array(fronts["y"][:gap])
    R = 337.5 / 43.25
    sag = 16.0 / R / (1.0 + np.sqrt(1.0 - 0.81 * 16.0 / R**2))
    assert np.interp(4.0, x, y) - np.interp(0.0, x, y) == pytest.approx(sag, abs=1e-3)


def test_only_the_picture_not_at_scale_says_so():
    assert "depth × 4" in all_words(depth_times_four(eye("usual"), "OD", LIGHT))
    assert "depth × 4" not in all_words(true_scale(eye("usual"), "OD", LIGHT))


def test_true_scale_hatches_only_what_is_removed():
    figure = true_scale(eye("usual"), "OD", LIGHT)
    hatched = [t["fillcolor"] for t in traces(figure, fill="toself") if "fillpattern" in t]
    assert hatched == list(LIGHT.removed.values())


def test_bars_have_the_length_they_say():
    for view, depth_um, factor in (("true", 500.0, 1.0), ("x4", 200.0, 4.0)):
        figure = VIEWS[view](eye("usual"), "OD", LIGHT)
        bars = next(
            t for t in traces(figure, mode="lines") if t["line"].get("width") == 2.0 and len(t["x"]) == 3 * 3 + 2
        )
        x, y = bars["x"][:3], bars["y"][:3]
        assert x[2] - x[1] == pytest.approx(1.0, abs=1e-3)
        assert y[1] - y[0] == pytest.approx(factor * depth_um / 1000.0, abs=1e-3)


def test_widths_under_the_arch():
    words = all_words(true_scale(eye("usual"), "OD", LIGHT))
    # zone as planned; flap default 9.0; surface 6.5 + 2 × 0.5; cap 6.5 + 2 × 0.1 + 1.0 (defaults of the plan)
    for text in ("zone 6.5 mm", "with blend 7.5 mm", "flap 9.0 mm", "cap 7.7 mm"):
        assert text in words


@pytest.mark.parametrize("view", VIEWS)
def test_hinge_and_incision_are_named_where_the_meridian_meets_them(view):
    up, across = (all_words(VIEWS[view](eye("usual"), "OD", LIGHT, angle)) for angle in (90.0, 0.0))
    assert "hinge" in up and "incision" in up
    assert "hinge" not in across and "incision" not in across


def test_leaders_of_one_column_do_not_cross():
    for name in EYES:
        for arch in arches(eye(name), "OD", 20.0, 1104, True).values():
            for sign in (-1.0, 1.0):
                column = [one.points for one in arch.leaders if sign * one.points[-1][0] > 0]
                column.sort(key=lambda points: points[-1][1])
                for upper, lower in zip(column[:-1], column[1:], strict=True):
                    share = np.linspace(0.0, 1.0, 50)
                    x = upper[0][0] + share * (upper[1][0] - upper[0][0])
                    y = upper[0][1] + share * (upper[1][1] - upper[0][1])
                    run = sorted([lower[:2][0], lower[:2][1]])
                    inside = (x > run[0][0]) & (x < run[1][0])
                    below = np.interp(x[inside], [p[0] for p in run], [p[1] for p in run])
                    assert np.all(y[inside] <= below + 0.5)


def test_all_three_sections_are_drawn_at_one_scale():
    scales = {arch.scale for arch in arches(eye("mixed"), "OS", 0.0, 1104, True).values()}
    assert len(scales) == 1
