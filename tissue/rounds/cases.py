"""Eyes that questions are about: from a plan, and published ones."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Any, TypeVar

import numpy as np

from tissue.budget.comparison import Comparison, Result
from tissue.entry.eye import Inputs, build, not_given, used
from tissue.entry.fields import fields, measure
from tissue.entry.notation import read_number, read_refraction, write
from tissue.entry.plan_file import Plan
from tissue.ground.sources import eye_name, published_series, rows, source_of_eye
from tissue.ground.vocabulary import REFRACTION, TRUE_MINUS, Floats
from tissue.removal.options import procedures
from tissue.report.terminal import SIDES
from tissue.rounds.line import Given, Line, summed, written
from tissue.rounds.question import Question, kinds

Item = TypeVar("Item")

REPORTED = {name: one.reported_field for name, one in procedures().items() if one.cuts}  # the input that gives a depth
IMAGINED = "Imagined on this eye: it was not reported of it."


@dataclass(frozen=True, eq=False)
class Case:
    """An eye that questions are about: its name, its origin and its figures.

    Args:
        code: its name; for a published eye its row of the table.
        side: OD or OS.
        origin: in words, such as `invented`.
        inputs, comparison: Inputs and Comparison.
        reported: citation of a published eye; empty for another.
        had: the ways that may be asked about; for a published eye the one it had.
        other: the other eye of the same plan; None where there is none.
    """

    code: str
    side: str
    origin: str
    inputs: Inputs
    comparison: Comparison
    reported: str = ""
    had: tuple[str, ...] = tuple(procedures())
    other: "Case | None" = None

    @property
    def label(self) -> str:
        """The eye in words."""
        called = (self.origin,) if self.reported else (self.code, self.origin)
        return ", ".join((SIDES[self.side], *called))

    def may_ask_about(self, result: Result) -> bool:
        """Whether a Result has figures and its way may be asked about."""
        return bool(result.available) and result.option.name in self.had

    def cut(self, result: Result) -> Given:
        """The Given row of what lies above the removal of a way; a default is marked."""
        traits = result.option
        words, measured = traits.above.capitalize(), bool(traits.cut_is_measured)
        named = {traits.cut_field, traits.measured_field} if traits.cuts else {"epithelium_um"}
        default = not named & self.inputs.values.keys() and (bool(traits.cuts) or "epithelium_um" in self._defaults)
        return micrometres(f"{words}, as measured" if measured else words, result.budget.cut_um, default)

    def rests_on_defaults(self, result: Result) -> bool:
        """Whether a removal depends on the tool's default zone: neither a zone nor the laser's depth was given."""
        return not {"zone_mm", result.option.reported_field} & self.inputs.values.keys()

    @cached_property
    def _used(self) -> dict[str, Any]:
        return used(self.inputs, self.comparison)

    @property
    def pupil_mm(self) -> float:
        """Diameter of the pupil [mm], as given or by default."""
        return float(self._used["pupil_mm"])

    @cached_property
    def _defaults(self) -> Any:
        return not_given(self.inputs.values)

    def given(self, name: str) -> Given:
        """The Given row of an input, by its name in the interface; a default is marked."""
        field, value = fields()[name], self._used[name]
        if not field.is_number:
            text = str(value)
        elif field.kind == "power":
            text = measure(written(value, 2, signed=True), field.unit)
        else:
            text = measure(f"{round(float(value), 2):g}".translate(TRUE_MINUS), field.unit)
        return Given(field.label, text, name in self._defaults)

    def refraction(self, plus: bool = False) -> Given:
        """The Given row of the treated refraction in one cylinder form."""
        treated = self.comparison.treatment.refraction
        label = "Refraction to be treated, spectacle plane"
        return Given(label, write(treated.sphere_D, treated.cylinder_D, treated.axis_deg)[int(plus)])


def cases_of(plan: Plan, code: str, origin: str) -> tuple[Case, ...]:
    """The Cases of a plan, one for each eye.

    Args:
        plan: Plan as read from a file.
        code: what to call it where the plan has no code.
        origin: where it comes from, in words.

    Raises:
        EyeError: an eye that the arithmetic refuses.

    >>> from tissue.entry.plan_file import Plan
    >>> cases_of(Plan("", {"OS": {"sphere_D": -3.0, "central_thickness_um": 550.0}}, {}), "mine", "own plan")[0].label
    'OS (left eye), mine, own plan'
    """
    return each_with_other(_case(values, side, plan.code or code, origin) for side, values in plan.eyes.items())


def each_with_other(cases: Iterable[Case]) -> tuple[Case, ...]:
    """The two eyes of one plan, each knowing the other; a single eye stays as it is."""
    found = tuple(cases)
    if len(found) != 2:
        return found
    return tuple(replace(one, other=other) for one, other in zip(found, found[::-1], strict=True))


def _case(values: dict[str, Any], side: str, code: str, origin: str, *more: Any) -> Case:
    inputs = build(values, side)
    return Case(code, side, origin, inputs, inputs.compare(), *more)


@cache
def published_cases() -> tuple[Case, ...]:
    """The published eyes with a refraction and a thickness, with the depth that was reported where one was.

    A depth of surface ablation is left out: whether the epithelium is in it was not stated.

    >>> [case.code for case in published_cases()][:3]
    ['L01a', 'L01b', 'L03']
    """
    head, *eyes = published_series()
    table, found = {row["case_id"]: row for row in rows("published_eyes")}, []
    for eye in eyes:
        texts = dict(zip(head, eye, strict=True))
        row = table[texts["patient"]]
        citation = source_of_eye(texts["patient"]).citation
        had = tuple(
            way for way in procedures() if way == row["procedure"]
        )  # an extraction under a flap is none of the three ways
        called = eye_name(texts["patient"]), citation, had
        found.append(_case(_published_values(texts, row), texts["side"], texts["patient"], *called))
    return tuple(found)


def _published_values(texts: dict[str, str], row: dict[str, str]) -> dict[str, Any]:
    """Values of a published eye by the names of the interface."""
    numbers = dict(zip(REFRACTION, read_refraction(texts["refraction"]), strict=True))
    values = {name: value for name, value in numbers.items() if not np.isnan(value)}
    for name in ("central_thickness_um", "zone_mm", "flap_um", "flap_measured_um", "cap_um"):
        if texts[name]:
            values[name] = read_number(fields()[name], texts[name])
    if row["procedure"] in REPORTED and row["depth_um"]:
        values[REPORTED[row["procedure"]]] = float(row["depth_um"])
    return values


def asked(
    kind: str,
    case: Case,
    prompt: str,
    given: Iterable[Given],
    form: str,
    answer: Any,
    *,
    lines: Iterable[Line],
    **more: Any,
) -> Question:
    """The Question of a kind about a Case.

    Args:
        kind: its id.
        case: Case.
        prompt, given, form, answer: see `Question`.
        lines: the same; a sum gets its formula here.
        more: other fields of `Question`, and the setting: what was drawn for it, in words. Two questions that differ
            in it are two questions. A published eye is not drawn: the picture would show ways it did not have.
    """
    setting = str(more.pop("setting", ""))
    if case.reported:
        before = IMAGINED if kinds()[kind].imagined else ""
        more |= {"shows": None, "before": " ".join(filter(None, (before, more.get("before", ""))))}
    return Question(
        id="/".join(filter(None, (kind, case.code, case.side, setting))),
        kind=kinds()[kind],
        eye=case.label,
        side=case.side,
        reported=case.reported,
        prompt=prompt,
        given=tuple(given),
        form=form,
        answer=answer,
        lines=summed(lines),
        **more,
    )


def picked(rng: np.random.Generator, items: Sequence[Item]) -> Item:
    """One of the items, by one draw of a generator whatever their number.

    >>> picked(np.random.default_rng(1), ("a", "b"))
    'b'
    """
    return items[int(rng.random() * len(items))]


def picked_if_any(rng: np.random.Generator, items: Sequence[Item]) -> Item | None:
    """As `picked`; None where there are none. The draw is made in any case: later draws do not depend on the eye."""
    at = rng.random()
    return items[int(at * len(items))] if items else None


def micrometres(label: str, value: Floats, default: bool = False) -> Given:
    """A Given row of a computed thickness.

    >>> micrometres("Base", 15.2).text
    '15 µm'
    """
    return Given(label, f"{written(float(value))} µm", default)


def um_line(words: str, value: Floats, sign: str = "", signed: bool = False) -> Line:
    """A Line of whole micrometres."""
    return Line(words, float(value), "µm", 0, sign, signed)
