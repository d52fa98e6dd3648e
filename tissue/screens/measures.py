"""What stands beside a value in the tables of the screen: parts, place or spread."""

from tissue.drawing.words import place_words
from tissue.measures import parts_of, percent, spread_of


def beside(measure, result, side, narrow=False):
    """What stands beside a value: parts, place or spread; empty where there is nothing.

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
