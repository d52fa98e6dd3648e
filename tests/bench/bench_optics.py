"""Optical figures of a column of eyes: seconds for 100,000, and the greatest error of planned against achieved.

Run with `python tests/bench/bench_optics.py [eyes]`. The column has every profile, both signs of the cylinder, zones
6–7 mm, treatment centres up to 0.4 mm and pupils 4–7.5 mm, so that a good part of the pupils reach past the zone.
"""

import sys
import time

import numpy as np

from tissue import Cornea, Pupil, Refraction, Treatment
from tissue.optics import optics, optics_by_option
from tissue.optics_paraxial import achieved, refraction_of_heights
from tissue.options import CapCut, Errors, FlapCut, Judgement, three_options


def column(count, seed=1):
    """Cornea, Treatment and Pupil of so many eyes."""
    random = np.random.default_rng(seed)
    u = random.uniform
    eye = Cornea(u(480, 600, count), radius_mm=u(7.2, 8.4, count), asphericity=u(-0.6, 0.3, count))
    plan = Treatment(
        Refraction(u(-10, 4, count), u(-4, 2, count), u(0, 180, count)),
        zone_mm=u(6, 7, count),
        profile=random.choice(["munnerlyn", "conic", "parabolic"], count),
        centre_x_mm=u(-0.4, 0.4, count),
        centre_y_mm=u(-0.4, 0.4, count),
    )
    return eye, plan, Pupil(u(4, 7.5, count), u(-0.2, 0.2, count), u(-0.2, 0.2, count))


def seconds(work):
    """Best of three, with what the work gave."""
    took = []
    for _ in range(3):
        start = time.perf_counter()
        found = work()
        took.append(time.perf_counter() - start)
    return min(took), found


def heights(taken):
    """t [µm] on 5 × 5 places, 0.1 mm apart, about the treatment centre."""
    x, y = (part[..., None] for part in np.meshgrid(*[0.1 * np.arange(-2, 3)] * 2))
    return taken.t_um(taken.centre_x_mm + x, taken.centre_y_mm + y)


def worst(found, plan):
    """Greatest part of the difference of the power vectors [D]."""
    pairs = zip(found.power_vector(), plan.refraction.at_cornea().power_vector(), strict=True)
    return max(np.abs(a - b).max() for a, b in pairs)


def main(count):
    eye, plan, pupil = column(count)
    options = three_options(eye, plan, FlapCut(), CapCut(), Judgement(), Errors())
    one, _ = seconds(lambda: optics(eye, plan, options[0], pupil))
    three, _ = seconds(lambda: optics_by_option(eye, plan, options, pupil))
    print(f"{count} eyes: one option {one:.2f} s, the three options together {three:.2f} s")
    taken = options[0].removal
    print(f"planned against achieved: {worst(achieved(taken), plan):.1e} D")
    print(f"planned against height map, 0.1 mm: {worst(refraction_of_heights(heights(taken), 0.1), plan):.1e} D")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
