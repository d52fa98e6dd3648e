"""Questions on the arithmetic of a rescue: how far a cut has come, how long it took, how deep the next one lies."""

import numpy as np
from numpy.random import Generator

from tissue.ground.sources import data
from tissue.ground.vocabulary import CAP, CUT, SIDE, STAGES, Floats
from tissue.rounds.about.routes import BOTH, may_go_on, moment
from tissue.rounds.cases import Case, asked, micrometres, picked, um_line
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question
from tissue.routes.cutting import Clock, clock_of
from tissue.routes.rescue import flap_room, rescue
from tissue.routes.ways import ANOTHER_DAY

CLOCK_WORDS = {CUT: CUT, SIDE: "its side cut", CAP: "cap"}
BEFORE_WORDS = CLOCK_WORDS | {SIDE: "side cut"}
KEYS = {CUT: "lenticule cut", SIDE: "side cut", CAP: "cap cut"}
ROUND_UM = 0.1  # a place is used if its figures lead to the room that was found
PLACE_DECIMALS = 2


def _done(rng: Generator) -> float:
    """The share of the lenticule cut that is done [0–1]."""
    return float(picked(rng, [one for one in data("rounds")["settings"]["lenticule_done"] if one < 1.0]))


def _mm(value: Floats) -> str:
    return f"{written(float(value), PLACE_DECIMALS)} mm"


def _first(cuts: Clock) -> str:
    """Words that limit a sentence to one order of the cuts."""
    return "" if cuts.order == STAGES else ", the lenticule cut first"


def cut_radius(case: Case, rng: Generator) -> Question | None:
    """Radius that the lenticule cut has reached, outside in."""
    done = _done(rng)
    if not may_go_on(case):
        return None
    cuts = clock_of(case.comparison)
    rim, answer = float(cuts.lenticule_radius_mm), float(cuts.reached_mm(CUT, done))
    given = [moment(CUT, done), Given("Radius of the lenticule, with its blend", _mm(rim))]
    quantities = {"rim": (rim, PLACE_DECIMALS), "done": (100.0 * done, 0)}
    lines = [
        Line("Share of the area that is not cut yet", 100.0 * (1.0 - done), "%", 0).by("100 − {done}", quantities),
        Line("Radius that the cut has reached", answer, "mm", 2).by("{rim} · √(1 − {done} / 100)", quantities),
    ]
    slips = (
        Slip("left-out", rim * (1.0 - done), "the root is left out: the area goes with the square of the radius"),
        Slip("sign", rim * float(np.sqrt(done)), "the cut is taken to go inside out"),
        Slip("radius", 2.0 * answer, "the diameter is given, not the radius"),
    )
    prompt = "The lenticule cut goes outside in, each turn sweeping its area. Which radius has it reached?"
    more = {"setting": f"{done:g}", "before": ANOTHER_DAY, "slips": slips, "shows": case.comparison}
    return asked("cut-radius", case, prompt, given, "number", answer, lines=lines, **more)


def cut_share(case: Case, rng: Generator) -> Question | None:
    """Share of the lenticule cut that is done when it has reached a radius."""
    done = _done(rng)
    if not may_go_on(case):
        return None
    cuts = clock_of(case.comparison)
    rim, reached = float(cuts.lenticule_radius_mm), round(float(cuts.reached_mm(CUT, done)), PLACE_DECIMALS)
    inner = (reached / rim) ** 2
    answer, limit = 100.0 * (1.0 - inner), data("ways_out")["rescue"]["restart_below_percent"]
    given = [
        Given("Radius of the lenticule, with its blend", _mm(rim)),
        Given("Suction lost when the cut, outside in, has reached a radius of", _mm(reached)),
    ]
    quantities = {"rim": (rim, PLACE_DECIMALS), "reached": (reached, PLACE_DECIMALS)}
    lines = [
        Line("Share of the area inside the radius", 100.0 * inner, "%", 1).by("100 · ({reached} / {rim})²", quantities),
        Line("Share that is done", answer, "%", 1).by("100 · (1 − ({reached} / {rim})²)", quantities),
        Line(f"{limit} % is the limit under which the same plan again is described{_first(cuts)}", sign="·"),
    ]
    slips = (
        Slip("left-out", 100.0 * (1.0 - reached / rim), "the square is left out: the area goes with it"),
        Slip("sign", 100.0 * inner, "the share that is left is given, not the one that is done"),
    )
    prompt = "What share of the lenticule cut is done, by its area?"
    more = {"setting": f"{done:g}", "before": ANOTHER_DAY, "slips": slips, "shows": case.comparison}
    return asked("cut-share", case, prompt, given, "number", answer, lines=lines, **more)


