"""Ratios against modulus over shear modulus: a line for each state, words with the ends, names that do not overlap."""

import itertools

from tissue import Cornea, Refraction, Treatment, compare
from tissue.drawing.base.palette import look
from tissue.drawing.charts.shear_ratio import describe_shear_ratios, draw_shear_ratios
from tissue.mechanics import Choice, mechanics
from tissue.screens.mechanics.law import RATIOS, shear_ratios


def test_lines_are_what_the_law_gives():
    eye = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    found = shear_ratios(eye, Choice())
    assert tuple(found) == RATIOS
    state = mechanics(eye, Choice(law="transverse"))["flap"]
    assert found[47.0]["flap"] == state.figures.bed_stress_ratio
    figure = draw_shear_ratios(found, look("light"))
    strokes = [trace for trace in figure["data"] if trace["mode"] == "lines"]
    assert len(strokes) == 5 and all(len(stroke["x"]) == len(RATIOS) for stroke in strokes)
    named = [note for note in figure["layout"]["annotations"] if note["yref"] == "y"]
    places = sorted(note["y"] for note in named)
    low, high = figure["layout"]["yaxis"]["range"]
    assert all(b - a > 0.05 * (high - low) for a, b in itertools.pairwise(places))
    said = describe_shear_ratios(found)
    assert f"{found[2.98]['flap']:.2f} to {found[1000.0]['flap']:.2f}" in said
