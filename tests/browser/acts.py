"""What the browser tests do on the page, and what they read from it."""

import time
from urllib.parse import urlparse

from stale_cases import first_texts

from tissue.report.measures import rounded
from tissue.screens.desk.reading import shown_eye

A_GLANCE_S = 0.3
DRAWN = "() => +document.querySelector('.tissue-chart .plot').dataset.drawn"
SHARE_ROW = (
    "() => [...document.querySelectorAll('table.figures tr')].find((r) => r.innerText.startsWith('Stromal share'))"
)
AXES = """
() => {
  const { xaxis, yaxis } = document.querySelector('.tissue-chart .plot')._fullLayout;
  return [xaxis, yaxis].map((a) => ({ range: a.range.map(Number), px: a._length }));
}
"""


def leave(dialog):
    """Leave a page that asks first; no one answers a question before having seen it."""
    time.sleep(A_GLANCE_S)
    dialog.accept()


def field(page, name):
    """The input of that name."""
    return page.locator(f"[name={name}]")


def drawn_after(page, act):
    """Do something that changes the picture, and wait until it is drawn anew and what follows it is there."""
    before = page.evaluate(DRAWN)
    act()
    page.wait_for_function(f"({DRAWN})() > {before}", timeout=20000)
    idle(page)


def figures_row(page, label):
    """A row of the table of figures."""
    return page.locator("table.figures tr", has=page.locator("summary", has_text=label)).first


def values(page, label):
    """The values of a row of the table, as shown, without marks."""
    return [text.replace("†", "") for text in figures_row(page, label).locator(".value").all_inner_texts()]


def idle(page):
    """Wait until the server has nothing left to work out for this page."""
    page.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]", timeout=60000)


def go(page, name):
    """Open a screen from the navigation."""
    paths = ("", "plan") if name == "Plan" else (name.lower().replace(" ", "-"),)
    link = page.get_by_role("link", name=name, exact=True)
    if not link.count():  # a narrow window keeps what does not fit in a menu at the end
        page.locator("[data-testid=stTopNavSection]").last.click()
        link = page.locator("[data-testid=stTopNavDropdownLink]", has_text=name)
    link.click()
    page.wait_for_url(lambda url: urlparse(url).path.strip("/") in paths, timeout=20000)
    idle(page)


def choose(page, word):
    """Choose a word of a row of words."""
    page.get_by_role("radio", name=word, exact=True).click()


def axes(page):
    """Range and length [px] of the two axes of the picture."""
    return page.evaluate(AXES)


def row(page, name):
    """Values of a row of the table of ways."""
    found = page.locator("table.ways tr", has=page.locator("th", has_text=name)).first
    return [text.replace("†", "").strip() for text in found.locator(".value").all_inner_texts()]


def heads(page):
    """The heads of the table of ways."""
    return page.locator("table.heads.ways th").all_inner_texts()


def demo(side="OD"):
    """The Comparison of the first demo eye, from the arithmetic."""
    return shown_eye(first_texts(side), side)[0].comparison


def beds(texts, side="OD"):
    """Central beds of an eye as the table shows them, from the arithmetic itself."""
    return [rounded(r.budget.bed_central_um) for r in shown_eye(texts, side)[0].comparison.results.values()]
