"""Trade-off maps, sweeps and variance bars as plain dictionaries: what is drawn is what was computed."""

import json

import numpy as np
import pytest

from tissue.budget.spread import bed_variance_percent
from tissue.drawing.base.palette import DASH, LINE_OF_USER, look
from tissue.drawing.charts.maps import CROSS_PX, describe_map, input_words, tradeoff_map, usual_levels
from tissue.drawing.charts.sweeps import (
    TOGETHER,
    describe_sweep,
    describe_variance,
    sweep_lines,
    variance_bars,
    why_empty,
)
from tissue.entry.eye import build
from tissue.explore.draws import sample, strength_name
from tissue.explore.tradeoffs import grid, sweep
from tissue.report.measures import measures
from tissue.screens.tradeoffs.map import contour_values

EYE = {
    "sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0, "thinnest_um": 543.0,
    "thinnest_x_mm": -0.6, "thinnest_y_mm": -0.5, "mean_K_D": 43.25,
}  # fmt: skip
BED, LEAST, STRENGTH = (measures()[name] for name in ("bed", "bed_least", "strength"))
LIGHT, DARK = look("light"), look("dark")
FIXED = strength_name("reinstein2013")


def a_map(values=EYE, option="lenticule", measure="bed_central_um", across="zone_mm", down="cap_um", **more):
    return grid(values, option, measure, across, down, number=21, **more)


def of_type(figure, kind):
    return [trace for trace in figure["data"] if trace["type"] == kind]


def texts(figure):
    return [note["text"] for note in figure["layout"]["annotations"]]


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_a_map_is_strict_json_and_equal_for_equal_input(theme):
    one, other = (tradeoff_map(a_map(), theme, BED, None, (250.0, "your line: 250")) for _ in range(2))
    assert one == other
    json.dumps(one, allow_nan=False)
    assert one["layout"]["paper_bgcolor"] == theme.page and one["layout"]["width"] == 640


def test_the_colours_are_the_grid_and_cividis():
    made = a_map()
    (heat,) = of_type(tradeoff_map(made, LIGHT, BED), "heatmap")
    assert (heat["colorscale"], heat["zsmooth"]) == ("Cividis", "best")
    np.testing.assert_allclose(heat["z"], made.values, atol=5e-5)
    np.testing.assert_allclose(heat["x"], made.x, atol=5e-5)


def test_depth_runs_downwards_and_the_sphere_upwards():
    down = tradeoff_map(a_map(), LIGHT, BED)["layout"]["yaxis"]["range"]
    assert down[0] > down[1]
    up = tradeoff_map(a_map(down="sphere_D"), LIGHT, BED)["layout"]["yaxis"]["range"]
    assert up[0] < up[1]


def test_contours_are_ink_over_white_at_the_levels_of_the_user():
    figure = tradeoff_map(a_map(), LIGHT, BED, [260.0, 300.0], (250.0, "your line: 250"))
    drawn = of_type(figure, "contour")
    assert [trace["contours"]["start"] for trace in drawn] == [260.0, 260.0, 300.0, 300.0, 250.0, 250.0]
    for under, over in zip(drawn[::2], drawn[1::2], strict=True):
        assert under["line"]["color"] == "#FFFFFF" and under["opacity"] == 0.7
        assert over["line"]["color"] == LIGHT.ink and over["line"]["width"] < under["line"]["width"]
    assert [trace["line"]["dash"] for trace in drawn[1::2]] == ["solid", "solid", LINE_OF_USER]
    assert {"260", "300", "<b>your line: 250</b>"} <= set(texts(figure))


def test_the_plan_is_a_cross_with_its_figure():
    made = a_map()
    figure = tradeoff_map(made, DARK, BED)
    under, over = of_type(figure, "scatter")
    assert over["marker"]["size"] == CROSS_PX and over["marker"]["line"]["color"] == LIGHT.ink
    assert under["marker"]["line"]["color"] == "#FFFFFF"
    assert (over["x"], over["y"]) == ([6.5], [120.0])
    assert f"this plan: <b>{made.plan[2]:.0f}</b>" in texts(figure)


