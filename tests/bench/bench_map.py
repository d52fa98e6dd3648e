"""An eye with a map of 200 × 200 readings: reading and fitting it, its arithmetic, a trade-off map, a key on Plan.

Run with `python tests/bench/bench_map.py [number of presses]`. Floors: the same eye without a map; one factorisation of
a matrix as large as the surface has coefficients.
"""

import statistics
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "browser"))

import numpy as np
from acts import idle
from bench_plan_latency import ALONE, PICTURE, WATCH, presses
from measure import Row, median_s, show
from own_maps import nine
from scipy.linalg import cho_factor
from serving import browser, server

from tissue.budget.notices import notices
from tissue.entry.eye import build
from tissue.entry.own_map.taken import surface_of
from tissue.entry.own_map.written import WrittenMap
from tissue.entry.plan_file import Plan, dumps
from tissue.explore.tradeoffs import grid

SIDE, REACH_MM = 200, 5.0
PLAN = {"sphere_D": -4.0, "cylinder_D": -0.5, "axis_deg": 175.0}
FIELDS = ("zone_mm", "cap_um", "sphere_D")


def layer_map(name, formula):
    """A grid of 200 × 200 readings of a formula, empty beyond 5 mm."""
    line = np.linspace(-REACH_MM, REACH_MM, SIDE)
    rows = [[f"{formula(x, y):.0f}" if np.hypot(x, y) <= REACH_MM else "-" for x in line] for y in line]
    axis = " ".join(f"{one:.4f}" for one in line)
    values = "\n".join(map(" ".join, rows))
    return WrittenMap(name, "OD", "grid", values, "right", "up", x_mm=axis, y_mm=axis, confirmed=True)


def rows(number=30):
    """Rows of the table."""
    thick, thin = layer_map("thickness_map", nine), layer_map("epithelium_map", lambda x, y: 53.0 + 0.4 * y)
    surface_of(thick)
    matrix = np.eye(729) + 1e-3
    bare = 1000.0 * median_s(lambda: cho_factor(matrix), 9)
    for one in (thick, thin):
        surface_of(one)
        took = 1000.0 * median_s(lambda one=one: (surface_of.cache_clear(), surface_of(one)), 7)
        words = one.name.replace("_map", "")
        yield Row(f"map of 200 × 200, {words}: read, fit, check", took, "ms", 100, bare, "one factorisation, ms")
    plain = PLAN | {"central_thickness_um": 531.0}
    floor = 1000.0 * median_s(lambda: _whole(plain), 15)
    both = {"thickness_map": thick, "epithelium_map": thin}
    for words, maps in (("a map", {"thickness_map": thick}), ("both maps", both)):
        took = 1000.0 * median_s(lambda maps=maps: _whole(PLAN | maps), 15)
        yield Row(f"an eye with {words}, figures and notices", took, "ms", 30, floor, "without, ms")
    without = 1000.0 * median_s(lambda: _grid(plain), 3)
    took = 1000.0 * median_s(lambda: _grid(PLAN | {"thickness_map": thick}), 3)
    yield Row("60 × 60 map of the least bed, an eye with a map", took, "ms", None, without, "without, ms")
    yield _pressed(Plan("bench", {"OD": PLAN | {"thickness_map": thick}}, {}), number)


def _whole(values):
    """Figures and notices of an eye."""
    return notices(build(values, "OD").compare())


def _grid(values):
    """The map of the least bed over zone and sphere."""
    return grid(values, "flap", "bed_min_um", "zone_mm", "sphere_D")


def _pressed(plan, number):
    """From a key to the painted picture on Plan, of a plan with a map."""
    with tempfile.TemporaryDirectory() as folder, server() as address, browser() as started:
        file = Path(folder) / "bench.toml"
        file.write_text(dumps(plan), "utf-8")
        page = started.new_page(viewport={"width": 1440, "height": 900})
        page.goto(address)
        page.wait_for_selector(".plot[data-drawn]", timeout=60000)
        page.get_by_role("button", name="open", exact=True).click()
        page.locator("input[type=file]").set_input_files(file)
        page.locator(".own-map span", has_text="map").wait_for(timeout=20000)
        idle(page)
        page.evaluate(WATCH, PICTURE)
        presses(page, 6, FIELDS)
        took = statistics.median(presses(page, number, FIELDS))
        alone = statistics.median(page.evaluate(ALONE, shift) for shift in [0.5, -0.5] * 10)
    return Row("Plan with a map of 200 × 200, key to picture", took, "ms", 150, alone, "the browser alone, ms")


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
