"""What the zone buys: milliseconds of one surface over one pupil, and seconds of its ladder and its map.

Run with `python tests/bench/bench_sight.py`. The floor is the two transforms that a picture over a pupil cannot do
without, bare: 700 points a side, single precision.
"""

import os

import numpy as np
from measure import Row, median_s, show
from scipy.fft import fft2

from tissue.entry.eye import build
from tissue.explore.zone_buys import ladder, light_map, one_row
from tissue.eye.cornea import Pupil
from tissue.optics.sight.figures import sight_of
from tissue.optics.sight.view import View
from tissue.report.sight.sight_json import sights

EYE = {"sphere_D": -6.0, "cylinder_D": -1.25, "axis_deg": 170.0, "central_thickness_um": 548.0}
FLOOR = "two bare transforms, ms"


def rows():
    """Rows of the table."""
    inputs = build(EYE)
    taken = one_row(inputs.compare().results["lenticule"].option.removal)
    bare = np.ones((700, 700), dtype=np.complex64)
    floor = 1000.0 * median_s(lambda: fft2(fft2(bare)), 5)
    for width in (6.0, 8.0):
        pupil = Pupil(width)
        took = 1000.0 * median_s(lambda pupil=pupil: sight_of(inputs.cornea, taken, pupil), 9)
        yield Row(f"sight, one option, pupil {width:g} mm", took, "ms", 40.0, floor, FLOOR)
    smooth = View(smoothing_mm=0.42)
    took = 1000.0 * median_s(lambda: sight_of(inputs.cornea, taken, Pupil(6.0), smooth), 9)
    yield Row("sight, the same as the epithelium smooths it, 6 mm", took, "ms", 40.0, floor, FLOOR)
    comparison = inputs.compare()
    took = 1000.0 * median_s(lambda: sights(inputs, comparison, Pupil(6.0), View()), 9)
    yield Row("sight, the eye before and three options, 6 mm", took, "ms", 150.0, floor, FLOOR)
    for width in (6.0, 7.0):
        took = median_s(lambda width=width: ladder(inputs, Pupil(width), only="lenticule"), 3)
        yield Row(
            f"ladder of 21 zones, one option, pupil {width:g} mm", took, "s", 1.0, 21 * floor / 1000.0, "21 of them, s"
        )
    took = median_s(lambda: light_map(inputs, "lenticule", Pupil(6.0)), 3)
    yield Row("map of 12 zones and 12 pupils, light within 10′", took, "s", 2.0, 144 * floor / 1000.0, "144 of them, s")


if __name__ == "__main__":
    show(rows())
    print(f"Load of the machine at the end: {os.getloadavg()[0]:.1f}")
