"""Many pages at one server on this machine: key to picture, faults, and the memory of the server over time.

Run with `python tests/hard/load.py [pages] [seconds] [drawn]`, 20, 120 and as many as pages where not given. Each page
changes one input every two seconds by an arrow key. `drawn` pages stand in a browser; the others are sessions without
one, for two cores cannot draw twenty pages beside the server. Printed: edits, those overtaken by the next one, median
and 95 of 100 from key to picture, of the others to the arrival of the sections, faults, and the memory of the server
after a quarter of the time, half of it, and at the end.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))

from light import FOUR, Light, Said
from measure import tree_mb
from serving import browser, server

EVERY_MS = 2000
EDIT = """
([every, offset, names]) => {
  const node = document.querySelector('.tissue-chart .plot');
  window.took = []; window.edits = 0;
  let pressed = 0;
  new MutationObserver(() => requestAnimationFrame(() => {
    if (pressed) window.took.push(performance.now() - pressed);
    pressed = 0;
  })).observe(node, { attributes: true, attributeFilter: ['data-drawn'] });
  setTimeout(() => setInterval(() => {
    const field = document.querySelector(`[name=${names[window.edits % names.length]}]`);
    const key = (window.edits / 4 | 0) % 6 < 3 ? 'ArrowUp' : 'ArrowDown';
    window.edits += 1;
    pressed = performance.now();
    field.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
  }, every), offset);
}
"""


def main(pages=20, seconds=120, drawn=None):
    """Measure and print; returns 1 where a page had a fault."""
    faults, memory, number = [], [], pages if drawn is None else drawn
    with server() as address, browser() as started:
        pid = server_pid(address)
        said = example(started, address, faults)
        open_pages = [opened(started, address, faults) for _ in range(number)]
        for i, page in enumerate(open_pages):
            page.evaluate(EDIT, [EVERY_MS, i * EVERY_MS // pages, FOUR])
        light = Light(address, said, pages - number, EVERY_MS / 1000, seconds)
        for part in (0.25, 0.25, 0.5):
            end = time.monotonic() + part * seconds
            while time.monotonic() < end:
                open_pages[0].wait_for_timeout(500)
            memory.append(tree_mb(pid))
        light.thread.join()
        took = [one for page in open_pages for one in page.evaluate("window.took")]
        edits = sum(page.evaluate("window.edits") for page in open_pages)
        faults += [text for page in open_pages for text in page.locator("[data-testid=stException]").all_inner_texts()]
    print(f"{number} pages, {seconds} s: {said_of(took, edits)} from key to picture")
    if light.edits:
        print(f"{pages - number} sessions: {said_of([1000 * one for one in light.took], light.edits)} to the sections")
    print(f"{len(faults + light.faults)} faults; server: " + ", ".join(f"{one:.0f} MB" for one in memory))
    print("\n".join((faults + light.faults)[:10]))
    return int(bool(faults + light.faults))


def said_of(took, edits):
    """Edits, those without an answer of their own, and the time they took [ms], in words."""
    p95 = sorted(took)[round(0.95 * (len(took) - 1))]
    alone = f"{edits} edits, {edits - len(took)} overtaken"
    return f"{alone}, median {statistics.median(took):.0f} ms, 95 of 100 {p95:.0f} ms"


def example(started, address, faults):
    """What a page says at an edit and when it is quiet; the page is closed again."""
    page = started.new_context(viewport={"width": 1440, "height": 900}).new_page()
    said = Said(page)
    shown(page, address, faults)
    for _ in range(2):
        page.locator("[name=zone_mm]").press("ArrowUp")
        page.wait_for_timeout(3000)
    page.context.close()
    return said


def opened(started, address, faults):
    """A page in a browser session of its own, drawn."""
    page = started.new_context(viewport={"width": 1440, "height": 900}).new_page()
    shown(page, address, faults)
    return page


def shown(page, address, faults):
    """Open the address in a page and wait for its picture; what it complains of is a fault."""
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(address)
    page.wait_for_selector(".plot[data-drawn]", timeout=120000)


def server_pid(address):
    """Process that listens at an address; the one server among our children."""
    port = address.rpartition(":")[2]
    for folder in Path("/proc").glob("[0-9]*"):
        words = (folder / "cmdline").read_bytes().split(b"\0") if (folder / "cmdline").exists() else []
        if port.encode() in words and b"streamlit" in words:
            return int(folder.name)
    raise RuntimeError(f"no server at {address}")


if __name__ == "__main__":
    sys.exit(main(*map(int, sys.argv[1:])))
