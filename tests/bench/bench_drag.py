"""How far pictures and figures stand behind the hand while a handle is dragged: median and 95th percentile.

Run with `python tests/bench/bench_drag.py [number of pictures]`. A hand moves without a stop. What is seen is so old as
the time from when the hand had the value that it is drawn for until the frame after it has been produced. The figures
are those of the strip under the picture. The floor is the drawing alone, see `bench_plan_latency`.
"""

import statistics
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

from acts import idle
from bench_plan_latency import ALONE
from measure import Row, show
from serving import browser, server

HAND_MS = 16  # the hand is seen so often
HANDLE = "Plane of the cap"
TURN = 40  # places [px] from one end of the way to the other
LEFT_ALONE_MS = 4000  # what is worked out after the first screen is done by then
LOOK_EVERY = 100  # moves from one count of the pictures to the next
WATCH = """
(label) => {
  const slider = document.querySelector(`[role=slider][aria-label='${label}']`);
  const node = slider.closest('.tissue-chart').querySelector('.plot');
  const item = [...node.tissue.items.values()].find((one) => one.grips[0] === slider);
  const had = new Map(), seen = (window.seen = { pictures: [], figures: [] });
  let at = '', said = '';
  window.addEventListener('pointermove', () => {
    if (item.at.join() === at) return;
    at = item.at.join();
    had.set(at, performance.now());
  });
  const painted = (list, value) => {
    const channel = new MessageChannel();
    channel.port1.onmessage = () => had.has(value) && list.push(performance.now() - had.get(value));
    requestAnimationFrame(() => channel.port2.postMessage(0));
  };
  const drawn = () => painted(seen.pictures, item.spec.values.join());
  new MutationObserver(drawn).observe(node, { attributes: true, attributeFilter: ['data-drawn'] });
  const strip = () => {
    const now = document.querySelector('.moved')?.textContent.match(/→ ([\\d.]+)/)?.[1];
    if (!now || now === said) return;
    said = now;
    painted(seen.figures, said);
  };
  new MutationObserver(strip).observe(document.body, { childList: true, subtree: true, characterData: true });
}
"""


def dragged(page, number):
    """Ages [ms] of so many pictures and of the figures, sorted, of a hand that moves up and down without a stop."""
    page.evaluate(WATCH, HANDLE)
    box = page.get_by_role("slider", name=HANDLE, exact=True).bounding_box()
    x, y = box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0
    page.mouse.move(x, y)
    page.mouse.down()
    moved = 0
    while moved % LOOK_EVERY or page.evaluate("window.seen.pictures.length") < number:
        moved += 1
        page.mouse.move(x, y + abs((moved + TURN) % (2 * TURN) - TURN))
        page.wait_for_timeout(HAND_MS)
    page.mouse.up()
    seen = page.evaluate("window.seen")
    return sorted(seen["pictures"]), sorted(seen["figures"])


def at_95(took):
    """The 95th of a hundred."""
    return took[round(0.95 * (len(took) - 1))]


def rows(number=100):
    """Rows of the table."""
    with server() as address, browser() as started:
        page = started.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        idle(page)
        page.wait_for_timeout(LEFT_ALONE_MS)
        pictures, figures = dragged(page, number)
        alone = statistics.median(page.evaluate(ALONE, shift) for shift in [0.5, -0.5] * 15)
    for what, took in (("picture", pictures), ("figures", figures)):
        floor = alone, "the browser alone, ms"
        yield Row(f"drag, {what} behind the hand", statistics.median(took), "ms", 100, *floor)
        yield Row("the same, 95 of 100", at_95(took), "ms", 100, *floor)


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
