"""Sets the page and navigates; everything else is in tissue/screens."""

import streamlit as st

from tissue.screens import frame
from tissue.screens.parts.chart import chart

st.set_page_config(
    page_title="Tissue budget", page_icon=frame.ICON, layout="wide", initial_sidebar_state=frame.sidebar()
)
page = st.navigation(frame.pages(), position="top")
chart.ask_early()
page.run()
frame.standing_line(page)
frame.settle()
