"""Every act at every delay after typing, many times, on a slowed browser: how many entries were lost or misplaced.

Run in slices, `python tests/hard/hurry.py LOG [minutes] [acts…]`: each slice goes on where the log has the fewest
rounds and adds a line an act; `python tests/hard/hurry.py LOG 0` prints the table of an act a row, a delay a column.
"""

import json
import random
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from acts import go, leave
from hurried import ACTS, ON_MAP, back_to_plan, on_map
from hurry import DELAYS_MS, slowed, type_refraction
from serving import browser, server

EVERY = (*ACTS, ON_MAP)


def once(page, act, number, delay, folder):
    """Whether one act right after typing came out right, and what it said where it did not."""
    wait = delay + random.random() * 10.0
    try:
        if act == ON_MAP:
            go(page, "Trade-offs")
            page.wait_for_selector(".st-key-chart-to_map .plot[data-drawn]", timeout=60000)
            right = on_map(page, lambda: type_refraction(page, number), wait, folder)
            back_to_plan(page)
        else:
            typed = type_refraction(page, number)
            page.wait_for_timeout(wait)
            right = ACTS[act](page, typed, folder)
    except Exception as error:
        return False, f"{type(error).__name__}: {str(error).splitlines()[0]}"
    return right, "" if right else "not what was typed"


def started(chrome, address):
    """A new page on Plan."""
    page = chrome.new_context(accept_downloads=True, viewport={"width": 1440, "height": 900}).new_page()
    page.on("dialog", leave)
    page.goto(address)
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    return page


def lines(log):
    """What was done so far."""
    return [json.loads(line) for line in log.read_text("utf-8").splitlines()] if log.exists() else []


def run(log, minutes, acts):
    """One slice of acts, the least tried first; a page that went wrong makes place for a new one."""
    end, done = time.monotonic() + 60.0 * minutes, Counter((one["act"], one["delay"]) for one in lines(log))
    number = sum(done.values())
    with server() as address, browser() as chrome, tempfile.TemporaryDirectory() as folder, log.open("a") as out:
        page = started(chrome, address)
        while time.monotonic() < end:
            rounds = min(done[act, delay] for act in acts for delay in DELAYS_MS)
            left = [(act, delay) for act in acts for delay in DELAYS_MS if done[act, delay] == rounds]
            act, delay = random.choice(left)
            done[act, delay] += 1
            number += 1
            with slowed(page):
                right, words = once(page, act, number, delay, Path(folder))
            line = {"act": act, "delay": delay, "right": right, "words": words}
            out.write(json.dumps(line) + "\n")
            out.flush()
            if not right:
                print(act, delay, words, flush=True)
                page.screenshot(path=log.with_name(f"{log.stem}-{number}.png"))
                page.context.close()
                page = started(chrome, address)


def table(log):
    """Print how many acts went wrong of how many."""
    tried, wrong = Counter(), Counter()
    for one in lines(log):
        tried[one["act"], one["delay"]] += 1
        wrong[one["act"], one["delay"]] += not one["right"]
    print("| act | " + " | ".join(f"{delay} ms" for delay in DELAYS_MS) + " |")
    for act in dict.fromkeys(act for act, _ in tried):
        cells = [f"{wrong[act, delay]} of {tried[act, delay]}" for delay in DELAYS_MS]
        print(f"| {act} | " + " | ".join(cells) + " |")
    print(f"{wrong.total()} wrong of {tried.total()}")


if __name__ == "__main__":
    where, minutes_, *chosen = sys.argv[1:]
    if float(minutes_):
        run(Path(where), float(minutes_), chosen or EVERY)
    table(Path(where))
