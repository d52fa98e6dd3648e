"""Enhancement: the ways to enhance, the reserve, and what a thicker cap leaves possible."""

from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
import streamlit as st
from markupsafe import Markup

from tissue.budget.comparison import Comparison, compare
from tissue.drawing.base.palette import HEADS, Look
from tissue.drawing.charts import sweeps
from tissue.drawing.routes import second_ways
from tissue.drawing.section.section import NARROW_PX
from tissue.entry.checks import Fault, fault_of
from tissue.entry.eye import written_residual
from tissue.entry.notation import echo
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError
from tissue.report.followup.follow_json import eye_today
from tissue.report.measures import rounded
from tissue.report.routes_terminal import cap_trade as cap_words
from tissue.report.routes_terminal import healed_words
from tissue.routes.enhancement import Enhancement, cap_needed_um, enhancement
from tissue.routes.notices import enhancement_notices
from tissue.routes.reserve import later_ways, reserves
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.readings import entries
from tissue.screens.fields.of_eye import of_eye
from tissue.screens.fields.own_fields import Cell, plan_fields
from tissue.screens.html import notes, part, plain_table, prose, put, strip
from tissue.screens.kept import kept
from tissue.screens.parts.chart.chart import Picture, chart, main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.tables.routes import heads, notice_lines, rows_of, ways_notes, ways_table

CELLS = (Cell("residual", "Residual refraction, as people write it"),)
CAPS_UM = np.arange(100.0, 161.0, 2.0)
GIVEN = ("ablation_blend_mm", "lenticule_blend_mm", "base_um")
PLANNED, TODAY = "As planned", "As the readings have it"
TODAY_WORDS = (
    "Thickness, cap and removal are what the plan's errors and all readings of Follow-up say together; the cap counts "
    "as measured."
)
TITLE = "Ways to an enhancement, as others describe them"
READ_AS = (
    "Depths are those of the cornea before the primary treatment. Ink, hatched grey: the primary treatment, its cap "
    "and what it took. "
    "Hatched, with the line of its name: taken now. A way without figures is drawn thin. Each section "
    "runs through the least clearance of its way, else from 0 to 180°."
)


def show() -> None:
    """Draw the screen."""
    of_eye("enhance", _screen)


def _residual(on_desk: Desk, shown: Shown) -> Refraction | None:
    """The residual refraction of the plan; None where none is given."""
    plan_fields("residual_fields", CELLS, on_desk, on_desk.figures(on_desk.side)[1])
    text = shown.inputs.values.get("residual")
    if text is None:
        piece("enhance_read", prose("Type what is left: no figures until then."))
        return None
    residual = written_residual(text, shown.comparison)
    piece("enhance_read", notes(f"Read: {echo(residual.sphere_D, residual.cylinder_D, residual.axis_deg)}"))
    return residual


def _screen(on_desk: Desk, shown: Shown, _: dict[str, Fault], colours: Look) -> None:
    """Routes, reserve, the trade of the cap, what was assumed."""
    comparison, readings = _eye(on_desk, shown)
    residual = _residual(on_desk, shown)
    if residual is None:
        return
    given: dict[str, Any] = {name: shown.inputs.values.get(name) for name in GIVEN}
    key = (shown, readings, residual.sphere_D, residual.cylinder_D, residual.axis_deg)
    try:
        found = kept("enhancement", key, lambda: enhancement(comparison, residual, **given))
    except EyeError as error:
        put(strip(f"No enhancement: {fault_of(error).text}."))
        return
    if found.why_not:
        piece("enhance_none", part(TITLE) + prose(found.why_not))
    else:
        _ways(on_desk, comparison, found, (key, colours.name), colours)
    left = kept("reserves", (key, "left"), lambda: reserves(comparison, given["ablation_blend_mm"]))
    piece("enhance_reserve", notice_lines(enhancement_notices(comparison, found)) + _reserve(comparison, left, found))
    if not found.why_not:
        _trade(on_desk, comparison, found, (key, colours.name), colours)
    piece("enhance_assumed", part("What was assumed") + prose(*_assumed(comparison)))


def _eye(on_desk: Desk, shown: Shown) -> tuple[Comparison, tuple[tuple[tuple[str, str], ...], ...]]:
    """The Comparison as planned, or by the readings after surgery where there are some and they are chosen.

    Returns it with the readings that it rests on; none where it is the plan.
    """
    side = on_desk.side
    found, wrong = entries(on_desk, side, shown.inputs.values)
    today, fault = eye_today(shown.inputs, shown.comparison, found)
    if wrong or fault:
        return shown.comparison, ()
    choices, key = (PLANNED, TODAY), f"enhance_eye_{on_desk.id}_{side}"
    picked = st.segmented_control("The eye", choices, default=PLANNED, key=key, label_visibility="collapsed")
    if picked != TODAY:
        return shown.comparison, ()
    put(notes(TODAY_WORDS))
    return today, tuple(tuple(sorted(one.typed.items())) for one in found)


