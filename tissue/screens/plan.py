"""Plan: three ways to the same correction side by side, sections over their columns of figures."""

import csv
import io

import numpy as np
import streamlit as st

from tissue.drawing import section
from tissue.drawing.meridian import angle_through
from tissue.drawing.table import section_table
from tissue.screens import below, frame, inputs, words
from tissue.screens.chart import chart, main_width
from tissue.screens.state import SIDES, desk
from tissue.screens.table import heads, table

VIEWS = ("True scale", "Depth × 4", "Flattened")
FLAT = VIEWS[2]
HORIZONTAL, ANY = "0–180°", "Any angle"


def show():
    """Draw the screen."""
    colours = frame.begin()
    on_desk = desk()
    inputs.sidebar(on_desk)
    shown, wrong = on_desk.figures(on_desk.side)
    if shown is None:
        st.html(words.nothing_yet(on_desk.side, wrong))
        return
    st.html(words.eye_line(shown, on_desk.side))
    angle = _controls(on_desk, shown)
    if wrong:
        st.html(words.stale(shown, on_desk.texts[on_desk.side], wrong))
    _sections(on_desk, shown, colours, angle)
    narrow = main_width() < section.NARROW_PX
    st.html(table(shown.comparison, on_desk.side, narrow=narrow) + words.footnotes(shown))
    below.show(shown, on_desk, colours, narrow)


def _controls(on_desk, shown):
    """View and meridian; returns the angle of the meridian [degrees]."""
    meridians = _meridians(shown.comparison)
    with st.container(horizontal=True, gap="medium", vertical_alignment="center", key="controls"):
        on_desk.view = _choice("view", "View", VIEWS, getattr(on_desk, "view", FLAT))
        picked = _choice("meridian", "Meridian", (*meridians, ANY), getattr(on_desk, "meridian", HORIZONTAL))
        on_desk.meridian = picked
        angle = meridians.get(picked)
        if angle is None:
            on_desk.angle = st.slider(
                "Angle",
                0,
                179,
                int(getattr(on_desk, "angle", 45)),
                key="angle",
                label_visibility="collapsed",
                width=160,
            )
            angle = float(on_desk.angle)
        st.download_button(
            "Section as CSV",
            lambda: section_csv(shown.comparison, angle),
            file_name="section.csv",
            key="csv",
            on_click="ignore",
        )
    return angle


def _choice(key, label, options, chosen):
    """A row of words of which one is chosen; the choice outlives a change of screen."""
    chosen = chosen if chosen in options else options[-1] if key == "view" else options[0]
    if st.session_state.get(key) not in options:
        st.session_state[key] = chosen
    return st.segmented_control(label, options, key=key, required=True, label_visibility="collapsed") or chosen


def _meridians(comparison):
    """Meridians on offer by their words: horizontal, along and across the treated axis, through the thinnest point."""
    treated, found = comparison.treatment.refraction.minus(), {HORIZONTAL: 0.0}
    if treated.cylinder_D != 0:
        axis = float(treated.axis_deg)
        found |= {f"Axis {axis:.0f}°": axis, f"Across {(axis + 90.0) % 180.0:.0f}°": (axis + 90.0) % 180.0}
    cornea = comparison.cornea
    if np.hypot(cornea.thinnest_x_mm, cornea.thinnest_y_mm) > 0:
        found["Through thinnest"] = angle_through(comparison, cornea.thinnest_x_mm, cornea.thinnest_y_mm)
    return found


def _sections(on_desk, shown, colours, angle):
    """The sections in the chosen view."""
    side, width = on_desk.side, main_width()
    narrow = width < section.NARROW_PX
    depends = (shown, colours.name, angle, width)
    if on_desk.view == FLAT:
        st.html(heads(narrow))
    chart(
        "sections",
        depends,
        lambda: (section.flattened(shown.comparison, side, colours, angle, width_px=width), "sections"),
        title=f"sections, {SIDES[side]}",
        file=f"{on_desk.code}-{side}-sections.svg",
    )


def section_csv(comparison, angle):
    """The section as CSV: µm and mm, a row every 0.1 mm."""
    rows = section_table(comparison, angle)
    out = io.StringIO(newline="")
    writer = csv.DictWriter(out, list(rows[0]), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
