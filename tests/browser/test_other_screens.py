"""Every other screen in a real browser: it opens from the navigation, is drawn, says the caution, keeps the plan."""

import pytest
from acts import drawn_after, field

SCREENS = {
    "Trade-offs": "What would give",
    "Alignment": "What the offset costs",
    "Suction loss": "Stopping here and planning again another day remains an option.",
    "Enhancement": "Ways to a second correction",
    "Mechanics": "Ratios to the intact eye",
    "Series": "What was understood",
    "Evidence": "what every figure, default and line rests on",
}
FORBIDDEN = ("suitable", "candidate", "unsafe", " is safe", "passes", "fails the")


def go(page, name):
    """Open a screen from the navigation and wait for its words."""
    page.get_by_role("link", name=name, exact=True).click()
    page.get_by_text(SCREENS[name]).first.wait_for(timeout=60000)


@pytest.mark.parametrize("name", SCREENS)
def test_a_screen_opens_with_its_words_and_the_caution(page, name):
    """Source: rules of look and words: the standing line on every screen, no verdict on an eye."""
    go(page, name)
    assert "does not say that an eye is fit for surgery" in page.locator(".st-key-standing").inner_text()
    assert page.locator("[data-testid=stException]").count() == 0
    text = page.locator("[data-testid=stMain]").inner_text().lower()
    assert not [word for word in FORBIDDEN if word in text]


@pytest.mark.parametrize("name", ["Trade-offs", "Alignment", "Suction loss", "Enhancement", "Mechanics"])
def test_what_was_typed_outlives_a_change_of_screen(page, name):
    drawn_after(page, lambda: field(page, "refraction").fill("-4.00 -0.50 x 20"))
    page.wait_for_function("document.querySelector('[name=sphere_D]').value === '−4.00'")
    go(page, name)
    assert "−4.00 −0.50 × 20" in page.locator("[data-testid=stMain]").inner_text()
    assert "harbour-03-copy" in page.locator(".plan-name").inner_text()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", ["Trade-offs", "Suction loss", "Mechanics"])
def test_figures_are_drawn_in_both_themes_at_800_px(open_page, name, scheme):
    page = open_page(800, 900, scheme)
    go(page, name)
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth + 1")


def test_a_wrong_residual_is_told_and_the_figures_say_what_they_are_for(page):
    go(page, "Enhancement")
    text = page.get_by_label("Residual refraction, as people write it")
    text.fill("0.75")
    text.press("Enter")
    strip = page.locator(".stale", has_text="The field holds 0.75")
    strip.wait_for(timeout=20000)
    assert "Shown for -0.75 -0.25 x 90" in strip.inner_text()


def test_a_click_moves_the_plan_and_can_be_taken_back(page):
    go(page, "Trade-offs")
    plot = page.locator(".plot[data-drawn]").first
    plot.wait_for(timeout=60000)
    page.wait_for_timeout(500)
    box = plot.bounding_box()
    page.mouse.click(box["x"] + 160, box["y"] + 200)
    page.get_by_text("The plan was moved").wait_for(timeout=20000)
    page.wait_for_function("document.querySelector('[name=zone_mm]').value !== '6.5'", timeout=20000)
    page.get_by_role("button", name="Take it back").click()
    page.wait_for_function("document.querySelector('[name=zone_mm]').value === '6.5'", timeout=20000)


def test_a_series_runs_from_the_screen(page):
    go(page, "Series")
    page.get_by_role("button", name="Work out the series").click()
    page.get_by_text("2000 rows, 0 refused").wait_for(timeout=60000)
    assert page.get_by_text("Groups, and right less left eye").is_visible()
