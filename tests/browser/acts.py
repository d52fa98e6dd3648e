"""What the browser tests do on the page, and what they read from it."""

DRAWN = "() => +document.querySelector('.tissue-chart .plot').dataset.drawn"
AXES = """
() => {
  const { xaxis, yaxis } = document.querySelector('.tissue-chart .plot')._fullLayout;
  return [xaxis, yaxis].map((a) => ({ range: a.range.map(Number), px: a._length }));
}
"""


def field(page, name):
    """The input of that name."""
    return page.locator(f"[name={name}]")


def drawn_after(page, act):
    """Do something that changes the picture, and wait until it is drawn anew."""
    before = page.evaluate(DRAWN)
    act()
    page.wait_for_function(f"({DRAWN})() > {before}", timeout=20000)


def values(page, label):
    """The values of a row of the table, as shown, without marks."""
    row = page.locator("table.figures tr", has=page.locator("summary", has_text=label)).first
    return [text.replace("†", "") for text in row.locator(".value").all_inner_texts()]


def choose(page, word):
    """Choose a word of a row of words."""
    page.get_by_role("radio", name=word, exact=True).click()


def axes(page):
    """Range and length [px] of the two axes of the picture."""
    return page.evaluate(AXES)
