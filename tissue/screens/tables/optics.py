"""The second table of figures: what the plan does to the optics, one column for each option."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from tissue.budget.comparison import Comparison
from tissue.drawing.base.palette import HEADS
from tissue.optics.figures import Optics, apex_shift_interval_D
from tissue.removal.over_pupil import distance_mm
from tissue.report.measures import Measure, optics_measures, optics_value_of, span
from tissue.screens.html import hidden_heads, notes, scrolled, tag
from tissue.screens.tables.options import colgroup, middles, name_cell, value_cell

if TYPE_CHECKING:
    from tissue.screens.desk.reading import Shown

NEAR_MM = 0.05  # a centre nearer to the pupil's than this rounds to 0.0 mm


def optics_table(shown: Shown, narrow: bool = False, kept: Shown | None = None, above: str = "") -> Markup:
    """The table, with its columns below those of the other figures, and the notes that belong to it.

    Args:
        shown: Shown.
        narrow: whether the narrow columns hold.
        kept: Shown of another plan, whose values stand beside.
        above: heads that move with its columns where there is no room for all of them.
    """
    rows = (_row(measure, shown, narrow, kept) for measure in optics_measures().values())
    inside = colgroup(narrow), hidden_heads("Measure of the optics", HEADS.values()), tag("tbody", *rows)
    table = tag("table", *inside, class_="figures", style=middles(narrow))
    return scrolled(above, table) + notes(_said(shown.comparison))


def _row(measure: Measure, shown: Shown, narrow: bool, kept: Any) -> Markup:
    """A measure of every option; where a plan is kept, its value stands beside."""
    cells = []
    for option, found in shown.optics.items():
        words = _beside(measure, shown.comparison, option, found, narrow)
        if kept is not None:
            words = f"kept {optics_value_of(measure, kept.optics[option])}"
        cells.append(value_cell(optics_value_of(measure, found), "", words))
    return tag("tr", name_cell(measure.id, measure.label), *cells)


def _beside(measure: Measure, comparison: Comparison, option: str, found: Optics, narrow: bool) -> str:
    """The interval of the one figure that an error moves; a warning where a fit over this pupil means little."""
    if measure.id == "apex_shift" and found is not None:
        low, high = apex_shift_interval_D(comparison.results[option].option)
        return span(low, high, measure.decimals)
    if measure.id != "c40_change" or found is None or narrow:
        return ""
    if float(found.pupil_outside_zone_percent) > 0.0:
        return "pupil past the zone"
    away = float(distance_mm(comparison.pupil, comparison.results[option].option.removal))
    return "off the pupil's centre" if away >= NEAR_MM else ""


def _said(comparison: Comparison) -> str:
    """The conditions for which the figures hold."""
    return (
        f"At a pupil of {float(comparison.pupil.pupil_mm):.1f} mm. The change of C40 is that of a thin plate, about "
        "0.03 µm low at −6 D. The zone that keeps its power is a definition of our own (local error of the front "
        "surface within 0.5 D): a natural cornea keeps only about 4 mm by it. The pupil is counted about its own "
        "centre; the blend is not zone. Beside the shift of the vertex: 95 % under the error of the removal, exact. "
        "The other figures of the optics stand as planned, without an interval: the errors are even over the eye and "
        "leave them as they are. That says nothing of healing."
    )
