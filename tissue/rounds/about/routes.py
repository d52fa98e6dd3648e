"""Questions on what comes later: rescue options after lost suction, a second cut, the reserve, an enhancement."""

import numpy as np
from numpy.random import Generator

from tissue.budget.comparison import Comparison
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError, given
from tissue.ground.sources import data
from tissue.ground.vocabulary import CUT, NOT_GIVEN
from tissue.report.routes_terminal import STAGE_WORDS
from tissue.rounds.about.depth import added, available, bed_lines, depth_rows, twice
from tissue.rounds.cases import Case, asked, micrometres, picked, picked_if_any, um_line
from tissue.rounds.line import Given, Line, written
from tissue.rounds.question import Question
from tissue.routes.cutting import done_percent
from tissue.routes.enhancement import enhancement
from tissue.routes.rescue import Rescue, rescue
from tissue.routes.reserve import reserve_um, reserves
from tissue.routes.route import Route
from tissue.routes.ways import ANOTHER_DAY, PROTOCOL, rescue_ways

BLENDS = ("ablation_blend_mm", "lenticule_blend_mm", "base_um")
SIDES: dict[str, str] = {
    "thinner-cap": "above the abandoned cut, under a thinner cap",
    "thicker-cap": "below the abandoned cut, under a thicker cap",
}
BOTH = tuple(SIDES)  # the way above the abandoned cut, and the one below it
ADDED_UM = 0.05  # a bed lower than the first by less than this counts as unchanged


def may_go_on(case: Case) -> bool:
    """Whether a further operation may be imagined after an extraction; not on a published eye with its own history."""
    return not case.reported and bool(case.comparison.under_cap.available)


def moment(stage: str, done: float) -> Given:
    """The Given row of a moment of the cuts."""
    return Given("Suction lost", f"{STAGE_WORDS[stage]}, {done_percent(done)} % of it done")


def suction(case: Case, rng: Generator) -> Question | None:
    """Rescue options that are described for a moment of the cuts."""
    stage, done = picked(rng, data("rounds")["settings"]["stages"])
    if not may_go_on(case):
        return None
    found = rescue(case.comparison, stage, done)
    if not found.is_described:  # no question where no source has an answer
        return None
    names = {way.id: way.name for way in rescue_ways().values()}
    answer = tuple(names[one.way.id] for one in found.routes)
    rows = [moment(stage, done)]
    if not np.isnan(found.cut_radius_mm):
        rows.append(Given("Radius that the cut has reached", f"{written(float(found.cut_radius_mm), 2)} mm"))
    lines = [Line(one.way.name, text=_figure(one)) for one in found.routes]
    lines += _limit_lines(found)
    lines += [Line(f"{one.way.name}: {one.way.text}", sign="·") for one in found.routes]
    lines.append(Line(PROTOCOL, sign="·"))
    prompt = "Which rescue options are described for this moment? Mark every one."
    more = {"before": ANOTHER_DAY, "choices": tuple(names.values()), "shows": case.comparison}
    return asked("suction", case, prompt, rows, "some", answer, lines=lines, setting=f"{stage} {done:g}", **more)


def _limit_lines(found: Rescue) -> list[Line]:
    """Lines beside the ways of a moment: the share done compared with the limit, and how far the cut has come."""
    if found.stage != CUT:
        return []
    percent, rim = float(100.0 * found.done), float(found.clock.lenticule_radius_mm)
    below = data("ways_out")["rescue"]["restart_below_percent"]
    return [
        Line(f"{below} % of the lenticule cut: under it the same plan again", sign="·"),
        Line("Share of the lenticule cut that is done", percent, "%", 1, "·"),
        Line("Radius that the cut has reached, outside in", float(found.cut_radius_mm), "mm", 2, "·").by(
            "{rim} · √(1 − {done} / 100)", rim=(rim, 3), done=(percent, 1)
        ),
    ]


def _figure(route: Route) -> str:
    """What a way leaves, in words."""
    return f"bed {written(float(route.bed_central_um))} µm" if route.available else route.why_not


def recut(case: Case, rng: Generator) -> Question | None:
    """Bed of the same lenticule cut again above or below the abandoned cut."""
    settings = data("rounds")["settings"]
    done, way = float(picked(rng, settings["lenticule_done"])), picked(rng, tuple(SIDES))
    plan = case.comparison
    if not may_go_on(case) or not np.isnan(given(plan.cap.recut_cap_um, np.nan)):
        return None
    route = next(one for one in rescue(plan, CUT, done).routes if one.way.id == way)
    if not route.available:
        return None
    lower = way == "thicker-cap"
    prompt = f"The same lenticule cut again {SIDES[way]} that keeps the margin: what bed would be left at the centre?"
    rows = [moment(CUT, done), *_recut_rows(case, route, lower)]
    lines = _recut_lines(plan, route, lower)
    bed = float(route.bed_central_um)
    slips = twice(case, plan.under_cap.option.name, bed)
    more = {"before": ANOTHER_DAY, "shows": plan, "setting": f"{way} {done:g}", "slips": slips}
    return asked("recut", case, prompt, rows, "number", bed, lines=lines, **more)


