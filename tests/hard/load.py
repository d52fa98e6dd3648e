"""Many browsers at one server on this machine: key to picture, faults, and the memory of the server over time.

Run with `python tests/hard/load.py [browsers] [seconds]`, 20 and 120 where not given. Each page changes one input every
two seconds by an arrow key. Printed: edits, edits without a new picture, faults, median and 95 of 100 from key to
picture, memory of the server when all pages stand, half way and at the end.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))

from measure import tree_mb
from serving import browser, server

EVERY_MS = 2000
EDIT = """
([every, offset]) => {
  const names = ['zone_mm', 'cap_um', 'sphere_D', 'central_thickness_um'];
  const node = document.querySelector('.tissue-chart .plot');
  window.took = []; window.edits = 0;
  let pressed = 0;
  new MutationObserver(() => requestAnimationFrame(() => {
    if (pressed) window.took.push(performance.now() - pressed);
    pressed = 0;
  })).observe(node, { attributes: true, attributeFilter: ['data-drawn'] });
  setTimeout(() => setInterval(() => {
    const field = document.querySelector(`[name=${names[window.edits % 4]}]`);
    const key = (window.edits / 4 | 0) % 6 < 3 ? 'ArrowUp' : 'ArrowDown';
    window.edits += 1;
    pressed = performance.now();
    field.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
  }, every), offset);
}
"""


def main(browsers=20, seconds=120):
    """Measure and print; returns 1 where a page had a fault."""
    faults, memory = [], []
    with server() as address, browser() as started:
        pid = server_pid(address)
        pages = [opened(started, address, faults) for _ in range(browsers)]
        memory.append(tree_mb(pid))
        for number, page in enumerate(pages):
            page.evaluate(EDIT, [EVERY_MS, number * EVERY_MS // browsers])
        for _ in range(2):
            end = time.monotonic() + seconds / 2
            while time.monotonic() < end:
                pages[0].wait_for_timeout(500)
            memory.append(tree_mb(pid))
        took = sorted(one for page in pages for one in page.evaluate("window.took"))
        edits = sum(page.evaluate("window.edits") for page in pages)
        faults += [text for page in pages for text in page.locator("[data-testid=stException]").all_inner_texts()]
    p95 = took[round(0.95 * (len(took) - 1))]
    print(f"{browsers} browsers, {seconds} s: {edits} edits, {edits - len(took)} without a new picture of their own")
    print(f"key to picture: median {statistics.median(took):.0f} ms, 95 of 100 {p95:.0f} ms, {len(faults)} faults")
    print("memory of the server: " + ", ".join(f"{one:.0f} MB" for one in memory))
    print("\n".join(faults[:10]))
    return int(bool(faults))


def opened(started, address, faults):
    """A page in a browser session of its own, drawn."""
    page = started.new_context(viewport={"width": 1440, "height": 900}).new_page()
    page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.goto(address)
    page.wait_for_selector(".plot[data-drawn]", timeout=120000)
    return page


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
