"""The effect of the treatment's offset on the image: two rows of a table on Alignment, and curves over the offset."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.palette import HEADS, Look
from tissue.drawing.charts.sight_curves import BESIDE, describe_curves, rung_curves
from tissue.explore.zone_buys import offsets, one_row, seen_of
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import NO_FIGURE, rounded
from tissue.optics.sight.figures import light_and_contrast
from tissue.optics.sight.view import View
from tissue.removal.options import first_name
from tissue.removal.removal import Removal
from tissue.report.sight.sight_json import pupil_of
from tissue.report.sight.sight_terminal import NOT_VISION, WRITTEN, Written
from tissue.screens.html import notes, part, put, strip
from tissue.screens.kept import kept, pick
from tissue.screens.parts.chart.chart import Picture, chart

if TYPE_CHECKING:
    from tissue.screens.desk.plan import Desk
    from tissue.screens.desk.reading import Shown

ROWS = ("light_10_arcmin_percent", "mtf_10")
SAID = (
    "The image beside the least bed",
    "treatment moved to the viewer's right from the pupil's centre; figures at the left: centred on the pupil",
    "Treatment centre beside the pupil's, mm",
)
OPTICS_ALONE = "Light and contrast are optics of the planned surface over this pupil; not acuity, not satisfaction."


def seen_rows(comparison: Comparison, moved: bool) -> list[list[str]]:
    """Rows of a table: light within 10′ and contrast of every option, in brackets as centred on the vertex.

    Args:
        comparison: Comparison of one eye. moved: whether its treatment lies beside the vertex.
    """
    there = {name: one_row(one.option.removal) for name, one in comparison.results.items() if one.available}
    known: dict[tuple, tuple[float, float]] = {}
    now, centred = {}, {}
    for name, taken in there.items():
        now[name] = _seen(comparison, taken, known)
        centred[name] = _seen(comparison, replace(taken, centre_x_mm=0.0, centre_y_mm=0.0), known)
    made = []
    for number, figure in enumerate(ROWS):
        cells = (_cell(now.get(name), centred.get(name), number, WRITTEN[figure], moved) for name in HEADS)
        made.append([WRITTEN[figure].label, *cells])
    return made


def _seen(
    comparison: Comparison, taken: Removal, known: dict[tuple[float, ...], tuple[float, float]]
) -> tuple[float, float]:
    """Light and contrast of a removal; equal ones once; no figures where the surface ends within the pupil."""
    key = seen_of(taken, comparison.pupil, View())
    if key not in known:
        try:
            known[key] = light_and_contrast(comparison.cornea, taken, comparison.pupil)
        except EyeError:
            known[key] = (np.nan, np.nan)
    return known[key]


def _cell(
    now: tuple[float, float] | None, centred: tuple[float, float] | None, number: int, written: Written, moved: bool
) -> str:
    """A figure as planned and, where the centre was moved, the same figure centred on the vertex."""
    if now is None or centred is None:
        return NO_FIGURE
    value = written.text(now[number])
    return f"{value} ({rounded(centred[number], written.decimals)})" if moved else value


def offset_curves(on_desk: Desk, shown: Shown, colours: Look) -> None:
    """The curves of one option.

    Args:
        on_desk: Desk; shown: Shown; colours: Look.
    """
    put(part("What the offset does to the image"))
    option = pick("align_sight_option", "Option seen", tuple(HEADS), HEADS.get, 180, first_name("keeps_cap"))
    try:
        pupil = pupil_of(shown.inputs, None)
        rungs = kept("align_offsets", (shown, option), lambda: offsets(shown.inputs, pupil, only=option))
    except EyeError as error:
        put(strip(f"No image: {error}"))
        return
    said = (SAID[0], f"pupil {float(pupil.pupil_mm):g} mm; {SAID[1]}", SAID[2])
    chart(
        "align_offsets",
        (shown, option, colours.name),
        Picture(
            lambda: rung_curves(rungs, option, colours, BESIDE, said, None),
            lambda: describe_curves(rungs, option, BESIDE, said, None),
            "the image over the offset",
            file=f"{on_desk.code}-{on_desk.side}-offset-image.svg",
            tall=True,
        ),
    )
    put(notes(NOT_VISION))
