"""A page enlarged four times, and the browser's own print: nothing that is read is cut off."""

from acts import go, idle

ACROSS = """
() => {
  const main = document.querySelector('[data-testid=stMain]');
  const cut = [...main.querySelectorAll('h1, h2, h3, p, li, td, th, button')].filter((one) => {
    const box = one.getBoundingClientRect();
    if (!box.width || box.right <= innerWidth + 1) return false;
    let above = one;
    while (above !== main && getComputedStyle(above).overflowX === 'visible') above = above.parentElement;
    return above === main || above.getBoundingClientRect().right > innerWidth + 1;
  });
  const below = document.querySelector('.st-key-standing').getBoundingClientRect().top - innerHeight;
  return { over: main.scrollWidth - main.clientWidth, cut: cut.map((one) => one.innerText), standing: below };
}
"""
PRINTED = """
() => {
  const seen = (name) => document.querySelector(`[data-testid=${name}]`)?.checkVisibility() ?? false;
  const tables = [...document.querySelectorAll('.scroll')];
  const cut = tables.filter((one) => one.scrollWidth > one.clientWidth + 1);
  return { fields: seen('stSidebar'), navigation: seen('stHeader'), cut: cut.length, tables: tables.length };
}
"""


def test_a_page_enlarged_four_times_is_read_without_scrolling_to_the_side(open_page, address):
    """Source: WCAG 2.1, 1.4.10: 320 CSS pixels across (1280 at 400 %). Before: the line at the foot took 81 of 225."""
    page = open_page(320, 225)
    for screen in ("", "explain", "suction-loss", "list"):
        if screen:
            page.goto(f"{address}/{screen}")
            page.locator(".st-key-standing").wait_for(timeout=60000)
            idle(page)
        found = page.evaluate(ACROSS)
        assert found["over"] <= 1 and found["cut"] == [] and found["standing"] > 0, (screen, found)


def test_the_browsers_own_print_has_every_column_and_no_fields(page):
    """Paper of 794 px (A4). Before: the third way was cut off in the print of Suction loss, without a word."""
    go(page, "Suction loss")
    page.set_viewport_size({"width": 794, "height": 1123})
    page.emulate_media(media="print")
    found = page.evaluate(PRINTED)
    page.emulate_media(media="screen")
    assert found == {"fields": False, "navigation": False, "cut": 0, "tables": found["tables"]}
    assert found["tables"]
