"""The ladder of published experiments for machines, for the terminal and for the page: one wording."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

from tissue.ground.sources import source
from tissue.ground.vocabulary import signed
from tissue.mechanics.ladder.cases import Case, Run, cases
from tissue.mechanics.ladder.shear_lag import lost_share
from tissue.mechanics.laws.choice import LAWS, SAME
from tissue.mechanics.shape import NUMBERS
from tissue.mechanics.states import BARE, LIFTED, SLACK, SLIDING, TAUT
from tissue.report.contract import SCHEMA, plain_json
from tissue.report.measures import NO_FIGURE, STANDING_LINE

SAID = (
    "Every figure is computed, and none is tuned but where it says so; cases that do not come out stay.",
    "Nothing here says that a law is right: it says how far each is from what was published.",
)
VERDICTS = {
    "inside": "inside the published range",
    "below": "below the published range",
    "above": "above the published range",
    "no-spread": "no spread was published",
    "same-sign": "the published sign",
    "other-sign": "the other sign",
    "same-order": "the published order",
    "other-order": "another order",
    "not-computed": "not computed",
}
STATES = {
    TAUT: "cap taut",
    SLIDING: "cap sliding",
    "lenticule_closed": "cap closed",
    SLACK: "cap carries nothing",
    BARE: BARE,
    LIFTED: LIFTED,
}
SIGNS = {-1.0: "−", 1.0: "+"}
EPITHELIUM_MM, THICKNESS_MM = 0.053, 0.55  # of the base eye


def ladder_report(runs: Mapping[str, Sequence[Run]]) -> dict[str, Any]:
    """The ladder under the names of the interface: strict JSON.

    Args:
        runs: {id of a case: its Runs}.
    """
    return plain_json({"schema": SCHEMA, "cases": [_case(case, runs[name]) for name, case in cases().items()]})


def _case(case: Case, runs: Sequence[Run]) -> dict[str, Any]:
    """One case by the names of the interface."""
    names = ("id", "published", "metric", "population", "n", "value", "low", "high", "spread_kind", "comparison")
    made = {name: getattr(case, name) for name in names}
    made |= {"source": case_citation(case), "status": case.status, "note": case.note}
    return made | {"runs": [asdict(run) for run in runs]}


def ladder_table(runs: Mapping[str, Sequence[Run]]) -> str:
    """The ladder for the terminal.

    Args:
        runs: {id of a case: its Runs}.
    """
    lines = []
    for name, case in cases().items():
        lines += [f"{name}: {case.published}", f"  {case.metric}; {population(case)}"]
        lines += [f"    {line}" for line in (*said(case, runs[name]), *closed_form(case))]
        lines += [f"  {case.note}", f"  {case_citation(case)}", ""]
    return "\n".join([*lines, *SAID, "", STANDING_LINE])


def population(case: Case) -> str:
    """Who was measured, and how many."""
    return case.population if case.n is None else f"{case.population}, n = {case.n}"


def case_citation(case: Case) -> str:
    """The citation of a case."""
    return source(case.source).citation


def said(case: Case, runs: Sequence[Run]) -> list[str]:
    """What every law gave for a case, a line for each law and state.

    Args:
        case: Case.
        runs: its Runs.
    """
    if not runs:
        return ["not compared"]
    return [f"{_law(group)}: {_values(case, group)}" for group in _grouped(runs)]


def _grouped(runs: Sequence[Run]) -> list[list[Run]]:
    """Runs that share one line: those of one law and state, by depth relationships or by shear ratios."""
    groups: dict[tuple, list[Run]] = {}
    for run in runs:
        family = "" if run.shear_relationship is None else run.shear_relationship
        groups.setdefault((run.law, family, run.set, run.state), []).append(run)
    return list(groups.values())


def _law(group: Sequence[Run]) -> str:
    """The law and state that a line is about."""
    one, state = group[0], STATES.get(group[0].state, "")
    if one.law is None:
        words = "geometry alone"
    elif one.law == "fibre":
        words = f"fibre law, {one.set} set" + ", fitted to this" * one.fitted
    elif one.law == "isotropic":
        words = "isotropic"
    else:
        ratios = [f"{run.shear_ratio:g}" for run in group]
        words = f"transverse, ratio {ratios[0]}" + (f" to {ratios[-1]}" if len(ratios) > 1 else "")
    return f"{words}, {state}" if state else words


def _values(case: Case, group: Sequence[Run]) -> str:
    """The values of one line with their verdicts."""
    by_value = case.comparison == "value"
    if not by_value or len(group) == 1:
        verdicts = dict.fromkeys(VERDICTS[run.verdict] for run in group)
        texts = dict.fromkeys(_value(case, run.value) for run in group)
        return f"{' or '.join(texts)} ({' or '.join(verdicts)}{_off(group[0]) if by_value else ''})"
    values: list[Any] = [run.value for run in group]
    first = f"{_value(case, values[0])} by {group[0].relationship}, " if group[0].law == "isotropic" else ""
    ends = f"{_value(case, min(values))} to {_value(case, max(values))}"
    return f"{first}{ends} over {'relationships' if first else 'the ratios'} ({VERDICTS[group[0].verdict]})"


def _off(run: Run) -> str:
    """The difference of a value from the published one, in words; empty where there is none."""
    return f", {signed(run.difference, 1)} from it" if run.difference else ""


def _value(case: Case, value: Any) -> str:
    """One value as it is read."""
    if isinstance(value, (list, tuple)):
        return " < ".join(value)
    if case.comparison == "sign":
        return SIGNS[value]
    return f"{value:.2f}" if case.low is not None else signed(value, 1)


def by_law(case: Case, runs: Sequence[Run]) -> dict[str, tuple[str, ...]]:
    """What each law gave for a case in short, {law: lines}, a line for each state; a dash where a law was not run."""
    made = {}
    for law in LAWS:
        states: dict[str, list[Run]] = {}
        for run in runs:
            if run.law == law:
                states.setdefault(run.state, []).append(run)
        made[law] = tuple(f"{_short(state)}{_together(case, mine)}" for state, mine in states.items()) or (NO_FIGURE,)
    return made


def _short(state: str) -> str:
    """The name of a state before its values; empty where there is only one state."""
    return f"{STATES[state]}: " if state in STATES else ""


def _together(case: Case, runs: Sequence[Run]) -> str:
    """The values of one law and state in one line."""
    if case.comparison != "value":
        return " or ".join(dict.fromkeys(_value(case, run.value) for run in runs))
    if runs[0].law == "fibre":
        return ", ".join(f"{run.set} {_value(case, run.value)}" + " (fitted)" * run.fitted for run in runs)
    usual = [run for run in runs if run.shear_relationship != SAME]
    first = _value(case, usual[0].value)
    values: list[Any] = [run.value for run in runs]
    if len(values) == 1:
        return first
    over = "" if len(usual) == len(runs) else " over the ratios"
    return f"{first} ({_value(case, min(values))} to {_value(case, max(values))}{over})"


def verdicts(runs: Sequence[Run]) -> list[str]:
    """The verdicts on the runs of a case, each once; a verdict that holds only for some of them says so."""
    found = list(dict.fromkeys(VERDICTS[run.verdict] for run in runs)) or ["not compared"]
    return found if len(found) == 1 else [f"some: {words}" for words in found]


def closed_form(case: Case) -> list[str]:
    """The line for a side cut in closed form, beside what the laws gave; empty for other cases."""
    if case.experiment != "side cut":
        return []
    front = case.depth_um / 1000.0 - EPITHELIUM_MM
    sizes = case.diameter_mm / 2.0, front, THICKNESS_MM - EPITHELIUM_MM - front, NUMBERS["poisson"]
    shares = " and ".join(f"{100.0 * lost_share(k, *sizes):.2g} % at ratio {k:g}" for k in (47.0, 1000.0))
    return [f"two bonded discs in closed form: the front one loses at its centre {shares} of its load"]