def test_a_plan_outside_the_map_has_no_cross():
    figure = tradeoff_map(a_map(x=np.array([7.0, 7.2, 7.5])), LIGHT, BED)
    assert not of_type(figure, "scatter") and "this plan lies outside this map" in texts(figure)


@pytest.mark.parametrize(
    ("option", "measure", "across", "down"),
    [("lenticule", "bed_central_um", "zone_mm", "cap_um"), ("flap", FIXED, "zone_mm", "sphere_D"),
     ("lenticule", "altered_max_percent", "cap_um", "base_um"), ("flap", "bed_min_um", "zone_mm", "flap_um")],
)  # fmt: skip
def test_every_label_lies_on_its_line_and_clear_of_the_others(option, measure, across, down):
    # Source: the grid itself between its points, linear.
    made = a_map(option=option, measure=measure, across=across, down=down)
    levels = usual_levels(made)
    figure = tradeoff_map(made, LIGHT, measures()["altered_max" if "percent" in measure else "bed"], levels)
    notes = [note for note in figure["layout"]["annotations"] if note.get("yanchor") == "middle"]
    assert 1 <= len(notes) <= len(levels)
    places = []
    for note in notes:
        row = [np.interp(note["x"], made.x, line) for line in made.values]
        assert abs(np.interp(note["y"], made.y, row) - float(note["text"])) < 0.02 * np.ptp(made.values)
        places.append(((note["x"] - made.x[0]) / np.ptp(made.x) * 492, (note["y"] - made.y[0]) / np.ptp(made.y) * 414))
    for i, one in enumerate(places):
        for other in places[:i]:
            assert abs(one[0] - other[0]) >= 46 or abs(one[1] - other[1]) >= 20


def test_blank_parts_are_gaps_with_their_reason():
    made = grid(
        EYE | {"cylinder_D": 0.0}, "flap", "bed_min_um", "zone_mm", "sphere_D", x=[6.0, 7.0], y=[-2.0, -1.0, 0.0]
    )
    figure = tradeoff_map(made, LIGHT, LEAST)
    assert of_type(figure, "heatmap")[0]["z"][2] == [None, None]
    json.dumps(figure, allow_nan=False)
    assert "there is nothing to treat" in texts(figure)
    assert any("blank where there is nothing to treat" in text for text in texts(figure))
    assert "No figure in 33 % of the map: there is nothing to treat." in describe_map(made, LEAST)


def test_a_map_of_one_value_has_no_lines():
    made = a_map(option="surface")
    flat = grid(EYE, "surface", "bed_central_um", "cap_um", "base_um", number=5)
    assert usual_levels(flat) == [] and usual_levels(made) != []
    assert not of_type(tradeoff_map(flat, LIGHT, BED), "contour")


def test_usual_levels_are_round_few_and_inside():
    levels = usual_levels(a_map())
    made = a_map()
    assert 3 <= len(levels) <= 7 and len(set(np.diff(levels).round(9))) == 1
    assert made.values.min() <= levels[0] and levels[-1] <= made.values.max()


def test_the_map_in_words_has_its_numbers():
    made = a_map()
    said = describe_map(made, BED, [260.0], (250.0, "250 µm"))
    low, high, plan = made.values.min(), made.values.max(), made.plan[2]
    wanted = ["5.5 to 7.5 mm", "90 to 160 µm", "Lines at 260 µm", "A line of the user, 250 µm"]
    wanted += [f"Least {low:.0f} µm at 7.5 mm and 160 µm", f"Greatest {high:.0f} µm at 5.5 mm and 90 µm"]
    for words in (*wanted, f"This plan, 6.5 mm and 120 µm: {plan:.0f} µm"):
        assert words in said
    assert input_words("cap_um") == "cap thickness"


