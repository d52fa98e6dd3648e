"""The published experiments as data, what the laws gave, and the verdicts."""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from tissue.ground.sources import DATA, data
from tissue.mechanics.laws.choice import SAME, Choice

Value = float | list[str]  # a number, a sign, or names from least to greatest
Written = dict[str, Any]  # what ladder_runs.json keeps of a run
RUNS = DATA / "ladder_runs.json"
DEPTH = ("nambiar2023", "uniform", "reinstein2013", "dias2013", "petsche2012")
SHEAR_RATIOS = (2.98, 10.0, 47.0, 100.0, 300.0, 1000.0)
FITTED = {"apex-rise": "donor"}  # the set of numbers that was fitted to the experiment


@dataclass(frozen=True, eq=False)
class Case:
    """One published experiment; the names are those of data/ladder.toml, None where it has no such figure."""

    id: str
    published: str
    metric: str
    population: str
    spread_kind: str
    comparison: str
    source: str
    status: str
    note: str
    laws: list[str]
    n: int | None = None
    value: Value | None = None
    low: float | None = None
    high: float | None = None
    experiment: str = ""
    measure: str = ""
    depth_um: float = 0.0
    diameter_mm: float = 0.0
    power_D: float = 0.0
    powers_D: tuple[float, ...] = ()
    states: tuple[str, ...] = ()

    def choices(self) -> Sequence[Choice | None]:
        """Every Choice of a law that the case is run with; a Choice without a law where only geometry counts."""
        made: list[Choice | None] = [choice for family in self.laws for choice in FAMILIES[family]()]
        return made or [None] * bool(self.experiment)


@dataclass(frozen=True, eq=False)
class Run:
    """What one law gave for one state, and how that compares with the published figure.

    value: a number, a sign, or names from least to greatest; None where it could not be computed. difference: value
    minus the published one, or its distance from the published range. fitted: whether the law's numbers were fitted to
    this very experiment.
    """

    law: str | None
    relationship: str | None
    shear_ratio: float | None
    shear_relationship: str | None
    set: str | None
    state: str
    value: Value | None
    difference: float | None
    verdict: str
    fitted: bool


FAMILIES: dict[str, Callable[[], list[Choice]]] = {
    "depth": lambda: [Choice(name) for name in DEPTH],
    "transverse": lambda: [Choice(law="transverse")],
    "shear": lambda: [Choice(law="transverse", shear_ratio=k, shear_relationship=SAME) for k in SHEAR_RATIOS],
    "fibre": lambda: list(Choice(law="fibre").others().values()),
}


@cache
def cases() -> dict[str, Case]:
    """Every Case by its id, in the order of the data file.

    >>> cases()["flap-90"].value
    9.0
    """
    return {entry["id"]: Case(**entry) for entry in data("ladder")["case"]}


def kept_runs() -> dict[str, tuple[Run, ...]]:
    """What the laws gave when the file was last written, {id: (Run, …)}."""
    return judged_runs(json.loads(RUNS.read_text("utf-8")))


def judged_runs(written: dict[str, list[Written]]) -> dict[str, tuple[Run, ...]]:
    """The same for the result of `fresh_runs`."""
    return {name: tuple(judged(cases()[name], one) for one in made) for name, made in written.items()}


def judged(case: Case, made: Written) -> Run:
    """Run of a case from what is written of it."""
    value = made["value"]
    difference, verdict = JUDGES[case.comparison](case, value) if value is not None else (None, "not-computed")
    fitted = made["set"] is not None and FITTED.get(case.id) == made["set"]
    return Run(**made, difference=difference, verdict=verdict, fitted=fitted)


def _by_value(case: Case, value: Any) -> tuple[float, str]:
    """How a value lies to the published range; without a range only the difference is given."""
    if case.low is None or case.high is None:
        return value - case.value, "no-spread"
    if case.low <= value <= case.high:
        return 0.0, "inside"
    return (value - case.low, "below") if value < case.low else (value - case.high, "above")


def _by_sign(case: Case, value: Any) -> tuple[None, str]:
    """Whether a sign is the published one."""
    return None, "same-sign" if value == case.value else "other-sign"


def _by_order(case: Case, value: Any) -> tuple[None, str]:
    """Whether an order is the published one."""
    return None, "same-order" if list(value) == case.value else "other-order"


JUDGES = {"value": _by_value, "sign": _by_sign, "order": _by_order}
