"""From key press to painted picture on Plan: median and 95th percentile, beside the browser's own floor.

Run with `python tests/bench/bench_plan_latency.py [number of presses]`. The press is an arrow key in a field; the
picture counts as painted when the frame after the drawing has been produced. The floor is the same drawing alone:
the browser gets the same figure moved a little, without any server. A page is opened by a browser that nobody drives,
for a driver has it read the chart library a second time; it is asked afterwards when the picture was drawn.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

from acts import go, idle
from measure import ROOT, Row, show
from playwright.sync_api import sync_playwright
from serving import CHROMIUM_ARGS, browser, chromium, free_port, server

PAUSE_MS = 1500  # between presses, so that each one is measured alone, what is worked out afterwards apart
PICTURE = ".tissue-chart .plot"
STRIPS = ".st-key-chart-followup_strips .plot"
FOLLOWED = ROOT / "demo_profiles" / "harbour-21_extraction_followed.toml"
LEFT_ALONE_S = 10.0  # a page is drawn well before
FIELDS = ("zone_mm", "cap_um", "sphere_D", "central_thickness_um")
MOVE_STRIPS = ("zone_mm", "sphere_D", "central_thickness_um")  # a cap does not move what is expected of a reading
WATCH = """
(selector) => {
  const node = document.querySelector(selector);
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


def presses(page, number, fields=FIELDS):
    """Milliseconds of every key press; each makes a plan that was not there before, so that nothing is remembered."""
    took = []
    for i in range(number):
        field = page.locator(f"[name={fields[i % len(fields)]}]")
        field.focus()
        page.wait_for_timeout(PAUSE_MS)
        field.press("ArrowUp")
        page.wait_for_function("window.took !== null", timeout=10000)
        took.append(page.evaluate("window.took"))
    return took


def rows(number=60):
    """Rows of the table."""
    with server() as address, browser() as started:
        page = started.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        page.wait_for_timeout(2000)
        page.evaluate(WATCH, PICTURE)
        presses(page, 12)
        took = sorted(presses(page, number))
        alone = statistics.median(page.evaluate(ALONE, shift) for shift in [0.5, -0.5] * (number // 2))
    floor = "the browser alone, ms"
    yield Row("Plan, key press to painted picture", statistics.median(took), "ms", 100, alone, floor)
    yield Row("the same, 95 of 100", took[round(0.95 * (len(took) - 1))], "ms", None, alone, floor)
    yield Row("Follow-up, key press to painted strips", followed_ms(number), "ms", 100, alone, floor)
    with server() as address:
        first, *ready = [drawn_s(address) for _ in range(4)]
    yield Row("page drawn, the first of a new server", first, "s", 3)
    yield Row("page drawn by another new browser", statistics.median(ready), "s", 3)


def followed_ms(number):
    """Median milliseconds from a key to the redrawn strips of a followed eye."""
    with server() as address, browser() as started:
        page = started.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        page.get_by_role("button", name="open", exact=True).click()
        page.locator("input[type=file]").set_input_files(FOLLOWED)
        page.get_by_text("harbour-21").first.wait_for(timeout=20000)
        idle(page)
        go(page, "Follow-up")
        page.wait_for_selector(f"{STRIPS}[data-drawn]", timeout=60000)
        page.wait_for_timeout(2000)
        page.evaluate(WATCH, STRIPS)
        presses(page, 6, MOVE_STRIPS)
        return statistics.median(presses(page, number, MOVE_STRIPS))


def drawn_s(address):
    """Seconds from the start of the navigation in a new browser to the first picture."""
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        port = free_port()
        flags = [flag for flag in CHROMIUM_ARGS if not flag.startswith("--js-flags")]
        flags += [f"--remote-debugging-port={port}", f"--user-data-dir={folder}", "--window-size=1440,900"]
        command = [chromium(), "--headless=new", *flags, address]
        process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        time.sleep(LEFT_ALONE_S)
        try:
            with sync_playwright() as play:
                page = play.chromium.connect_over_cdp(f"http://127.0.0.1:{port}").contexts[0].pages[0]
                return page.evaluate("performance.getEntriesByName('tissue-drawn')[0].startTime") / 1000.0
        finally:
            process.terminate()
            process.wait(timeout=20)


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
