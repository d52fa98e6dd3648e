"""Questions on what is measured after surgery: growth of the epithelium, what was taken, what stays unexplained."""

from numpy.random import Generator

from tissue.eye.reading import METHOD_WORDS, Reading
from tissue.followup.expected import gain_days, gain_um, grown_share
from tissue.followup.follow import SEEN_WITH, Ledger, follow, treated_SE_D
from tissue.ground.errors import EyeError
from tissue.ground.sources import data
from tissue.rounds.about.depth import available
from tissue.rounds.cases import Case, asked, picked, picked_if_any
from tissue.rounds.line import Given, Line, Slip, written
from tissue.rounds.question import Question

READING = "The reading after surgery is invented."
LEAST_D = 1.0
BEFORE = "ultrasound"  # the method assumed for the thickness before surgery in the account


def _grown(case: Case, days: float) -> tuple[float, float, Line]:
    """Treated spherical equivalent [D], gain of the epithelium after so many days [µm], and its Line."""
    SE = float(treated_SE_D(case.comparison))
    whole, share = float(gain_um(SE, SEEN_WITH)), float(grown_share(days))
    line = Line("Growth of the epithelium", whole * share, "µm", 1)
    formula = "{settled} · (1 − exp(−{days} / {time}))"
    return SE, whole, line.by(formula, settled=(whole, 1), days=(days, 0), time=(gain_days(), 0))


def gain(case: Case, rng: Generator) -> Question | None:
    """How much thicker the epithelium is seen some days after a myopic correction."""
    days = float(picked(rng, data("rounds")["settings"]["days"]))
    SE, whole, line = _grown(case, days)
    if case.reported or SE > -LEAST_D or not available(case):
        return None
    slope = -whole / SE
    given = [
        Given("Treated spherical equivalent", f"{written(SE, 2)} D"),
        Given("Gain once it has settled, for each dioptre", f"{written(slope, 2)} µm"),
        Given("Days in which 63 % of it come about", written(gain_days())),
        Given("Day after surgery", written(days)),
    ]
    settled = Line("Gain once it has settled", whole, "µm", 1).by("−1 · {SE} · {slope}", SE=(SE, 2), slope=(slope, 2))
    slips = (
        Slip("left-out", whole, "the time is left out: the gain has not settled yet"),
        Slip("sign", whole - line.value, "what is still to come is given"),
    )
    prompt = f"By how much is the epithelium thicker on day {days:.0f}, as published gains say?"
    more = {"setting": f"{days:g}", "slips": slips}
    return asked("gain", case, prompt, given, "number", line.value, lines=[settled, line], **more)


def taken_by_readings(case: Case, rng: Generator) -> Question | None:
    """What was taken, from a reading before, a reading after and the growth of the epithelium."""
    days, off = (float(picked(rng, data("rounds")["settings"][name])) for name in ("days", "reading_off_um"))
    name = picked_if_any(rng, available(case))
    SE, whole, grown = _grown(case, days)
    if case.reported or name is None or SE > -LEAST_D:
        return None
    plan = case.comparison
    r, T = float(plan.results[name].budget.removal_central_um), float(plan.cornea.central_thickness_um)
    after = float(round(T - r + grown.value + off))
    answer = T - after + grown.value
    given = [
        case.given("central_thickness_um"),
        Given(f"Thickness on day {days:.0f}, by the same method", f"{written(after)} µm"),
        Given("Growth of the epithelium until then", f"{written(grown.value, 1)} µm"),
    ]
    lines = [
        Line("Thickness before", T, "µm", 0),
        Line("Thickness after", after, "µm", 0, "−"),
        grown._replace(sign="+", formula="", put=()),
        Line("Taken, by the two readings", answer, "µm", 0, "="),
        Line("Planned at the centre", r, "µm", 0, "·"),
    ]
    slips = (Slip("epithelium", answer - grown.value, "the growth of the epithelium is left out"),)
    prompt = "How much was taken at the centre, by the two readings and the growth of the epithelium?"
    more = {"setting": f"{name} {days:g} {off:g}", "before": READING, "slips": slips}
    return asked("achieved", case, prompt, given, "number", answer, lines=lines, **more)


def account(case: Case, rng: Generator) -> Question | None:
    """What stays unexplained of the fall of the thickness, by the account of a reading."""
    days, off = (float(picked(rng, data("rounds")["settings"][name])) for name in ("days", "reading_off_um"))
    name = picked_if_any(rng, available(case))
    if case.reported or name is None:
        return None
    plan = case.comparison
    expected = float(plan.cornea.central_thickness_um - plan.results[name].budget.removal_central_um)
    try:
        reading = Reading(days, SEEN_WITH, thickness_um=float(round(expected + off)))
    except EyeError:  # no question about a reading that would be impossibly thin
        return None
    found: Ledger | None = follow(plan, name, [reading], BEFORE).ledgers[0]
    if found is None:
        return None
    parts = (
        ("Planned removal", found.planned_um, ""),
        ("Not removed, by the readings", found.not_removed.mean_um, "−"),
        ("Grown back", found.grown_back.mean_um, "−"),
        (f"{METHOD_WORDS[SEEN_WITH]} instead of {METHOD_WORDS[BEFORE]}", found.method.mean_um, "−"),
        ("Fall of the thickness as measured", found.measured_um, "−"),
    )
    lines = [Line(words, float(value), "µm", 1, sign) for words, value, sign in parts]
    answer = float(found.unexplained.mean_um)
    given = [Given(line.words, f"{written(line.value, 1)} µm") for line in lines]
    lines.append(Line("Unexplained", answer, "µm", 1, "=", True))
    prompt = "The account of a reading after surgery: how much of the planned removal stays unexplained?"
    more = {"setting": f"{name} {days:g} {off:g}", "before": READING, "signed": True}
    return asked("account", case, prompt, given, "number", answer, lines=lines, **more)
