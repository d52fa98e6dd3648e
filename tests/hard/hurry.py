"""Every act at every delay after typing, many times, on a slowed browser: how many entries were lost or misplaced.

Run in slices, `python tests/hard/hurry.py LOG MINUTES [delays in ms…] [acts…]`: each slice goes on where the log has
spent the least time and adds a line an act; `python tests/hard/hurry.py LOG 0` prints the table, an act a row, a delay
a column. The browser is slow from the first key until what was asked for is there; it is then read at its own speed.
Several pages work at one server.
"""

import json
import random
import sys
import tempfile
import time
from collections import Counter
from multiprocessing import Process
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from acts import leave
from held_back import held_back
from hurried import ACTS, ON_MAP, at_once, back_to_plan, on_map
from hurried_dialogs import SELDOM
from hurry import DELAYS_MS, SLOWER, type_refraction
from serving import browser, server
from typed_on import TYPED_ON

BY_NAME = ACTS | SELDOM | TYPED_ON
EVERY = (*BY_NAME, ON_MAP)
PAGES, USUAL_S = 4, 6.0
PATIENCE_MS = 120000


def once(page, act, number, delay, folder):
    """Whether one act right after typing came out right, and what it said where it did not."""
    wait = delay + random.random() * 10.0
    try:
        if act == ON_MAP:
            at_once(page, "Trade-offs")
            page.wait_for_selector(".st-key-chart-to_map .plot[data-drawn]", timeout=60000)
            with held_back(SLOWER) as calm:
                right = on_map(page, lambda: type_refraction(page, number, calm), wait, folder)
            back_to_plan(page)
        else:
            with held_back(SLOWER) as calm:
                typed = type_refraction(page, number, calm)
                page.wait_for_timeout(wait)
                right = BY_NAME[act](page, typed, folder)
    except Exception as error:
        return False, f"{type(error).__name__}: {str(error)[:400]}"
    return right, "" if right else "not what was typed"


def started(chrome, address):
    """A new page on Plan."""
    page = chrome.new_context(accept_downloads=True, viewport={"width": 1440, "height": 900}).new_page()
    page.set_default_timeout(PATIENCE_MS)
    page.on("dialog", leave)
    page.goto(address)
    page.wait_for_selector(".plot[data-drawn]")
    return page


def lines(log):
    """What was done so far."""
    return [json.loads(line) for line in log.read_text("utf-8").splitlines()] if log.exists() else []


def least_tried(log, acts, delays):
    """The act and delay that had the least time so far: what is quick is tried more often."""
    spent = Counter({(act, delay): 0.0 for act in acts for delay in delays})
    for one in lines(log):
        spent[one["act"], one["delay"]] += one.get("seconds", USUAL_S)
    wanted = [(spent[act, delay], random.random(), act, delay) for act in acts for delay in delays]
    return min(wanted)[2:]


def walk(log, end, address, acts, delays):
    """One page until the end; one that went wrong makes place for a new one."""
    with browser() as chrome, tempfile.TemporaryDirectory() as folder, log.open("a") as out:
        page = started(chrome, address)
        while time.time() < end:
            act, delay = least_tried(log, acts, delays)
            number, start = random.randrange(10000), time.monotonic()
            right, words = once(page, act, number, delay, Path(folder))
            took = round(time.monotonic() - start, 2)
            line = {"act": act, "delay": delay, "right": right, "words": words, "seconds": took, "number": number}
            out.write(json.dumps(line) + "\n")
            out.flush()
            if not right:
                print(act, delay, words, flush=True)
                page.screenshot(path=log.with_name(f"{log.stem}-{number}.png"))
                page.context.close()
                page = started(chrome, address)


def run(log, minutes, acts, delays):
    """One slice of acts on one server, by several pages at a time."""
    end = time.time() + 60.0 * minutes
    with log.with_suffix(".server.txt").open("a") as said, server(said) as address:
        walkers = [Process(target=walk, args=(log, end, address, acts, delays)) for _ in range(PAGES)]
        for walker in walkers:
            walker.start()
        for walker in walkers:
            walker.join()


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
    where, minutes_, *named = sys.argv[1:]
    if float(minutes_):
        chosen = [one for one in named if not one.isdecimal()]
        waits = [int(one) for one in named if one.isdecimal()]
        run(Path(where), float(minutes_), chosen or EVERY, waits or DELAYS_MS)
    table(Path(where))
