"""Every screen in a real browser: it opens from the navigation, is drawn, fits, says the caution, keeps the plan."""

import pytest
from acts import drawn_after, field, go
from axe import serious
from playwright.sync_api import expect
from screen_names import SCREENS

OF_THE_PLAN = ("Trade-offs", "Alignment", "Suction loss", "Enhancement", "Mechanics")
FORBIDDEN = ("suitable", "candidate", "unsafe", " is safe", "passes", "fails the")
WIDE = 1440
PAGE_COLOUR = {"light": "#FBFAF7", "dark": "#13181B"}
PAPERS = "() => [...document.querySelectorAll('.plot[data-drawn]')].map((node) => node.layout.paper_bgcolor)"


def opened(page, name):
    """Open a screen and wait for its words."""
    go(page, name)
    page.get_by_text(SCREENS[name]).first.wait_for(timeout=60000)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [800, WIDE])
def test_every_screen_opens_fits_its_window_and_says_the_caution(open_page, width, scheme):
    """Source: rules of look and words: the standing line on every screen, no verdict on an eye, the page's colours;
    WCAG 2.1 A and AA by the rules of axe-core at 1440 px."""
    page = open_page(width, 900, scheme)
    found = {"Plan": serious(page, scheme)} if width == WIDE else {}
    for name in SCREENS:
        opened(page, name)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth + 1"), name
        assert "does not say that an eye is fit for surgery" in page.locator(".st-key-standing").inner_text(), name
        assert page.locator("[data-testid=stException]").count() == 0, name
        text = page.locator("[data-testid=stMain]").inner_text().lower()
        assert not [word for word in FORBIDDEN if word in text], name
        assert {colour.upper() for colour in page.evaluate(PAPERS)} <= {PAGE_COLOUR[scheme]}, name
        if width == WIDE:
            found[name] = serious(page, scheme)
    assert not {name: what for name, what in found.items() if what}


def test_what_was_typed_outlives_a_change_of_screen(page):
    drawn_after(page, lambda: field(page, "refraction").fill("-4.00 -0.50 x 20"))
    page.wait_for_function("document.querySelector('[name=sphere_D]').value === '−4.00'")
    for name in OF_THE_PLAN:
        opened(page, name)
        assert "−4.00 −0.50 × 20" in page.locator("[data-testid=stMain]").inner_text(), name
        assert "harbour-03-copy" in page.locator(".plan-name").inner_text(), name
        expect(page.get_by_role("radio", name="OD (right)", exact=True)).to_be_checked()


def test_a_series_runs_from_the_screen(page):
    opened(page, "Series")
    page.get_by_role("button", name="Work out the series").click()
    page.get_by_text("2000 rows, 0 refused").wait_for(timeout=60000)
    page.get_by_text("Groups, and right less left eye").wait_for(timeout=60000)
