"""From the texts in the fields of one eye to its figures, or to what is wrong in words; and back to texts."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.map_figures import MapFigures, map_figures
from tissue.budget.notices import Notice, notices
from tissue.entry.checks import Fault, check_one, fault_of
from tissue.entry.eye import Inputs, build
from tissue.entry.fields import fields, figure
from tissue.entry.notation import write
from tissue.entry.typed import REFRACTION, read_fields
from tissue.explore.costs import Beside, planned_and_measured, step_costs, thin_lenticule_cures
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import TRUE_MINUS
from tissue.optics.figures import optics_by_option
from tissue.screens.desk.drawn import Drawn, sampled
from tissue.screens.desk.machine import with_own


@dataclass(frozen=True, eq=False)
class Shown:
    """The figures of one eye: its texts, inputs and comparison at once, the rest worked out when it is asked for."""

    texts: dict[str, Any]
    inputs: Inputs
    comparison: Comparison

    @cached_property
    def notices(self) -> list[Notice]:
        """The notices of this eye, see `tissue.budget.notices.notices`."""
        return notices(self.comparison)

    @cached_property
    def costs(self) -> dict[str, Any]:
        """What one step of zone, cap and flap costs in every option, see `tissue.explore.costs.step_costs`."""
        return step_costs(self.inputs.values)

    @cached_property
    def cures(self) -> list[Beside]:
        """What can be done about a thin lenticule, side by side, see `tissue.explore.costs.thin_lenticule_cures`."""
        return thin_lenticule_cures(self.inputs.values)

    @cached_property
    def on_map(self) -> dict[str, MapFigures]:
        """What the eye's own map adds to every option; see `tissue.budget.map_figures.map_figures`."""
        return map_figures(self.comparison)

    @cached_property
    def measured(self) -> dict[str, Any]:
        """Planned and measured cuts beside each other, see `tissue.explore.costs.planned_and_measured`."""
        return planned_and_measured(self.inputs.values)

    @cached_property
    def optics(self) -> dict[str, Any]:
        """The Optics of every option by name; None where the option is not available."""
        eye, results = self.comparison, self.comparison.results
        there = [name for name, result in results.items() if result.available]
        if not there:
            return dict.fromkeys(results)
        found = optics_by_option(eye.cornea, eye.treatment, [results[name].option for name in there], eye.pupil)
        return dict.fromkeys(results) | dict(zip(there, found, strict=True))

    @cached_property
    def drawn(self) -> Drawn:
        """What the errors do to every figure, see `tissue.screens.desk.drawn.sampled`."""
        return sampled(self.comparison)

    @property
    def drawn_yet(self) -> Drawn | None:
        """`drawn` if it was worked out already, otherwise None."""
        return vars(self).get("drawn")


def shown_eye(
    texts: dict[str, Any], side: str, read: Callable[..., Any] = read_fields
) -> tuple[Shown | None, dict[str, Fault]]:
    """The Shown of these texts, or None; and the Faults by field.

    Args:
        texts: by name, what was typed.
        side: OD or OS.
        read: gives what `read_fields` gives, from memory where these texts were read before.
    """
    values, wrong = read(texts, side)
    if wrong:
        return None, wrong
    try:
        inputs = build(with_own(values), side)
        comparison = inputs.compare()
    except EyeError as error:
        return None, {error.field: fault_of(error)}
    return Shown(dict(texts), inputs, comparison), {}


def displayed(texts: dict[str, Any], values: dict[str, Any]) -> dict[str, str]:
    """The text of every field: as it was typed, and the refraction in its other spelling too.

    Args:
        texts: by name, what was typed.
        values: by name, what was read.

    >>> typed = {"refraction": "-6 -1,25 x 170"}
    >>> displayed(typed, read_fields(typed)[0])["sphere_D"]
    '−6.00'
    """
    found = dict.fromkeys(fields(), "") | {name: text for name, text in texts.items() if name in fields()}
    if "sphere_D" not in values:
        return found
    if "refraction" in texts:
        return found | {name: number_text(name, values[name]) for name in REFRACTION if name in values}
    cylinder = values.get("cylinder_D", 0.0)
    forms = write(values["sphere_D"], cylinder, values.get("axis_deg", 180.0))
    return found | {"refraction": forms[1] if cylinder > 0 else forms[0]}


def number_text(name: str, value: float) -> str:
    """A number as the text of its field: a power has its sign and two decimals.

    >>> number_text("sphere_D", -6.0), number_text("zone_mm", 6.5)
    ('−6.00', '6.5')
    """
    if fields()[name].kind == "power":
        return f"{value:+.2f}".replace("+0.00", "0.00").replace("-0.00", "0.00").translate(TRUE_MINUS)
    return figure(round(float(value), 4))


def placeholder(name: str, used: dict[str, Any]) -> str:
    """The grey text in a field that is not given: the value that is used instead.

    Args:
        name: the field.
        used: by name, the value used, see `tissue.entry.eye.used`.
    """
    field, value = fields()[name], used.get(name, "")
    if not field.is_number:
        return str(value or "")
    if name.startswith("treated_") or value is None or np.isnan(value):
        return ""
    return number_text(name, round(float(value), 2))


def stepped(name: str, text: str, step: int) -> str:
    """The text of a number after some steps of its field, kept within its limits; a text that is no number stays.

    >>> stepped("sphere_D", "−6.00", 1), stepped("axis_deg", "12", -2), stepped("zone_mm", "9", 3)
    ('−5.75', '10', '9')
    """
    field, value = fields()[name], check_one(name, text)
    if isinstance(value, Fault):
        return text
    start = float(field.default or 0.0) if np.isnan(value) else float(value)
    by = field.step or 1.0
    return number_text(name, float(np.clip(round(start / by + step) * by, field.low, field.high)))
