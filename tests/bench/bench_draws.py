"""Draws of three options with all figures and their intervals, and a 60 × 60 map of the least bed.

Run with `python tests/bench/bench_draws.py [repeats]`. Beside them the bare making of as many random numbers by NumPy,
and what the first use costs a process: the import of SciPy's statistics and the Sobol points, which are kept.
"""

import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import numpy as np

from tissue.draws import draw
from tissue.entry.eye import build
from tissue.sample import ERRORS, NUMBER, standard_normals
from tissue.tradeoffs import PAIRS, grid
from tissue.variation import axis

EYE = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0, "thinnest_um": 543.0}
EYE |= {"thinnest_x_mm": -0.6, "thinnest_y_mm": -0.5, "mean_K_D": 43.25}


def times_ms(call, repeats):
    """Median and least time of a call [ms]."""
    took = []
    for _ in range(repeats):
        start = time.perf_counter()
        call()
        took.append(1000.0 * (time.perf_counter() - start))
    return statistics.median(took), min(took)


def line(name, took, allowed=None, bare=None):
    """One line: name, median and least, what is allowed, the ratio of the medians to the bare numbers."""
    more = "" if allowed is None else f"   allowed {allowed:4d}   {took[0] / bare[0]:6.0f} × the bare numbers"
    print(f"{name:<54} median {took[0]:7.2f} ms   least {took[1]:7.2f} ms{more}")


def main(repeats=25):
    """Measure and print."""
    start = time.perf_counter()
    standard_normals()
    print(f"first use: SciPy's statistics and {NUMBER} Sobol points {1000.0 * (time.perf_counter() - start):8.1f} ms")
    plan, rng = build(EYE).compare(), np.random.default_rng(1)
    bare = times_ms(lambda: rng.standard_normal((NUMBER, len(ERRORS))), repeats)
    line(f"bare random numbers, {NUMBER} × {len(ERRORS)}", bare)
    took = times_ms(lambda: [sample.intervals() for sample in draw(plan).values()], repeats)
    line(f"{NUMBER} draws, three options, all figures, intervals", took, 50, bare)
    bare = times_ms(lambda: rng.standard_normal((60, 60)), repeats)
    for across, down in PAIRS:
        x, y = (np.linspace(*axis(EYE, field)[[0, -1]], 60) for field in (across, down))
        took = times_ms(lambda x=x, y=y, a=across, d=down: grid(EYE, "lenticule", "bed_min_um", a, d, x, y), repeats)
        line(f"60 × 60 map of the least bed, {across} × {down}", took, 100, bare)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
