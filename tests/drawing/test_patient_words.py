"""What a patient reads: easy enough, the plan's figures and no others, no jargon, no verdict, no way favoured.

Reading grade: Flesch–Kincaid, 0.39 words a sentence + 11.8 syllables a word − 15.59 (Kincaid et al., 1975), at most 6,
by textstat and by a second count of syllables. Figures are read aloud first: "0.12 mm" is "zero point one two
millimetres", so that a point inside a figure neither ends a sentence nor shortens a word.
"""

import re
from itertools import product

import pytest
from drawn_eyes import EYES, eye

from tissue.drawing.patient.bars import bars_notes, describe_bars, parts
from tissue.drawing.patient.language import mm as mm_in
from tissue.drawing.patient.language import words
from tissue.drawing.patient.picture import describe_section
from tissue.drawing.patient.together import COLUMNS, by_name, side_by_side
from tissue.drawing.patient.words import LEAST_SAID_UM, STEPS, WAYS, paper_words, shift_um
from tissue.drawing.patient.words import story as told_of
from tissue.ground.sources import data, source

ENGLISH = words("en")
PAGE = ENGLISH["page"]
HIGHEST_GRADE = 6.0
# textstat asks a dictionary of the English language over the network; a language tag it has no dictionary for makes it
# hyphenate instead, from the patterns in its package.
OFFLINE_LANGUAGE = "en-US"
DIGITS = "zero one two three four five six seven eight nine".split()
CASES = list(product(EYES, WAYS))
JARGON = (
    "epithelium stroma stromal lenticule ablation ablate residual dioptre diopter µm micrometre micron cap keratectomy "
    "ectasia meridian optical zone incision hinge interface flattened refraction refractive"
).split()
VERDICT = (
    r"\b(safe|safer|safest|unsafe|suitable|candidate|recommended?|best|better|worse|advantage|ideal|gentle|pass|fail)\b"
)


def story(plan, way, side="OD"):
    """The Story in English."""
    return told_of(plan, way, side, "en")


def mm(value_um):
    return mm_in(value_um, "en")


def aloud(text):
    """A text with its figures as they are read aloud."""

    def read(match):
        whole, _, rest = match.group().replace(",", "").partition(".")
        return " ".join([DIGITS[int(d)] for d in whole] + (["point"] + [DIGITS[int(d)] for d in rest] if rest else []))

    return re.sub(r"\bmm\b", "millimetres", re.sub(r"\d[\d,]*(?:\.\d+)?", read, text.replace("<br>", " ")))


def syllables(word):
    """A second count: groups of vowels, two where they are spoken apart, a silent e at the end not counted."""
    said = re.sub(r"ea$|ua|ia(?!l)|(?<=[ao])y(?=[aeiou])", "a-a", re.sub(r"tre(s?)$", r"ter\1", word.lower()))
    groups = len(re.findall(r"[aeiouy]+", said))
    silent = re.search(r"([^aeiouyl]|[aeiou]l)e$|[^aeiouylscxzg]es$|[^aeiouytd]ed$", said) and groups > 1
    return max(1, groups - bool(silent))


def grades(text):
    """The grade of a text by textstat and by the second count."""
    import textstat

    said = aloud(text)
    textstat.set_lang(OFFLINE_LANGUAGE)
    sentences = [one for one in re.split(r"[.?!:]+(?:\s|$)", said) if one.strip()]
    words = re.findall(r"[A-Za-z’']+", said)
    second = 0.39 * len(words) / len(sentences) + 11.8 * sum(map(syllables, words)) / len(words) - 15.59
    return textstat.flesch_kincaid_grade(said), second


def blocks(name, way):
    """Every block of sentences on the screen and on the handout, of one way in one eye."""
    told = story(eye(name), way)
    yield from (sentence for _, sentence in told.steps)
    yield from (*told.known, told.held, told.unknown, told.missing, *told.questions)
    yield from filter(None, (told.why_not,))
    yield from (PAGE[key] for key in ("standing", "scale", "rounded", "invented", "stale", "empty", "same_for_both"))
    yield PAGE["no_page"].format(eyes="right eye and the left eye")
    yield f"{PAGE['missing']}: {told.missing}"
    yield describe_section(told, "out")
    yield describe_bars(told)
    yield from (ENGLISH["about"]["unread"], ENGLISH["ways"][way]["short"])
    yield from (text.format(share="57") for text in ENGLISH["why"].values() if text.endswith("."))
    yield from (ENGLISH["table"][key] for key in ("intro", "practice", "strength"))


def table_words(name):
    """Everything in the rows side by side."""
    found = side_by_side(eye(name), "OD", by_name(COLUMNS, "en"), "en")
    return [text for row in found for text in (row.head, *row.cells, row.common)]


