"""The flattened figure as a dictionary: its columns, its scale, its order, and what it says of itself."""

import json
from itertools import pairwise

import numpy as np
import pytest
from drawn_eyes import EYES, eye
from figures_read import all_words, numbers, strokes, traces

from tissue import Cornea, Refraction, Treatment, compare
from tissue.drawing.base import palette
from tissue.drawing.base.palette import look
from tissue.drawing.section.section import BOTTOM_PX, HEIGHT_PX, TOP_PX, column_shares, flattened, option_domains

LIGHT, DARK = look("light"), look("dark")


@pytest.mark.parametrize("name", EYES)
@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_figure_is_strict_json_and_rounded(name, colours):
    figure = flattened(eye(name), "OD", colours)
    json.loads(json.dumps(figure, allow_nan=False))
    assert all(round(value, 6) == value for value in numbers(figure["data"]))


def test_equal_input_gives_an_equal_figure():
    again = compare(*EYES["usual"])
    assert flattened(eye("usual"), "OD", LIGHT) == flattened(again, "OD", LIGHT)


@pytest.mark.parametrize(("narrow", "measure"), [(False, 0.2156), (True, 0.26)])
def test_columns(narrow, measure):
    """Shares of the width as the table has them: measures 21.56 % (26 % where narrow), gaps of 1.2 %, three alike."""
    shares, domains = column_shares(narrow), list(option_domains(narrow).values())
    assert shares[0] == measure and shares[2] == 0.012
    assert domains[0][0] == measure and domains[-1][1] == pytest.approx(1.0)
    assert {round(end - start, 9) for start, end in domains} == {round(shares[1], 9)}
    assert all(later[0] - earlier[1] == pytest.approx(0.012) for earlier, later in pairwise(domains))


@pytest.mark.parametrize("width", [744, 1104])
def test_each_dimension_line_stands_over_the_middle_of_its_column(width):
    figure = flattened(eye("usual"), "OD", LIGHT, width_px=width)
    axis = figure["layout"]["xaxis2"]
    low, high = axis["range"]
    start, end = axis["domain"]
    backs = [trace for trace in traces(figure, xaxis="x2", mode="lines") if trace["line"].get("width") == 2.0]
    front = next(t for t in traces(figure, xaxis="x2", mode="lines") if t["line"].get("width") == 1.5)
    assert backs
    ends = [x for x in front["x"] if x is not None]
    middles = [(ends[i] + ends[i + 1]) / 2.0 for i in (0, 2, 4)]
    for middle, (left, right) in zip(middles, option_domains(width < 900).values(), strict=True):
        assert start + (middle - low) / (high - low) * (end - start) == pytest.approx((left + right) / 2.0, abs=1e-4)


def test_depth_runs_downwards_to_640_and_grows_in_steps_of_50():
    def deepest(plan):
        top_px = HEIGHT_PX - TOP_PX
        low, high = flattened(plan, "OD", LIGHT)["layout"]["yaxis2"]["range"]
        assert high == 0.0
        return low * (top_px - BOTTOM_PX) / top_px

    assert deepest(eye("usual")) == pytest.approx(640.0, abs=0.01)
    thick = deepest(compare(Cornea(700.0), Treatment(Refraction(-3.0))))
    assert thick > 700.0 and round((thick - 640.0) / 50.0, 3) % 1 == 0.0


@pytest.mark.parametrize("name", EYES)
def test_nothing_is_drawn_below_the_axis_but_words(name):
    figure = flattened(eye(name), "OD", LIGHT)
    low = figure["layout"]["yaxis2"]["range"][0] * (HEIGHT_PX - TOP_PX - BOTTOM_PX) / (HEIGHT_PX - TOP_PX)
    bars = 0
    for trace in traces(figure, xaxis="x2", mode="lines"):
        for stroke in strokes(trace):
            bar = len(stroke) == 2 and stroke[0][1] == stroke[1][1] > low + 0.01
            assert bar or max(y for _, y in stroke) <= low + 0.01
            assert not bar or (trace["line"]["color"], trace["line"]["width"]) == (LIGHT.ink, 2)
            bars += bar
    assert bars == 3


