"""Alignment: centre, pupil and thinnest point relative to the vertex, rotation, and what a wrong entry would leave."""

from typing import Any

import numpy as np
import streamlit as st
from markupsafe import Markup

from tissue.budget.comparison import Comparison
from tissue.budget.notices import guard_of
from tissue.drawing.base.palette import HEADS, Look
from tissue.drawing.base.words import place_words
from tissue.drawing.front import alignment
from tissue.drawing.section import section
from tissue.entry.checks import Fault
from tissue.entry.notation import write
from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.eye.slips import SLIPS
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import TRUE_MINUS, Floats
from tissue.optics.centration import Centred, centred_at
from tissue.optics.rotation import residual_of, rotation_residual
from tissue.removal.over_pupil import outside_percent
from tissue.report.measures import NO_FIGURE, rounded
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.reading import Shown
from tissue.screens.desk.state import OTHER
from tissue.screens.fields.of_eye import of_eye
from tissue.screens.fields.places import place_fields
from tissue.screens.html import notes, part, plain_table, prose, put, strip
from tissue.screens.parts.chart.chart import Picture, chart, main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.plan.moved import moved_part
from tissue.screens.sight.offset import OPTICS_ALONE, offset_curves, seen_rows
from tissue.screens.tables.optics import optics_table
from tissue.screens.tables.options import heads

NARROW_PX = 800  # in a narrower column picture and table of the rotation stand one below the other
AT_VERTEX_MM = 0.005  # nearer than this the centre is the vertex as it is typed
TURNS_DEG = range(16)
OFFSET_ROWS = (
    ("bed_min_um", "Residual bed (RSB), least, µm", 0),
    ("bed_central_um", "Residual bed (RSB), centre, µm", 0),
    ("offset_mm", "From the pupil's centre, mm", 2),
    ("coma_um", "Coma by that offset, ± 10 %, µm", 2),
    ("largest_pupil_mm", "Largest pupil wholly inside the zone, mm", 1),
    ("outside_percent", "Pupil outside the zone, %", 1),
)


def show() -> None:
    """Draw the screen."""
    of_eye("align", _screen)


def _screen(on_desk: Desk, shown: Shown, wrong: dict[str, Fault], colours: Look) -> None:
    """Draw the front view above its fields, then the other parts; the fields are read first, for the view."""
    comparison, side = shown.comparison, on_desk.side
    above = st.container(key="align_view")
    narrow_table = main_width() < section.NARROW_PX
    piece("align_moved", moved_part(on_desk, shown, narrow_table, heads(narrow_table)))
    put(part("Places from the vertex, and rotation"))
    turn, fault = place_fields(on_desk, shown, wrong)
    with above:
        _front(on_desk, shown, turn, colours)
    piece("align_words", notes(_in_words(comparison, side), fields_note(comparison.cornea)))
    piece("align_offset", guard_part(comparison, _fellow(on_desk)) + offset_part(comparison, side))
    _rotation(on_desk, comparison, turn, fault, colours)
    narrow = main_width() < NARROW_PX
    optics = optics_table(shown, narrow, above=heads(narrow))
    piece("align_optics", part("What the plan does to the optics") + optics + found_part())
    offset_curves(on_desk, shown, colours)


FIELDS_NOTE = (
    "A place changes the plan on every screen; the rotation is a question and no part of it. x grows to the viewer's "
    "right, y upwards, the vertex is 0, 0."
)


def fields_note(cornea: Cornea) -> str:
    """Say what the fields do; in an eye with a thickness map they do not set the thinnest point."""
    mapped = cornea.own_map is not None and cornea.own_map.thickness is not None
    return f"{FIELDS_NOTE} The thinnest point is the map's." if mapped else FIELDS_NOTE


def _front(on_desk: Desk, shown: Shown, turn: float, colours: Look) -> None:
    """The eye from the front."""
    comparison, side, width = shown.comparison, on_desk.side, main_width()
    outside = float(outside_percent(comparison.pupil, comparison.at_surface.option.removal))
    chart(
        "align_front",
        (shown, colours.name, turn),
        Picture(
            lambda: alignment.front_turned(comparison, side, colours, turn, outside, width),
            lambda: alignment.describe_turned(comparison, side, turn, outside),
            "the eye from the front",
            file=f"{on_desk.code}-{side}-front.svg",
            tall=True,
            moves=(on_desk.id, side),
        ),
    )


def _in_words(comparison: Comparison, side: str) -> str:
    """Where the places lie, in nasal and temporal words."""
    plan, pupil, cornea = comparison.treatment, comparison.pupil, comparison.cornea
    at = {
        "Treatment centre": (plan.centre_x_mm, plan.centre_y_mm),
        "pupil's centre": (pupil.pupil_x_mm, pupil.pupil_y_mm),
        "thinnest point": (cornea.thinnest_x_mm, cornea.thinnest_y_mm),
    }
    said = "; ".join(f"{name} {place_words(*place, side)}" for name, place in at.items())
    return f"{said}. To the viewer's right is {'nasal' if side == 'OD' else 'temporal'} in this eye."


