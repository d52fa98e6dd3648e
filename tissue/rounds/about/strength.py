"""Questions on relative strength: how it depends on the chosen relationship and on the credits."""

from itertools import combinations

import numpy as np
from numpy.random import Generator

from tissue.budget.strength.relationship import relationships
from tissue.budget.strength.strength import relative_strength
from tissue.removal.options import Every
from tissue.rounds.about.depth import ABOVE, available, planned_alike
from tissue.rounds.cases import Case, asked, micrometres, picked
from tissue.rounds.line import BESIDE, Given, Line, Slip, written
from tissue.rounds.question import NONE, Question

SHORT = Every(lambda traits: traits.act)
ALIKE_POINTS = 1.0
COUNTS = ("no", "one", "two", "three", "four", "five", "six")  # in words
BORDER_POINTS = 0.1  # a difference this close to the limit is not asked about
CREDITS = {1.0: "Flap and cap both count as loaded, each in full", 0.0: "Neither flap nor cap counts as loaded"}


def _rows(case: Case) -> list[Given]:
    """Given rows that decide a strength: thickness, epithelium, cut and removal of the ways."""
    flap, cap = case.comparison.under_flap, case.comparison.under_cap
    rows = [case.given("central_thickness_um"), case.given("epithelium_um")]
    rows += [micrometres(ABOVE[one.option.name], one.budget.cut_um) for one in (flap, cap)]
    rows.append(micrometres("Removed by the ablation, centre", flap.budget.removal_central_um))
    return [*rows, micrometres("Lenticule, centre, base included", cap.budget.removal_central_um)]


def _known(case: Case) -> bool:
    """Whether every way has figures of the same plan, strengths included."""
    if len(available(case)) < len(SHORT) or not planned_alike(case):
        return False
    chosen = case.comparison.judgement.relationship
    return all(np.isfinite(one.strength.strength_percent[chosen]) for one in case.comparison.results.values())


def _percents(case: Case, name: str) -> dict[str, float]:
    """Strength of every way by one relationship, as it is shown: {way: % with one decimal}."""
    results = case.comparison.results
    return {way: round(float(results[way].strength.strength_percent[name]), 1) for way in SHORT}


def _order(percents: dict[str, float]) -> tuple[int, ...]:
    """The order of each pair of ways, from the figures as shown: 1 or −1, and 0 for less than a point.

    >>> _order({"surface": 68.1, "flap": 53.9, "lenticule": 68.9})
    (1, 0, -1)
    """
    pairs = combinations(percents.values(), 2)
    apart = (round(first - second, 1) for first, second in pairs)
    return tuple(0 if abs(one) < ALIKE_POINTS else int(np.sign(one)) for one in apart)


def _said(percents: dict[str, float]) -> str:
    """Strengths of the ways in words, the greatest first.

    >>> _said({"surface": 68.1, "flap": 53.9, "lenticule": 74.9})
    'extraction 74.9, surface 68.1, flap 53.9'
    """
    ways = sorted(percents, key=lambda way: -percents[way])
    return ", ".join(f"{SHORT[way]} {written(percents[way], 1)}" for way in ways)


def ranking(case: Case, rng: Generator) -> Question | None:
    """Relationships that put the ways in another order than the chosen one does."""
    if not _known(case):
        return None
    chosen, names = case.comparison.judgement.relationship, relationships()
    first = _percents(case, chosen)
    if 0 in _order(first):
        return None
    others = {name: one.short for name, one in names.items() if name != chosen}
    answer = tuple(word for name, word in others.items() if _order(_percents(case, name)) != _order(first)) or (NONE,)
    given = [*_rows(case), Given(f"{_capital(names[chosen].short)}, %", _said(first))]
    lines = [Line(f"{_capital(names[chosen].short)}, %", text=_said(first))]
    for name, word in others.items():
        same = "the same order" if word not in answer else "another order"
        lines.append(Line(f"{_capital(word)}, %: {same}", text=_said(_percents(case, name))))
    lines += [_kept(case, way, chosen)._replace(sign=BESIDE) for way in SHORT]
    prompt = (
        f"Which relationships rank the {COUNTS[len(first)]} ways otherwise than the {names[chosen].short} does: a "
        "pair the other way round, or less than 1 point apart?"
    )
    choices = (*others.values(), NONE)
    return asked("ranking", case, prompt, given, "some", answer, lines=lines, choices=choices, shows=case.comparison)