def test_order_from_the_bed_up_to_the_words():
    figure = flattened(eye("usual"), "OD", LIGHT)
    sections = traces(figure, xaxis="x2")
    fills = [trace["fillcolor"] for trace in sections if trace.get("fill")]
    assert fills == [LIGHT.stroma, LIGHT.epithelium, LIGHT.above, *LIGHT.removed.values()]
    dashes = [trace["line"].get("dash") for trace in sections if trace["mode"] == "lines"]
    assert dashes.index("longdashdot") > dashes.index("dash")
    assert [trace["mode"] for trace in sections[-3:]] == ["lines", "markers", "text"]


def test_only_the_users_line_uses_its_dash():
    found = [t for t in flattened(eye("usual"), "OD", LIGHT)["data"] if t.get("line", {}).get("dash") == "longdashdot"]
    assert len(found) == 1 and found[0]["line"]["color"] == LIGHT.ink


def test_each_option_has_its_own_line_and_colour():
    figure = flattened(eye("usual"), "OD", LIGHT)
    for name, colour in LIGHT.option.items():
        cut = [
            t
            for t in traces(figure, xaxis="x2")
            if t.get("line", {}).get("width") == 2.4 and t["line"]["color"] == colour
        ]
        assert [t["line"]["dash"] for t in cut] == [palette.DASH[name]]


def test_no_text_in_an_option_colour():
    figure = flattened(eye("usual"), "OD", LIGHT)
    colours = {note["font"]["color"] for note in figure["layout"]["annotations"]}
    for trace in traces(figure, mode="text"):
        colours |= set(trace["textfont"]["color"])
    assert colours <= {LIGHT.ink, LIGHT.ink2}


def test_labels_on_hatch_stand_on_the_plain_fill_of_that_tissue():
    notes = flattened(eye("usual"), "OD", LIGHT)["layout"]["annotations"]
    grounds = {note["text"].split(" ")[0]: set() for note in notes}
    for note in notes:
        grounds[note["text"].split(" ")[0]].add(note.get("bgcolor"))
    assert grounds["epithelium"] == {LIGHT.epithelium}
    assert grounds["flap"] == grounds["cap"] == {LIGHT.above}
    assert grounds["removed"] == set(LIGHT.removed.values())


def test_curves_are_not_thinned_out_and_nothing_answers_the_mouse():
    figure = flattened(eye("usual"), "OD", LIGHT)
    for trace in figure["data"]:
        assert trace["hoverinfo"] == "skip"
        if trace["mode"] == "lines":
            assert trace["line"]["simplify"] is False
    assert figure["layout"]["hovermode"] is False and figure["layout"]["showlegend"] is False


def test_picture_says_that_it_is_not_to_scale():
    assert "front drawn flat, depth × 12" in all_words(flattened(eye("usual"), "OD", LIGHT))


@pytest.mark.parametrize(("side", "first", "second"), [("OD", "temporal", "nasal"), ("OS", "nasal", "temporal")])
def test_nasal_lies_right_in_a_right_eye_and_left_in_a_left_eye(side, first, second):
    """The nose is at the viewer's right of a right eye (T)."""
    figure = flattened(eye("usual"), side, LIGHT)
    words = traces(figure, mode="text")[-1]
    found = [(x, text) for text, x in zip(words["text"], words["x"], strict=True) if text in (first, second)]
    assert [text for _, text in sorted(found)] == [first, second] * 4  # under the eye and under three sections


