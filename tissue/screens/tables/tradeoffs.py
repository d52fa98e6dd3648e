"""Plans side by side: a thin lenticule with its two cures, and a planned cut against the measured one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from markupsafe import Markup

from tissue.budget.notices import THIN_LENTICULE_UM
from tissue.drawing.base.palette import HEADS
from tissue.entry.fields import fields
from tissue.report.measures import NO_FIGURE, rounded, span
from tissue.screens.html import NOTHING, notes, part, plain_table

if TYPE_CHECKING:
    from tissue.screens.desk.reading import Shown

CURES = {"as-planned": "As planned", "wider-zone": "Wider zone", "thicker-base": "Thicker base"}
CURE_HEADS = (
    "Lenticule", "Zone, mm", "Base, µm", "Thickest, µm", "Volume, mm³", "Bed, centre, µm", "Bed, least, µm",
    "Least bed, change, µm", "Strength, %",
)  # fmt: skip
CURE_FIGURES = (
    ("removal_max_um", 0), ("removal_volume_mm3", 2), ("bed_central_um", 0), ("bed_min_um", 0),
)  # fmt: skip
NO_CURE = {
    "wider-zone": f"No zone up to {fields()['zone_mm'].high:g} mm brings the lenticule to {THIN_LENTICULE_UM:g} µm.",
    "thicker-base": f"No base up to {fields()['base_um'].high:g} µm brings it to {THIN_LENTICULE_UM:g} µm.",
}


def thin(shown: Shown) -> Markup:
    """A thin lenticule and its two cures side by side with their costs; empty where the lenticule is not thin."""
    if all(notice.id != "thin-lenticule" for notice in shown.notices):
        return NOTHING
    planned, rows = shown.cures[0], []
    name = shown.comparison.under_cap.option.name
    treatment = shown.comparison.treatment
    now = {
        "zone_mm": float(treatment.zone_mm),
        "base_um": float(shown.comparison.under_cap.option.removal.base_um),
    }
    for row in shown.cures:
        mine = row.figures[name]
        values = now | row.inputs
        cells = [rounded(values["zone_mm"], 2), rounded(values["base_um"], 1)]
        cells += [rounded(mine[figure], decimals) for figure, decimals in CURE_FIGURES]
        change = mine["bed_min_um"] - planned.figures[name]["bed_min_um"]
        cells += [NO_FIGURE if row is planned else rounded(change, 0), rounded(mine["strength_percent"], 1)]
        rows.append([CURES[row.id], *cells])
    title = "A thin lenticule, and what each cure costs"
    missing = [words for id, words in NO_CURE.items() if all(row.id != id for row in shown.cures)]
    return part(title) + plain_table(CURE_HEADS, rows, title, numbers=range(1, len(CURE_HEADS))) + notes(*missing)


def measured(shown: Shown) -> Markup:
    """Planned and measured cuts with both beds and their intervals; empty where none was measured."""
    rows = []
    for option, (planned, found) in shown.measured.items():
        for word, row in (("planned", planned), ("measured", found)):
            mine = row.figures[option]
            cut = shown.comparison.results[option].option
            depth = cut.cut_planned_um if row is planned else cut.cut_um
            figures = [rounded(depth), rounded(mine["bed_central_um"]), span(mine["bed_low_um"], mine["bed_high_um"])]
            figures += [
                rounded(mine["bed_min_um"]),
                rounded(mine["altered_percent"], 1),
                rounded(mine["strength_percent"], 1),
            ]
            rows.append([f"{HEADS[option]}, {word}", *figures])
    if not rows:
        return NOTHING
    title = "Planned against measured"
    heads = ("Cut", "Depth, µm", "Bed, centre, µm", "95 %", "Bed, least, µm", "PTA, %", "Strength, %")
    note = "The measured cut keeps its own error and has no bias; every other figure of this screen is for it."
    return part(title) + plain_table(heads, rows, title, numbers=range(1, len(heads))) + notes(note)
