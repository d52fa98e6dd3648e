"""A page to teach from: two sheets for any plan, nothing of an answer on the first, every figure of it on the second.

Sources: the questions themselves, read back from the document by a PDF library.
"""

import io
from functools import cache

import pypdf
import pytest
from round_cases import all_cases, asked, demo_cases

from tissue.paper.teach_page import MOST, teach_page
from tissue.report.measures import STANDING_LINE
from tissue.rounds.kinds import MAKERS, round_of

SMALLEST_PT, FOOT_PT = 7.5, (297.0 - 284.0) / 25.4 * 72.0  # the standing line begins under it


def read(data):
    """The two sheets as texts, spaces alone between words."""
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    return [" ".join(page.extract_text().split()) for page in pages]


@cache
def sheets(seed):
    """Questions of a seed about one of the eyes, and the two sheets."""
    case = all_cases()[seed % len(all_cases())]
    questions = tuple({one.kind.id: one for one in round_of([case], seed, 12)}.values())
    return questions, teach_page(questions, case.label, "2026-11-29", str(seed))


def shown(questions, page):
    """The questions that stand on a sheet, by their heads: of each kind there is one."""
    return [one for one in questions if " ".join(f"{one.kind.title}, {one.eye}".split()) in page]


@pytest.mark.parametrize("seed", range(40))
def test_any_eye_becomes_one_sheet_of_questions_and_one_of_solutions(seed):
    questions, data = sheets(seed)
    first, second = read(data)
    mine = shown(questions, first)
    assert min(2, len(questions)) <= len(mine) <= MOST
    for question in mine:
        for row in question.given:
            assert " ".join(row.label.split()) in first or len(row.label) > 40
        assert " ".join(question.answer_words.split()) in second
        for line in question.lines:
            if line.numbers and len(line.numbers) < 60:
                assert " ".join(line.numbers.split()) in second, line.numbers
    assert "Why" not in first and STANDING_LINE[:40] in first and STANDING_LINE[:40] in second


@pytest.mark.parametrize("seed", range(40))
def test_the_first_sheet_gives_nothing_away(seed):
    """No line of the arithmetic stands there; a choice is one of all of them."""
    questions, data = sheets(seed)
    first, _ = read(data)
    for question in shown(questions, first):
        for line in question.lines:
            if line.numbers and len(line.numbers) > 12:
                assert " ".join(line.numbers.split()) not in first
        assert all(" ".join(choice.split()) in first for choice in question.choices)


@pytest.mark.parametrize("kind", MAKERS)
def test_every_kind_has_room_alone_and_nothing_is_small_or_under_the_foot(kind):
    for _, question in asked(kind)[:3]:
        data = teach_page([question], "one")
        reader = pypdf.PdfReader(io.BytesIO(data))
        assert len(reader.pages) == 2
        for page in reader.pages:
            found = []
            page.extract_text(
                visitor_text=lambda text, cm, tm, font, size, found=found: found.append((text, tm[5], size))
            )
            texts = [one for one in found if one[0].strip()]
            assert min(size for _, _, size in texts) >= SMALLEST_PT
            body = [y for text, y, _ in texts if text.strip()[:12] not in STANDING_LINE]
            assert min(body) > FOOT_PT, question.id


def test_the_same_round_makes_the_same_bytes():
    questions = round_of(demo_cases()[:2], 4, 8)
    assert teach_page(questions, "harbour") == teach_page(questions, "harbour")


def test_no_question_is_no_sheet():
    with pytest.raises(ValueError, match="no question"):
        teach_page([], "nothing")


def test_a_source_that_is_not_confirmed_says_so_on_the_sheet():
    """Source: rule of the house: a value from memory says so. The sheet had the bare citation."""
    for kind, words in (("agreement-bias", "from memory, not read in print"), ("thumb", "its citation is not whole")):
        (_, question), *_ = asked(kind)
        assert words in read(teach_page([question], "one"))[1]
