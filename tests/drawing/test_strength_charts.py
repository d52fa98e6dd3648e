"""Strength against depth and the dot plot: drawn from the same numbers as the table, told apart without colour."""

import json

import numpy as np
import pytest

from tissue import Cornea, Judgement, Refraction, Treatment, compare
from tissue.budget.strength.relationship import relationships
from tissue.drawing.base.palette import look
from tissue.drawing.charts import strength as charts
from tissue.explore.draws import sample, strength_name

EYE = Cornea(548.0, 543.0, -0.6, -0.5, radius_mm=337.5 / 43.25)
MYOPIA = compare(EYE, Treatment(Refraction(-6.0, -1.25, 170.0)))
HYPEROPIA = compare(EYE, Treatment(Refraction(3.0)))
LOOKS = ("light", "dark")


def chosen_by(name):
    """The same eye under another relationship."""
    return compare(EYE, Treatment(Refraction(-6.0, -1.25, 170.0)), judgement=Judgement(relationship=name))


@pytest.mark.parametrize("name", LOOKS)
@pytest.mark.parametrize("eye", [MYOPIA, HYPEROPIA])
def test_figures_are_plain_and_equal_for_equal_eyes(eye, name):
    """Source: house rule: figures are plain dictionaries, equal eyes give equal ones."""
    for make in (charts.strength_profiles, charts.dot_plot):
        figure = make(eye, look(name))
        assert json.dumps(figure, allow_nan=False) == json.dumps(make(eye, look(name)), allow_nan=False)


@pytest.mark.parametrize("name", list(relationships()))
def test_the_shaded_area_is_the_share_that_counts(name):
    """The area under the curve over what counts, over the area of the whole, is the strength of the table.

    Source: definition of relative strength; numerically integrated here, in closed form in the tool.
    """
    eye = chosen_by(name)
    one, E, CCT = relationships()[name], float(EYE.epithelium_um), float(EYE.central_thickness_um)
    for result in eye.results.values():
        depth = np.linspace(E, CCT, 40001)
        density = one.density(np.clip(depth, E + 1e-9, CCT - 1e-9), CCT, E)
        counted = np.zeros(depth.size, bool)
        for layer in charts.layers(eye, result):
            if layer.counted:
                counted |= (depth >= layer.top_um) & (depth <= layer.bottom_um)
        share = 100.0 * np.trapezoid(np.where(counted, density, 0.0), depth) / np.trapezoid(density, depth)
        assert share == pytest.approx(float(result.strength.strength_percent[name]), abs=0.02)


def test_layers_fill_the_cornea_without_a_gap():
    """Source: definition: above the cut, removed and bed make the central thickness."""
    for result in MYOPIA.results.values():
        found = charts.layers(MYOPIA, result)
        assert found[0].top_um == EYE.epithelium_um and found[-1].bottom_um == EYE.central_thickness_um
        assert all(a.bottom_um == b.top_um for a, b in zip(found, found[1:], strict=False))


def test_the_curve_ends_where_it_is_no_longer_known():
    """Source: definition: the tail beyond 0.8 of the stroma is not determined: a band, not a line."""
    figure = charts.strength_profiles(MYOPIA, look("light"))
    E, CCT = float(EYE.epithelium_um), float(EYE.central_thickness_um)
    assert curve_ends(figure) == pytest.approx([E + 0.8 * (CCT - E)] * 3, abs=1e-3)
    other = charts.strength_profiles(chosen_by("nambiar2023"), look("light"))
    assert curve_ends(other) == pytest.approx([CCT] * 3, abs=1e-3)


def curve_ends(figure):
    """Greatest depth of the curves of a figure [µm]; a curve is the one line 1.8 px wide."""
    return [max(trace["y"]) for trace in figure["data"] if trace["line"].get("width") == 1.8]


def test_what_does_not_count_is_hatched_and_named():
    """Source: rule of the pictures: removed and not counted are told by hatch and word, for a grey print."""
    figure = charts.strength_profiles(MYOPIA, look("light"))
    hatches = [trace["fillpattern"]["shape"] for trace in figure["data"] if "fillpattern" in trace]
    assert sorted(hatches) == ["/", "/", "/", "\\"]
    said = [note["text"] for note in figure["layout"]["annotations"]]
    assert said.count("removed") == 3 and "flap, not counted" in said and "cap, counted" in said


def test_a_layer_too_thin_for_its_words_is_named_beside():
    """Source: rule of the labels: words never stand in a layer lower than the type."""
    eye = compare(Cornea(520.0), Treatment(Refraction(-0.5)))
    said = " ".join(note["text"] for note in charts.strength_profiles(eye, look("light"))["layout"]["annotations"])
    assert said.count("removed") == 3


