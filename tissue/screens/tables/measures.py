"""The words beside a value in the tables of the screen: parts, place or spread."""

from tissue.budget.comparison import Result
from tissue.drawing.base.words import place_words
from tissue.report.measures import Measure, parts_of, percent, spread_of
from tissue.screens.desk.drawn import as_planned

AS_PLANNED = ""  # no interval stands beside these; the footnote says why


def pair_beside(measure: Measure, result: Result) -> str:
    """The words beside a value where two eyes share the width: a range, or a note that there is none."""
    if measure.figure == "strength":
        return spread_of(measure, result).partition(" over")[0]
    return AS_PLANNED if as_planned(measure) and result.available else ""


def beside_value(measure: Measure, result: Result, side: str, narrow: bool = False) -> str:
    """The words beside a value: its parts, place or spread; empty where there are none.

    Args:
        measure: Measure.
        result: Result of one option.
        side: OD or OS.
        narrow: whether there is room for a range only.
    """
    if narrow and measure.id in ("removed", "bed_least", "removal_max"):
        return ""
    if narrow and measure.figure == "strength":
        return spread_of(measure, result).partition(" over")[0]
    if not result.available:
        return ""
    if as_planned(measure):
        return AS_PLANNED
    figures = result.budget
    if measure.id == "removed":
        return parts_of(result)
    if measure.id == "bed_least":
        return place_words(figures.bed_min_x_mm, figures.bed_min_y_mm, side)
    if measure.id == "removal_max":
        return place_words(figures.removal_max_x_mm, figures.removal_max_y_mm, side)
    if measure.id == "below_line":
        return f"least bed {percent(result.spread.bed_min_below_line_percent)}"
    return spread_of(measure, result)
