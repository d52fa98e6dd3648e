"""Optical figures of a column of eyes: seconds for 100,000, and the greatest error of planned against achieved.

Run with `python tests/bench/bench_optics.py [eyes]`. The column has every profile, both signs of the cylinder, zones
6–7 mm, treatment centres up to 0.4 mm and pupils 4–7.5 mm, so that a good part of the pupils reach past the zone.
"""

import sys

import numpy as np
from measure import Row, median_s, show
from optics_cases import refraction_of_heights

from tissue import Cornea, Pupil, Refraction, Treatment
from tissue.optics.figures import optics, optics_by_option
from tissue.optics.paraxial import achieved
from tissue.removal.options import CapCut, Errors, FlapCut, Judgement, Setting, options_of


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


def heights(taken):
    """t [µm] on 5 × 5 places, 0.1 mm apart, about the treatment centre."""
    x, y = (part[..., None] for part in np.meshgrid(*[0.1 * np.arange(-2, 3)] * 2))
    return taken.t_um(taken.centre_x_mm + x, taken.centre_y_mm + y)


def worst(found, plan):
    """Greatest part of the difference of the power vectors [D]."""
    pairs = zip(found.power_vector(), plan.refraction.at_cornea().power_vector(), strict=True)
    return max(np.abs(a - b).max() for a, b in pairs)


def rows(count=100_000):
    """Rows of the table."""
    eye, plan, pupil = column(count)
    options = options_of(Setting(eye, plan, FlapCut(), CapCut(), Judgement(), Errors()))
    bare = median_s(lambda: [np.sin(eye.radius_mm) for _ in range(100)], 5)
    took = median_s(lambda: optics(eye, plan, options[0], pupil), 3)
    yield Row(f"optics of {count:,} eyes, one option", took, "s", 2.0, bare, "a hundred sines of the column, s")
    took = median_s(lambda: optics_by_option(eye, plan, options, pupil), 3)
    yield Row(f"optics of {count:,} eyes, three options", took, "s", 2.0, bare, "a hundred sines of the column, s")
    taken = options[0].removal
    yield Row("planned against achieved, greatest", worst(achieved(taken), plan), "D", 1e-6)
    traced = refraction_of_heights(heights(taken), 0.1)
    yield Row("planned against its height map, 0.1 mm, greatest", worst(traced, plan), "D", 0.02)


if __name__ == "__main__":
    show(rows(*map(int, sys.argv[1:])))
