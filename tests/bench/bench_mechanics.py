"""Cost of the stress picture: seconds against unknowns, for all six states of one eye in one solution.

Run with `python tests/bench/bench_mechanics.py [repeats]`. The intact eye is solved twice, with the elements of the cap
and with those of the flap. Least and median of the repeats: what the machine can do, and what it did.
"""

import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tissue import Cornea, Refraction, Treatment, compare
from tissue.mechanics import PICTURE, SLIDER, mechanics, model, section_plan, spread

SIZES_MM = (0.3, 0.2, 0.15, 0.1, 0.075, 0.05)


def timed(act, repeats):
    """Least and median seconds of an act."""
    took = []
    for _ in range(repeats):
        start = time.perf_counter()
        act()
        took.append(time.perf_counter() - start)
    return min(took), statistics.median(took)


def main(repeats=7):
    """Measure and print."""
    eye = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    mechanics(eye, setting=SLIDER)
    unknowns, least = [], []
    print("element mm   unknowns   least s   median s   µs an unknown")
    for size in SIZES_MM:
        setting = replace(PICTURE, size_mm=size)
        solid = model(section_plan(eye), setting).bodies.solid
        unknowns.append(solid.displacement.N + solid.pressure.N)
        took = timed(lambda setting=setting: mechanics(eye, setting=setting), repeats if size >= 0.1 else 3)
        least.append(took[0])
        print(f"{size:10.3f} {unknowns[-1]:10d} {took[0]:9.3f} {took[1]:10.3f} {1e6 * took[0] / unknowns[-1]:15.1f}")
    order = np.polyfit(np.log(unknowns[2:]), np.log(least[2:]), 1)[0]
    print(f"seconds grow as unknowns to the power {order:.2f} from {SIZES_MM[2]} mm down")
    made = model(section_plan(eye), SLIDER)
    took = timed(lambda: spread(made), 3)
    print(f"spread over all relationships at {SLIDER.size_mm} mm: least {took[0]:.2f} s, median {took[1]:.2f} s")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
