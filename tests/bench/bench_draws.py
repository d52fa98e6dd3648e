"""Draws of three options with all figures and their intervals, and a 60 × 60 map of the least bed.

Run with `python tests/bench/bench_draws.py [repeats]`. The floor is the bare making of as many random numbers by NumPy.
"""

import sys

import numpy as np
from measure import Row, median_s, show

from tissue.budget.spread import volume_interval
from tissue.entry.eye import build
from tissue.explore.draws import sample
from tissue.explore.sample import ERRORS, NUMBER, standard_normals
from tissue.explore.tradeoffs import PAIRS, grid
from tissue.explore.variation import values_along

EYE = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0, "thinnest_um": 543.0}
EYE |= {"thinnest_x_mm": -0.6, "thinnest_y_mm": -0.5, "mean_K_D": 43.25}


def every_interval(plan):
    """Intervals of all figures of every option; that of the volume is closed and comes beside the draws."""
    samples = sample(plan)
    return {name: (samples[name].intervals(), volume_interval(r.option)) for name, r in plan.results.items()}


def rows(repeats=25):
    """Rows of the table."""
    plan, rng = build(EYE).compare(), np.random.default_rng(1)
    standard_normals()

    def ms(call):
        call()
        return 1000.0 * median_s(call, repeats)

    bare = ms(lambda: rng.standard_normal((NUMBER, len(ERRORS))))
    took = ms(lambda: every_interval(plan))
    yield Row(f"{NUMBER:,} draws, three options, all figures", took, "ms", 50, bare, "bare random numbers, ms")
    bare = ms(lambda: rng.standard_normal((60, 60)))
    for across, down in PAIRS:
        x, y = (np.linspace(*values_along(EYE, field)[[0, -1]], 60) for field in (across, down))
        took = ms(lambda x=x, y=y, a=across, d=down: grid(EYE, "lenticule", "bed_min_um", a, d, x=x, y=y))
        yield Row(f"60 × 60 map of the least bed, {across} × {down}", took, "ms", 100, bare, "bare random numbers, ms")


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