def new_cap(case: Case, rng: Generator) -> Question | None:
    """Depth of a new cap with which the same lenticule is cut again below the abandoned cut."""
    done = _done(rng)
    if not may_go_on(case) or not np.isnan(np.float64(case.comparison.cap.recut_cap_um or np.nan)):
        return None
    plan = case.comparison
    route = next(one for one in rescue(plan, CUT, done).routes if one.way.id == BOTH[1])
    if not route.available:
        return None
    cap, margin, answer = float(plan.under_cap.option.cut_um), float(plan.judgement.margin_um), float(route.cut_um)
    ring = answer - margin - cap
    words = "Lenticule, base included, thickest in the ring that is cut"
    given = [moment(CUT, done), micrometres("Cap of the plan", cap), micrometres(words, ring), case.given("margin_um")]
    lines = [
        um_line("Cap of the plan", cap),
        um_line(words, ring, "+"),
        um_line("Margin between an old and a new cut", margin, "+"),
        um_line("The new cap", answer, "="),
        um_line("Bed under it", route.bed_central_um, "·"),
    ]
    prompt = "The same lenticule is cut again below the abandoned cut, the margin kept. How thick is the new cap?"
    more = {"setting": f"{done:g}", "before": ANOTHER_DAY, "shows": plan}
    return asked("new-cap", case, prompt, given, "number", answer, lines=lines, **more)


def rescue_flap(case: Case, rng: Generator) -> Question | None:
    """Thickest flap that keeps the margin to what was cut, the ablation under it."""
    done = _done(rng)
    if not may_go_on(case) or not case.comparison.under_flap.available:
        return None
    plan = case.comparison
    found = rescue(plan, CUT, done)
    room, margin = flap_room(plan, found.cut), float(plan.judgement.margin_um)
    cap, answer = float(plan.under_cap.option.cut_um), float(found.thickest_flap_um)
    thick = float(plan.under_cap.option.removal.r_um(room.x_mm, room.y_mm))
    ablated = float(plan.under_flap.option.removal.t_um(room.x_mm, room.y_mm))
    if np.isnan(answer) or abs(cap + thick - ablated - float(room.value)) > ROUND_UM:
        return None
    given = [
        moment(CUT, done),
        micrometres("Cap of the plan", cap),
        micrometres("At the place that decides: lenticule, base included", thick),
        micrometres("There: ablation under the flap", ablated),
        case.given("margin_um"),
    ]
    lines = [
        um_line("Cap of the plan", cap),
        um_line("Lenticule there: the cut is its lower plane", thick, "+"),
        um_line("Ablation under the flap, there", ablated, "−"),
        um_line("Margin between an old and a new cut", margin, "−"),
        um_line("Thickest flap that keeps the margin", answer, "="),
    ]
    prompt = "Over to a flap: how thick is it at most, if the ablation under it keeps the margin to the old cut?"
    more = {"setting": f"{done:g}", "before": ANOTHER_DAY, "shows": plan}
    return asked("rescue-flap", case, prompt, given, "number", answer, lines=lines, **more)


def clock_time(case: Case, rng: Generator) -> Question | None:
    """Time on the clock of the cuts when suction is lost in the cap cut."""
    done = _done(rng)
    if not may_go_on(case):
        return None
    cuts = clock_of(case.comparison)
    stage = CAP if cuts.order == STAGES else CUT  # the spiral that is cut second
    before = cuts.order[: cuts.order.index(stage)]
    share = {name: 100.0 * float(part) for name, part in zip(cuts.order, cuts.shares, strict=True)}
    total, answer = float(cuts.total_s), float(cuts.seconds(stage, done))
    given = [
        moment(stage, done),
        Given("All four cuts", f"{written(total, 1)} s"),
        Given(
            f"Of that: {', '.join(CLOCK_WORDS[name] for name in before)}",
            ", ".join(f"{written(share[name], 1)} %" for name in before),
        ),
        Given(f"{CLOCK_WORDS[stage].capitalize()} cut", f"{written(share[stage], 1)} %"),
    ]
    quantities = {KEYS[name]: (share[name], 1) for name in (*before, stage)}
    quantities |= {"done": (100.0 * done, 0), "all": (total, 1)}
    earlier = " + ".join(f"{{{KEYS[name]}}}" for name in before)
    earlier = f"({earlier})" if len(before) > 1 else earlier
    lines = [
        Line(
            " and ".join(BEFORE_WORDS[name] for name in before).capitalize(),
            total * sum(share[name] for name in before) / 100.0,
            "s",
            1,
        ).by(f"{{all}} · {earlier} / 100", quantities),
        Line(f"What is done of the {KEYS[stage]}", total * done * share[stage] / 100.0, "s", 1, "+").by(
            f"{{all}} · {{done}} / 100 · {{{KEYS[stage]}}} / 100", quantities
        ),
        Line("Time when suction is lost", answer, "s", 1, "="),
    ]
    first = "" if cuts.order == STAGES else "The cap is cut first. "
    prompt = f"{first}A cut takes as long as its area is large. At which second of the clock is suction lost?"
    more = {"setting": f"{done:g}", "before": ANOTHER_DAY, "shows": case.comparison}
    return asked("clock", case, prompt, given, "number", answer, lines=lines, **more)
