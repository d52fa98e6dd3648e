"""Questions on errors and optics: the chance of a bed under a line, K and asphericity after."""

from dataclasses import replace

import numpy as np
from numpy.random import Generator

from tissue.budget.spread import below_percent
from tissue.eye.cornea import KERATOMETER
from tissue.ground.errors import EyeError
from tissue.ground.sources import data
from tissue.ground.vocabulary import NOT_GIVEN, Floats
from tissue.optics.figures import asphericity_after
from tissue.removal.options import Option
from tissue.removal.removal import POWER_PER_CURVATURE, Removal, removal
from tissue.report.measures import optics_measures
from tissue.rounds.about.depth import ABOVE, available
from tissue.rounds.cases import Case, asked, picked, picked_if_any
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question

PROFILES = ("munnerlyn", "parabolic")
PROFILE_WORDS = {"munnerlyn": "two spheres (munnerlyn)", "parabolic": "two parabolas (parabolic)"}
FORMULAS = {"munnerlyn": "{Q} · ({R after} / {R before})³", "parabolic": "(1 + {Q}) · ({R after} / {R before})³ − 1"}
ALIKE_Q, BORDER_Q = 0.01, 0.002
LEAST_D = 0.5
SAME_UM = 0.02  # two ways to the same figure
RATIO = KERATOMETER / POWER_PER_CURVATURE
BIAS = "Bias is true less planned; the errors are independent and normal."


def chance(case: Case, rng: Generator) -> Question | None:
    """Chance of a bed below a line that lies some SDs from the mean."""
    apart = float(picked(rng, data("rounds")["settings"]["line_in_sd"]))
    name = picked_if_any(rng, available(case))
    if name is None:
        return None
    result, errors = case.comparison.results[name], case.comparison.errors
    option, spread = result.option, result.spread
    mean, sd = float(spread.bed_mean_um), float(spread.bed_sd_um)
    line = float(round(mean + apart * sd))
    if sd <= 0 or line <= 0 or not _adds_up(case, name):
        return None
    answer = float(below_percent(mean, sd, line))
    given = [
        Given(f"Bed of the {option.title} as planned, centre", f"{written(float(result.budget.bed_central_um), 1)} µm"),
        Given("Thickness: bias, SD", _error(errors.thickness_bias_um, errors.thickness_sd_um)),
        Given(f"{ABOVE[name]}: bias, SD", _error(*option.cut_error)),
        Given("Removal: bias, SD", _error(*option.removal_error)),
        Given("The line", f"{written(line)} µm"),
    ]
    planned = float(result.budget.bed_central_um)
    bias, z = mean - planned, (line - mean) / sd
    lines = [
        Line("Bed as planned", planned, "µm", 1),
        _of_errors(Line("Bias of thickness, less those of cut and removal", bias, "µm", 1, "+", True), case, option),
        Line("Mean bed", mean, "µm", 1, "="),
        _of_errors(Line("SD of the bed", sd, "µm", 1), case, option),
        Line("The line from the mean, in SDs", z, "", 2, signed=True).by(
            "({line} − {mean}) / {SD}", line=(line, 0), mean=(mean, 1), SD=(sd, 1)
        ),
        Line("Chance under the line, normal distribution Φ", answer, "%", 1).by("100 · Φ({SDs})", SDs=(z, 2)),
    ]
    slips = (
        Slip("sign", 100.0 - answer, "the chance of a bed over the line is given"),
        Slip("sign", float(below_percent(planned - bias, sd, line)), "the bias is taken with the other sign"),
        Slip("left-out", float(below_percent(planned, sd, line)), "the bias is left out"),
    )
    prompt = f"What is the chance, in percent, that the bed at the centre lies under {written(line)} µm?"
    more = {"before": BIAS, "shows": case.comparison, "slips": slips, "setting": f"{name} {apart:g}"}
    return asked("chance", case, prompt, given, "number", answer, lines=lines, **more)


def _adds_up(case: Case, name: str) -> bool:
    """Whether the three errors of a bed add up; a removal limited to nothing has no error of its own."""
    result, errors = case.comparison.results[name], case.comparison.errors
    option, spread = result.option, result.spread
    bias = errors.thickness_bias_um - option.cut_error.bias_um - option.removal_error.bias_um
    sd = np.hypot(np.hypot(errors.thickness_sd_um, option.cut_error.sd_um), option.removal_error.sd_um)
    apart = spread.bed_mean_um - result.budget.bed_central_um - bias, spread.bed_sd_um - sd
    return max(abs(float(one)) for one in apart) < SAME_UM


def _of_errors(line: Line, case: Case, option: Option) -> Line:
    """A Line with the formula of the bias, or of the SD, from those of thickness, cut and removal."""
    errors = case.comparison.errors
    pairs = (errors.thickness_bias_um, errors.thickness_sd_um), option.cut_error, option.removal_error
    names, at = ("thickness", "cut", "removal"), int(not line.sign)
    quantities = {name: (float(pair[at]), 1) for name, pair in zip(names, pairs, strict=True)}
    formula = ("{thickness} − {cut} − {removal}", "√({thickness}² + {cut}² + {removal}²)")[at]
    return line.by(formula, quantities)


def _error(bias: Floats, sd: Floats) -> str:
    return f"{written(float(bias), 1, signed=True)} µm, {written(float(sd), 1)} µm"


