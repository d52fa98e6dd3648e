"""Alignment: centre, pupil and thinnest point against the vertex, rotation, and what a wrong entry would leave."""

import streamlit as st

from tissue.drawing.base.words import place_words
from tissue.drawing.front import alignment
from tissue.optics.pupil import outside_percent
from tissue.screens.desk.of_eye import of_eye
from tissue.screens.desk.places import places
from tissue.screens.html import notes, part, prose, strip
from tissue.screens.parts.chart.chart import chart, main_width
from tissue.screens.parts.piece.piece import piece
from tissue.screens.tables.alignment import found_part, guard_part, offset_part, rotation_table
from tissue.screens.tables.optics import optics_table
from tissue.screens.tables.options import heads

NARROW_PX = 800  # narrower, picture and table of the rotation stand one under another


def show():
    """Draw the screen."""
    of_eye("align", _screen)


def _screen(on_desk, shown, wrong, colours):
    """The front view over its fields, then what stands behind them; the fields come first, the view shows them."""
    comparison, side = shown.comparison, on_desk.side
    above = st.container(key="align_view")
    st.html(part("Places from the vertex, and rotation"))
    turn, fault = places(on_desk, shown, wrong)
    with above:
        _front(on_desk, shown, turn, colours)
    piece("align_words", notes(_in_words(comparison, side), FIELDS_NOTE))
    piece("align_offset", guard_part(comparison) + offset_part(comparison, side))
    _rotation(on_desk, comparison, turn, fault, colours)
    narrow = main_width() < NARROW_PX
    optics = optics_table(shown, narrow, above=heads(narrow))
    piece("align_optics", part("What the plan does to the optics") + optics + found_part())


FIELDS_NOTE = (
    "A place changes the plan on every screen; the rotation is a question and no part of it. x grows to the viewer's "
    "right, y upwards, the vertex is 0, 0."
)


def _front(on_desk, shown, turn, colours):
    """The eye from the front."""
    comparison, side, width = shown.comparison, on_desk.side, main_width()
    outside = float(outside_percent(comparison.pupil, comparison.results["surface"].option.removal))
    chart(
        "align_front",
        (shown, colours.name, turn),
        lambda: (
            alignment.front_turned(comparison, side, colours, turn, outside, width),
            alignment.describe_turned(comparison, side, turn, outside),
        ),
        "the eye from the front",
        file=f"{on_desk.code}-{side}-front.svg",
        tall=True,
    )


def _in_words(comparison, side):
    """Where the places lie, in nasal and temporal words."""
    plan, pupil, cornea = comparison.treatment, comparison.pupil, comparison.cornea
    at = {
        "Treatment centre": (plan.centre_x_mm, plan.centre_y_mm),
        "pupil's centre": (pupil.pupil_x_mm, pupil.pupil_y_mm),
        "thinnest point": (cornea.thinnest_x_mm, cornea.thinnest_y_mm),
    }
    said = "; ".join(f"{name} {place_words(*place, side)}" for name, place in at.items())
    return f"{said}. To the viewer's right is {'nasal' if side == 'OD' else 'temporal'} in this eye."


def _rotation(on_desk, comparison, turn, fault, colours):
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
            lambda: (
                alignment.rotation_lines(treated, turn, colours),
                alignment.describe_rotation(treated, turn),
            ),
            "cylinder left against rotation",
            file=f"{on_desk.code}-{on_desk.side}-rotation.svg",
            columns=columns,
            tall=True,
        )
    with right:
        piece("align_table", rotation_table(treated, turn))
