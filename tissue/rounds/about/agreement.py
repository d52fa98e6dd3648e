"""Questions on the agreement of two devices, on invented pairs of readings."""

from dataclasses import replace

import numpy as np
from numpy.random import Generator

from tissue.rounds.about.depth import available
from tissue.rounds.cases import Case, asked
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question
from tissue.series.study.agreement import LIMITS_Z, Agreement, agreement

PAIRS, SPREAD_UM, MOST_BIAS_UM, MOST_NOISE_UM = 5, 25, 9, 6
INVENTED = "The readings are invented: five eyes, each by two devices."
EYES = "five invented eyes"


def _pairs(case: Case, rng: Generator) -> tuple[np.ndarray, np.ndarray]:
    """Thicknesses of five eyes by two devices [µm], whole numbers about that of the eye."""
    centre = round(float(case.comparison.cornea.central_thickness_um))
    first = centre + rng.integers(-SPREAD_UM, SPREAD_UM + 1, PAIRS)
    bias = int(rng.integers(2, MOST_BIAS_UM + 1)) * int(rng.choice([-1, 1]))
    return first, first + bias + rng.integers(-MOST_NOISE_UM, MOST_NOISE_UM + 1, PAIRS)


def bias(case: Case, rng: Generator) -> Question | None:
    """Mean difference of two devices."""
    first, second = _pairs(case, rng)
    if case.reported or not available(case):
        return None
    answer = float(agreement(first, second).bias)
    given = [
        Given(f"Eye {i + 1}, first and second device", f"{a} µm, {b} µm")
        for i, (a, b) in enumerate(_both(first, second))
    ]
    differences = [float(b - a) for a, b in _both(first, second)]
    lines = [Line(f"Eye {i + 1}: second less first", one, "µm", 0, signed=True) for i, one in enumerate(differences)]
    formula = "(" + " + ".join(f"{{d{i + 1}}}" for i in range(PAIRS)) + f") / {PAIRS}"
    mean = Line("Mean difference", answer, "µm", 1, signed=True)
    lines.append(mean.by(formula, {f"d{i + 1}": (one, 0) for i, one in enumerate(differences)}))
    slips = (Slip("left-out", answer * PAIRS, "the sum is given, not the mean"),)
    prompt = "By how much does the second device read more than the first, on average?"
    found = asked(
        "agreement-bias", case, prompt, given, "number", answer, lines=lines, signed=True, before=INVENTED, slips=slips
    )
    return replace(found, eye=EYES)


def limit(case: Case, rng: Generator) -> Question | None:
    """Upper limit of agreement of two devices."""
    found: Agreement = agreement(*_pairs(case, rng))
    if case.reported or not available(case):
        return None
    bias_um, answer = float(found.bias), float(found.limit_upper)
    sd = (answer - bias_um) / LIMITS_Z
    given = [
        Given("Mean difference, second less first", f"{written(bias_um, 1, signed=True)} µm"),
        Given("SD of the differences", f"{written(sd, 1)} µm"),
    ]
    quantities = {"mean": (bias_um, 1), "SD": (sd, 1)}
    lines = [
        Line("Upper limit of agreement", answer, "µm", 1, signed=True).by("{mean} + 1.96 · {SD}", quantities),
        Line("Lower limit", float(found.limit_lower), "µm", 1, "·", True).by("{mean} − 1.96 · {SD}", quantities),
        Line("By so few eyes both are uncertain; a series gives their intervals", sign="·"),
    ]
    slips = (
        Slip("sign", float(found.limit_lower), "the lower limit is given"),
        Slip("left-out", bias_um + sd, "one SD is added, not 1.96"),
        Slip("left-out", bias_um + LIMITS_Z * sd / PAIRS**0.5, "the error of the mean is taken for the SD"),
        Slip("left-out", LIMITS_Z * sd, "the mean difference is left out"),
    )
    prompt = "Where does the upper 95 % limit of agreement lie?"
    made = asked(
        "agreement-limit", case, prompt, given, "number", answer, lines=lines, signed=True, before=INVENTED, slips=slips
    )
    return replace(made, eye=EYES)


def _both(first: np.ndarray, second: np.ndarray) -> list[tuple[int, int]]:
    return [(int(a), int(b)) for a, b in zip(first, second, strict=True)]
