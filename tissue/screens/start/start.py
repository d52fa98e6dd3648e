"""Sets the page and navigates; the server runs it anew at every change."""

import streamlit as st

from tissue.screens import frame, process
from tissue.screens.desk import dialogs, link
from tissue.screens.parts.chart import chart


def draw_screen():
    """Draw the screen that is looked at."""
    st.set_page_config(
        page_title="Tissue budget", page_icon=frame.ICON, layout="wide", initial_sidebar_state=frame.sidebar()
    )
    if "screen_now" not in st.session_state:  # a page that comes
        process.let_go_of_gone_pages()
    screens = frame.pages()
    page = st.navigation([*screens, frame.typed_address(screens)], position="top")
    link.link(page.url_path)
    frame.go_on(screens)
    chart.ask_early()
    st.session_state["screen_now"] = page.url_path
    page.run()
    link.shown_up_to()
    dialogs.ask_first()
    frame.standing_line(page)
    frame.prepare()


if __name__ == "__main__":
    draw_screen()