def _rotation(on_desk: Desk, comparison: Comparison, turn: float, fault: Fault | None, colours: Look) -> None:
    """Residual refraction after a rotation, as a picture and a table."""
    treated = comparison.treatment.refraction
    head = part("If the treatment lands rotated")
    if fault is not None:
        head += strip(f"Shown for {turn:g}°. The field holds {fault.read}; accepted: {fault.accepted}.")
    if float(treated.cylinder_D) == 0.0:
        piece("align_turn", head + prose("No cylinder is treated: a rotation leaves nothing."))
        return
    piece("align_turn", head)
    columns = 1 if main_width() < NARROW_PX else 2
    left, right = st.columns(2, gap="small") if columns == 2 else (st.container(), st.container())
    with left:
        chart(
            "align_rotation",
            (treated.sphere_D, treated.cylinder_D, treated.axis_deg, turn, colours.name),
            Picture(
                lambda: alignment.rotation_lines(treated, turn, colours),
                lambda: alignment.describe_rotation(treated, turn),
                "cylinder left against rotation",
                file=f"{on_desk.code}-{on_desk.side}-rotation.svg",
                tall=True,
            ),
            columns=columns,
        )
    with right:
        piece("align_table", rotation_table(treated, turn))


def spellings(refraction: Refraction) -> tuple[str, str]:
    """Minus and plus form of a refraction, both made from the same rounded powers."""
    sphere, cylinder = (round(float(v), 2) + 0.0 for v in (refraction.sphere_D, refraction.cylinder_D))
    return write(sphere, cylinder, round(float(refraction.axis_deg), 1))


def both_forms(refraction: Refraction) -> str:
    """A refraction in minus form and, where it differs, in plus form."""
    minus, plus = spellings(refraction)
    return minus if minus == plus else f"{minus} (= {plus})"


def _fellow(on_desk: Desk) -> Any:
    """The Comparison of the other eye, or None."""
    other = OTHER[on_desk.side]
    shown = on_desk.figures(other)[0] if on_desk.texts.get(other) else None
    return None if shown is None else shown.comparison


def guard_part(comparison: Comparison, fellow: Any = None) -> Markup:
    """What the measured eye would have left, apart from the target, if it were treated with the plan as programmed."""
    plan, measured = comparison.treatment, comparison.measured
    left, found = residual_of(measured, plan.target_D, plan.refraction), guard_of(comparison, fellow)
    vector = found.residual
    title = part("The treated refraction against the measured one")
    target = "" if float(plan.target_D) == 0.0 else f" of {write(float(plan.target_D), 0.0, 180.0)[0]} D"
    if left.slip == "none":
        rest = f"the target{target}, and nothing else" if target else "nothing"
        return title + prose(f"{left.text} Treating this eye with this plan leaves {rest}, by arithmetic.")
    return title + prose(
        f"Measured {both_forms(measured)}; treated {both_forms(plan.refraction)}; target{target or ' 0.00 D'}.",
        f"Treating this eye with the plan as programmed would leave {both_forms(left.refraction)} beside the target: "
        f"the difference of the two as they are written, a power vector {float(found.size_D):.2f} D long: spherical "
        f"equivalent {_signed(vector.SE_D)} D, J0 {_signed(vector.J0_D)} D, J45 {_signed(vector.J45_D)} D.",
        f"At the cornea, where the tissue is taken, that is {both_forms(left.at_cornea)}, which a lens of "
        f"{both_forms(left.lens)} at the spectacle plane corrects.",
        " ".join(SLIPS[name] for name in found.names) or "No known slip makes this difference.",
    )


def _signed(power_D: Floats) -> str:
    """A power with its sign and two decimals.

    >>> _signed(-0.5), _signed(0.0)
    ('−0.50', '0.00')
    """
    text = f"{round(float(power_D), 2) + 0.0:+.2f}"
    return "0.00" if text == "+0.00" else text.translate(TRUE_MINUS)


