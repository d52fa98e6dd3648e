"""From key press to painted picture on Plan: median and 95th percentile, beside the browser's own floor.

Run with `python tests/bench/bench_plan_latency.py [number of presses]`. The press is an arrow key in a field; the
picture counts as painted when the frame after the drawing has been produced. The floor is the same drawing alone:
the browser gets the same figure moved a little, without any server.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

from serving import browser, server

PAUSE_MS = 1500  # between presses, so that each one is measured alone, what is worked out afterwards apart
FIELDS = ("zone_mm", "cap_um", "sphere_D", "central_thickness_um")
WATCH = """
() => {
  const node = document.querySelector('.tissue-chart .plot');
  const painted = () => { window.took = performance.now() - window.pressed; };
  const channel = new MessageChannel();
  channel.port1.onmessage = painted;
  const drawn = () => requestAnimationFrame(() => channel.port2.postMessage(0));
  new MutationObserver(drawn).observe(node, { attributes: true, attributeFilter: ['data-drawn'] });
  document.addEventListener('keydown', () => { window.took = null; window.pressed = performance.now(); }, true);
}
"""
ALONE = """
(shift) => new Promise((done) => {
  const node = document.querySelector('.tissue-chart .plot');
  const start = performance.now();
  const data = node.data.map((trace) => ({ ...trace, y: Array.from(trace.y, (v) => (v === null ? v : v + shift)) }));
  const channel = new MessageChannel();
  channel.port1.onmessage = () => done(performance.now() - start);
  window.Plotly.react(node, data, { ...node.layout }, { displayModeBar: false }).then(() =>
    requestAnimationFrame(() => channel.port2.postMessage(0)));
})
"""


def presses(page, number):
    """Milliseconds of every key press; each makes a plan that was not there before, so that nothing is remembered."""
    took = []
    for i in range(number):
        field = page.locator(f"[name={FIELDS[i % len(FIELDS)]}]")
        field.focus()
        page.wait_for_timeout(PAUSE_MS)
        field.press("ArrowUp")
        page.wait_for_function("window.took !== null", timeout=10000)
        took.append(page.evaluate("window.took"))
    return took


def line(name, took):
    """Median and 95th percentile in one line."""
    ordered = sorted(took)
    p95 = ordered[min(len(ordered) - 1, round(0.95 * (len(ordered) - 1)))]
    return f"{name:<32} median {statistics.median(took):6.1f} ms   95 % {p95:6.1f} ms   of {len(took)}"


def main(number=60):
    """Measure and print."""
    with server() as address, browser() as started:
        page = started.new_page(viewport={"width": 1440, "height": 900})
        start = time.perf_counter()
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        ready = time.perf_counter() - start
        page.wait_for_timeout(2000)
        page.evaluate(WATCH)
        presses(page, 12)
        took = presses(page, number)
        alone = [page.evaluate(ALONE, shift) for shift in [0.5, -0.5] * (number // 2)]
    print(f"first page drawn {ready:.2f} s after the server answered")
    print(line("key press to painted picture", took))
    print(line("the browser alone (floor)", alone))
    print(f"ratio of the medians {statistics.median(took) / statistics.median(alone):.2f}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