def words_of(name, way):
    """Everything in words, labels and heads included."""
    told = story(eye(name), way)
    labels = [one.text for one in parts(told)] + bars_notes(told)
    heads = [head for head, _ in told.steps] + [told.name, told.layer]
    fixed = [text for key, text in PAGE.items() if isinstance(text, str) and key not in ("title", "no_page", "picture")]
    in_pictures = [*ENGLISH["labels"].values(), *ENGLISH["paper_labels"].values()]
    labels += [text.format(layer=told.layer, **told.figures) for text in in_pictures] + table_words(name)
    return " ".join([*blocks(name, way), *labels, *heads, *fixed, *ENGLISH["ends"].values()])


# --- reading grade ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "way"), CASES)
def test_every_block_can_be_read_at_school(name, way):
    too_hard = {text: grades(text) for text in blocks(name, way) if max(grades(text)) > HIGHEST_GRADE}
    assert too_hard == {}


def test_the_words_of_professionals_would_not_pass():
    """The measure finds an offender, by both counts."""
    hard = "Residual stromal thickness underneath the interface determines postoperative biomechanical integrity."
    assert min(grades(hard)) > 2 * HIGHEST_GRADE


@pytest.mark.parametrize(
    ("word", "count"),
    [("cornea", 3), ("usual", 3), ("layer", 2), ("choices", 2), ("middle", 2), ("while", 1), ("millimetres", 4)]
    + [("measured", 2), ("folded", 2), ("eye", 1), ("surgery", 3), ("suction", 2), ("thickest", 2), ("taken", 2)],
)
def test_syllables_are_counted_as_they_are_spoken(word, count):
    """Source: an English dictionary."""
    assert syllables(word) == count


def test_the_grade_is_the_published_formula():
    """Kincaid et al. 1975 by hand: 6 words, 6 syllables, one sentence; and 4 words of 3 syllables each."""
    assert grades("The cat sat on the mat.") == pytest.approx((0.39 * 6 + 11.8 - 15.59,) * 2)
    assert grades("Banana potato banana potato.")[1] == pytest.approx(0.39 * 4 + 11.8 * 3 - 15.59)


def test_figures_are_read_aloud():
    assert aloud("It is 0.12 mm.") == "It is zero point one two millimetres."
    assert aloud("20 of 4,000 eyes") == "two zero of four zero zero zero eyes"


def test_textstat_asks_no_network(monkeypatch):
    import socket

    def refuse(*_):
        raise OSError("the network was asked")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    assert grades("A word that was not asked before, such as archipelago.")[0] > 0


# --- words ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "way"), CASES)
def test_no_jargon_and_no_verdict(name, way):
    """Source: rules of look and words: everyday words for the patient, the tool gives no verdict."""
    said = words_of(name, way).lower()
    assert [word for word in JARGON if re.search(rf"\b{word}s?\b", said)] == []
    assert re.findall(VERDICT, said) == []
    assert "{" not in said and "nan" not in re.findall(r"\w+", said)
    assert not re.search(r"\d ?%", said)


def test_cornea_is_explained_before_it_is_used():
    for way in WAYS:
        first = story(eye("usual"), way).steps[0][1]
        assert first.index("clear front") < first.index("cornea")


@pytest.mark.parametrize("name", EYES)
def test_no_way_is_talked_up(name):
    """The same steps in the same order, and about the same number of words for each way: within a quarter."""
    told = [story(eye(name), way) for way in WAYS]
    shown = [one for one in told if one.available]
    assert len({tuple(head for head, _ in one.steps) for one in shown}) <= 1
    lengths = [sum(len(t.split()) for t in (*dict(one.steps).values(), *one.known, one.unknown)) for one in shown]
    assert not lengths or max(lengths) <= 1.25 * min(lengths)
    assert len({(one.missing, one.questions) for one in told}) == 1
    unknown = [len(one.unknown.split()) for one in told]
    assert max(unknown) - min(unknown) <= 3


@pytest.mark.parametrize("at", range(1, len(STEPS)))
def test_no_step_of_a_way_is_much_longer_than_that_of_another(at):
    lengths = [len(story(eye("usual"), way).steps[at][1].split()) for way in WAYS]
    assert max(lengths) - min(lengths) <= 4


def test_the_standing_line_of_the_patient():
    assert PAGE["standing"] == (
        "This page helps you talk with your eye surgeon. It shows tissue and light only. "
        "It does not say that surgery is right for you."
    )


def test_what_is_not_on_the_page_is_said():
    for word in ("time to heal", "dry eye", "pain", "how glare feels", "cost"):
        assert word in story(eye("usual"), "flap").missing


# --- figures ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "way"), CASES)
def test_every_figure_is_one_of_the_plan(name, way):
    """Source: the Comparison that Plan shows; in mm with two decimals, nothing worked out again."""
    result, told = eye(name).results[way], story(eye(name), way)
    budget, spread = result.budget, result.spread
    plan = [eye(name).cornea.central_thickness_um, budget.cut_um, budget.removal_central_um, budget.removal_max_um]
    plan += [budget.bed_central_um, budget.bed_min_um, spread.bed_low_um, spread.bed_high_um]
    plan += [abs(shift_um(eye(name), result))]
    allowed = {f"{float(value) / 1000.0:.2f}" for value in plan} | {"0.01"}
    said = " ".join(text for _, text in told.steps) + told.known[0]
    assert set(re.findall(r"\d+\.\d+", said)) <= allowed
    drawn = " ".join(one.text for one in parts(told)) + " ".join(bars_notes(told))
    assert set(re.findall(r"\d+\.\d+", drawn)) <= allowed


