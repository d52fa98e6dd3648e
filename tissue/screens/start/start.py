"""Sets up the page and navigates; the server runs this script again at every change."""

from collections.abc import Callable

import streamlit as st

from tissue.screens import frame
from tissue.screens.desk import dialogs, link
from tissue.screens.desk.press import forget_pressed, noted
from tissue.screens.desk.state import day
from tissue.screens.letter import dialog as letter
from tissue.screens.letter import read_back
from tissue.screens.own_map import dialog as own_map
from tissue.screens.parts.chart import chart

ASKED: dict[str, Callable[..., None]] = {
    "letter": letter.letter_dialog,
    "readback": read_back.readback_dialog,
    "new": dialogs.leave_dialog,
    "map": own_map.map_dialog,
    "open": dialogs.open_dialog,
    "reset": dialogs.reset_dialog,
    "copy": dialogs.copy_dialog,
}  # the request of the page for a dialog, and the dialog


def draw_screen() -> None:
    """Draw the chosen screen; a page from another address is shown nothing."""
    if frame.of_another_page():
        st.stop()
    screens = frame.pages()
    page = st.navigation([*screens, *frame.typed_addresses(screens)], position="top")
    frame.set_page(page)
    link.link(page.url_path)
    frame.go_on(screens)
    chart.ask_early()
    if st.session_state.get("screen_now", page.url_path) != page.url_path:
        forget_pressed(noted())
        _close_all()  # a dialog belongs to the screen that it was opened on; nothing was answered
    st.session_state["screen_now"] = page.url_path
    frame.say_unknown(page)
    asked = noted()
    page.run()
    forget_pressed(asked)
    with frame.foot(page):
        link.shown_up_to()
    _ask()
    frame.page_told(page)
    frame.prepare()


def _ask() -> None:
    """Draw the dialog that is open; one about an eye that was left meanwhile is closed, and nothing was answered."""
    own = day()
    if not (asking := own.asking):
        return
    dialog, plan, side, *told = asking
    on_desk = own.plans.get(plan)
    if on_desk is not None and (plan, side) == (own.at, on_desk.side):
        ASKED[dialog](on_desk, *told)
    else:
        _close_all()


def _close_all() -> None:
    """Close the dialog that is open and forget what was in it."""
    for of in (own_map, letter, read_back):
        of.close()


if __name__ == "__main__":
    draw_screen()
