"""Rounds in a real browser: a round of three by its seed, the answer out of sight until one is committed, the file."""

import csv
import json

import pypdf
from playwright.sync_api import expect
from serving import server

from tissue.entry.plan_file import read_plan
from tissue.rounds.cases import cases_of
from tissue.rounds.judge import CHOSEN, WITHIN
from tissue.rounds.kinds import round_of
from tissue.screens.desk.state import demo_files

SEED, COUNT = 8, 3
IDLE = "[data-testid=stApp][data-test-script-state=notRunning]"  # nothing is being drawn
KINDS = ["bed", "deepest"]


def questions():
    """The round as it is made without the screen."""
    cases = [case for name, path in demo_files().items() for case in cases_of(read_plan(path), name, "invented")]
    return round_of(cases, SEED, COUNT, KINDS)


def begin(page):
    """Open the screen and begin the round."""
    page.get_by_role("link", name="Rounds", exact=True).click()
    page.get_by_role("button", name="Begin the round").wait_for(timeout=60000)
    for title in ("Residual bed", "Where the ablation is deepest"):
        page.get_by_label("Kinds of question").fill(title)
        page.get_by_role("option", name=f"Depth: {title[0].lower()}{title[1:]}").click()
        page.keyboard.press("Escape")
    for name, text in (("count", str(COUNT)), ("seed", str(SEED))):
        page.locator(f"form.own [name={name}]").fill(text)
        page.locator(f"form.own [name={name}]").press("Enter")
    page.wait_for_timeout(500)
    page.wait_for_selector(IDLE, timeout=20000)
    page.get_by_role("button", name="Begin the round").click()
    page.get_by_text(f"Question 1 of {COUNT}").wait_for(timeout=20000)
    expect(page.locator("h2.asked")).to_be_focused(timeout=5000)


def commit(page, question):
    """Give an answer 1 µm off, or the right choice; returns what was written."""
    main = page.locator("[data-testid=stMain]")
    assert question.prompt in main.inner_text()
    shown = page.locator("table.sum, .round-result, .st-key-chart-rounds_sections .plot[data-drawn]")
    expect(shown).to_have_count(0, timeout=20000)
    if question.form == "one":
        main.locator("label", has_text=question.answer).click()
        written = question.answer
    else:
        assert question.answer_words not in main.inner_text().split("Answers of this session")[0]
        written = f"{question.answer + 1.0:.1f}"
        page.get_by_label("Your answer, µm").fill(written)
    page.get_by_role("button", name="Commit the answer").press("Enter")
    expect(page.locator(".round-result")).to_contain_text(f"The arithmetic: {question.answer_words}", timeout=20000)
    expect(page.locator(".round-result")).to_be_focused(timeout=5000)
    assert page.locator("table.sum .by").count() > 0  # the formula, and the figures in it
    expect(page.locator("table.sum tr.result")).to_contain_text(
        question.lines[0].unit if written != question.answer else ""
    )
    return written


def test_a_page_to_teach_from(page, tmp_path):
    """Two sheets of the plan on the desk, made at a click after another seed was typed, without a wait."""
    page.get_by_role("link", name="Rounds", exact=True).click()
    page.get_by_role("button", name="Begin the round").wait_for(timeout=60000)
    page.locator("form.own [name=seed]").fill("77")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Questions and solutions as PDF").click()
    saving.value.save_as(tmp_path / "teach.pdf")
    pages = pypdf.PdfReader(tmp_path / "teach.pdf").pages
    texts = [one.extract_text() for one in pages]
    assert len(pages) == 2 and "Questions" in texts[0] and "Solutions" in texts[1]
    assert all("seed 77" in " ".join(text.split()) for text in texts)


def unreadable(page):
    """An answer that cannot be read is told, stays in its field and is not committed."""
    page.get_by_label("Your answer, µm").fill("some")
    page.get_by_role("button", name="Commit the answer").click()
    expect(page.locator(".stale")).to_contain_text("Nothing was committed: read some", timeout=20000)
    expect(page.get_by_label("Your answer, µm")).to_have_value("some")


