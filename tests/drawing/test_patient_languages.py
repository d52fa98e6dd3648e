"""Every language has every sentence with every gap; its own signs; no way is talked up; marked until it is read."""

import re
from itertools import combinations
from string import Formatter

import pytest
from drawn_eyes import EYES, eye

from tissue.drawing.base.fonts import text_size
from tissue.drawing.base.labels import Box
from tissue.drawing.base.palette import look
from tissue.drawing.patient.bars import (
    CENTRES_PX,
    HALF_PX,
    SIZE_PX,
    WIDTH_PX,
    bars,
    bars_notes,
    describe_bars,
    parts,
)
from tissue.drawing.patient.language import LANGUAGES, mm, unbroken, unread, words
from tissue.drawing.patient.picture import describe_section
from tissue.drawing.patient.together import COLUMNS, by_name, column_name, side_by_side
from tissue.drawing.patient.words import STEPS, WAYS, story
from tissue.ground.sources import DATA, data, rows
from tissue.paper.handout import fitted_lines

OTHERS = LANGUAGES[1:]
VERDICT = {
    "de": r"\b(sicher(er|ste)?|geeignet|empfohlen|besser|beste|schlechter|schonend|ideal)\b(?! bekannt)",
    "fr": r"\b(sûre?|adaptée?|recommandée?|meilleure?|pire|douce?|idéale?)\b",
    "es": r"\b(segur[oa]|adecuad[oa]|recomendad[oa]|mejor|peor|suave|ideal)\b",
    "it": r"\b(sicur[oa]|consigliat[oa]|migliore|peggiore|delicat[oa]|ideale)\b",
}


def sentences(table, path=()):
    """Every sentence of a file by its place in it."""
    for key, value in table.items() if isinstance(table, dict) else enumerate(table):
        if isinstance(value, str):
            yield (*path, key), value
        else:
            yield from sentences(value, (*path, key))


def gaps(text):
    return sorted(name for _, name, *_ in Formatter().parse(text) if name is not None)


def said(name, language):
    """Everything that is said of an eye on screen and print, of all ways."""
    found = [text for row in side_by_side(eye(name), "OD", COLUMNS, language) for text in (*row.cells, row.common)]
    for way in WAYS:
        told = story(eye(name), way, "OD", language)
        found += [sentence for _, sentence in told.steps] + [*told.known, told.held, told.unknown, told.why_not]
        found += [describe_section(told, "out"), describe_bars(told), *bars_notes(told)]
        found += [one.text for one in parts(told)]
    return " ".join(found)


def test_there_is_a_file_for_each_language_and_no_other():
    assert sorted(path.stem for path in (DATA / "words").iterdir()) == sorted(LANGUAGES)


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_with_every_gap_is_there(language):
    """In the order of the English file too, so that two files can be read side by side."""
    english, other = dict(sentences(words("en"))), dict(sentences(words(language)))
    assert list(other) == list(english)
    assert {key: gaps(text) for key, text in other.items()} == {key: gaps(text) for key, text in english.items()}
    assert all(text.strip() for key, text in other.items() if key != ("about", "read_by"))
    assert {key for key, text in other.items() if text.endswith(" ") != english[key].endswith(" ")} == set()


@pytest.mark.parametrize("language", OTHERS)
def test_a_sentence_is_not_left_in_english(language):
    english = dict(sentences(words("en")))
    same = {
        k
        for k, text in sentences(words(language))
        if text == english[k] and len(re.findall(r"[a-z]+(?![a-z}])", text)) > 2
    }
    assert same == set()


@pytest.mark.parametrize("language", LANGUAGES)
def test_it_is_marked_until_a_clinician_has_read_it(language, monkeypatch):
    assert unread(language) == words(language)["about"]["unread"]
    monkeypatch.setitem(words(language)["about"], "read_by", "Dr N. N.")
    assert unread(language) == ""


