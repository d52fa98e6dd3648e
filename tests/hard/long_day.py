"""A long day at the desk: many patients opened, changed and printed in random order, every print the command's.

Run with `python tests/hard/long_day.py [patients] [steps] [seed]`; stops at the first print of another plan.
"""

import sys
import tempfile
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from acts import leave
from clinic import Clinic
from serving import browser, server


def main(patients=30, steps=300, seed=1):
    """Walk, and say what was done."""
    with server() as address, browser() as chrome, tempfile.TemporaryDirectory() as folder:
        page = chrome.new_context(accept_downloads=True, viewport={"width": 1440, "height": 900}).new_page()
        page.on("dialog", leave)
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        day = Clinic(page, Path(folder), patients, seed)
        day.begin()
        for _ in range(steps):
            day.step()
    print(f"{steps} steps over {patients} patients, seed {seed}: {day.prints} prints, each the command's")
    print(dict(Counter(day.done)))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