def fits(page, width):
    """Nothing reaches past a narrow window, and the caution stands."""
    page.set_viewport_size({"width": width, "height": 900})
    page.wait_for_timeout(500)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth + 1")
    assert "does not say that an eye is fit for surgery" in page.locator(".st-key-standing").inner_text()
    page.set_viewport_size({"width": 1440, "height": 900})


def test_a_round_of_three_by_its_seed(page, tmp_path):
    """Source: the same questions made without the screen; the file is what was answered."""
    begin(page)
    unreadable(page)
    written = []
    for at, question in enumerate(questions()):
        written.append(commit(page, question))
        page.wait_for_selector(".st-key-chart-rounds_sections .plot[data-drawn]", timeout=20000)
        said = page.locator("table.heads th .full").all_inner_texts()
        assert said == ["Surface ablation", "Flap ablation", "Lenticule extraction"]  # the pictures carry their heads
        assert page.get_by_label("Your answer").count() == 0
        if at == 0:
            fits(page, 800)
        if at == 1:  # the committed answer and the round outlive a change of screen
            page.get_by_role("link", name="Evidence", exact=True).click()
            page.get_by_text("what every figure, default and line rests on").wait_for(timeout=20000)
            page.get_by_role("link", name="Rounds", exact=True).click()
            expect(page.locator(".round-result")).to_contain_text(question.answer_words, timeout=20000)
        page.wait_for_selector(IDLE, timeout=20000)
        page.locator(".st-key-press-rounds_next button").click()
        page.wait_for_selector(".round-result", state="detached", timeout=20000)
        if at + 1 < COUNT:
            expect(page.locator("h2.asked")).to_be_focused(timeout=5000)
    page.get_by_text(f"Right: {COUNT} of {COUNT}.").first.wait_for(timeout=20000)
    with page.expect_download() as saving:
        page.get_by_role("button", name="Results as CSV").click()
    saving.value.save_as(tmp_path / "results.csv")
    with (tmp_path / "results.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["answered"] for row in rows] == written
    assert [row["answer"] for row in rows] == [question.answer_words for question in questions()]
    assert {row["seed"] for row in rows} == {str(SEED)}
    results = [CHOSEN if question.is_choice else WITHIN for question in questions()]
    assert [row["result"] for row in rows] == results


def test_the_record_of_learning_survives_a_new_server(page, chrome, tmp_path):
    """Answered wrongly and saved; another server, which knows nothing of it, says from the file what is due."""
    page.get_by_role("link", name="Rounds", exact=True).click()
    page.get_by_label("Kinds of question").fill("Residual bed")
    page.get_by_role("option", name="Depth: residual bed").click()
    page.keyboard.press("Escape")
    page.get_by_role("button", name="Begin the round").click()
    page.get_by_label("Your answer, µm").fill("3")
    page.keyboard.press("Enter")
    expect(page.locator(".round-result")).to_be_focused(timeout=20000)
    with page.expect_download() as saving:
        page.get_by_role("button", name="Save the record of learning").click()
    saving.value.save_as(tmp_path / "mine.json")
    table = json.loads((tmp_path / "mine.json").read_text("utf-8"))
    assert table["due_now"] == ["bed"] and table["kinds"]["bed"]["asked"] == 1
    with server() as another:
        other = chrome.new_page()
        other.goto(another)
        other.get_by_role("link", name="Rounds", exact=True).click()
        other.get_by_role("button", name="Begin the round").wait_for(timeout=60000)
        other.locator(".st-key-rounds_record input[type=file]").set_input_files(tmp_path / "mine.json")
        other.get_by_text("Due today: Residual bed.").wait_for(timeout=20000)
        other.get_by_role("button", name="Choose the kinds that are due").click()
        other.locator("[data-tag]", has_text="residual bed").or_(
            other.get_by_text("Depth: residual bed")
        ).first.wait_for()
        other.close()
