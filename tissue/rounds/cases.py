"""Eyes that questions are asked of: from a plan, and as they were published."""

from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.entry.eye import Inputs, build, not_given, used
from tissue.entry.fields import fields, measure
from tissue.entry.notation import read_number, read_refraction, write
from tissue.options.options import procedures
from tissue.report.terminal import SIDES
from tissue.rounds.question import Given, Line, Question, kinds, written
from tissue.sources import published_series, rows, source_of_eye

REFRACTION = ("sphere_D", "cylinder_D", "axis_deg")
REPORTED = {name: one.reported_field for name, one in procedures().items() if one.cuts}  # the input of a depth
PUBLISHED = "a published eye"


@dataclass(frozen=True, eq=False)
class Case:
    """An eye that is asked about: what it is called, where it comes from, and its figures.

    Args:
        code: what it is called; for a published eye its row of the table.
        side: OD or OS.
        origin: in words, such as `invented`.
        inputs, comparison: Inputs and Comparison.
        reported: citation of a published eye; empty for another.
    """

    code: str
    side: str
    origin: str
    inputs: Inputs
    comparison: Comparison
    reported: str = ""

    @property
    def label(self):
        """The eye in words."""
        return f"{SIDES[self.side]}, {self.code}, {self.origin}"

    @cached_property
    def _used(self):
        return used(self.inputs, self.comparison)

    @cached_property
    def _defaults(self):
        return not_given(self.inputs.values)

    def given(self, name):
        """The Given row of an input, by its name in the interface; a default is marked."""
        field, value = fields()[name], self._used[name]
        if not field.is_number:
            text = str(value)
        elif field.kind == "power":
            text = measure(written(value, 2, signed=True), field.unit)
        else:
            text = measure(f"{round(float(value), 2):g}".replace("-", "−"), field.unit)
        return Given(field.label, text, name in self._defaults)

    def refraction(self, plus=False):
        """The Given row of the treated refraction in one cylinder form."""
        treated = self.comparison.treatment.refraction
        label = "Refraction to be treated, spectacle plane"
        return Given(label, write(treated.sphere_D, treated.cylinder_D, treated.axis_deg)[int(plus)])


def cases_of(plan, code, origin):
    """The Cases of a plan, an eye each.

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
    return tuple(_case(values, side, plan.code or code, origin) for side, values in plan.eyes.items())


def _case(values, side, code, origin, reported=""):
    inputs = build(values, side)
    return Case(code, side, origin, inputs, inputs.compare(), reported)


@cache
def published_cases():
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
        found.append(_case(_published_values(texts, row), texts["side"], texts["patient"], PUBLISHED, citation))
    return tuple(found)


def _published_values(texts, row):
    """Values of a published eye by the names of the interface."""
    numbers = dict(zip(REFRACTION, read_refraction(texts["refraction"]), strict=True))
    values = {name: value for name, value in numbers.items() if not np.isnan(value)}
    for name in ("central_thickness_um", "zone_mm", "flap_measured_um", "cap_um"):
        if texts[name]:
            values[name] = read_number(fields()[name], texts[name])
    if row["procedure"] in REPORTED and row["depth_um"]:
        values[REPORTED[row["procedure"]]] = float(row["depth_um"])
    return values


def asked(kind, case, prompt, given, form, answer, *, lines, setting="", **more):
    """The Question of a kind about a Case.

    Args:
        kind: its id.
        case: Case.
        prompt, given, form, answer, lines: see `Question`.
        setting: what was drawn for it, in words; two questions that differ in it are two questions.
        more: other fields of `Question`.
    """
    return Question(
        id="/".join(filter(None, (kind, case.code, case.side, str(setting)))),
        kind=kinds()[kind],
        eye=case.label,
        side=case.side,
        reported=case.reported,
        prompt=prompt,
        given=tuple(given),
        form=form,
        answer=answer,
        lines=tuple(lines),
        **more,
    )


def picked(rng, items):
    """One of the items, by one draw of a generator whatever their number; None where there are none.

    The draw is made first, so that what follows does not depend on the items of an eye.

    >>> picked(np.random.default_rng(1), ("a", "b"))
    'b'
    """
    at = rng.random()
    return items[int(at * len(items))] if items else None


def micrometres(label, value):
    """A Given row of a computed thickness.

    >>> micrometres("Base", 15.2).text
    '15 µm'
    """
    return Given(label, f"{written(value)} µm")


def um_line(words, value, sign="", signed=False):
    """A Line of whole micrometres."""
    return Line(words, float(value), "µm", 0, sign, signed)