def test_the_figures_of_the_usual_eye():
    """Reference figures of this eye in µm: surface 53, 124, 371; flap 110, 124, 314; extraction 120, 124, 304."""
    wanted = {
        "surface": ("0.05", "0.12", "0.37"),
        "flap": ("0.11", "0.12", "0.31"),
        "lenticule": ("0.12", "0.12", "0.30"),
    }
    for way, figures in wanted.items():
        told = story(eye("usual"), way).figures
        assert (told["cut"], told["removed"], told["bed"]) == figures
        assert told["today"] == "0.55"


@pytest.mark.parametrize("name", [name for name in EYES if name not in ("none", "gone")])
@pytest.mark.parametrize("way", WAYS)
def test_the_bar_is_todays_cornea(name, way):
    """Definition of the bed: cut + removed + bed = central thickness; the same bar in every way."""
    found = parts(story(eye(name), way))
    assert found[-1].lower_um == float(eye(name).cornea.central_thickness_um)
    assert found[0].upper_um == 0.0
    assert [one.lower_um for one in found[:-1]] == [one.upper_um for one in found[1:]]
    bed = float(eye(name).results[way].budget.bed_central_um)
    left_out = LEAST_SAID_UM if len(found) == 2 else 1e-9  # what rounds to nothing is no part
    assert found[-1].lower_um - found[-1].upper_um == pytest.approx(bed, abs=left_out)


def test_where_the_piece_is_a_ring_the_thickest_place_is_said():
    """Hyperopia takes next to nothing in the middle; mixed astigmatism takes more away from it."""
    told = story(eye("hyperopia"), "flap")
    assert told.ring and float(eye("hyperopia").results["flap"].budget.removal_central_um) < LEAST_SAID_UM
    most = mm(eye("hyperopia").results["flap"].budget.removal_max_um)
    assert (
        f"At most it is {most} mm thick, in a ring around the middle." in told.steps[2][1]
        and "next to none" in told.steps[2][1]
    )
    assert bars_notes(told)[:3] == [
        "Here next to none is taken out.",
        f"At most {most} mm is taken,",
        "in a ring around the middle.",
    ]
    assert len(parts(told)) == 2 and "0.00" not in describe_bars(told)
    mixed = story(eye("mixed"), "lenticule")
    assert mixed.ring and f"In the middle it is {mixed.figures['removed']} mm" in mixed.steps[2][1]
    assert not story(eye("usual"), "lenticule").ring


def test_a_way_that_leaves_nothing_says_so_in_plain_words():
    gone, none = story(eye("gone"), "flap"), story(eye("none"), "lenticule")
    assert "leave nothing below the cut" in gone.why_not and "nothing to take out" in none.why_not
    assert len(gone.steps) == len(none.steps) == 1
    assert "95 of 100" not in gone.known[0]
    assert parts(gone)[0].text == "" and bars_notes(gone) == []


def test_a_risk_stands_as_counts_over_counts():
    """Seven series pooled (.50 %), least 27 of 12,057 and most 70 of 3,376, over 1,000 eyes each."""
    told = story(eye("usual"), "lenticule").held
    assert "about 5 of 1,000 eyes in 7 studies. One study had 2 of 1,000. One had 21 of 1,000." in told
    assert source("suction_acta2020").note.startswith("Abstract read: suction lost in 20 of 4,000 eyes")


def test_familiar_things_have_their_source():
    """ISO/IEC 7810: an ID-1 card is 0.76 mm thick; the sheet of paper is common practice, and says so."""
    familiar = data("explain")["familiar"]
    assert familiar["card"]["thickness_um"] == 760 and source(familiar["card"]["source"]).title.startswith(
        "ISO/IEC 7810"
    )
    assert familiar["paper"]["thickness_um"] == 100 and familiar["paper"]["status"] == "T"
    assert all(ENGLISH["familiar"][f"{name}_thick"].startswith("about ") for name in familiar)
    assert all(abs(row["said_mm"] * 1000 - row["thickness_um"]) <= 50 for row in familiar.values())


@pytest.mark.parametrize(
    ("value_um", "said"),
    [(20, "much thinner"), (55, "about half as thick as a"), (100, "about as thick as a sheet"), (124, "a bit thicker")]
    + [
        (200, "two sheets"),
        (300, "three sheets"),
        (550, "five sheets"),
        (551, "six sheets"),
        (900, "thicker than eight"),
    ],
)
def test_thickness_beside_a_sheet_of_paper(value_um, said):
    assert said in paper_words(float(value_um), "en")