@pytest.mark.parametrize("language", OTHERS)
@pytest.mark.parametrize("name", EYES)
def test_figures_have_the_decimal_sign_of_the_language(name, language):
    """Common practice in these four countries: a decimal comma. In English a point."""
    text = said(name, language)
    assert not re.search(r"\d\.\d", text) and re.search(r"\d,\d", text)
    assert "{" not in text and not re.search(VERDICT[language], text.lower())
    assert not re.search(r"\d,\d", re.sub(r"\d,\d{3}\b", "", said(name, "en")))


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", EYES)
def test_no_way_is_talked_up_in_any_language(name, language):
    """The same steps, and about the same number of words for each way: within a quarter."""
    shown = [one for one in (story(eye(name), way, "OS", language) for way in WAYS) if one.available]
    assert len({tuple(head for head, _ in one.steps) for one in shown}) <= 1
    lengths = [sum(len(t.split()) for t in (*dict(one.steps).values(), *one.known, one.unknown)) for one in shown]
    assert not lengths or max(lengths) <= 1.25 * min(lengths)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("name", ["usual", "mixed", "hyperopia", "decentred"])
def test_every_language_says_the_same_figures(name, language):
    """Read back from the text: the figures of a sentence are those of the English one, in its own signs."""

    def figures(text):
        return sorted(re.findall(r"\d+[.,]\d\d\b", text.replace(",", ".")))

    for way in WAYS:
        told, english = (story(eye(name), way, "OD", one) for one in (language, "en"))
        for at in range(len(STEPS)):
            assert figures(told.steps[at][1]) == figures(english.steps[at][1])
        assert figures(" ".join(told.known)) == figures(" ".join(english.known))
    rows, first = (side_by_side(eye(name), "OD", COLUMNS, one) for one in (language, "en"))
    assert [figures(" ".join(row.cells)) for row in rows] == [figures(" ".join(row.cells)) for row in first]
    assert mm(548.0, language).replace(",", ".") == "0.55" and set(by_name(COLUMNS, language)) == set(COLUMNS)


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_rate_says_for_which_way_eyes_were_counted_and_gives_no_number(language):
    """Source: the tables themselves: suction lost in extraction alone; eyes watched for years after a flap alone, the
    other counts are reports over yearly volumes."""
    held = {row["procedure"] for row in rows("published_readings") if row["quantity"] == "suction_lost"}
    watched = {
        row["what"].split()[0] for row in data("counts")["ectasia"] if "no incidence" not in row.get("caveat", "")
    }
    assert held == {"lenticule"} and watched == {"Flap"}
    found = {row.name: row for row in side_by_side(eye("usual"), "OD", COLUMNS, language)}
    for name, way in (("hold", "lenticule"), ("bulge", "flap")):
        said = found[name].common
        assert not found[name].cells and not re.search(r"\d", said)
        assert [one for one in COLUMNS if column_name(one, language) in said] == [way]


@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_common_practice_is_marked_and_the_mark_is_explained(language):
    """Source: rule of the house: common practice is marked so. What a laser does then stood there without a mark."""
    for way in WAYS:
        assert re.search(r"\. \*( |$)", words(language)["ways"][way]["held"])
    assert words(language)["table"]["practice"].startswith("* ")


@pytest.mark.parametrize("name", ["usual", "mixed", "thin"])
@pytest.mark.parametrize("language", LANGUAGES)
def test_no_words_of_the_bars_are_cut_or_lie_over_another(language, name):
    """The French "environ 0,8 mm" began left of the picture and the next one ended in the bar beside it."""
    about = words(language)["familiar"]["card_thick"].split()[0]
    for way in WAYS:
        (found,) = (one for one in bars(story(eye(name), way, "OD", language), look("light"))["data"] if "text" in one)
        boxes = []
        for text, x, y, at in zip(found["text"], found["x"], found["y"], found["textposition"], strict=True):
            wide, high = text_size(text, SIZE_PX)
            left = x if at == "middle right" else x - wide / 2.0
            boxes.append(Box(left, y - high / 2.0, left + wide, y + high / 2.0))
        assert all(box.left >= 0.0 and box.right <= WIDTH_PX for box in boxes)
        thick = [box for box, text in zip(boxes, found["text"], strict=True) if text.startswith(about)]
        assert len(thick) == 2 and max(box.right for box in thick) < CENTRES_PX["today"] - HALF_PX["today"]
        assert not any(one.overlaps(other) for one, other in combinations(boxes, 2))


def test_a_figure_stays_with_its_mm_and_a_sign_with_its_word():
    assert unbroken("0,31 mm. Et quoi ? 1 000 yeux") == "0,31\u00a0mm. Et quoi\u00a0? 1\u00a0000 yeux"
    for sentence in ("a b 0.31 mm", "voulez-vous qu’il reste ?"):
        for width in range(4, 40):
            assert not [one for one in fitted_lines(sentence, width) if one in ("mm", "?")]
