"""Evidence: what every figure, default and line rests on, and what contradicts it; one part at a time."""

import streamlit as st

from tissue.screens import frame
from tissue.screens.evidence import figures as evidence_figures
from tissue.screens.evidence import inputs as evidence_inputs

PARTS = {
    "Relationships": evidence_figures.relationships_part,
    "What contradicts them": evidence_figures.contradictions_part,
    "Figures": evidence_figures.figures_part,
    "Published eyes": evidence_figures.eyes_part,
    "Defaults": evidence_inputs.defaults_part,
    "Lines": evidence_inputs.lines_part,
    "Errors": evidence_inputs.errors_part,
    "Checks": evidence_inputs.checks_part,
    "Not validated, changes": evidence_inputs.changes_part,
}
STATUS_NOTE = (
    "Status: printed = the number stands in a published source that was read; computed = worked out from printed "
    "numbers; common practice = a fact of the trade without a source; from memory = not checked; our choice = said so."
)


def show():
    """Draw the screen."""
    frame.begin()
    st.html('<div class="eye"><h1>Evidence</h1><span>what every figure, default and line rests on</span></div>')
    names = list(PARTS)
    if st.session_state.get("evidence_part") not in names:
        st.session_state["evidence_part"] = st.session_state.get("evidence_last", names[0])
    picked = st.segmented_control("Part", names, key="evidence_part", required=True, label_visibility="collapsed")
    st.session_state["evidence_last"] = picked
    st.html(f'{PARTS[picked]()}<div class="notes"><p>{STATUS_NOTE}</p></div>')
