"""A question on the least bed: the thinnest place of the cornea and the deepest place of the removal differ."""

import numpy as np
from numpy.random import Generator

from tissue.rounds.about.depth import ABOVE, available
from tissue.rounds.cases import Case, asked, micrometres, picked_if_any, um_line
from tissue.rounds.line import Given, Slip, written
from tissue.rounds.question import Question

APART_UM, SAME_UM = 3.0, 0.1  # least and central bed, or two ways to the same figure


def least_bed(case: Case, rng: Generator) -> Question | None:
    """Least bed of one way, from the thickness and the removal at its place and at the centre."""
    name = picked_if_any(rng, available(case))
    if name is None:
        return None
    result = case.comparison.results[name]
    figures, taken = result.budget, result.option.removal
    x, y, answer = float(figures.bed_min_x_mm), float(figures.bed_min_y_mm), float(figures.bed_min_um)
    T, r, cut = float(case.comparison.cornea.thickness_um(x, y)), float(taken.r_um(x, y)), float(figures.cut_um)
    if np.isnan(answer) or float(figures.bed_central_um) - answer < APART_UM or abs(T - cut - r - answer) > SAME_UM:
        return None
    default = case.rests_on_defaults(result)
    given = [
        case.cut(result),
        case.given("central_thickness_um"),
        micrometres("Removed at the centre, in all", figures.removal_central_um, default),
        Given("Another place, from the vertex", f"{written(float(np.hypot(x, y)), 1)} mm"),
        micrometres("Thickness there", T),
        micrometres("Removed there, in all", r, default),
    ]
    lines = [
        um_line("Thickness at the other place", T),
        um_line(f"{ABOVE[name]}, above the removal", cut, "−"),
        um_line("Removed there", r, "−"),
        um_line("Least bed", answer, "="),
        um_line("Bed at the centre", figures.bed_central_um, "·"),
    ]
    crossed = float(case.comparison.cornea.central_thickness_um) - cut - r, T - cut - float(figures.removal_central_um)
    slips = (
        Slip("left-out", float(figures.bed_central_um), "the bed at the centre is taken for the least"),
        *(Slip("left-out", one, "thickness and removal are taken from two places") for one in crossed),
    )
    prompt = "The bed is least at one of these two places. How thick is it there?"
    more = {"setting": name, "slips": slips, "shows": case.comparison}
    return asked("least-bed", case, prompt, given, "number", answer, lines=lines, **more)
