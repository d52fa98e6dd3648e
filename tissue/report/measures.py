"""The name, form, source and explanation of every figure of an option, once for screens, prints and terminal."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from tissue.budget.budget import deepest_off_centre
from tissue.budget.comparison import Comparison, Result
from tissue.entry.notation import write
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import NO_FIGURE, Floats, percent, rounded, span
from tissue.optics.figures import Optics
from tissue.removal.options import Judgement

OPTICS = "optics"
GROUPS = {"depth": "Depth", "shares": "Shares", "stays": "What stays", "more": "More figures", OPTICS: "Optics"}
STANDING_LINE = (
    "For planning discussion, teaching and research by professionals. It measures tissue; it does not say that an "
    "eye is fit for surgery. Follow local guidance and your own judgement."
)
NOT_STUDIED = (
    "† Arithmetic only: this share was published and tested for flaps; it is not validated for this procedure."
)
FLAP_SHARES = ("altered", "altered_max")
BOLD, FINE = "important", "fine"
AT_CENTRE, ANYWHERE = ("bed", "altered"), ("bed_least", "altered_max")  # in a ring the second one says more


@dataclass(frozen=True, eq=False)
class Measure:
    """One row: its words, the figure it shows and its explanation; see data/measures.toml."""

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

    def heading(self, judgement: Judgement) -> str:
        """The row's name, with the user's line [µm] where it names one.

        >>> from tissue import Judgement
        >>> measures()["below_line"].heading(Judgement())
        'Chance of a bed under 250 µm'
        """
        return self.label.format(line=f"{float(judgement.bed_line_um):.0f} µm")

    @property
    def citation(self) -> str:
        """The source of the measure, in one line."""
        return source(self.source).citation if self.source else "A definition."


@cache
def measures() -> dict[str, Measure]:
    """Every Measure of the tissue by its id, in the order of the tables.

    >>> measures()["bed"].label
    'Residual bed (RSB), centre'
    """
    return {name: Measure(id=name, **row) for name, row in data("measures").items() if row["group"] != OPTICS}


@cache
def optics_measures() -> dict[str, Measure]:
    """Every Measure of the optics by its id, in the order of the table; its figure is one of `Optics`.

    >>> optics_measures()["pupil_outside"].unit
    '%'
    """
    return {name: Measure(id=name, **row) for name, row in data("measures").items() if row["group"] == OPTICS}


def is_ring(comparison: Comparison) -> bool:
    """Whether any option removes more beside the centre than at it; central figures then say little."""
    return any(bool(one.available & deepest_off_centre(one.option)) for one in comparison.results.values())


def weight_of(measure: Measure, comparisons: Sequence[Comparison]) -> str:
    """The weight of a row: BOLD, FINE or empty; with two eyes side by side it is bold if one of them needs it.

    Where more is removed beside the centre, the least bed and the greatest share are bold, those of the centre fine.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> far, near = (compare(Cornea(550.0), Treatment(Refraction(D))) for D in (3.0, -6.0))
    >>> [[weight_of(measures()[name], [eye]) for name in ("bed", "bed_least", "altered_max")] for eye in (far, near)]
    [['fine', 'important', 'important'], ['important', 'important', '']]
    """
    rings = [is_ring(one) for one in comparisons]
    if measure.id in AT_CENTRE and all(rings):
        return FINE
    return BOLD if measure.key or (measure.id in ANYWHERE and any(rings)) else ""


def measures_of(group: str, comparisons: Sequence[Comparison]) -> list[Measure]:
    """The measures of a group; the greatest share stands among the shares where an eye is a ring.

    >>> [one.id for one in measures_of("shares", [])]
    ['bed_share', 'altered', 'removed_share', 'stromal_altered']
    """
    rows = [one for one in measures().values() if one.group == group]
    if not any(is_ring(one) for one in comparisons):
        return rows
    greatest = measures()["altered_max"]
    rows = [one for one in rows if one is not greatest]
    at = next((i for i, one in enumerate(rows) if one.id == "altered"), None)
    return rows if at is None else [*rows[:at], greatest, *rows[at:]]


def strength(result: Result, judgement: Judgement) -> Floats:
    """Relative strength by the chosen relationship [%]."""
    return result.strength.strength_percent[judgement.relationship]


def value_of(measure: Measure, result: Result, judgement: Judgement) -> str:
    """The value of a measure for one option, as it is shown.

    >>> from tissue import Cornea, Judgement, Refraction, Treatment, compare
    >>> flap = compare(Cornea(550.0), Treatment(Refraction(-6.0))).results["flap"]
    >>> value_of(measures()["cut"], flap, Judgement())
    '110'
    """
    if measure.figure == "strength":
        return rounded(strength(result, judgement), measure.decimals)
    if measure.id == "below_line":
        return percent(result.spread.bed_below_line_percent)
    return rounded(getattr(result.budget, measure.figure), measure.decimals)


def optics_value_of(measure: Measure, found: Optics | None) -> str:
    """The value of a measure of the optics for one option, as it is shown; an en dash without its Optics (None)."""
    if found is None:
        return NO_FIGURE
    if measure.figure == "refraction":
        return write(found.refraction_sphere_D, found.refraction_cylinder_D, found.refraction_axis_deg)[0]
    return rounded(getattr(found, measure.figure), measure.decimals)


def spread_of(measure: Measure, result: Result) -> str:
    """The interval of a measure in words; for strength least and greatest over all relationships; else empty."""
    spread = result.spread
    if measure.id == "bed":
        return span(spread.bed_low_um, spread.bed_high_um)
    if measure.id == "altered":
        return span(spread.altered_low_percent, spread.altered_high_percent, 1)
    if measure.figure == "strength":
        values = [value for value in result.strength.strength_percent.values() if not np.isnan(value)]
        return f"{span(min(values), max(values))} over {len(values)} curves" if values else ""
    return ""


def parts_of(result: Result) -> str:
    """The parts of the central removal, in words; empty where it is for the refraction alone."""
    figures = result.budget
    parts = {"blend": figures.removal_part_blend_um, "base": figures.removal_part_base_um}
    words = [f"{word} {rounded(part)}" for word, part in parts.items() if part > 0.5]
    return " + ".join([rounded(figures.removal_part_refraction_um), *words]) if words else ""


def marked(measure: Measure, result: Result) -> bool:
    """Whether a value carries the mark of a measure not validated for this procedure."""
    return bool(result.available and measure.id in FLAP_SHARES and not result.option.share_validated)
