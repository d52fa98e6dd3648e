"""Tables of a follow-up: the plan, the readings, and what all of them say about the eye today."""

from markupsafe import Markup

from tissue.budget.comparison import Comparison, Result
from tissue.entry.fields import reading_fields
from tissue.entry.notation import read_refraction, write
from tissue.entry.readings import Entry
from tissue.eye.reading import METHOD_WORDS
from tissue.followup.follow import Follow, bed_today, layer_estimates, reserve_today
from tissue.followup.notices import on_day
from tissue.ground.vocabulary import Floats
from tissue.removal.options import Error
from tissue.report.followup.follow_terminal import LAYER_WORDS
from tissue.report.measures import NO_FIGURE, percent, rounded
from tissue.screens.html import plain_table

WRITTEN = ("thickness_um", "epithelium_um", "cut_um", "bed_um", "K_D", "refraction")


def done_table(comparison: Comparison, done: Result | None) -> Markup:
    """The plan of what was done: the planned figures, and their mean and spread by the errors of the plan.

    Args:
        comparison: Comparison.
        done: Result of what was done; None where that is not told.
    """
    cornea = comparison.cornea
    rows = [("Thickness at centre", rounded(cornea.central_thickness_um), _spread(comparison.errors.thickness_sd_um)),
            ("Epithelium", rounded(cornea.epithelium_um), _spread(comparison.errors.epithelium_sd_um))]  # fmt: skip
    if done is not None:
        option, figures = done.option, done.budget
        cut, taken = option.cut_error, option.removal_error
        if option.cut_field is not None:
            rows.append(("Flap or cap", rounded(option.cut_um), _error(cut)))
        rows.append(("Removed", rounded(figures.removal_central_um), _error(taken)))
        rows.append(("Residual bed, centre", rounded(figures.bed_central_um), _spread(done.spread.bed_sd_um)))
        rows.append(("Residual bed, least", rounded(figures.bed_min_um), ""))
    return plain_table(("As planned, µm", "", "bias ± SD"), rows, "The plan", numbers=(1, 2))


def _spread(sd_um: Floats) -> str:
    return f"± {rounded(sd_um, 1)}"


def _error(error: Error) -> str:
    return f"{rounded(error.bias_um, 1)} ± {rounded(error.sd_um, 1)}"


def readings_table(entries: tuple[Entry, ...]) -> Markup:
    """What was measured, one row for each reading.

    Args:
        entries: Entries of one eye.
    """
    known = reading_fields()
    heads = ("When", "By", *(f"{known[name].label}, {known[name].unit}".rstrip(", ") for name in WRITTEN))
    rows = [
        (on_day(one.reading), METHOD_WORDS[one.reading.method], *(_written(one, name) for name in WRITTEN))
        for one in entries
    ]
    return plain_table(heads, rows, "What was measured", numbers=range(2, len(heads) - 1))


def _written(one: Entry, name: str) -> str:
    """One value of a reading as it was written, a refraction in its usual form."""
    text = one.typed.get(name, NO_FIGURE)
    return write(*read_refraction(text, name))[0] if name == "refraction" and text != NO_FIGURE else text


def today_table(found: Follow) -> Markup:
    """What the plan's errors and all readings together say about the eye.

    Args:
        found: Follow of one eye.
    """
    bed, left = bed_today(found), reserve_today(found)
    line = rounded(found.comparison.judgement.bed_line_um)
    rows = [
        ("Residual bed, centre", rounded(bed.mean_um), f"{rounded(bed.low_um)} to {rounded(bed.high_um)}"),
        ("Residual bed, least", rounded(bed.min_um), ""),
        (f"Chance of a bed under {line} µm, %", percent(bed.below_line_percent), ""),
        ("Reserve over the line, planned", rounded(left.planned_um), ""),
        ("Reserve over the line", rounded(left.mean_um), f"{rounded(left.low_um)} to {rounded(left.high_um)}"),
    ]
    rows += [
        (LAYER_WORDS[name][0].upper() + LAYER_WORDS[name][1:], rounded(part.mean_um), _spread(part.sd_um))
        for name, part in layer_estimates(found).items()
        if part is not None
    ]
    rows.append(("Thinnest flap below today's epithelium", rounded(left.flap_least_um), ""))
    if left.room_um is not None:
        rows.append(("Room for a thin flap inside the cap", rounded(left.room_um), ""))
    return plain_table(("By the plan and all readings, µm", "", "95 of 100, or ± SD"), rows, "Today", numbers=(1, 2))
