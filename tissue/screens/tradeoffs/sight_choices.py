"""What is chosen of the optics of the planned surface: option, pupil, light, epithelium, and what is shown."""

from dataclasses import astuple, dataclass

import streamlit as st

from tissue.drawing.base.palette import HEADS
from tissue.explore.zone_buys import PUPILS_MM
from tissue.optics.sight.view import GREEN, WHITE, View
from tissue.removal.options import first_name
from tissue.report.sight.sight_json import view_of
from tissue.screens.tradeoffs.pick import outlived, pick

WIDEST_PUPIL_MM = 8.0
CURVES, MAP, PICTURES, FOCUS = SHOWN = ("Curves", "Map over zone and pupil", "Rings and lights", "Through focus")


@dataclass(frozen=True)
class Choice:
    """Name of the option, pupil [mm], View, and which part is shown."""

    option: str
    pupil_mm: float
    view: View
    part: str

    @property
    def key(self):
        """What figures depend on beside the eye and the option."""
        return (self.pupil_mm, *astuple(self.view))


def choices(inputs):
    """The row of choices and what stands in it.

    Args:
        inputs: Inputs of one eye.
    """
    own = float(inputs.pupil.pupil_mm)
    offered = tuple(sorted({*PUPILS_MM[PUPILS_MM <= WIDEST_PUPIL_MM].tolist(), own}))
    with st.container(horizontal=True, gap="small", vertical_alignment="bottom"):
        pick("to_sight_option", "Option seen", tuple(HEADS), HEADS.get, 180, first_name("keeps_cap"))
        pick(_pupil_key(inputs), "Pupil, mm", offered, "{:g}".format, 110, own)
        _switch("to_sight_epithelium", "epithelium", "the epithelium fills short dents, over 0.42 mm")
        _switch("to_sight_white", "white light", "five lines of light instead of 555 nm")
    begin = outlived("to_sight_part", CURVES)
    if "to_sight_part" not in st.session_state:
        st.session_state["to_sight_part"] = begin
    picked = st.segmented_control("Shown", SHOWN, key="to_sight_part", required=True, label_visibility="collapsed")
    st.session_state["to_sight_part_last"] = picked
    return said_choices(inputs)


def said_choices(inputs):
    """The Choice as it stands in the row by now."""
    said = st.session_state
    view = view_of(WHITE if said["to_sight_white"] else GREEN, said["to_sight_epithelium"])
    return Choice(said["to_sight_option"], said[_pupil_key(inputs)], view, said["to_sight_part"] or CURVES)


def _pupil_key(inputs):
    """Name of the field of the pupil: another one where the plan's own pupil is another."""
    return f"to_sight_pupil_{float(inputs.pupil.pupil_mm):g}"


def _switch(name, label, help_words):
    """A switch that outlives a change of screen."""
    on = st.toggle(label, outlived(name, False), key=name, help=help_words)
    st.session_state[f"{name}_last"] = on