def _ways(on_desk: Desk, comparison: Comparison, found: Enhancement, depends: tuple[Any, ...], colours: Look) -> None:
    """The ways side by side: heads, sections to scale, figures."""
    side, width = on_desk.side, main_width()
    narrow = width < NARROW_PX
    piece("enhance_title", part(TITLE))
    for i, routes in enumerate(rows_of(found.routes, 2 if narrow else 4)):
        piece(f"enhance_heads{i}", heads(routes, narrow))
        chart(
            f"enhance_ways{i}",
            depends,
            Picture(
                partial(second_ways.second_ways, comparison, found, side, colours, width, routes),
                partial(second_ways.describe_second_ways, comparison, found, side, routes),
                "planes of the ways to an enhancement",
                file=f"{on_desk.code}-{side}-second-correction{i + 1}.svg",
                tall=True,
            ),
        )
        piece(f"enhance_ways{i}", ways_table(routes, comparison, side, narrow, TITLE, later=True))
    piece("enhance_under", notes(READ_AS) + ways_notes(comparison.judgement))


def _reserve(comparison: Comparison, left: dict[str, Any], found: Enhancement) -> Markup:
    """Reserve of all three options in micrometres and dioptres, and after another primary treatment."""
    lines = [(HEADS[name], rounded(one.reserve_um), rounded(one.myopia_D, 2)) for name, one in left.items()]
    line = rounded(comparison.judgement.bed_line_um)
    first = ("Primary treatment", f"Bed over the line of {line} µm, µm", "Myopia that an ablation of it could treat, D")
    later = [(f"{one.words[0].upper()}{one.words[1:]}", rounded(one.bed_um), rounded(one.clearance_um))
             for one in later_ways(comparison, found.ablation)]  # fmt: skip
    return (
        part("Reserve")
        + plain_table(first, lines, "Reserve", numbers=(1, 2))
        + notes(
            f"By thickness alone, at the plan's zone of {rounded(comparison.treatment.zone_mm, 2)} mm. It does not say "
            "that so much may be treated: curvature, optics and shape set their own ends."
        )
        + part("The same enhancement after another primary treatment")
        + plain_table(("Way", "Bed, µm", "Left in the flap, µm"), later, "Other primary treatments", numbers=(1, 2))
    )


def _trade(on_desk: Desk, comparison: Comparison, found: Enhancement, depends: tuple[Any, ...], colours: Look) -> None:
    """What a thicker cap leaves possible and what it costs, from one calculation over many caps."""
    width = main_width()
    trade = kept("caps", depends[0], lambda: caps(comparison, found))
    said = cap_words(comparison, found) or "Nothing is to be treated, so no thin flap is asked for."
    piece("enhance_trade", part("What the thickness of the cap decides") + prose(said))
    chart(
        "enhance_caps",
        depends,
        Picture(
            lambda: sweeps.cap_lines(trade, colours, width),
            lambda: sweeps.describe_cap_lines(trade),
            "cap thickness against reserve and room",
            file=f"{on_desk.code}-{on_desk.side}-caps.svg",
            tall=True,
        ),
    )


def caps(comparison: Comparison, found: Enhancement) -> Any:
    """Reserve over the line and room for a thin flap over caps of 100 to 160 µm, as planned and not measured.

    Args:
        comparison: Comparison of one eye.
        found: Enhancement.
    """
    cap = replace(comparison.cap, cap_um=CAPS_UM, cap_measured_um=None)
    rest = (comparison.judgement, comparison.errors, comparison.pupil)
    many = compare(comparison.cornea, comparison.treatment, comparison.measured, comparison.flap, cap, *rest)
    reserve = many.under_cap.budget.bed_central_um - comparison.judgement.bed_line_um
    needed = float(cap_needed_um(many, found.ablation)) if np.isfinite(found.cap_needed_um) else np.nan
    now = float(comparison.under_cap.option.cut_um)
    return sweeps.Trade(CAPS_UM, np.asarray(reserve, dtype=float), CAPS_UM - needed, now, needed)


def _assumed(comparison: Comparison) -> tuple[str, ...]:
    """The assumptions behind the figures, in sentences."""
    error = comparison.under_cap.option.cut_error
    return (
        "The primary treatment is the extraction of the plan. Zone as planned; blend and base by the ramp of the "
        "residual unless the plan gives them; the front radius as the primary treatment left it.",
        f"Room inside the cap counts the error of the cap: bias {rounded(error.bias_um, 1)} and 1.96 times an SD of "
        f"{rounded(error.sd_um, 1)} µm. An epithelium that has grown by 15 µm, and its spread between eyes, must fit "
        "above a thin flap.",
        healed_words(comparison),
    )