@pytest.mark.parametrize("name", ["reinstein2013", "petsche2012"])
def test_every_relationship_has_a_row_the_chosen_one_first(name):
    eye = chosen_by(name)
    rows = charts.relationship_rows(eye)
    assert rows[0].id == name and {one.id for one in rows} == set(relationships())
    figure = charts.dot_plot(eye, look("light"))
    symbols = [t["marker"]["symbol"][0] for t in figure["data"] if t["mode"] == "markers"]
    assert symbols[:3] == ["circle", "square", "diamond"]
    assert symbols[3:] == ["circle-open", "square-open", "diamond-open"] * (len(rows) - 1)


def test_marks_stand_at_the_strengths():
    found = charts.dot_plot(MYOPIA, look("dark"))
    places = [t["x"][0] for t in found["data"] if t["mode"] == "markers"]
    wanted = [
        float(r.strength.strength_percent[o.id])
        for o in charts.relationship_rows(MYOPIA)
        for r in MYOPIA.results.values()
    ]
    assert places == pytest.approx(wanted, abs=1e-4)


def test_near_marks_do_not_cover_each_other():
    """Source: rule of the pictures: markers nudged by 0.22 of a row where they are nearer than 0.9 points."""
    figure = charts.dot_plot(MYOPIA, look("light"))
    marks = [(t["x"][0], t["y"][0]) for t in figure["data"] if t["mode"] == "markers"]
    for i, (x, y) in enumerate(marks):
        for other_x, other_y in marks[i + 1 :]:
            if round(y) == round(other_y) and abs(x - other_x) < 0.9:
                assert abs(y - other_y) >= 0.22


def intervals_of(eye):
    """95 % intervals of every strength, from the draws."""
    samples = sample(eye)
    return {one: {name: mine.interval(strength_name(one)) for name, mine in samples.items()} for one in relationships()}


def bars_of(figure):
    """The bars of the intervals: the lines 1.6 px wide."""
    return [trace for trace in figure["data"] if trace["mode"] == "lines" and trace["line"]["width"] == 1.6]


def test_bars_of_the_dot_plot_are_the_intervals_and_do_not_cover_each_other():
    """Source: the end points of the draws; a mark stands on its own bar."""
    wanted = intervals_of(MYOPIA)
    figure = charts.dot_plot(MYOPIA, look("light"), drawn=wanted)
    bars = bars_of(figure)
    marks = [trace for trace in figure["data"] if trace["mode"] == "markers"]
    pairs = [wanted[one.id][name] for one in charts.relationship_rows(MYOPIA) for name in MYOPIA.results]
    assert len(bars) == len(marks) == len(pairs)
    for bar, mark, ends in zip(bars, marks, pairs, strict=True):
        assert bar["x"][:2] == pytest.approx(ends, abs=1e-4)
        assert bar["y"][0] == bar["y"][1] == mark["y"][0]
    for i, (bar, ends) in enumerate(zip(bars, pairs, strict=True)):
        for other, their in zip(bars[i + 1 :], pairs[i + 1 :], strict=True):
            if max(ends[0], their[0]) < min(ends[1], their[1]):
                assert bar["y"][0] != other["y"][0]
    assert "bars: 95 %" in json.dumps(figure["layout"]["annotations"])


def test_before_the_draws_there_are_no_bars_and_no_words_of_them():
    """Source: rule of the screens: what is not worked out yet stays empty."""
    figure = charts.dot_plot(MYOPIA, look("light"))
    assert not bars_of(figure)
    assert "95 %" not in json.dumps(figure) + charts.describe_dots(MYOPIA)
    low, high = intervals_of(MYOPIA)["petsche2012"]["flap"]
    assert f"({low:.1f}–{high:.1f})" in charts.describe_dots(MYOPIA, intervals_of(MYOPIA))
    assert "not given," in charts.describe_dots(HYPEROPIA, intervals_of(HYPEROPIA))


def test_words_hold_the_numbers_and_say_where_none_is_given():
    text = charts.describe_dots(MYOPIA) + charts.describe_profiles(MYOPIA)
    for result in MYOPIA.results.values():
        for value in result.strength.strength_percent.values():
            assert f"{float(value):.1f}" in text
    assert "no strength given" in charts.describe_profiles(HYPEROPIA)
    assert "not given" in charts.describe_dots(HYPEROPIA)


def test_equal_credits_on_both_layers():
    """Source: definition: the credit of the table gives the figure of the table; what counts more gives more."""
    flap, cap = MYOPIA.results["flap"], MYOPIA.results["lenticule"]
    assert float(charts.credited(MYOPIA, flap, 0.0)) == pytest.approx(
        float(flap.strength.strength_percent["reinstein2013"])
    )
    assert float(charts.credited(MYOPIA, cap, 1.0)) == pytest.approx(
        float(cap.strength.strength_percent["reinstein2013"])
    )
    assert float(charts.credited(MYOPIA, flap, 1.0)) > float(charts.credited(MYOPIA, flap, 0.0))
    assert np.isnan(charts.credited(HYPEROPIA, HYPEROPIA.results["flap"], 1.0))
