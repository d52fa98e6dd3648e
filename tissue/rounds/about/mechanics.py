"""Questions on reading a range of the mechanics: how it lies to another figure, and how wide it is."""

from functools import lru_cache

import numpy as np
from numpy.random import Generator

from tissue.ground.errors import EyeError
from tissue.mechanics.shape import SLIDER
from tissue.mechanics.states import LIFTED, SLACK, TAUT, mechanics
from tissue.rounds.cases import Case, asked
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question

LIMITS = (
    "Ratios to the same eye uncut, by one law of the material; healing is not in them, and nothing says which holds."
)
BORDER_PERCENT = 1.0  # a figure this close to an end of the range is not asked about
EXTRACTION, FLAP = "Extraction", "Flap ablation"


@lru_cache(maxsize=256)
def _stresses(case: Case) -> tuple[float, ...] | None:
    """Stress of the bed under flap, taut and slack cap [% of the intact eye]; None where one is missing."""
    try:
        found = mechanics(case.comparison, setting=SLIDER)
    except EyeError:
        return None
    figures = [found[name].figures for name in (LIFTED, TAUT, SLACK)]
    values = [np.nan if one is None else 100.0 * float(one.bed_stress_ratio) for one in figures]
    return tuple(values) if np.isfinite(values).all() else None


def _asked_of(case: Case) -> tuple[float, ...] | None:
    there = case.comparison.under_flap.available and case.comparison.under_cap.available
    return None if case.reported or not there else _stresses(case)


def _rows(low: float, high: float) -> list[Given]:
    """The range of the extraction as it is given."""
    return [
        Given(f"{EXTRACTION}, the cap carries in full", f"{written(low, 1)} %"),
        Given(f"{EXTRACTION}, the cap carries nothing", f"{written(high, 1)} %"),
    ]


def range_order(case: Case, rng: Generator) -> Question | None:
    """How the range of an extraction lies to the figure of the flap."""
    found = _asked_of(case)
    if found is None:
        return None
    flap, low, high = found[0], min(found[1:]), max(found[1:])
    under, over = high - flap, low - flap
    if min(abs(under), abs(over)) < BORDER_PERCENT:
        return None
    choices = (
        "the whole range lies under the flap's figure",
        "the whole range lies over the flap's figure",
        "the flap's figure lies inside the range: neither is said to carry less",
    )
    answer = choices[0] if under < 0 else choices[1] if over > 0 else choices[2]
    given = [Given(FLAP, f"{written(flap, 1)} %"), *_rows(*found[1:])]
    quantities = {"figure of the flap": (flap, 1), "low end": (low, 1), "high end": (high, 1)}
    lines = [
        Line("Low end of the range less the flap", over, "points", 1, signed=True).by(
            "{low end} − {figure of the flap}", quantities
        ),
        Line("High end less the flap", under, "points", 1, signed=True).by(
            "{high end} − {figure of the flap}", quantities
        ),
        Line("Both under nothing: under; both over: over; else no order is said", sign="·"),
    ]
    other = {choices[0]: choices[1], choices[1]: choices[0]}.get(answer)
    slips = (Slip("sign", other, "the differences are taken the other way round"),) if other else ()
    prompt = "Mean stress of the bed, in percent of the intact eye: how do extraction and flap stand to each other?"
    more = {"choices": choices, "before": LIMITS, "slips": slips, "shows": case.comparison}
    return asked("range-order", case, prompt, given, "one", answer, lines=lines, **more)


def range_width(case: Case, rng: Generator) -> Question | None:
    """How much of an extraction's figure depends on what the cap carries."""
    found = _asked_of(case)
    if found is None:
        return None
    _, taut, slack = found
    answer = slack - taut
    lines = [
        Line(f"{EXTRACTION}, the cap carries nothing", slack, "%", 1),
        Line(f"{EXTRACTION}, the cap carries in full", taut, "%", 1, "−"),
        Line("Owed to the cap alone", answer, "points", 1, "=", True),
        Line("The middle of a range is no best guess: nothing says where in it an eye lies", sign="·"),
    ]
    slips = (Slip("two", answer / 2.0, "half of the range is given"),)
    prompt = (
        "Stress of the bed, in percent of the intact eye: how many points does the figure owe to what the cap carries?"
    )
    more = {"before": LIMITS, "slips": slips, "signed": True, "shows": case.comparison}
    return asked("range-width", case, prompt, _rows(taut, slack), "number", answer, lines=lines, **more)
