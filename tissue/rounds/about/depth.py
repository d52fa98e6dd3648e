"""Questions on depth: beds, and shares of the thickness."""

from dataclasses import replace

import numpy as np
from numpy.random import Generator

from tissue.budget.comparison import Result, compare
from tissue.ground.sources import data
from tissue.removal.options import Every
from tissue.rounds.cases import Case, asked, micrometres, picked, picked_if_any, um_line
from tissue.rounds.line import Given, Line, Slip
from tissue.rounds.question import Question

ABOVE = Every(lambda traits: traits.above.capitalize())
PART_UM = 0.5  # a part that rounds to nothing is not listed on its own
NOTHING_UM = 1e-6


def available(case: Case) -> list[str]:
    """Names of the ways that have figures; for a published eye only the way it had."""
    return [name for name, result in case.comparison.results.items() if case.may_ask_about(result)]


def planned_alike(case: Case) -> bool:
    """Whether ablation and lenticule belong to one plan: both depths were reported by a laser, or neither."""
    plan = case.comparison.treatment
    return bool(np.isnan(plan.reported_ablation_um) == np.isnan(plan.reported_lenticule_um))


def removal_parts(result: Result) -> dict[str, float]:
    """Parts of the central removal of a way: {words: µm}."""
    figures = result.budget
    found = {
        "Removed for the refraction": figures.removal_part_refraction_um,
        "Added by the blend": figures.removal_part_blend_um,
        "Base of the lenticule": figures.removal_part_base_um,
    }
    return {words: float(value) for words, value in found.items() if value >= PART_UM}


def depth_rows(case: Case, name: str) -> list[Given]:
    """Given rows of a way: thickness, cut, and the parts of its removal."""
    result = case.comparison.results[name]
    parts, default = removal_parts(result), case.rests_on_defaults(result)
    rows = [case.given("central_thickness_um"), case.cut(result)]
    return rows + [micrometres(f"{words}, centre", value, default) for words, value in parts.items()]


def bed_lines(case: Case, name: str, result: Result | None = None) -> list[Line]:
    """Lines from the thickness to the bed of a way."""
    result = case.comparison.results[name] if result is None else result
    figures = result.budget
    taken = [um_line(words, value, "−") for words, value in removal_parts(result).items()]
    left = float(figures.removal_central_um) - sum(line.value for line in taken)
    small = [um_line("Parts under half a micrometre", left, "−")] if abs(left) > NOTHING_UM else []
    return [
        um_line("Thickness at the centre", case.comparison.cornea.central_thickness_um),
        um_line(f"{ABOVE[name]}, above the removal", figures.cut_um, "−"),
        *taken,
        *small,
        um_line("Residual bed, centre", figures.bed_central_um, "="),
    ]


def added(result: Result, answer: float) -> Slip:
    """The slip of adding the removal instead of subtracting it, as a difference from the answer [µm]."""
    return Slip(
        "sign", answer + 2.0 * float(result.budget.removal_central_um), "what is removed is added, not taken off"
    )


def twice(case: Case, name: str, answer: float) -> tuple[Slip, ...]:
    """The slip of subtracting the epithelium although the cut includes it, as a difference from the answer [µm]."""
    if not case.comparison.results[name].option.cuts:
        return ()
    epithelium = float(case.comparison.cornea.epithelium_um)
    words = "the epithelium is taken off once more: it lies in what is above the cut already"
    return (Slip("epithelium", answer - epithelium, words),)


def bed(case: Case, rng: Generator) -> Question | None:
    """Residual bed of one way."""
    name = picked_if_any(rng, available(case))
    if name is None:
        return None
    figures = case.comparison.results[name].budget
    known = not np.isnan(figures.bed_min_um)  # a map may be smaller than the treated disc
    least = [um_line("Least bed over zone and blend", figures.bed_min_um, "·")] if known else []
    prompt = f"What residual bed does the {case.comparison.results[name].option.title} leave at the centre?"
    lines = [*bed_lines(case, name), *least]
    answer = float(figures.bed_central_um)
    slips = (added(case.comparison.results[name], answer), *twice(case, name, answer))
    more = {"shows": case.comparison, "slips": slips}
    return asked("bed", case, prompt, depth_rows(case, name), "number", answer, lines=lines, setting=name, **more)


