"""The rows of the tables: each measure with its value, what stands beside it, and what stands behind it."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from tissue.drawing.words import place_words
from tissue.sources import data, source

GROUPS = {"depth": "Depth", "shares": "Shares", "stays": "What stays", "more": "More figures"}
NOT_GIVEN = "–"


@dataclass(frozen=True, eq=False)
class Measure:
    """One row: its words, the figure it shows and what stands behind it; see data/measures.toml."""

    id: str
    label: str
    unit: str
    figure: str
    group: str
    formula: str
    limits: str
    decimals: int = 0
    key: bool = False
    source: str = ""

    @property
    def citation(self):
        """Where the measure comes from, in one line."""
        return source(self.source).citation if self.source else "A definition."


@cache
def measures():
    """Every Measure by its id, in the order of the tables.

    >>> measures()["bed"].label
    'Residual bed (RSB), centre'
    """
    return {name: Measure(id=name, **row) for name, row in data("measures").items()}


def number(value, decimals=0):
    """A figure rounded for the screen, with a true minus sign; an en dash where there is none.

    >>> number(303.51), number(-0.04, 1), number(float("nan"))
    ('304', '0.0', '–')
    """
    if np.isnan(value):
        return NOT_GIVEN
    text = f"{float(value):.{decimals}f}"
    return (text.removeprefix("-") if not text.strip("-0.") else text).replace("-", "−")


def percent(value):
    """A share with one decimal; a share too small for it says so.

    >>> percent(0.02), percent(0.0), percent(12.34)
    ('< 0.1', '0.0', '12.3')
    """
    return "< 0.1" if 1e-9 < value < 0.05 else number(value, 1)


def span(low, high, decimals=0):
    """Two ends of a range; empty where there is none.

    >>> span(291.6, 333.2)
    '292–333'
    """
    return "" if np.isnan(low) or np.isnan(high) else f"{number(low, decimals)}–{number(high, decimals)}"


def strength(result, judgement):
    """Relative strength by the chosen relationship [%]."""
    return result.strength.strength_percent[judgement.relationship]


def value_of(measure, result, judgement):
    """The value of a measure for one option, as it is shown."""
    if measure.figure == "strength":
        return number(strength(result, judgement), measure.decimals)
    if measure.id == "below_line":
        return percent(result.spread.bed_below_line_percent)
    return number(getattr(result.budget, measure.figure), measure.decimals)


def beside(measure, result, side):
    """What stands beside a value: parts, place or spread; empty where there is nothing."""
    if not result.available:
        return ""
    return _BESIDE.get(measure.id, lambda result, side: "")(result, side)


def _parts(result, side):
    figures = result.budget
    parts = {"blend": figures.removal_part_blend_um, "base": figures.removal_part_base_um}
    words = [f"{word} {number(part)}" for word, part in parts.items() if part > 0.5]
    return " + ".join([number(figures.removal_part_refraction_um), *words]) if words else ""


def _over_all(result, side):
    values = [value for value in result.strength.strength_percent.values() if not np.isnan(value)]
    return f"{span(min(values), max(values))} over {len(values)} curves" if values else ""


_BESIDE = {
    "removed": _parts,
    "bed": lambda result, side: span(result.spread.bed_low_um, result.spread.bed_high_um),
    "bed_least": lambda result, side: place_words(result.budget.bed_min_x_mm, result.budget.bed_min_y_mm, side),
    "below_line": lambda result, side: f"least bed {percent(result.spread.bed_min_below_line_percent)}",
    "altered": lambda result, side: span(result.spread.altered_low_percent, result.spread.altered_high_percent, 1),
    "strength": _over_all,
    "removal_max": lambda result, side: place_words(
        result.budget.removal_max_x_mm, result.budget.removal_max_y_mm, side
    ),
}


def marked(measure, result):
    """Whether a value carries the mark of a measure not validated for this procedure."""
    shares = ("altered", "altered_max")
    return result.available and measure.id in shares and not result.option.share_validated
