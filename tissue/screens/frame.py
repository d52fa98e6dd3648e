"""The frame around every screen: navigation, style, theme and the standing line."""

from functools import cache, partial
from importlib import import_module
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlparse

import streamlit as st
from markupsafe import Markup

from tissue.drawing.base.palette import HEADS, Look, look
from tissue.drawing.patient.language import FIRST
from tissue.drawing.patient.words import standing
from tissue.report.measures import STANDING_LINE
from tissue.screens import process
from tissue.screens.desk.state import day
from tissue.screens.html import put, strip, style_of, tag
from tissue.screens.parts.component import text

HERE = Path(__file__).parent
NARROW_WINDOW_PX, SIDEBAR_PX = 900, 300
PAGE_TOLD = "page_told"  # what the browser was told of the page
OF_PLAN = "plan-at-the-root"  # the library keeps an address for the default screen, which it shows at the root alone
NO_SCREEN = "no_screen"  # shown at an address that has no screen
ICON = HERE / "styles" / "icon.svg"


def pages() -> list[Any]:
    """The screens, in the order of the navigation; one more line adds a screen."""
    return [
        st.Page(_page("day_list"), title="List", url_path="list"),
        st.Page(_page("plan"), title="Plan", url_path=OF_PLAN, default=True),
        st.Page(_page("explain"), title="Explain", url_path="explain"),
        st.Page(_page("tradeoffs"), title="Trade-offs", url_path="trade-offs"),
        st.Page(_page("alignment"), title="Alignment", url_path="alignment"),
        st.Page(_page("suction"), title="Suction loss", url_path="suction-loss"),
        st.Page(_page("followup"), title="Follow-up", url_path="follow-up"),
        st.Page(_page("enhancement"), title="Enhancement", url_path="enhancement"),
        st.Page(_page("mechanics"), title="Mechanics", url_path="mechanics"),
        st.Page(_page("series"), title="Series", url_path="series"),
        st.Page(_page("rounds"), title="Rounds", url_path="rounds"),
        st.Page(_page("evidence"), title="Evidence", url_path="evidence"),
    ]


def typed_addresses(screens: list[Any]) -> list[Any]:
    """Hidden pages for addresses outside the navigation, which lead to Plan: /plan, and any address without a screen.

    Args:
        screens: of the navigation.
    """
    plan = next(one for one in screens if one.title == "Plan")
    asked = urlparse(st.context.url or "").path.strip("/")
    unknown = asked and "/" not in asked and asked not in ("plan", OF_PLAN, *(one.url_path for one in screens))
    return [
        st.Page(partial(_to_plan, plan, name), title="Plan", url_path=name, visibility="hidden")
        for name in ("plan", *([asked] if unknown else []))
    ]


def _to_plan(plan: Any, asked: Any) -> None:
    """Go to Plan, and say so where another address was asked for."""
    if asked != "plan":
        st.session_state[NO_SCREEN] = f"There is no screen at the address /{unquote(asked)}: this is Plan."
    st.switch_page(plan)


def say_unknown(page: Any) -> None:
    """Say that the typed address has no screen, as long as Plan is shown in its place.

    Args:
        page: the page that is shown.
    """
    if page.title != "Plan":
        st.session_state.pop(NO_SCREEN, None)
    elif NO_SCREEN in st.session_state:
        put(strip(st.session_state[NO_SCREEN]))


def of_another_page() -> bool:
    """Whether a page from another address of this machine speaks to this server; Streamlit checks only the machine."""
    origin, host = (st.context.headers.get(name) for name in ("Origin", "Host"))
    return bool(origin and host and urlparse(origin).netloc != host)


def go_on(screens: list[Any]) -> None:
    """Go to Plan after an eye of the list was opened.

    Args:
        screens: of the navigation.
    """
    own = day()
    if own.going:
        own.going = False
        st.switch_page(next(one for one in screens if one.title == "Plan"))


def _page(name: str) -> Any:
    """The show() of a screen; its file is loaded when the screen is opened for the first time."""

    def show() -> None:
        import_module(f"tissue.screens.pages.{name}").show()

    return show


def set_page(page: Any) -> None:
    """Title, icon, width and sidebar, said once for each screen: the browser keeps them, and to say them takes time.

    Args:
        page: the page that is shown.
    """
    if st.session_state.get(PAGE_TOLD) != (page.url_path, sidebar()):
        st.set_page_config(page_title="Tissue budget", page_icon=ICON, layout="wide", initial_sidebar_state=sidebar())


def page_told(page: Any) -> None:
    """The screen was drawn to its end: what was said of the page has reached the browser, see `set_page`."""
    st.session_state[PAGE_TOLD] = page.url_path, sidebar()


def sidebar() -> Any:
    """How the sidebar opens: its width [px], or folded where the window is known to be narrow."""
    return "collapsed" if st.session_state.get("window_width", NARROW_WINDOW_PX + 1) <= NARROW_WINDOW_PX else SIDEBAR_PX


@cache
def prepare() -> None:
    """Do once, when the server starts, what makes every later change fast."""
    from tissue.screens.desk import drawn

    process.spare_what_is_loaded()
    process.send_at_once()
    process.look_at_one_moment()
    process.return_large_memory()
    process.watch_for_gone_pages()
    drawn.warm()


def theme() -> Look:
    """The Look of the theme in use."""
    return look("dark" if st.context.theme.type == "dark" else "light")


@cache
def style(name: str) -> Markup:
    """The style sheet with the colours of one look."""
    colours = look(name)
    roles = ("page", "panel", "ink", "ink2", "rule", "rule2", "link", "stroma")
    variables = "".join(f"--tissue-{role}:{getattr(colours, role)};" for role in roles)
    variables += "".join(f"--tissue-{option}:{colours.option[option]};" for option in HEADS)
    return style_of(f":root{{{variables}}}{text('styles/style.css')}")


def begin() -> Look:
    """Put the style into the page and return the Look. Every screen calls this first."""
    colours = theme()
    put(style(colours.name))
    return colours


def foot(page: Any) -> Any:
    """The foot of every screen, always in sight; gives the place above its line, for what is said of the figures.

    The line is the standing one; on the patient's screen it is the one for patients.

    Args:
        page: the page that is shown.
    """
    patient = page.url_path == "explain"
    line = standing(st.session_state.get("explain", {}).get("language", FIRST)) if patient else STANDING_LINE
    with st.container(key="standing", gap=None):
        above = st.container()
        put(tag("div", line, role="note"))
    return above
