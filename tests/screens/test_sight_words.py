"""The sentence between the two pictures of what a zone buys."""

from tissue.screens.tradeoffs.sight import step_words

NONE = dict.fromkeys(("light_10_arcmin_percent", "light_3_arcmin_percent", "mtf_10", "mtf_20", "visual_strehl"), 0.0)


def test_nothing_bought_is_said_with_what_it_takes():
    said = step_words(NONE | {"bed_min_um": -3.5})
    assert said == "+0.1 mm of zone at this pupil: 0.0 points: the pupil ends inside the zone; least bed −3.5 µm."


def test_a_minus_is_said_as_plainly():
    said = step_words(NONE | {"light_10_arcmin_percent": -0.31, "mtf_10": -0.012, "bed_min_um": -3.5})
    assert "light within 10′ −0.3 points, MTF at 10 c/deg −0.012; least bed −3.5 µm." in said


def test_no_figures_are_said():
    assert step_words(None) == "There is no plan with 0.1 mm more zone."
    assert "Less than a quarter" in step_words(NONE | {"mtf_10": float("nan"), "bed_min_um": -3.5})
