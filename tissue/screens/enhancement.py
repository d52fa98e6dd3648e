"""Enhancement: ways to a second correction, the reserve, and what a thicker cap keeps open."""

from dataclasses import replace

import numpy as np
import streamlit as st

from tissue.comparison import compare
from tissue.drawing import moment
from tissue.drawing.palette import HEADS
from tissue.enhancement import cap_needed_um, enhancement
from tissue.entry.checks import fault_of
from tissue.entry.notation import echo, read_refraction
from tissue.errors import EyeError
from tissue.measures import number
from tissue.refraction import Refraction
from tissue.reserve import later_ways, reserves
from tissue.route_notices import enhancement_notices
from tissue.route_table import cap_trade, healed_words
from tissue.screens import frame, inputs, words
from tissue.screens.chart import chart
from tissue.screens.piece import piece
from tissue.screens.plain_table import notes, part, plain_table, prose, strip
from tissue.screens.route_tables import notice_lines, routes_table
from tissue.screens.state import desk

FIRST_RESIDUAL = "-0.75 -0.25 x 90"
CAPS_UM = np.arange(100.0, 161.0, 2.0)
GIVEN = ("ablation_blend_mm", "lenticule_blend_mm", "base_um")


def show():
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        st.html(words.nothing_yet(on_desk.side, wrong))
    else:
        piece("enhance_eye", words.eye_line(shown, on_desk.side))
        if wrong:
            piece("enhance_stale", words.stale(shown, on_desk.texts[on_desk.side], wrong))
        _screen(on_desk, shown, colours)
    inputs.sidebar(on_desk)


def _residual(vertex_mm):
    """The residual refraction that holds, as it was typed; a fault is told beside the field."""
    st.session_state.setdefault("enhance_text", st.session_state.get("enhance_text_last", FIRST_RESIDUAL))
    text = st.text_input("Residual refraction, as people write it", key="enhance_text", width=320)
    st.session_state["enhance_text_last"] = text
    try:
        numbers = read_refraction(text, field="residual")
        st.session_state["enhance_valid"] = (text, numbers)
        st.html(notes(f"Read: {echo(*(part if part == part else 180.0 for part in numbers))}"))
    except EyeError as error:
        fault = fault_of(error)
        held = st.session_state.get(
            "enhance_valid", (FIRST_RESIDUAL, read_refraction(FIRST_RESIDUAL, field="residual"))
        )
        st.html(strip(f"Shown for {held[0]}. The field holds {fault.read}; accepted: {fault.accepted}."))
        numbers = held[1]
    sphere, cylinder, axis = numbers
    return Refraction(sphere, cylinder, axis if axis == axis else 180.0, vertex_mm)


def _screen(on_desk, shown, colours):
    """Routes, reserve, the trade of the cap, what was assumed."""
    comparison = shown.comparison
    residual = _residual(comparison.measured.vertex_mm)
    given = {name: shown.inputs.values.get(name) for name in GIVEN}
    try:
        found = enhancement(comparison, residual, **given)
    except EyeError as error:
        st.html(strip(f"No second correction: {fault_of(error).text}"))
        return
    table = routes_table(found.routes, comparison, on_desk.side, "Ways to a second correction, as others describe them")
    listed = notice_lines(enhancement_notices(comparison, found))
    piece("enhance_routes", table + listed + _reserve(comparison, found, given))
    _trade(on_desk, comparison, found, residual, colours)
    piece("enhance_assumed", part("What was assumed") + prose(*_assumed(comparison)))


def _reserve(comparison, found, given):
    """Reserve of all three options in micrometres and dioptres, and the same correction after another first act."""
    left = reserves(comparison, given["ablation_blend_mm"])
    lines = [(HEADS[name], number(one.reserve_um), number(one.myopia_D, 2)) for name, one in left.items()]
    heads = ("First act", "Bed over the line, µm", "Myopia it could treat at this zone, D")
    later = [
        (one.words, number(one.bed_um), number(one.clearance_um)) for one in later_ways(comparison, found.ablation)
    ]
    return (
        part("Reserve")
        + plain_table(heads, lines, "Reserve", numbers=(1, 2))
        + part("The same second correction after another first act")
        + plain_table(("Way", "Bed, µm", "Left in the flap, µm"), later, "Other first acts", numbers=(1, 2))
    )


def _trade(on_desk, comparison, found, residual, colours):
    """What a thicker cap keeps open and costs, from one call over many caps."""
    st.html(part("What the thickness of the cap decides"))
    capped = _caps(comparison, found)
    depends = (on_desk.side, tuple(sorted(on_desk.texts[on_desk.side].items())), vars_of(residual), colours.name)
    chart(
        "enhance_caps",
        depends,
        lambda: (moment.cap_trade(capped, colours), moment.describe_trade(capped)),
        "cap thickness against reserve and room",
        file=f"{on_desk.code}-{on_desk.side}-caps.svg",
        tall=True,
    )
    said = cap_trade(comparison, found)
    st.html(prose(said or "Nothing is to be treated, so no cap is too thin."))


def vars_of(residual):
    """A refraction as plain numbers."""
    return float(residual.sphere_D), float(residual.cylinder_D), float(residual.axis_deg)


def _caps(comparison, found):
    """Reserve over the line and room for a thin flap [µm] over caps of 100 to 160 µm."""
    cap = replace(comparison.cap, cap_um=CAPS_UM, cap_measured_um=None)
    many = compare(
        comparison.cornea,
        comparison.treatment,
        comparison.measured,
        comparison.flap,
        cap,
        comparison.judgement,
        comparison.errors,
        comparison.pupil,
    )
    reserve = many.results["lenticule"].budget.bed_central_um - comparison.judgement.bed_line_um
    return CAPS_UM, np.asarray(reserve, dtype=float), CAPS_UM - float(cap_needed_um(many, found.ablation))


def _assumed(comparison):
    """What stands behind the figures, in sentences."""
    return (
        "The first act is the extraction of the plan. Zone as planned; blend and base by the ramp of the residual "
        "unless the plan gives them; the front radius as the first act left it.",
        "Clearance inside the cap counts the error of the cap: bias and 1.96 SD. An epithelium that has grown by "
        "15 µm, and its spread between eyes, must fit above a thin flap.",
        healed_words(comparison),
    )