def credits(case: Case, rng: Generator) -> Question | None:
    """Whether flap or extraction keeps more where flap and cap are counted alike."""
    credit = picked(rng, tuple(CREDITS))
    if not _known(case):
        return None
    usual = _percents(case, case.comparison.judgement.relationship)
    flap, cap = case.comparison.under_flap.option.name, case.comparison.under_cap.option.name
    alike = {name: _with_credit(case, name, credit) for name in (flap, cap)}
    apart = alike[cap] - alike[flap]
    if abs(abs(apart) - ALIKE_POINTS) < BORDER_POINTS:
        return None
    choices = ("the extraction, by 1 point or more", "the flap, by 1 point or more", "neither by as much as 1 point")
    answer = choices[2] if abs(apart) < ALIKE_POINTS else choices[0 if apart > 0 else 1]
    given = [*_rows(case), Given(f"{_capital(_short(case))}, as the plan counts them, %", _said(usual))]
    lines = [
        _counted(case, cap, credit, "Extraction, counted alike"),
        _counted(case, flap, credit, "Flap, counted alike")._replace(sign="−"),
        Line("Extraction over flap", apart, "points", 1, "=", True),
        Line("As the plan counts them", usual[cap] - usual[flap], "points", 1, "·", True),
    ]
    prompt = f"{CREDITS[credit]}. Which then keeps more relative strength by the {_short(case)}: flap or extraction?"
    other = {choices[0]: choices[1], choices[1]: choices[0]}.get(answer)
    slips = (Slip("sign", other, "the difference is taken the other way round"),) if other else ()
    more = {"choices": choices, "shows": case.comparison, "slips": slips}
    return asked("credits", case, prompt, given, "one", answer, lines=lines, setting=credit, **more)


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]


def _short(case: Case) -> str:
    return relationships()[case.comparison.judgement.relationship].short


def _with_credit(case: Case, name: str, credit: float) -> float:
    """Relative strength of a way [%] with another credit for what lies above its cut."""
    option, cornea = case.comparison.results[name].option, case.comparison.cornea
    relationship = relationships()[case.comparison.judgement.relationship]
    depths = cornea.central_thickness_um, cornea.epithelium_um, option.cut_um, option.removal.central_um
    return float(relative_strength(relationship, *depths, credit))


def _kept(case: Case, name: str, relationship: str) -> Line:
    """A Line of the strength of a way by a relationship, as the plan counts what lies above its cut."""
    result = case.comparison.results[name]
    value, credit = float(result.strength.strength_percent[relationship]), float(result.option.credit)
    line = Line(f"{_capital(SHORT[name])}, by the {relationships()[relationship].short}", value, "%", 1)
    return _by_shares(line, case, name, relationship, credit)


def _counted(case: Case, name: str, credit: float, words: str) -> Line:
    """A Line of the strength of a way with another credit for what lies above its cut."""
    line = Line(words, _with_credit(case, name, credit), "%", 1)
    return _by_shares(line, case, name, case.comparison.judgement.relationship, credit)


def _by_shares(line: Line, case: Case, name: str, relationship: str, credit: float) -> Line:
    """A Line with the formula of a strength: what counts of the share in front of the cut, and the share behind."""
    option, cornea = case.comparison.results[name].option, case.comparison.cornea
    share, eye = relationships()[relationship].share, (cornea.central_thickness_um, cornea.epithelium_um)
    above, floor = (float(share(depth, *eye)) for depth in (option.cut_um, option.cut_um + option.removal.central_um))
    quantities = {"credit": (credit, 2), "in front of the cut": (above, 3), "behind the removal": (1.0 - floor, 3)}
    return line.by("100 · ({credit} · {in front of the cut} + {behind the removal})", quantities)
