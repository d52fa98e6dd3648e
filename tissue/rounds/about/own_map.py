"""A question on an eye's own map: where it is thicker or thinner than the usual growth would have it."""

import numpy as np
from numpy.random import Generator

from tissue.eye.paraboloid import THICKNESS_GROWTH
from tissue.ground.sources import data
from tissue.rounds.cases import Case, asked, micrometres, picked, um_line
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question

GROWTH_DECIMALS = 5


def map_law(case: Case, rng: Generator) -> Question | None:
    """Thickness by the eye's own map minus that by the usual growth from its thinnest point."""
    x, y = map(float, picked(rng, data("rounds")["settings"]["map_places_mm"]))
    cornea = case.comparison.cornea
    if cornea.own_map is None or cornea.own_map.thickness is None:
        return None
    if not cornea.own_map.thickness.is_known(x, y):  # the surface goes on beyond its readings, by the usual growth
        return None
    read, thin = float(cornea.thickness_um(x, y)), float(cornea.thinnest_um)
    away = float(np.hypot(x - cornea.thinnest_x_mm, y - cornea.thinnest_y_mm))
    usual = thin * (1.0 + THICKNESS_GROWTH * away**2)
    given = [
        Given("Place, from the vertex", f"{_signed(x)} mm across, {_signed(y)} mm up"),
        micrometres("Thickness there, by the map", read),
        micrometres("Thinnest, by the map", thin),
        Given("Distance of the place from the thinnest point", f"{written(away, 2)} mm"),
        Given(
            "Usual growth with each squared mm, as a share of the thinnest", written(THICKNESS_GROWTH, GROWTH_DECIMALS)
        ),
    ]
    quantities = {"thinnest": (thin, 0), "growth": (THICKNESS_GROWTH, GROWTH_DECIMALS), "distance": (away, 2)}
    lines = [
        um_line("Thickness there, by the map", read),
        um_line("Usual thickness there", usual, "−").by("{thinnest} · (1 + {growth} · {distance}²)", quantities),
        um_line("By the map less usual", read - usual, "=", signed=True),
        Line("The plan takes the map wherever it reaches; the usual growth stands in where there is none", sign="·"),
    ]
    slips = (
        Slip("left-out", read - thin * (1.0 + THICKNESS_GROWTH * away), "the distance is not squared"),
        Slip("left-out", read - thin, "the growth is left out"),
        Slip(
            "radius", read - thin * (1.0 + THICKNESS_GROWTH * away**2 / 4.0), "the distance is halved, as of a diameter"
        ),
    )
    prompt = "How much thicker is this eye there than usual growth from its thinnest point makes it (minus: thinner)?"
    more = {"setting": f"{x:g} {y:g}", "slips": slips, "signed": True}
    return asked("map-law", case, prompt, given, "number", read - usual, lines=lines, **more)


def _signed(value: float) -> str:
    return written(value, 1, signed=True)
