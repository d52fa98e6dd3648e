"""The dialogs *read a letter* and *read back* in a real browser, as a hurried person uses them: no wait before a press.

Source: the rules of the dialogs (nothing changes before a press, an undo, the page covered); letters of tests/letters.
"""

import pytest
from acts import choose, field
from hurry import button, settled, slowed
from letter_cases import FOLDER
from playwright.sync_api import expect


def letter(number):
    return (FOLDER / f"{number}.txt").read_text("utf-8")


def read(page, text):
    """Open the dialog, paste, press; nothing is waited for between."""
    page.locator(".st-key-press-read_letter button").first.click()
    page.locator("[role=dialog] textarea").fill(text)
    page.locator(".st-key-letter_go button").click()
    expect(page.locator("pre.letter")).to_be_visible(timeout=20000)


def take(page, key):
    page.locator(f".st-key-{key} button").click()
    expect(page.locator("[role=dialog]")).to_have_count(0, timeout=20000)


def test_a_letter_is_marked_taken_and_undone(page):
    read(page, letter("17"))
    assert page.locator("pre.letter mark.read").all_inner_texts()[0] == "Manifest"
    assert "Present glasses" not in " ".join(page.locator("pre.letter mark").all_inner_texts())
    expect(field(page, "sphere_D")).to_have_value("-6.00")  # nothing before a press
    take(page, "letter_all")
    expect(field(page, "refraction")).to_have_value("−4.25 −0.75 × 15", timeout=20000)
    expect(field(page, "central_thickness_um")).to_have_value("538")
    field(page, "zone_mm").fill("6.1")
    page.locator("[class*=st-key-change-undo_letter-] button").first.click()
    expect(field(page, "sphere_D")).to_have_value("-6.00", timeout=20000)
    expect(field(page, "zone_mm")).to_have_value("6.1")  # what was typed since is no part of the letter
    expect(page.locator("[class*=st-key-change-undo_letter-]")).to_have_count(0, timeout=20000)


def test_a_tick_is_off_where_the_plan_holds_another_value(page):
    read(page, letter("20"))
    expect(page.locator(".st-key-letter_tick_OD_mean_K_D input")).not_to_be_checked()
    expect(page.locator(".st-key-letter_tick_OD_white_to_white_mm input")).to_be_checked()
    take(page, "letter_ticked")
    expect(page.locator(".plan-name")).to_contain_text("harbour-03-copy", timeout=20000)
    expect(field(page, "white_to_white_mm")).to_have_value("11.6")
    expect(field(page, "sphere_D")).to_have_value("-6.00")


def test_leave_the_plan_leaves_it(page):
    read(page, letter("17"))
    take(page, "letter_leave")
    expect(field(page, "central_thickness_um")).to_have_value("548")
    expect(page.locator("[class*=st-key-change-undo_letter-]")).to_have_count(0)


def test_a_question_is_asked_and_an_open_one_changes_nothing(page):
    read(page, letter("13"))
    expect(page.locator("[role=dialog]")).to_contain_text("plus or minus?")
    take(page, "letter_all")
    expect(field(page, "central_thickness_um")).to_have_value("540", timeout=20000)
    expect(field(page, "sphere_D")).to_have_value("-6.00")


def test_what_is_no_letter_is_said_and_the_text_stays(page):
    page.locator(".st-key-press-read_letter button").first.click()
    page.locator("[role=dialog] textarea").fill("OD -4.50 DS\n" * 2000)
    page.locator(".st-key-letter_go button").click()
    expect(page.locator("[role=dialog] .stale")).to_contain_text(
        "accepted UTF-8 text up to 20,000 bytes", timeout=20000
    )
    assert page.locator("[role=dialog] textarea").input_value().startswith("OD -4.50 DS")


@pytest.mark.parametrize(
    ("zone", "words"), [("6.5", "It agrees"), ("5.6", "Two neighbouring digits are exchanged.")], ids=["same", "slip"]
)
def test_read_back_covers_the_page_and_names_what_differs(page, zone, words):
    page.locator(".st-key-press-readback button").first.click()
    expect(page.locator(".st-key-readback_OD_refraction input")).to_be_visible(timeout=20000)
    expect(page.locator("[data-testid=stMainBlockContainer]")).to_be_hidden()
    expect(page.locator("[data-testid=stSidebar]")).to_be_hidden()
    typed = {
        "OD": {"refraction": "-7.25 +1.25 x 80", "central_thickness_um": "0.548", "zone_mm": zone, "cap_um": "120"},
        "OS": {"refraction": "-5.50 -0.75 x 12", "central_thickness_um": "551", "zone_mm": "6.5", "flap_um": "110"},
    }
    for side, texts in typed.items():
        for name, text in texts.items():
            page.locator(f".st-key-readback_{side}_{name} input").fill(text)
    page.locator(".st-key-readback_go button").click()
    expect(page.locator("[role=dialog]")).to_contain_text(words, timeout=20000)
    page.locator(".st-key-press-readback_close button").click()
    expect(page.locator(".readback-state")).to_contain_text("read back", timeout=20000)


def test_a_refraction_of_the_other_eye_is_put_there_and_both_are_read(page):
    """Source: rule of letters: a field refuses the other eye's refraction and offers to put it where it belongs."""
    before = field(page, "refraction").input_value()
    with slowed(page):
        field(page, "refraction").fill("OS -3.00 -0.50 x 10")
        button(page, "put it into OS").click()
        expect(field(page, "refraction")).to_have_value(before, timeout=20000)
        choose(page, "OS (left)")
        expect(field(page, "refraction")).to_have_value("−3.00 −0.50 × 10", timeout=20000)
        field(page, "refraction").fill("OD -4.25 -0.75 x 20, OS -5.00 sph")
        button(page, "read both eyes").click()
        expect(field(page, "sphere_D")).to_have_value("−5.00", timeout=20000)
        choose(page, "OD (right)")
        expect(field(page, "refraction")).to_have_value("−4.25 −0.75 × 20", timeout=20000)
        settled(page)
    assert button(page, "put it into OS").count() == 0


def test_no_value_to_tick_is_cut_off_in_a_narrow_window(open_page):
    """Source: rule of letters: field and value are seen before anything is taken."""
    page = open_page(width=800)
    page.locator("[data-testid=stExpandSidebarButton]").click()
    read(page, letter("07"))
    page.locator("[class*=st-key-letter_tick_]").first.wait_for()
    ticks = "[...document.querySelectorAll('[class*=st-key-letter_tick_] p')]"
    cut = f"{ticks}.filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.innerText)"
    assert page.evaluate(cut) == []
    assert set(page.evaluate(f"{ticks}.map((one) => getComputedStyle(one).whiteSpace)")) == {"normal"}