@pytest.mark.parametrize("width_px", [1104, 880])
def test_words_under_the_small_eye_stay_clear_of_the_buttons_whatever_the_window_does(width_px):
    """The buttons lie 20 to 40 px over the lower edge; a word on the axes of the eye moved up to them with it while a
    window was made narrower. Source: rule of the pictures."""
    figure = flattened(eye("usual"), "OD", LIGHT, width_px=width_px)
    words, layout = traces(figure, mode="text")[-1], figure["layout"]
    left, right = layout["xaxis2"]["range"]
    first_section = left + (right - left) * column_shares(width_px == 880)[0]
    lowest = layout["yaxis2"]["range"][0]
    per_um = (HEIGHT_PX - TOP_PX) / lowest  # the height is the same whatever the window does
    assert layout["yaxis2"]["domain"] == [0.0, 1.0] and "scaleanchor" not in layout["yaxis2"]
    places = zip(words["text"], words["x"], words["y"], words["textfont"]["size"], strict=True)
    rows = [
        ((lowest - y) * per_um, size / 2.0)
        for text, x, y, size in places
        if x < first_section - 0.1 and not text.isdigit()
    ]
    assert len(rows) == 3
    for above, half in rows:
        assert above - half > 40.0 or above + half < 22.0


def test_meridian_changes_the_words_and_the_drawing():
    up = flattened(eye("usual"), "OD", LIGHT, 90.0)
    assert "superior" in all_words(up) and "hinge" not in all_words(up)
    assert up["data"] != flattened(eye("usual"), "OD", LIGHT)["data"]


def test_an_option_that_is_not_available_shows_a_cornea_and_says_why():
    figure = flattened(eye("none"), "OD", LIGHT)
    said = [text for text in all_words(figure) if text.startswith("Not drawn")]
    assert len(said) == 3 and all("nothing to treat" in text.replace("<br>", " ") for text in said)
    assert [t["fillcolor"] for t in traces(figure, xaxis="x2", fill="toself")] == [LIGHT.stroma, LIGHT.epithelium]


def test_kept_plan_is_a_thin_grey_outline_only_where_it_differs():
    usual = eye("usual")
    other = compare(EYES["usual"][0], Treatment(Refraction(-4.0, -1.25, 170.0)))

    def grey(kept):
        figure = flattened(usual, "OD", LIGHT, kept=kept)
        return [t for t in traces(figure, xaxis="x2") if t.get("line", {}).get("color") == LIGHT.rule2]

    assert grey(usual) == [] and grey(None) == []
    assert len(grey(other)) == 1 and grey(other)[0]["line"]["width"] == 1.0
    # floor of three options and the cap's cut, whose diameter is the same: three strokes, parted by two gaps
    assert grey(other)[0]["x"].count(None) == 2


def test_band_of_the_bed_is_as_wide_as_its_interval():
    """At the centre of the flap: from floor + (bed − high) to floor + (bed − low), the interval of the spread."""
    plan = eye("usual")
    figure = flattened(plan, "OD", LIGHT, spread=True)
    band = next(t for t in traces(figure, xaxis="x2", fill="toself") if t["fillcolor"].startswith("rgba"))
    assert band["x"].count(None) == 2
    middle = min(x for x in traces(figure, fill="toself", xaxis="x2")[0]["x"] if x is not None) + 5.0
    step = 2.0 * 5.0 * (column_shares()[1] + column_shares()[2]) / column_shares()[1]
    parts = " ".join("gap" if x is None else f"{x}|{y}" for x, y in zip(band["x"], band["y"], strict=True)).split("gap")
    flap = np.array([[float(v) for v in point.split("|")] for point in parts[1].split()])
    at = flap[np.abs(flap[:, 0] - (middle + step)) < 1e-3][:, 1]
    spread = plan.results["flap"].spread
    assert np.ptp(at) == pytest.approx(float(spread.bed_high_um - spread.bed_low_um), abs=0.01)


def test_second_dimension_line_where_the_removal_is_deepest_off_the_centre():
    words = all_words(flattened(eye("hyperopia"), "OD", LIGHT))
    assert sum(text.startswith("removed") for text in words) == 6
    assert sum(text.startswith("removed") for text in all_words(flattened(eye("usual"), "OD", LIGHT))) == 3
