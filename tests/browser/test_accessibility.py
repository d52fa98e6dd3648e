"""Every screen before axe-core, in both themes; and every screen by keyboard alone."""

import pytest
from acts import idle
from test_other_screens import SCREENS, opened

SERIOUS = ("serious", "critical")
WHERE = {"exclude": [[".plot svg"]]}  # one picture, whose words stand in its label: tested with the screens
WHAT = {
    "light": {"resultTypes": ["violations"]},
    "dark": {"resultTypes": ["violations"], "runOnly": {"type": "rule", "values": ["color-contrast"]}},
}
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


@pytest.mark.parametrize("scheme", WHAT)
def test_axe_finds_nothing_serious(open_page, scheme):
    """Source: WCAG 2.1 A and AA by the rules of axe-core, Streamlit's own shell included; in the dark the contrast."""
    from axe_playwright_python.sync_playwright import Axe

    page, found = open_page(scheme=scheme), []
    for name in ("Plan", *SCREENS):
        if name != "Plan":
            opened(page, name)
        for violation in Axe().run(page, WHERE, WHAT[scheme]).response["violations"]:
            nodes = [node["html"][:160] for node in violation["nodes"]]
            if violation["impact"] in SERIOUS:
                found.append((name, violation["id"], nodes[:3], len(nodes)))
    assert found == []


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
