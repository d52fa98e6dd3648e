"""The strip of Explain with lights at night: figures of the plan, easy words in every language, no verdict."""

import re
from io import BytesIO

import numpy as np
import pytest
import textstat
from PIL import Image
from pypdf import PdfReader

from tissue.drawing.patient.language import LANGUAGES, words
from tissue.drawing.patient.words import story
from tissue.explore.zone_buys import one_row
from tissue.ground.sources import data
from tissue.optics.sight.figures import sight_of
from tissue.paper.handout import handout
from tissue.screens.desk.reading import shown_eye
from tissue.screens.sight.night import night_html, night_of, night_shown, pupil_words, pupils

EYE = {"refraction": "-6.00", "central_thickness_um": "548"}
HIGHEST_GRADE = 8.0  # of the design of this strip
JARGON = r"\b(MTF|zone|optical|dioptre|wavefront|aberration|diffraction|logarithm|arcmin|lenticule|ablation)\b"


def shown_of(**more):
    shown, wrong = shown_eye(EYE | more, "OD")
    assert not wrong
    return shown


def told_of(shown, language="en", way="flap"):
    return story(shown.comparison, way, "OD", language)


def test_figures_are_those_of_plans_with_less_and_more_zone():
    """Source: `sight_of` and the deepest removal of plans half a millimetre to either side."""
    shown = shown_of(zone_mm="6.5")
    found = night_of(shown.inputs, told_of(shown), 7.33)
    deepest = []
    for zone, near in zip(("6", "7"), found.near, strict=True):
        inputs = shown_of(zone_mm=zone, pupil_mm="7.33").inputs
        result = inputs.compare().results["flap"]
        light = sight_of(inputs.cornea, one_row(result.option.removal), inputs.pupil).light_10_arcmin_percent
        assert int(near.split()[0]) == pytest.approx(light, abs=0.6)
        assert sum(map(int, re.findall(r"\b\d+(?= of|\.$)", near))) == 100
        deepest.append(float(result.budget.removal_max_um))
    assert "a smaller and a larger shape than the plan" in found.words and "The plan is 6.5 mm wide." in found.words
    assert f"{(deepest[1] - deepest[0]) / 1000.0:.2f} mm" in found.words
    assert found.pngs[0] != found.pngs[1] and all(png.startswith(b"\x89PNG") for png in found.pngs)


def test_light_counted_as_too_thin_is_in_no_pixel_of_the_picture():
    """Source: the picture itself: black farther than 10′ from both lamps, in the smaller area with the larger share."""
    found = night_of(shown_of().inputs, told_of(shown_of()), 7.33)
    up, across = np.mgrid[-60:60, -120:120] / 4.0
    far = np.minimum(np.hypot(across + 15.0, up), np.hypot(across - 15.0, up)) > 10.3
    for png in found.pngs:
        grey = np.asarray(Image.open(BytesIO(png)))
        assert grey.shape == far.shape and grey[~far].max() > 0 and grey[far].max() == 0


def test_pupils_are_the_eyes_own_and_the_printed_ones():
    """Source: 263 persons at 1 lux: 7.33, 6.64, 6.15, 5.77 mm for four ages (data/sight.toml)."""
    shown = shown_of(pupil_mm="5.5")
    found = pupils(shown.inputs)
    assert list(found.values()) == [5.5, 7.33, 6.64, 6.15, 5.77] and data("sight")["pupil_by_age"]["mm"][0] == 7.33
    assert pupil_words("own", 5.5, told_of(shown)) == "this eye: 5.5 mm"
    assert pupil_words("20–29", 7.33, told_of(shown, "de")) == "20–29 Jahre: 7,3 mm"


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_pupil_that_was_not_given_is_not_called_that_of_the_eye(language):
    """Source: the form: the default of 6.0 mm stood there as "this eye: 6.0 mm"."""
    shown = shown_of()
    name, width = next(iter(pupils(shown.inputs).items()))
    said = pupil_words(name, width, told_of(shown, language))
    assert (name, width) == ("usual", 6.0) and words(language)["night"]["own"].split("{")[0] not in said


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_strip_in_every_language(language):
    """It says what it does not show, and what more area takes, with the decimal sign of the language."""
    shown = shown_of()
    said = "".join(night_html(night_of(shown.inputs, told_of(shown, language), 7.33), told_of(shown, language)))
    for name in ("said", "moon", "ages"):
        assert words(language)["night"][name].replace("’", "’") in said
    sign = words(language)["about"]["decimal"]
    assert re.search(rf"0{re.escape(sign)}0\d mm", said) and said.count("<img") == 2 and "{" not in said


def test_words_are_easy_and_no_verdict():
    """Source: Flesch–Kincaid by textstat, at most 8; the words are those of the patient."""
    said = " ".join(words("en")["night"].values())
    textstat.set_lang("en-US")
    plain = re.sub(r"\{\w+\}", "six", said)
    assert textstat.flesch_kincaid_grade(plain) <= HIGHEST_GRADE
    assert not re.search(JARGON, said, re.I) and not re.search(r"\b(safe|better|worse|best|good|bad)\b", said, re.I)


def test_a_plan_without_pictures_says_so():
    shown = shown_of(centre_x_mm="2", zone_mm="4", pupil_x_mm="-1")
    assert night_of(shown.inputs, told_of(shown), 3.0) is None
    assert "cannot be made" in "".join(night_html(None, told_of(shown)))


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_handout_has_the_strip_only_where_it_is_on_and_stays_one_page(language):
    """Source: the page as pypdf reads it; two eyes in the way with the most words leave the least room."""
    shown = {side: shown_eye(EYE, side)[0] for side in ("OD", "OS")}
    eyes = {side: one.comparison for side, one in shown.items()}
    told = story(eyes["OD"], "lenticule", "OD", language)
    assert night_shown(shown["OD"], told, {"night": False}) is None
    night = night_shown(shown["OD"], told, {"night": True, "pupil": "20–29"})
    plain, lit = (
        PdfReader(BytesIO(handout("x", eyes, "lenticule", language=language, night=one))) for one in (None, night)
    )
    assert (len(plain.pages), len(lit.pages)) == (1, 1)
    assert (len(plain.pages[0].images), len(lit.pages[0].images)) == (0, 2)
    said = re.sub(r"\s+", " ", lit.pages[0].extract_text())
    head = words(language)["night"]["head"]
    assert head in said and head not in plain.pages[0].extract_text()
    assert words(language)["night"]["said"].split(".")[1].strip() in said and night.heads[1] in said
    places = []
    lit.pages[0].extract_text(visitor_text=lambda text, cm, tm, font, size: places.append((tm[5], text)))
    assert min(y for y, text in places if text.strip()) > 10.0  # points: nothing leaves the page
    missing = words(language)["page"]["missing"]
    assert next(y for y, text in places if missing in text) > 13.0 * 72.0 / 25.4  # over the line at the foot