def offset_part(comparison: Comparison, side: str) -> Markup:
    """What the offset of the treatment costs each option: as planned, and if it were centred on the vertex."""
    plan, pupil = comparison.treatment, comparison.pupil
    x, y = float(plan.centre_x_mm), float(plan.centre_y_mm)
    there = {name: result.option for name, result in comparison.results.items() if result.available}
    now = {name: centred_at(comparison.cornea, option, pupil, x, y) for name, option in there.items()}
    centred = {name: centred_at(comparison.cornea, option, pupil, 0.0, 0.0) for name, option in there.items()}
    moved = float(np.hypot(x, y)) >= AT_VERTEX_MM
    lines = [
        [label, *(_cell(now.get(name), centred.get(name), figure, places, moved) for name in HEADS)]
        for figure, label, places in OFFSET_ROWS
    ] + seen_rows(comparison, moved)
    why = [f"{HEADS[name]}: {r.why_not}." for name, r in comparison.results.items() if not r.available]
    where = f"Treatment centre {place_words(x, y, side)}"
    said = f"{where}; in brackets as it were centred on the vertex." if moved else f"{where}: nothing to compare."
    title = "What the offset costs"
    table = plain_table(("", *HEADS.values()), lines, title, numbers=range(1, 1 + len(HEADS)))
    return part(title) + table + notes(said, *why, _offset_note(pupil, float(plan.zone_mm)), OPTICS_ALONE)


def _offset_note(pupil: Pupil, zone_mm: float) -> str:
    """How the figures of the offset are made."""
    past = " This pupil is wider than the zone: its coma says little." if float(pupil.pupil_mm) > zone_mm else ""
    return (
        f"Coma 2√10 · C40 · δ / a: C40 the change by the removal over a pupil of {float(pupil.pupil_mm):.1f} mm, "
        f"δ the distance of the treatment from the pupil's centre, a the pupil's radius; within about ± 10 % of a full "
        f"trace ({source('arba_mosquera2020').citation}). Largest pupil: zone less twice δ; the blend is not zone. The "
        f"bed at the centre takes the thickness measured at the centre, wherever the treatment lies.{past}"
    )


def _cell(now: Centred | None, centred: Centred | None, figure: str, places: int, moved: bool) -> str:
    """A figure as planned and, where the centre was moved, the same figure centred on the vertex."""
    if now is None:
        return NO_FIGURE
    value = rounded(getattr(now, figure), places)
    return f"{value} ({rounded(getattr(centred, figure), places)})" if moved else value


def rotation_table(treated: Refraction, turn_deg: float) -> Markup:
    """What is left after each whole degree up to 15 in the direction of the rotation, and after the rotation itself."""
    way = -1.0 if turn_deg < 0 else 1.0
    lines = [_rotation_line(treated, way * degrees) for degrees in TURNS_DEG]
    heads = ("Rotation", "What is left", "The same", "Cylinder left")
    vector = rotation_residual(treated, turn_deg).power_vector()
    at = " ".join(
        f"{name} {rounded(v, 2)}" for name, v in zip(("SE", "J0", "J45"), (float(v) for v in vector), strict=True)
    )
    here = f"At {_degrees(turn_deg)}: {both_forms(rotation_residual(treated, turn_deg))}; {at} D."
    return plain_table(heads, lines, "Rotation", numbers=(3,)) + notes(here, SE_NOTE)


SE_NOTE = (
    "The spherical equivalent does not change. At the spectacle plane, by power vectors: cylinder 2 · |C| · sin τ. "
    "Marks at 0° and 180°, made while the patient sits, guard against it (common practice)."
)


def _rotation_line(treated: Refraction, turn_deg: float) -> tuple[str, ...]:
    """A row: rotation, residual in both forms, share of the cylinder."""
    rest = rotation_residual(treated, turn_deg)
    minus, plus = spellings(rest)
    share = 100.0 * abs(float(rest.cylinder_D) / float(treated.cylinder_D))
    minus, plus = (form.replace(" ", "\u00a0") for form in (minus, plus if turn_deg else ""))
    return _degrees(turn_deg), minus, plus, f"{share:.0f} %"


def _degrees(turn_deg: float) -> str:
    return f"{turn_deg + 0.0:g}°".translate(TRUE_MINUS)


def found_part() -> Markup:
    """What published series found on centration, rotation and the visual axis."""
    lines = [
        (row["what"], f"{row['percent']} %", _cited(row, row.get("note", ""))) for row in data("counts")["centration"]
    ]
    turn = next(row for row in data("errors")["error"] if "mean_deg" in row)
    lines.append((turn["what"], f"{turn['mean_deg']} ± {turn['sd_deg']}°", _cited(turn, source(turn["source"]).note)))
    lines += [(row["what"], row["figure"], _cited(row)) for row in data("visual_axis")["finding"]]
    title = "What published series found"
    return part(title) + plain_table(("Finding", "Figure", "Source"), lines, title)


def _cited(row: dict[str, Any], note: str = "") -> str:
    """Citation of a row with its note; common practice has no citation."""
    if "source" not in row:
        return "common practice, no source"
    known = source(row["source"]).citation
    return f"{known}. {note[0].upper()}{note[1:]}" if note else known
