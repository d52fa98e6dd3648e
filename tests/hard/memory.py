"""Memory of the server after pages with many edits and large tables, all of them closed.

Run with `python tests/hard/memory.py [pages] [edits] [MB]`, 3, 300 and 48 where not given. Each page makes so many
edits on Plan and works out a table of its own of so many MB on Series. Printed: the memory of the server [MB] at the
start, after a small table (what is loaded once and stays), with all pages at work, and with the next visitor three
minutes after they were closed.
"""

import sys
import tempfile
import time
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "bench"))

from acts import choose, go
from hurry import settled
from load import opened, server_pid
from measure import tree_mb
from serving import browser, server

from tissue.series.demo import demo_rows

ROWS, EDIT_EVERY_MS = 90_000, 200
FORGOTTEN_S = 170  # Streamlit keeps a page whose line was lost for two minutes; two looks at what is gone, 20 s apart
EDITS = """
([edits, every, names]) => { window.editing = (async () => {
  for (let i = 0; i < edits; i += 1) {
    const field = document.querySelector(`[name=${names[i % names.length]}]`);
    const key = (i / 4 | 0) % 6 < 3 ? 'ArrowUp' : 'ArrowDown';
    field.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
    await new Promise((go) => setTimeout(go, every));
  }
})(); }
"""
NAMES = ("zone_mm", "cap_um", "flap_um", "central_thickness_um")


def write_table(path, size_mb):
    """An invented series of 90,000 eyes with a column of words that makes it so large."""
    rows = demo_rows(ROWS)
    head, *some = islice(rows, 1001)
    per_row = max(0, size_mb * 10**6 // ROWS - sum(map(len, some)) // len(some) - 2)
    with path.open("w", encoding="utf-8") as file:
        file.write(f"{head},note\n")
        for number, row in enumerate([*some, *rows]):
            file.write(f"{row},{f'{number:06d} '.ljust(per_row, 'w')}\n")


def edit(pages, edits):
    """So many edits by arrow keys on Plan, on all pages at the same time."""
    for page in pages:
        page.evaluate(EDITS, [edits, EDIT_EVERY_MS, NAMES])
    for page in pages:
        page.evaluate("window.editing")
        settled(page)


def work_out(page, path=None):
    """Work out a series, of a table or the invented one."""
    go(page, "Series")
    if path:
        choose(page, "A table of your own")
        page.locator(".st-key-series_file input[type=file]").set_input_files(path)
    page.get_by_role("button", name="Work out the series").click(timeout=120_000)
    page.get_by_text("What came out").wait_for(timeout=300_000)
    page.get_by_text("Groups, and right less left eye").wait_for(timeout=300_000)
    page.wait_for_selector("[data-testid=stApp][data-test-script-state=notRunning]", timeout=300_000)


def main(pages=3, edits=300, size_mb=48):
    """Measure and print."""
    with server() as address, browser() as started, tempfile.TemporaryDirectory() as folder:
        pid, faults = server_pid(address), []
        told = {}
        page = opened(started, address, faults)
        told["start"] = tree_mb(pid)
        work_out(page)
        told["a small table"] = tree_mb(pid)
        page.context.close()
        path = Path(folder) / "eyes.csv"
        write_table(path, size_mb)
        at_work = [opened(started, address, faults) for _ in range(pages)]
        edit(at_work, edits)
        told[f"{pages} × {edits} edits"] = tree_mb(pid)
        for page in at_work:
            work_out(page, path)
        told[f"{pages} tables of {path.stat().st_size / 1e6:.0f} MB"] = tree_mb(pid)
        for page in at_work:
            page.context.close()
        time.sleep(FORGOTTEN_S)
        opened(started, address, faults)
        time.sleep(5)
        told["the next visitor"] = tree_mb(pid)
    print(", ".join(f"{name} {mb:.0f} MB" for name, mb in told.items()), f"{len(faults)} faults {faults[:3]}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
