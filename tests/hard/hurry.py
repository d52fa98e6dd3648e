"""Every act at every delay after typing, many times, on a slowed browser: how many entries were lost or misplaced.

Run with `python tests/hard/hurry.py [times] [acts…]`; prints a table of an act a row and a delay a column.
"""

import random
import sys
import tempfile
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from acts import go
from hurry import ACTS, DELAYS_MS, MAP, on_map, slowed, type_refraction
from serving import browser, server


def wrong(page, act, numbers, delay, times, folder):
    """How often an act lost what was typed so many ms before it, or took it to another place."""
    found = 0
    for _ in range(times):
        number, wait = next(numbers), delay + random.random() * 10.0
        try:
            if act == MAP:
                right = on_map(page, number, wait)
            else:
                text, sphere = type_refraction(page, number)
                page.wait_for_timeout(wait)
                right = ACTS[act](page, text, sphere, folder, str(date.today()))
        except Exception as error:
            print(f"{act}, {delay} ms: {type(error).__name__}: {str(error).splitlines()[0]}", flush=True)
            right = False
        found += not right
    return found


def main(times, acts):
    """Print the table."""
    numbers = iter(range(10**6))
    print("| act | " + " | ".join(f"{delay} ms" for delay in DELAYS_MS) + " |")
    with server() as address, browser() as chrome, tempfile.TemporaryDirectory() as folder:
        page = chrome.new_context(accept_downloads=True, viewport={"width": 1440, "height": 900}).new_page()
        page.on("dialog", lambda dialog: dialog.accept())
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        with slowed(page):
            for act in acts:
                if act == MAP:
                    go(page, "Trade-offs")
                    page.wait_for_selector(".st-key-chart-to_map .plot[data-drawn]", timeout=60000)
                found = [wrong(page, act, numbers, delay, times, Path(folder)) for delay in DELAYS_MS]
                print(f"| {act} | " + " | ".join(f"{one} of {times}" for one in found) + " |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if sys.argv[1:] else 25, sys.argv[2:] or [*ACTS, MAP])
