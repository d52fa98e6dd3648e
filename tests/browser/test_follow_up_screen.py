"""Follow-up in a real browser: what was done, a reading typed and put in at once, its strip, the saved plan."""

import pytest
from acts import choose, go
from hurry import settled
from playwright.sync_api import expect

from tissue.entry.plan_file import read_plan

STRIPS = ".st-key-chart-followup_strips .plot"


@pytest.fixture
def seen(page):
    """The screen, drawn for the demo eye of the start, which was never read again."""
    go(page, "Follow-up")
    page.get_by_text("Say what was done").wait_for(timeout=60000)
    return page


def done(page, words):
    page.get_by_label("Procedure done").click()
    page.get_by_role("option", name=words).click()


def box(page, name):
    return page.get_by_role("textbox", name=name, exact=True)


def typed(page, **values):
    """Type a reading without a pause and put it in."""
    names = {"since": "Since surgery, days", "thickness": "Thickness at centre, µm"}
    for label, text in values.items():
        box(page, names[label]).fill(text)
    page.get_by_role("button", name="Put it in").click()


OPEN = """() => [...document.querySelectorAll("form.own input")].filter((one) => one.value && !one.readOnly)
  .map((one) => one.name)"""


def test_a_reading_that_was_begun_is_there_when_one_comes_back(seen):
    """In a hurry: typed, and at once another screen, the other eye, the next patient; each keeps its own."""
    since, thickness = box(seen, "Since surgery, days"), box(seen, "Thickness at centre, µm")
    since.fill("9")
    since.press("0")
    thickness.press_sequentially("44")  # half a number: it is sent when the screen is left
    go(seen, "Alignment")
    go(seen, "Follow-up")
    expect(since).to_have_value("90")
    expect(thickness).to_have_value("44")
    thickness.press("End")
    thickness.press_sequentially("5.")
    choose(seen, "OS (left)")
    seen.wait_for_selector("form[data-form=reading_OS]")
    expect(since).to_have_value("")
    thickness.fill("451")
    choose(seen, "OD (right)")
    seen.wait_for_selector("form[data-form=reading_OD]")
    expect(thickness).to_have_value("445.")
    thickness.fill("4")
    seen.get_by_role("button", name="new patient").click()
    expect(seen.get_by_role("dialog")).to_contain_text("a reading of OD and OS that was begun and not put in")
    seen.get_by_role("button", name="drop the changes, then a new patient").click()  # and types on at once
    for name, text in (("sphere_D", "-3.00"), ("central_thickness_um", "555")):
        seen.locator(f"form:not(.own) [name={name}]").click()  # a field under an open dialog takes no focus
        seen.keyboard.type(text)
    seen.wait_for_selector("form[data-form=reading_OD]")
    assert seen.evaluate(OPEN) == []
    expect(since).to_have_value("")  # until the answer these fields are the last patient's, and locked
    expect(thickness).to_have_value("")
    thickness.fill("95")
    thickness.press("Enter")
    expect(seen.get_by_text("read 95, accepted 200 to 900 µm")).to_be_visible(timeout=20000)
    thickness.fill("451")
    thickness.press("Enter")
    expect(seen.locator("#reading_OD-fault-reading_days")).to_contain_text("read nothing", timeout=20000)


def test_a_reading_is_laid_beside_published_ones_and_saved_with_the_plan(seen):
    """What was typed stands in the table, on its strip and in the file; a slip is told and nothing is lost by it."""
    done(seen, "lenticule extraction")
    seen.get_by_text("Put in a reading: it is then").wait_for(timeout=20000)
    typed(seen, since="90", thickness="95")
    told = seen.get_by_text("read 95, accepted 200 to 900 µm")
    told.wait_for(timeout=20000)
    assert box(seen, "Since surgery, days").input_value() == "90"
    typed(seen, thickness="445")
    seen.wait_for_selector(f"{STRIPS}[data-drawn]", timeout=30000)
    alt = seen.locator(f"{STRIPS} [aria-label], {STRIPS}[aria-label]").first.get_attribute("aria-label")
    assert "Day 90, thickness 445 µm: expected" in alt
    assert "day 90" in seen.locator("table.plain", has_text="What was measured").inner_text()
    box(seen, "Since surgery, days").click()
    for key in ("9", "Backspace"):
        seen.keyboard.press(key)
        settled(seen)
    seen.keyboard.type("182")  # with nothing in it the form folded, and keys went nowhere
    assert box(seen, "Since surgery, days").input_value() == "182"
    with seen.expect_download() as saving:
        seen.get_by_role("button", name="save", exact=True).click()
    plan = read_plan(open(saving.value.path(), "rb").read())
    assert plan.eyes["OD"]["done"] == "lenticule" and plan.readings["OD"][0].reading.thickness_um == 445
