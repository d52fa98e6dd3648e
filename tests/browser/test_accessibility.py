"""Every screen by keyboard alone; what axe-core finds is tested where every screen is opened."""

from acts import idle
from screen_names import SCREENS

FOCUSED = """
async () => {
  const wait = () => new Promise((done) => setTimeout(done, 150));
  const node = document.activeElement, box = node.getBoundingClientRect();
  const around = [];
  for (let one = node; one && around.length < 7; one = one.parentElement) around.push(one);
  const look = () => around.map((one) => {
    const { outline, boxShadow, borderColor, backgroundColor, textDecoration } = getComputedStyle(one);
    return [outline, boxShadow, borderColor, backgroundColor, textDecoration].join();
  }).join();
  await wait();
  const there = look();
  node.blur();
  await wait();
  const gone = look();
  node.focus();
  return { name: node.getAttribute('aria-label') || node.innerText || node.name || node.tagName,
    seen: box.width > 0 && box.height > 0, ring: there !== gone };
}
"""


def test_every_screen_is_reached_and_walked_by_keyboard(page):
    """Source: WCAG 2.1.1 and 2.4.7: everything by keyboard, and one sees where one is."""
    for name in SCREENS:
        page.get_by_role("link", name=name, exact=True).focus()
        page.keyboard.press("Enter")
        page.get_by_text(SCREENS[name]).first.wait_for(timeout=60000)
        idle(page)
        main = page.locator("[data-testid=stMain]")
        wanted = main.locator("button:visible:not([disabled]), a[href]:visible, input:visible, summary:visible").count()
        stops = _stops(page, wanted)
        assert stops, name
        assert not [stop for stop in stops if stop["seen"] and not stop["ring"]], name


def _stops(page, wanted):
    """What the Tab key goes through in the main column."""
    page.evaluate("document.querySelector('[data-testid=stMain]').focus()")
    stops = []
    for _ in range(min(wanted, 8)):
        page.keyboard.press("Tab")
        stops.append(page.evaluate(FOCUSED))
    return stops
