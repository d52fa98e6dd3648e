"""What stands beside a value in the tables of the screen: parts, place or spread."""

from tissue.drawing.words import place_words
from tissue.measures import parts_of, percent, spread_of


def beside(measure, result, side):
    """What stands beside a value: parts, place or spread; empty where there is nothing."""
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
