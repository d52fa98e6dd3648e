"""Eyes, moments and residuals of the pictures of cuts and ways, and what is read from a picture."""

from itertools import combinations

import numpy as np
from drawn_eyes import EYES

from tissue import Refraction, compare
from tissue.drawing.base.palette import look

LIGHT, DARK = look("light"), look("dark")
CUT = [name for name in EYES if compare(*EYES[name]).results["lenticule"].available]
WIDTHS = (1076, 744)
MOMENTS = [
    ("lenticule", 0.0),
    ("lenticule", 0.44),
    ("lenticule", 1.0),
    ("lenticule-side", 0.5),
    ("cap", 0.3),
    ("incision", 0.5),
]
RESIDUALS = [Refraction(-0.75, -0.25, 90.0), Refraction(1.0, -0.5, 10.0), Refraction(0.0), Refraction(-3.0)]
VERDICTS = ("safe", "suitable", "candidate", "recommend", "should", "must be")


def drawn_numbers(figure):
    """Every number of every trace."""
    for trace in figure["data"]:
        for key in ("x", "y"):
            yield from (value for value in trace[key] if value is not None)


def strokes_of(trace):
    """The strokes (x, y) of a trace, parted at its gaps."""
    x, y = (np.array([np.nan if v is None else v for v in trace[key]]) for key in ("x", "y"))
    cuts = np.flatnonzero(np.isnan(x))
    return [(a, b) for a, b in zip(np.split(x, cuts), np.split(y, cuts), strict=True)]


def area_of(trace):
    """Area inside the polygon of a trace, by the trapezoid rule around it."""
    x, y = (np.append(trace[key], trace[key][0]) for key in ("x", "y"))
    return 0.5 * abs(float(np.sum(x[:-1] * y[1:] - x[1:] * y[:-1])))


def hatched(figure, colour):
    return [t for t in figure["data"] if t.get("fillpattern", {}).get("fgcolor") == colour]


def apart(placed, frame):
    """Labels of one section do not overlap and stay between its sides."""
    for labels, _ in placed:
        for one, other in combinations(labels, 2):
            assert not one.box.overlaps(other.box), (one.text, other.text)
        for one in labels:
            assert one.box.left > -frame.scale.half_px - 1.0 and one.box.right < frame.scale.half_px + 1.0, one.text