def thick_flap(case: Case, rng: Generator) -> Question | None:
    """Bed under a flap thicker than the plan's; not asked where the flap of the eye was measured."""
    over = float(picked(rng, data("rounds")["settings"]["flap_over_um"]))
    plan = case.comparison
    if not case.may_ask_about(plan.under_flap) or plan.under_flap.option.cut_is_measured:
        return None
    cut = float(plan.under_flap.option.cut_um)
    flap = replace(plan.flap, flap_measured_um=cut + over)
    rest = plan.cap, plan.judgement, plan.errors, plan.pupil
    thicker = compare(plan.cornea, plan.treatment, plan.measured, flap, *rest)
    result = thicker.under_flap
    if not result.available:
        return None
    name, answer = result.option.name, float(result.budget.bed_central_um)
    rows = depth_rows(case, name)
    given = [
        rows[0],
        case.cut(plan.under_flap)._replace(label="Flap of the plan"),
        micrometres("Flap as it is measured", cut + over),
        *rows[2:],
    ]
    before = um_line("Bed under the flap of the plan", plan.under_flap.budget.bed_central_um, "·")
    prompt = f"The flap is measured {over:g} µm thicker than in the plan. What bed is left under it at the centre?"
    lines = [*bed_lines(case, name, result), before]
    slips = (Slip("sign", answer + 2.0 * over, "the flap is taken thinner, not thicker"), *twice(case, name, answer))
    more = {"setting": over, "shows": thicker, "slips": (*slips, added(result, answer))}
    return asked("thick-flap", case, prompt, given, "number", answer, lines=lines, **more)


def altered(case: Case, rng: Generator) -> Question | None:
    """Percent tissue altered of the extraction minus that of the flap."""
    both = case.comparison.under_flap, case.comparison.under_cap
    if not all(case.may_ask_about(one) for one in both) or not planned_alike(case):
        return None
    flap, cap = (one.budget for one in both)
    given = [
        case.given("central_thickness_um"),
        micrometres("Flap", flap.cut_um),
        micrometres("Removed by the ablation, centre", flap.removal_central_um),
        micrometres("Cap", cap.cut_um),
        micrometres("Lenticule, centre, base included", cap.removal_central_um),
    ]
    apart = float(cap.altered_percent - flap.altered_percent)
    stromal = float(cap.stromal_altered_percent - flap.stromal_altered_percent)
    lines = [
        _share("Extraction: cap and lenticule, of the thickness †", case, both[1]),
        _share("Flap ablation: flap and removal, of the thickness", case, both[0])._replace(sign="−"),
        Line("Extraction over flap", apart, "points", 1, "=", True),
        Line("†", text="Arithmetic only: this share was published and tested for flaps.", sign="·"),
    ]
    prompt = (
        "Tissue altered, in percent of the thickness: by how many points does the extraction lie over the flap "
        "ablation?"
    )
    slips = (Slip("epithelium", stromal, "the shares are those of the stroma, without the epithelium"),)
    more = {"signed": True, "shows": case.comparison, "slips": slips}
    return asked("altered", case, prompt, given, "number", apart, lines=lines, **more)


def _share(words: str, case: Case, result: Result) -> Line:
    """A Line of the share of the thickness that is cut or taken."""
    figures, cut = result.budget, result.option.above
    quantities = {
        cut: (float(figures.cut_um), 0),
        "removed": (float(figures.removal_central_um), 0),
        "thickness": (float(case.comparison.cornea.central_thickness_um), 0),
    }
    line = Line(words, float(figures.altered_percent), "%", 1)
    return line.by(f"100 · ({{{cut}}} + {{removed}}) / {{thickness}}", quantities)


def altered_flap(case: Case, rng: Generator) -> Question | None:
    """Percent tissue altered of the flap ablation, the procedure that it was published for."""
    result = case.comparison.under_flap
    if not case.may_ask_about(result):
        return None
    figures, answer = result.budget, float(result.budget.altered_percent)
    removed = micrometres("Removed by the ablation, centre", figures.removal_central_um, case.rests_on_defaults(result))
    given = [case.given("central_thickness_um"), case.cut(result), removed]
    lines = [
        um_line("Cut and taken, centre", figures.cut_um + figures.removal_central_um).by(
            "{flap cut} + {removed}",
            {"flap cut": (float(figures.cut_um), 0), "removed": (float(figures.removal_central_um), 0)},
        ),
        _share("Share of the thickness that is altered", case, result),
    ]
    slips = (
        Slip("left-out", float(figures.removed_percent), "the flap is left out"),
        Slip("epithelium", float(figures.stromal_altered_percent), "the share is that of the stroma"),
        Slip("sign", 100.0 - answer, "the share that stays is given"),
    )
    prompt = "What share of the thickness is altered at the centre, flap and removal together, in percent?"
    return asked("altered-flap", case, prompt, given, "number", answer, lines=lines, slips=slips, shows=case.comparison)
