"""What the zone buys: milliseconds of one surface over one pupil, and seconds of its ladder, its map and its pictures.

Run with `python tests/bench/bench_sight.py`, with `wall` behind it for the clock on the wall: on a machine that others
share that is mostly waiting, so that the time of the processor is the usual one. The floor is the two transforms that
a picture over a pupil cannot do without, bare: 700 points a side, single precision.
"""

import os
import sys
import time
from dataclasses import replace
from functools import partial

import numpy as np
from measure import Row, median_s, show
from scipy.fft import fft2

from tissue.entry.eye import build
from tissue.explore.zone_buys import ladder, light_map, one_row
from tissue.explore.zone_pictures import seen_pictures
from tissue.eye.cornea import Pupil
from tissue.optics.sight.figures import sight_of
from tissue.optics.sight.view import View
from tissue.report.sight.sight_json import sights

EYE = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0}
FLOOR = "two bare transforms, ms"


def rows(clock=time.process_time):
    """Rows of the table, by a clock."""
    took = partial(median_s, clock=clock)
    inputs = build(EYE)
    comparison = inputs.compare()
    taken = one_row(comparison.results["lenticule"].option.removal)
    bare = np.ones((700, 700), dtype=np.complex64)
    floor = 1000.0 * took(lambda: fft2(fft2(bare)), 5)
    smooth = View(smoothing_mm=0.42)
    short = (
        ("sight, one option, pupil 6 mm", 40.0, lambda: sight_of(inputs.cornea, taken, Pupil(6.0))),
        ("sight, one option, pupil 8 mm", 40.0, lambda: sight_of(inputs.cornea, taken, Pupil(8.0))),
        ("sight, as the epithelium smooths it, 6 mm", 40.0, lambda: sight_of(inputs.cornea, taken, Pupil(6.0), smooth)),
        ("sight, before and three options, 6 mm", 150.0, lambda: sights(inputs, comparison, Pupil(6.0), View())),
    )
    for what, allowed, call in short:
        yield Row(what, 1000.0 * took(call, 9), "ms", allowed, floor, FLOOR)
    three = [replace(inputs.pupil, pupil_mm=width) for width in (5.0, 6.0, 7.0)]
    zones = (6.0, 6.5, 7.0)
    long = (
        ("ladder of 21 zones, one option, pupil 6 mm", 1.0, 21, lambda: ladder(inputs, Pupil(6.0), only="lenticule")),
        ("ladder of 21 zones, one option, pupil 7 mm", 1.0, 21, lambda: ladder(inputs, Pupil(7.0), only="lenticule")),
        ("map of 12 zones and 12 pupils, light", 2.0, 144, lambda: light_map(inputs, "lenticule", Pupil(6.0))),
        ("twelve places, rings and lights", None, 12, lambda: seen_pictures(inputs, "lenticule", three, zones)),
    )
    for what, allowed, times, call in long:
        yield Row(what, took(call, 3), "s", allowed, times * floor / 1000.0, f"{times} of them, s")


if __name__ == "__main__":
    wall = sys.argv[1:] == ["wall"]
    show(rows(time.perf_counter if wall else time.process_time))
    print(f"{'On the wall' if wall else 'Processor alone'}; load of the machine at the end: {os.getloadavg()[0]:.1f}")
