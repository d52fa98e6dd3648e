"""Questions on errors and optics: the chance of a bed under a line, K and asphericity after."""

from dataclasses import replace

from tissue.budget.spread import below_percent
from tissue.errors import EyeError
from tissue.eye.cornea import KERATOMETER
from tissue.optics.figures import asphericity_after
from tissue.removal.removal import POWER_PER_CURVATURE, removal
from tissue.report.measures import optics_measures
from tissue.rounds.cases import asked, picked
from tissue.rounds.on_depth import ABOVE, available
from tissue.rounds.question import Given, Line, written
from tissue.sources import data

PROFILES = ("munnerlyn", "parabolic")
PROFILE_WORDS = {"munnerlyn": "two spheres (munnerlyn)", "parabolic": "two parabolas (parabolic)"}
ALIKE_Q, BORDER_Q = 0.01, 0.002
LEAST_D = 0.5
BIAS = "Bias is true less planned; the errors are independent and normal."


def chance(case, rng):
    """Chance of a bed under a line that lies some SDs from the mean."""
    apart = float(picked(rng, data("rounds")["settings"]["line_in_sd"]))
    name = picked(rng, available(case))
    if name is None:
        return None
    result, errors = case.comparison.results[name], case.comparison.errors
    option, spread = result.option, result.spread
    mean, sd = float(spread.bed_mean_um), float(spread.bed_sd_um)
    line = float(round(mean + apart * sd))
    if sd <= 0 or line <= 0:
        return None
    answer = float(below_percent(mean, sd, line))
    given = [
        Given(f"Bed of the {option.title} as planned, centre", f"{written(result.budget.bed_central_um, 1)} µm"),
        Given("Thickness: bias, SD", _error(errors.thickness_bias_um, errors.thickness_sd_um)),
        Given(f"{ABOVE[name]}: bias, SD", _error(*option.cut_error)),
        Given("Removal: bias, SD", _error(*option.removal_error)),
        Given("The line", f"{written(line)} µm"),
    ]
    lines = [
        Line("Bed as planned", float(result.budget.bed_central_um), "µm", 1),
        Line(
            "Bias of thickness, less those of cut and removal",
            mean - float(result.budget.bed_central_um),
            "µm",
            1,
            "+",
            True,
        ),
        Line("Mean bed", mean, "µm", 1, "="),
        Line("SD: root of the sum of the three squares", sd, "µm", 1),
        Line("The line from the mean, in SDs", (line - mean) / sd, "", 2, signed=True),
        Line("Chance under the line, normal distribution", answer, "%", 1),
    ]
    prompt = f"What is the chance, in percent, that the bed at the centre lies under {written(line)} µm?"
    more = {"before": BIAS, "shows": case.comparison}
    return asked("chance", case, prompt, given, "number", answer, lines=lines, setting=f"{name} {apart:g}", **more)


def _error(bias, sd):
    return f"{written(float(bias), 1, signed=True)} µm, {written(float(sd), 1)} µm"


def K_after(case, rng):
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
        Line("Treated, by 337.5 / 376", after - before, "D", 2, "+", True),
        Line("K after", after, "D", 2, "="),
        Line("337.5 / 376: D of K for each dioptre at the cornea", KERATOMETER / POWER_PER_CURVATURE, "", 3, "·"),
    ]
    prompt = "What is the mean K after the correction, by geometry alone?"
    return asked("K-after", case, prompt, given, "number", after, lines=lines)


def asphericity(case, rng):
    """Whether a profile makes the front more prolate or more oblate, by its surfaces alone."""
    profile = picked(rng, PROFILES)
    plan = case.comparison
    if not any(plan.results[name].option.ablates for name in available(case)):
        return None
    treatment = replace(plan.treatment, profile=profile, reported_ablation_um=None, reported_lenticule_um=None)
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
    R = float(1.0 / taken.profile.before_per_mm), 2.0 / float(taken.profile.along_per_mm + taken.profile.across_per_mm)
    given = [
        case.refraction(),
        case.given("radius_mm"),
        case.given("asphericity"),
        Given("Profile", PROFILE_WORDS[profile]),
    ]
    lines = [
        Line("Radius before", R[0], "mm", 2),
        Line("Radius after, mean meridian", R[1], "mm", 2),
        Line("Q before", before, "", 2),
        Line(measure.formula, sign="·"),
        Line("Q after", after, "", 2),
        Line("What it does not say", text=measure.limits, sign="·"),
    ]
    prompt = "By the surfaces of this profile alone, what becomes of the asphericity Q of the front surface?"
    more = {"choices": choices, "shows": plan}
    return asked("asphericity", case, prompt, given, "one", answer, lines=lines, setting=profile, **more)
