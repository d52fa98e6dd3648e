"""The list of a day with 200 eyes: from the click to its first rows, and from the key to the next patient's picture.

Run with `python tests/bench/bench_list.py`. The floor of the first is the same click on an empty list; that of the
second the drawing alone, see `bench_plan_latency`.
"""

import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from acts import go, idle
from bench_plan_latency import ALONE, PAUSE_MS, PICTURE, WATCH
from measure import Row, show
from serving import browser, server

PLANS, TIMES = 100, 12  # two eyes each
EYE = 'refraction = "{:+.2f} -0.75 x {}"\ncentral_thickness_um = {}\n'
ROWS = "(number) => document.querySelectorAll('.tissue-day tbody tr').length >= number"
CLICK = """
(number) => new Promise((done) => {
  const start = performance.now();
  [...document.querySelectorAll('a')].find((one) => one.innerText.trim() === 'List').click();
  const there = () => document.querySelectorAll('.tissue-day tbody tr').length >= number;
  const painted = () => done(performance.now() - start);
  const look = () => requestAnimationFrame(there() ? painted : look);
  look();
})
"""


def plans(folder):
    """The plan files of a day."""
    for number in range(PLANS):
        eyes = (EYE.format(-1.0 - 0.05 * number - side, 10 + number, 520 + number) for side in (0, 1))
        right, left = eyes
        text = f'schema = 1\ncode = "bench-{number:03d}"\n[OD]\n{right}[OS]\n{left}'
        Path(folder, f"bench-{number:03d}.toml").write_text(text, "utf-8")
    return sorted(Path(folder).glob("*.toml"))


def opened(page, number):
    """Milliseconds from the click on List to its rows, from Plan."""
    took = []
    for _ in range(5):
        go(page, "Plan")
        page.wait_for_timeout(PAUSE_MS)
        took.append(page.evaluate(CLICK, number))
        idle(page)
    return statistics.median(took)


def stepped(page):
    """Milliseconds from the key to the picture of the next patient."""
    took = []
    page.locator(".eye h1").first.click()
    for _ in range(TIMES):
        page.wait_for_timeout(PAUSE_MS)
        page.keyboard.press("]")
        page.wait_for_function("window.took !== null", timeout=20000)
        took.append(page.evaluate("window.took"))
    return statistics.median(took)


def rows():
    """Rows of the table."""
    with server() as address, browser() as started, tempfile.TemporaryDirectory() as folder:
        page = started.new_page(viewport={"width": 1440, "height": 900})
        page.on("dialog", lambda dialog: dialog.accept())
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        few = opened(page, 1)
        page.locator("input[type=file]").first.set_input_files(plans(folder))
        page.wait_for_function(ROWS, arg=2 * PLANS, timeout=120000)
        page.wait_for_function("!document.querySelector('.tissue-day').innerText.includes('…\\t')", timeout=120000)
        many = opened(page, 2 * PLANS)
        go(page, "Plan")
        page.wait_for_timeout(PAUSE_MS)
        page.wait_for_selector(".tissue-chart .plot[data-drawn]", timeout=60000)
        page.evaluate(WATCH, PICTURE)
        alone = statistics.median(page.evaluate(ALONE, shift) for shift in [0.5, -0.5] * TIMES)
        following = stepped(page)
    yield Row("List of 200 eyes, click to its rows", many / 1000.0, "s", 1, few / 1000.0, "a list of two eyes, s")
    yield Row("next patient of 100, key to its picture", following, "ms", 150, alone, "the browser alone, ms")


if __name__ == "__main__":
    show(rows())
