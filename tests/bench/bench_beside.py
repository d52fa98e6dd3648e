"""This tree beside an older one, in turn on one machine: key to picture on Plan, and `tissue plan` as a whole process.

Run with `python tests/bench/bench_beside.py OLDER_TREE [presses] [processes]`. Each press in one tree is followed by
one in the other, each in a browser of its own. The floor of a press is the drawing of that tree's picture alone; that
of a process is one that only loads NumPy. Both trees are compiled first, as they are once installed: where one is not,
its processes compile it each time.
"""

import compileall
import statistics
import sys
from contextlib import ExitStack
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

from bench_plan_latency import ALONE, FIELDS, PICTURE, WATCH, presses
from measure import ROOT, seconds
from playwright.sync_api import sync_playwright
from serving import CHROMIUM_ARGS, chromium, server

PLAN = ROOT / "demo_profiles" / "harbour-03_moderate_myopia.toml"
WARM = 8


def opened(play, address):
    """A page on Plan in a browser of its own, watched."""
    started = play.chromium.launch(executable_path=chromium(), args=CHROMIUM_ARGS)
    page = started.new_page(viewport={"width": 1440, "height": 900})
    page.goto(address)
    page.wait_for_selector(".plot[data-drawn]", timeout=60000)
    page.wait_for_timeout(2000)
    page.evaluate(WATCH, PICTURE)
    return page


def pressed(trees, number):
    """By tree: milliseconds of each press, and of the drawing alone, in turn."""
    took, alone = {name: [] for name in trees}, {name: [] for name in trees}
    with ExitStack() as stack:
        addresses = {name: stack.enter_context(server(root=root)) for name, root in trees.items()}
        play = stack.enter_context(sync_playwright())
        pages = {name: opened(play, address) for name, address in addresses.items()}
        for page in pages.values():
            presses(page, WARM)
        for at in range(number):
            for name, page in pages.items():
                took[name] += presses(page, 1, FIELDS[at % len(FIELDS) :])
                alone[name].append(page.evaluate(ALONE, 0.5 if at % 2 else -0.5))
    return took, alone


def processes(trees, number):
    """By tree: seconds of `tissue plan --json`; and of a process that loads NumPy."""
    took, floor = {name: [] for name in trees}, []
    for _ in range(number):
        floor.append(seconds("-c", "import numpy"))
        for name, root in trees.items():
            took[name].append(seconds("-m", "tissue", "plan", root / PLAN.relative_to(ROOT), "--json", root=root))
    return took, floor


def line(words, older, newer, floors, unit):
    """A row: medians of both trees, each beside its floor, and the median of what the newer takes more in a pair."""
    old, new = statistics.median(older), statistics.median(newer)
    more = statistics.median(b - a for a, b in zip(older, newer, strict=True))
    ratios = [f"{value:.3g} {unit} ({value / statistics.median(floor):.2f} × {statistics.median(floor):.3g})"
              for value, floor in ((old, floors[0]), (new, floors[1]))]  # fmt: skip
    return f"| {words} | {ratios[0]} | {ratios[1]} | {more:+.2g} {unit} | {new / old:.3f} |"


def main(older, number=40, runs=20):
    """Print the table."""
    trees = {"older": Path(older).resolve(), "newer": ROOT}
    for root in trees.values():
        compileall.compile_dir(root / "tissue", quiet=1)
    heads = ("what", "older (× floor)", "newer (× floor)", "newer less older, median of pairs", "newer / older")
    print("| " + " | ".join(heads) + " |\n|" + "---|" * len(heads))
    took, floor = processes(trees, runs)
    print(line("tissue plan --json, whole process", took["older"], took["newer"], (floor, floor), "s"), flush=True)
    took, alone = pressed(trees, number)
    floors = alone["older"], alone["newer"]
    print(line("Plan, key to painted picture", took["older"], took["newer"], floors, "ms"))
    ends = [sorted(took[name])[round(0.95 * (number - 1))] for name in trees]
    print(f"95 of 100: {ends[0]:.0f} and {ends[1]:.0f} ms; newer beside the older's floor: "
          f"{statistics.median(took['newer']) / statistics.median(alone['older']):.2f} ×")  # fmt: skip


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:]))