def _old_plane_um(plan: Comparison, route: Route, lower: bool) -> float:
    """The old cut from which the margin counts [µm]: its lower plane where it is deepest, or the cap's."""
    if lower:
        return float(route.cut_um - plan.judgement.margin_um)
    return float(plan.under_cap.option.cut_um)


def _recut_rows(case: Case, route: Route, lower: bool) -> list[Given]:
    """The Given rows of a second cut."""
    cap = case.comparison.under_cap.option.cut_um
    rows = [case.given("central_thickness_um"), micrometres("Cap of the plan", cap)]
    if lower:
        ring = _old_plane_um(case.comparison, route, lower) - cap
        rows.append(micrometres("Lenticule, base included, thickest in the ring that is cut", ring))
    centre = micrometres("Lenticule, base included, at the centre", route.removal_central_um)
    return [*rows, centre, case.given("margin_um")]


def _recut_lines(plan: Comparison, route: Route, lower: bool) -> list[Line]:
    """The Lines from the thickness to the bed of a second cut."""
    where = "Old lower plane, deepest where it is cut" if lower else "Cap of the plan"
    return [
        um_line("Thickness at the centre", plan.cornea.central_thickness_um),
        um_line(where, _old_plane_um(plan, route, lower), "−"),
        um_line("Margin", plan.judgement.margin_um, "−" if lower else "+"),
        um_line("Lenticule, base included, centre", route.removal_central_um, "−"),
        um_line("Residual bed of the new plan, centre", route.bed_central_um, "="),
        um_line("The new cap", route.cut_um, "·").by(
            "{old plane} + {margin}" if lower else "{cap} − {margin}",
            {
                "old plane" if lower else "cap": (_old_plane_um(plan, route, lower), 0),
                "margin": (float(plan.judgement.margin_um), 0),
            },
        ),
        um_line("Bed of the plan", plan.under_cap.budget.bed_central_um, "·"),
        Line(route.way.text, sign="·"),
    ]


def reserve(case: Case, rng: Generator) -> Question | None:
    """Bed over the line that a way leaves for later."""
    name = picked_if_any(rng, available(case))
    if name is None:
        return None
    over = float(reserve_um(case.comparison, name))
    myopia = reserves(case.comparison, case.inputs.values.get("ablation_blend_mm", NOT_GIVEN))[name].myopia_D
    *sum_lines, last = bed_lines(case, name)
    lines = [
        *sum_lines,
        um_line("The line that is drawn", case.comparison.judgement.bed_line_um, "−"),
        um_line("Reserve over the line", over, "=", True),
        um_line("The bed", last.value, "·"),
        Line(
            "Myopia that an ablation of the reserve could treat, by thickness alone",
            float(myopia),
            "D",
            2,
            "·",
        ),
    ]
    rows = [*depth_rows(case, name), case.given("bed_line_um")]
    title = case.comparison.results[name].option.title
    prompt = f"What reserve over the line does the {title} leave at the centre for later?"
    slips = (added(case.comparison.results[name], over), *twice(case, name, over))
    more = {"setting": name, "signed": True, "shows": case.comparison, "slips": slips}
    return asked("reserve", case, prompt, rows, "number", over, lines=lines, **more)


def second(case: Case, rng: Generator) -> Question | None:
    """Bed after an enhancement by one of its ways."""
    power = float(picked(rng, data("rounds")["settings"]["residual_D"]))
    plan = case.comparison
    if not may_go_on(case):
        return None
    blends = {name: case.inputs.values.get(name, NOT_GIVEN) for name in BLENDS}
    try:
        found = enhancement(plan, Refraction(power, vertex_mm=plan.measured.vertex_mm), **blends)
    except EyeError:
        return None
    route = picked_if_any(rng, [one for one in found.routes if one.available])
    if route is None:
        return None
    first = plan.under_cap.budget
    bed = float(route.bed_central_um)
    now = float(route.removal_central_um) if first.bed_central_um - bed > ADDED_UM else 0.0
    rows = [
        case.given("central_thickness_um"),
        micrometres("Cap of the primary treatment", first.cut_um),
        micrometres("First lenticule, base included, centre", first.removal_central_um),
        Given("Residual refraction", f"{written(power, 2)} D"),
        micrometres(f"{route.way.name}: removal of the second act, centre", route.removal_central_um),
    ]
    lines = [
        um_line("Thickness at the centre", plan.cornea.central_thickness_um),
        um_line(f"{plan.under_cap.option.above.capitalize()} of the primary treatment", first.cut_um, "−"),
        um_line("First lenticule, base included", first.removal_central_um, "−"),
        um_line("Taken from the bed by the second act" if now else "The second act stays in the cap", now, "−"),
        um_line("Residual bed after both, centre", bed, "="),
        um_line("Bed after the first", first.bed_central_um, "·"),
        Line(route.way.text, sign="·"),
    ]
    prompt = (
        f"After the extraction {written(power, 2)} D are left. {route.way.what}: what bed is left at the centre "
        "after both?"
    )
    more = {
        "setting": f"{route.way.id} {power:g}",
        "shows": plan,
        "slips": twice(case, plan.under_cap.option.name, bed),
    }
    return asked("second", case, prompt, rows, "number", bed, lines=lines, **more)
