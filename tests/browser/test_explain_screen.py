"""Explain in a real browser: steps by keyboard and click, ways and eyes, alternative texts, no sidebar, the handout."""

import pypdf
import pytest
from acts import choose, demo, go
from axe import serious
from playwright.sync_api import expect

from tissue.drawing.patient.language import words
from tissue.drawing.patient.words import STEPS, story

PAGE = words("en")["page"]
WAYS = {way: own["name"] for way, own in words("en")["ways"].items()}

SECTION = ".st-key-chart-explain_section .plot"
BARS = ".st-key-chart-explain_bars .plot"
ALT = f"() => document.querySelector('{SECTION}').getAttribute('aria-label')"

WHOLE = """
() => [...document.querySelectorAll('.st-key-explain_columns [data-tag]')].filter((one) => {
  const { left, right, y, height } = one.getBoundingClientRect();
  return [left + 3, right - 3].every((x) => one.contains(document.elementFromPoint(x, y + height / 2)));
}).length === 3
"""


def opened(page):
    """The screen, drawn."""
    go(page, "Explain")
    page.wait_for_selector(f"{SECTION}[data-drawn]", timeout=60000)
    expect(page.locator(".tissue-steps button")).to_have_count(len(STEPS))
    return page


def told(page, words):
    """Wait until the alternative text of the picture says so."""
    page.wait_for_function(f"([words]) => ({ALT})().includes(words)", arg=[words], timeout=20000)


def current(page):
    """Which step is marked as the one that is looked at."""
    return page.locator(".tissue-steps button").evaluate_all(
        "(all) => all.findIndex((one) => one.getAttribute('aria-current') === 'step')"
    )


def test_a_patient_is_led_through_every_way(page, tmp_path):
    opened(page)
    assert serious(page, "light") == []
    expect(page.locator("[data-testid=stSidebar]")).to_be_hidden()
    assert page.locator(".st-key-standing").inner_text() == PAGE["standing"]
    expect(page.locator("h1")).to_have_text("Your right eye, step by step")
    steps, foot = page.locator(".st-key-explain_row").bounding_box(), page.locator(".st-key-standing").bounding_box()
    assert steps["y"] + steps["height"] < foot["y"]

    buttons = page.locator(".tissue-steps button")
    buttons.first.focus()
    for at, head in enumerate(("The cut", "Taken out", "What stays"), 1):
        page.keyboard.press("ArrowDown")
        told(page, f"Picture {at + 1} of 4: {head}")
        assert current(page) == at
        expect(buttons.nth(at)).to_be_focused()
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Enter")
    told(page, "Picture 3 of 4")

    for way, name in WAYS.items():
        choose(page, name)
        told(page, f"{name}. Picture 3 of 4")
        figures = story(demo(), way, "OD").figures
        stays = f"{figures['bed']} mm stays below"
        expect(page.locator(".tissue-steps")).to_contain_text(stays, timeout=20000)
        assert figures["removed"] in page.locator(SECTION).get_attribute("aria-label")
        page.wait_for_function(f"(bed) => document.querySelector('{BARS}').ariaLabel.includes(bed)", arg=figures["bed"])

    buttons.first.click()
    told(page, "Picture 1 of 4")
    choose(page, "Left eye")
    expect(page.locator("h1")).to_have_text("Your left eye, step by step")
    told(page, f"{story(demo('OS'), 'lenticule', 'OS').figures['today']} mm thick")
    with page.expect_download() as saving:
        page.get_by_role("button", name="Handout for print").click()
    saving.value.save_as(tmp_path / "handout.pdf")
    assert saving.value.suggested_filename == "harbour-03-handout-lenticule.pdf"
    assert (tmp_path / "handout.pdf").read_bytes().startswith(b"%PDF")

    go(page, "Plan")
    expect(page.locator(".eye h1")).to_have_text("OS (left eye)")
    expect(page.locator("[data-testid=stSidebar]")).to_be_visible()
    opened(page)
    told(page, "Through a small opening. Picture 1 of 4")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_it_fits_a_narrow_window(open_page, scheme):
    page = opened(open_page(800, 900, scheme))
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth + 1")
    picture, steps = page.locator(SECTION).bounding_box(), page.locator(".tissue-steps").bounding_box()
    assert picture["x"] + picture["width"] <= 800 and steps["y"] >= picture["y"] + picture["height"]
    paper = page.locator(SECTION).evaluate("(node) => node.layout.paper_bgcolor").upper()
    assert paper == {"light": "#FBFAF7", "dark": "#13181B"}[scheme]


def test_the_steps_move_by_themselves_and_stop(page):
    opened(page)
    play = page.locator(".tissue-play")
    expect(play).to_have_text(PAGE["play"])
    play.click()
    told(page, "Picture 2 of 4")
    expect(play).to_have_text(PAGE["stop"])
    told(page, "Picture 3 of 4")
    play.click()
    expect(play).to_have_text(PAGE["play"])
    page.wait_for_timeout(5000)
    assert current(page) == 2
    page.locator(".tissue-steps button").first.click()
    play.focus()
    page.keyboard.press("Enter")
    told(page, "Picture 4 of 4")  # and the last one ends it
    expect(play).to_have_text(PAGE["play"])


def test_where_motion_is_not_wanted_the_button_moves_one_step(page):
    page.emulate_media(reduced_motion="reduce")
    opened(page)
    play = page.locator(".tissue-play")
    expect(play).to_have_text(PAGE["next"])
    play.click()
    told(page, "Picture 2 of 4")
    expect(play).to_have_text(PAGE["next"])
    page.wait_for_timeout(5000)
    assert current(page) == 1


def test_side_by_side_and_another_order(page, tmp_path):
    opened(page)
    choose(page, words("en")["table"]["name"])
    heads = page.locator(".explain-table thead th")
    names = ["Glasses or lenses, no surgery", "On the surface", "Through a small opening", "With a flap"]
    expect(heads).to_have_text(names)
    look = "(all) => all.map((one) => getComputedStyle(one)).map((one) => one.fontWeight + one.color)"
    weights = heads.evaluate_all(look)
    widths = heads.evaluate_all("(all) => all.map((one) => Math.round(one.getBoundingClientRect().width))")
    assert len(set(weights)) == len(set(widths)) == 1
    assert serious(page, "light") == []
    page.get_by_role("button", name="Remove On the surface").click()
    expect(heads).to_have_text([name for name in names if name != "On the surface"])
    with page.expect_download() as saving:
        page.get_by_role("button", name="Handout for print").click()
    saving.value.save_as(tmp_path / "handout.pdf")
    page.set_viewport_size({"width": 800, "height": 900})
    page.wait_for_function(WHOLE, timeout=5000)  # the last of them lay under the edge of their field
    assert "Sore, wet eyes" not in pypdf.PdfReader(tmp_path / "handout.pdf").pages[0].extract_text()


def test_played_from_the_step_before_the_last_it_ends(page):
    """It went on for ever, beyond the last step, and asked the server for one that is not there."""
    opened(page)
    page.locator(".tissue-steps button").nth(2).click()
    play = page.locator(".tissue-play")
    play.click()
    told(page, "Picture 4 of 4")
    expect(play).to_have_text(PAGE["play"])
    page.wait_for_timeout(5000)
    assert current(page) == 3