PLANNED = {"surface": 361.4, "flap": 300.4, "lenticule": 290.3}


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_a_sweep_draws_every_option_with_its_band(theme):
    made = sweep(EYE, "bed_min_um", "zone_mm", number=9)
    figure = sweep_lines(made, theme, LEAST, PLANNED)
    json.dumps(figure, allow_nan=False)
    bands = [t for t in figure["data"] if t.get("fill") == "toself"]
    drawn = [t for t in figure["data"] if t.get("mode") == "lines" and t["line"].get("dash") and len(t["x"]) > 2]
    assert len(bands) == 3 and [t["line"]["dash"] for t in drawn] == list(DASH.values())
    for trace, (name, line) in zip(drawn, made.lines.items(), strict=True):
        assert trace["line"]["color"] == theme.option[name]
        np.testing.assert_allclose(trace["y"], line.values, atol=5e-5)
    lenticule = made.lines["lenticule"]
    np.testing.assert_allclose(bands[2]["y"], [*lenticule.low, *lenticule.high[::-1]], atol=5e-5)
    ends = [note for note in figure["layout"]["annotations"] if note.get("xshift") == 8]
    assert [note["text"] for note in ends] == ["Surface", "Flap", "Lenticule"]
    own = [note for note in figure["layout"]["annotations"] if note["x"] == made.plan and note["text"].isdigit()]
    at_rule = {note["text"]: note["y"] for note in own}  # a figure of the plan stands where the line has it
    assert at_rule == pytest.approx({"361": 361.4, "300": 300.4, "290": 290.3})
    low, high = figure["layout"]["yaxis"]["range"]
    assert np.all(-np.diff([note["y"] for note in ends]) * 294 / (high - low) > 16.9)
    said = describe_sweep(made, LEAST)
    assert f"{lenticule.values[0]:.0f} at 5.5 ({lenticule.low[0]:.0f} to {lenticule.high[0]:.0f})" in said


def test_a_sweep_with_a_gap():
    made = sweep(EYE | {"cylinder_D": 0.0}, FIXED, "sphere_D", [-2.0, -1.0, 0.0])
    figure = sweep_lines(made, LIGHT, STRENGTH, {})
    json.dumps(figure, allow_nan=False)
    assert all(len(t["x"]) == 2 for t in figure["data"] if t.get("line", {}).get("width") == 2)
    empty = sweep({"sphere_D": 4.0, "central_thickness_um": 550.0}, FIXED, "zone_mm", number=3)
    json.dumps(sweep_lines(empty, LIGHT, STRENGTH, {}), allow_nan=False)
    assert "Flap ablation: no figure." in describe_sweep(empty, STRENGTH)
    said = "No figure: no strength is given where more is removed beside the centre."
    assert why_empty(empty) == said and not why_empty(made)
    assert said in [note["text"] for note in sweep_lines(empty, LIGHT, STRENGTH, {})["layout"]["annotations"]]


@pytest.mark.parametrize(("text", "values"), [
    ("280,300", [280.0, 300.0]), ("280, 300", [280.0, 300.0]), ("0,5 1", [0.5, 1.0]), ("40.5;41", [40.5, 41.0]),
])  # fmt: skip
def test_contours_as_they_are_typed(text, values):
    assert contour_values(text) == (values, [])
    assert contour_values(f"{text} x") == (values, ["x"])


def shares():
    plan = build(EYE).compare()
    samples = sample(plan, ["bed_central_um", FIXED])
    return {
        name: (bed_variance_percent(result.option, plan.errors), samples[name].variance_percent(FIXED))
        for name, result in plan.results.items()
    }


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_variance_bars(theme):
    made = shares()
    figure = variance_bars(made, theme)
    json.dumps(figure, allow_nan=False)
    bars = of_type(figure, "bar")
    assert len(bars) == 6
    for pair, name in zip(zip(bars[::2], bars[1::2], strict=True), made, strict=True):
        filled, outlined = pair
        assert filled["marker"]["color"] == outlined["marker"]["line"]["color"] == theme.option[name]
        for bar, one in zip(pair, made[name], strict=True):
            known = [x for x in bar["x"] if x is not None]
            np.testing.assert_allclose(known[:-1], list(one.values()), atol=5e-5)
            assert abs(sum(known) - max(100.0, sum(one.values()))) < 1e-3
    assert bars[0]["x"][2] is None  # nothing is cut in a surface ablation
    said = describe_variance(made)
    assert f"thickness {made['flap'][0]['thickness']:.0f}" in said and TOGETHER in said
