"""What the screens lean on that no library promises, looked for in a real browser: it says what a new version moved."""

import tomllib
from pathlib import Path

import pytest
from acts import drawn_after, field, go
from playwright.sync_api import expect

from tissue.screens import frame

NAMES = tomllib.loads((Path(frame.__file__).parent / "styles" / "streamlit_names.toml").read_text("utf-8"))
SCRIPT_STATE = "() => document.querySelector('.stApp[data-testid=stApp]').dataset.testScriptState"
KEPT = "() => window.Plotly.PlotSchema.findArrayAttributes.kept?.size ?? 0"
SAME_LISTS = """
() => {
  const { findArrayAttributes: found } = window.Plotly.PlotSchema;
  const traces = [...document.querySelectorAll('.plot[data-drawn]')].flatMap((node) => node._fullData);
  return traces.map((trace) => [found(trace).join(), found.search(trace).join()]);
}
"""


def open_it(page, screen):
    """Open a screen; "a plan file" and "a question" are Rounds with that choice, and once it has begun."""
    go(page, "Rounds" if screen.startswith("a ") else screen)
    if screen == "a plan file":
        page.get_by_text("A plan file of your own").click()
    elif screen == "a question":
        page.get_by_role("button", name="Begin the round").click()
        page.get_by_text("Question 1 of").wait_for(timeout=20000)
        typed = page.get_by_label("Your answer", exact=False).and_(page.locator("input[type=text]"))
        for number in range(2, 11):  # until one is answered by typing
            page.get_by_role("button", name="Commit the answer").wait_for(timeout=20000)
            if typed.count():
                return
            page.get_by_role("button", name="No answer: show the arithmetic").click()
            page.get_by_role("button", name="Next question").click(timeout=20000)
            page.get_by_text(f"Question {number} of").wait_for(timeout=20000)


@pytest.mark.parametrize("width", [1440, 800])
def test_every_name_is_where_the_list_says(open_page, width):
    """Source: tissue/screens/styles/streamlit_names.toml, which test_leaning.py holds to the styles and scripts."""
    page = open_page(width, 900)
    wanted = {name: one["screen"] for name, one in NAMES.items() if one.get("narrow", False) == (width == 800)}
    for screen in sorted(set(wanted.values())):
        open_it(page, screen)
        for name in (name for name, where in wanted.items() if where == screen):
            page.wait_for_selector(f"[data-testid={name}]", state="attached", timeout=20000)
    assert page.evaluate(SCRIPT_STATE) in ("running", "notRunning")


def test_the_chart_library_still_asks_where_its_answer_is_kept(page):
    """Source: the library's own search, which is kept beside the changed one: both give the same lists of a trace."""
    first = page.evaluate(KEPT)
    assert first > 0
    pairs = page.evaluate(SAME_LISTS)
    assert pairs and all(kept == own for kept, own in pairs) and any(own for _, own in pairs)
    drawn_after(page, lambda: (field(page, "cap_um").fill("140"), field(page, "cap_um").press("Enter")))
    assert page.evaluate(KEPT) >= first


def test_plan_is_found_under_its_own_address_too_and_an_unknown_one_says_so(tabs, address):
    """Who types the name of the first screen comes to it, as to every other; the library's own words are not shown."""
    page = tabs.new_page()
    for typed, words in (("plan", 0), ("eye", 1)):  # the second was the library's own for Plan: it ended in an error
        page.goto(f"{address}/{typed}")
        field(page, "sphere_D").wait_for(timeout=60000)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        expect(page.get_by_text("There is no screen at the address /eye: this is Plan.")).to_have_count(words)
        assert page.get_by_text("Page not found").count() == 0
    page.close()
