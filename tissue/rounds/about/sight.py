"""Questions on zone, pupil and sight: the share of a pupil outside the zone, the disc of a blurred point."""

import numpy as np
from numpy.random import Generator

from tissue.eye.cornea import Pupil
from tissue.ground.sources import data
from tissue.removal.over_pupil import outside_percent
from tissue.rounds.about.depth import available
from tissue.rounds.cases import Case, asked, picked
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question

WIDEST_PUPIL_MM = 9.0
ARCMIN = 10.8 / np.pi  # arc minutes in a milliradian


def outside(case: Case, rng: Generator) -> Question | None:
    """Share of a pupil that lies outside the zone, both about one centre."""
    more_mm = float(picked(rng, data("rounds")["settings"]["pupil_over_zone_mm"]))
    names = available(case)
    if not names:
        return None
    taken = case.comparison.results[names[0]].option.removal
    zone = float(taken.zone_mm)
    wide = round(zone + more_mm, 1)
    if wide > WIDEST_PUPIL_MM:
        return None
    answer = float(outside_percent(Pupil(wide, taken.centre_x_mm, taken.centre_y_mm), taken))
    given = [case.given("zone_mm"), Given("Pupil in dim light, about the same centre", f"{written(wide, 2)} mm")]
    quantities = {"zone": (zone, 2), "pupil": (wide, 2)}
    lines = [
        Line("Outside the zone", answer, "%", 1).by("100 · (1 − {zone}² / {pupil}²)", quantities),
        Line(
            "Outside by the diameters alone, which is not the share of the light",
            100.0 * (1.0 - zone / wide),
            "%",
            1,
            "·",
        ),
        Line(
            "Blend and uncut rim bend that light in another way; what comes of it is worked out on Trade-offs", sign="·"
        ),
    ]
    slips = (
        Slip("left-out", 100.0 * (1.0 - zone / wide), "diameters are compared, not areas"),
        Slip("left-out", 100.0 - answer, "the share inside the zone is given"),
        Slip("left-out", 100.0 * (wide**2 / zone**2 - 1.0), "the zone is taken for the whole"),
        Slip("radius", 100.0 * (1.0 - (zone / 2.0) ** 2 / wide**2)),
    )
    prompt = "Which share of the pupil's area lies outside the zone?"
    more = {"setting": f"{more_mm:g}", "slips": slips, "shows": case.comparison}
    return asked("zone-share", case, prompt, given, "number", answer, lines=lines, **more)


def blur_disc(case: Case, rng: Generator) -> Question | None:
    """Width of the disc into which a residual sphere spreads a point, by geometry."""
    left = float(picked(rng, data("rounds")["settings"]["sphere_left_D"]))
    pupil = float(case.pupil_mm)
    if not available(case):
        return None
    answer = abs(left) * pupil * ARCMIN
    given = [Given("Sphere that is left, not accommodated away", f"{written(left, 2)} D"), case.given("pupil_mm")]
    lines = [
        Line("Rays from rim to rim part by", abs(left) * pupil, "mrad", 2).by(
            "{size of the sphere} · {pupil}", {"size of the sphere": (abs(left), 2), "pupil": (pupil, 1)}
        ),
        Line("Width of the disc", answer, "arcmin", 1).by(
            "{parted} · 180 · 60 / (1000 · 3.14159)", {"parted": (abs(left) * pupil, 2)}
        ),
        Line("A ring of the line 20/20 has a gap of 1 arcmin", sign="·"),
    ]
    slips = (
        Slip("radius", answer / 2.0),
        Slip("left-out", abs(left) * pupil, "milliradians are given for minutes of arc"),
        Slip("left-out", abs(left) * ARCMIN, "the pupil is left out"),
    )
    prompt = "How wide is the disc into which this eye spreads a point, by geometry alone?"
    more = {"setting": f"{left:g}", "slips": slips}
    return asked("blur", case, prompt, given, "number", answer, lines=lines, **more)