def bed_sd(case: Case, rng: Generator) -> Question | None:
    """SD of the bed from those of thickness, cut and removal."""
    name = picked_if_any(rng, available(case))
    if name is None or not _adds_up(case, name):
        return None
    option, errors = case.comparison.results[name].option, case.comparison.errors
    answer = float(case.comparison.results[name].spread.bed_sd_um)
    given = [
        Given("SD of the thickness", f"{written(float(errors.thickness_sd_um), 1)} µm"),
        Given(f"SD of the {option.above}", f"{written(float(option.cut_error.sd_um), 1)} µm"),
        Given("SD of the removal", f"{written(float(option.removal_error.sd_um), 1)} µm"),
    ]
    parts = float(errors.thickness_sd_um), float(option.cut_error.sd_um), float(option.removal_error.sd_um)
    lines = [_of_errors(Line("SD of the bed", answer, "µm", 1), case, option)]
    slips = (
        Slip("left-out", sum(parts), "the SDs are added, not their squares"),
        Slip("left-out", answer**2, "the root is left out"),
        *(Slip("left-out", float(np.sqrt(answer**2 - one**2)), "one of the three is left out") for one in parts),
    )
    prompt = f"Which SD has the bed of the {option.title}, from three independent errors?"
    more = {"setting": name, "slips": slips, "shows": case.comparison}
    return asked("bed-sd", case, prompt, given, "number", answer, lines=lines, **more)


def K_after(case: Case, rng: Generator) -> Question | None:
    """K after the correction."""
    names = available(case)
    SE = float(case.comparison.treatment.refraction.at_cornea().power_vector().SE_D)
    if not names or abs(SE) < LEAST_D:
        return None
    before, after = float(case.comparison.cornea.mean_K_D), float(case.comparison.results[names[0]].budget.K_after_D)
    given = [
        Given("Mean K before", f"{written(before, 2)} D"),
        Given("Treated spherical equivalent, at the cornea", f"{written(SE, 2, signed=True)} D"),
    ]
    lines = [
        Line("K before", before, "D", 2),
        Line("Change of K", after - before, "D", 2, "+", True).by("337.5 / 376 · {treated}", treated=(SE, 2)),
        Line("K after", after, "D", 2, "="),
        Line("D of K for each dioptre at the cornea", RATIO, "", 3, "·").by("337.5 / 376"),
    ]
    glasses = float(case.comparison.treatment.refraction.power_vector().SE_D)
    slips = (
        Slip("plane", before + RATIO * glasses),
        Slip("left-out", before + SE, "a dioptre of refraction is taken for a dioptre of K"),
    )
    prompt = "What is the mean K after the correction, by geometry alone?"
    return asked("K-after", case, prompt, given, "number", after, lines=lines, slips=slips)


def asphericity(case: Case, rng: Generator) -> Question | None:
    """Whether a profile makes the front more prolate or more oblate, by its surfaces alone."""
    profile = picked(rng, PROFILES)
    plan = case.comparison
    if not any(plan.results[name].option.ablates for name in available(case)):
        return None
    treatment = replace(
        plan.treatment, profile=profile, reported_ablation_um=NOT_GIVEN, reported_lenticule_um=NOT_GIVEN
    )
    try:
        taken = removal(plan.cornea, treatment, treatment.ablation_blend_mm)
    except EyeError:
        return None
    before, after = float(plan.cornea.asphericity), float(asphericity_after(plan.cornea, treatment, taken))
    change = after - before
    if abs(abs(change) - ALIKE_Q) < BORDER_Q:
        return None
    choices = ("Q falls: more prolate", "Q rises: more oblate", "Q stays within 0.01")
    answer = choices[2] if abs(change) < ALIKE_Q else choices[int(change > 0)]
    measure = optics_measures()["asphericity_after"]
    given = [
        case.refraction(),
        case.given("radius_mm"),
        case.given("asphericity"),
        Given("Profile", PROFILE_WORDS[profile]),
    ]
    lines = [
        *_conic_lines(taken, before, after, FORMULAS[profile]),
        Line(measure.formula, sign="·"),
        Line("What it does not say", text=measure.limits, sign="·"),
    ]
    prompt = "By the surfaces of this profile alone, what becomes of the asphericity Q of the front surface?"
    other = {choices[0]: choices[1], choices[1]: choices[0]}.get(answer)
    slips = (Slip("sign", other, "the change of Q is taken with the other sign"),) if other else ()
    more = {"choices": choices, "shows": plan, "slips": slips}
    return asked("asphericity", case, prompt, given, "one", answer, lines=lines, setting=profile, **more)


def _conic_lines(taken: Removal, before: float, after: float, formula: str) -> list[Line]:
    """Lines from the radii of the front to its asphericity after."""
    shape = taken.profile
    R = float(1.0 / shape.before_per_mm), 2.0 / float(shape.along_per_mm + shape.across_per_mm)
    power = float(POWER_PER_CURVATURE * (1.0 / R[1] - 1.0 / R[0]))
    known = {"Q": (before, 2), "R after": (R[1], 3), "R before": (R[0], 3)}
    turned = {"R before": (R[0], 3), "power": (power, 2)}
    return [
        Line("Radius before", R[0], "mm", 3),
        Line("Power treated at the cornea, mean meridian", power, "D", 2, signed=True),
        Line("Radius after, mean meridian", R[1], "mm", 3).by("376 / (376 / {R before} + {power})", turned),
        Line("Q before", before, "", 2),
        Line("Q after", after, "", 2).by(formula, known),
    ]
