"""What every screen stands in: navigation, style, theme and the standing line."""

import gc
import sys
from functools import cache
from importlib import import_module
from pathlib import Path

import streamlit as st

from tissue.drawing.base.palette import HEADS, look
from tissue.drawing.patient.words import STANDING
from tissue.report.measures import STANDING_LINE
from tissue.screens.html import put, style_of, tag
from tissue.screens.parts.component import text

HERE = Path(__file__).parent
NARROW_WINDOW_PX, SIDEBAR_PX = 900, 300
SWITCH_S = 0.0005  # a tenth of the usual time that one thread may keep another waiting
ICON = HERE / "styles" / "icon.svg"


def pages():
    """The screens, in the order of the navigation; one line adds one."""
    return [
        st.Page(_later("plan"), title="Plan", url_path="plan", default=True),
        st.Page(_later("explain"), title="Explain", url_path="explain"),
        st.Page(_later("tradeoffs"), title="Trade-offs", url_path="trade-offs"),
        st.Page(_later("alignment"), title="Alignment", url_path="alignment"),
        st.Page(_later("suction"), title="Suction loss", url_path="suction-loss"),
        st.Page(_later("enhancement"), title="Enhancement", url_path="enhancement"),
        st.Page(_later("mechanics"), title="Mechanics", url_path="mechanics"),
        st.Page(_later("series"), title="Series", url_path="series"),
        st.Page(_later("rounds"), title="Rounds", url_path="rounds"),
        st.Page(_later("evidence"), title="Evidence", url_path="evidence"),
    ]


def _later(name):
    """The show() of a screen, which is loaded when it is looked at for the first time."""

    def show():
        import_module(f"tissue.screens.pages.{name}").show()

    return show


def sidebar():
    """How the sidebar begins: its width [px], or folded in a narrow window, once that is known."""
    return "collapsed" if st.session_state.get("window_width", NARROW_WINDOW_PX + 1) <= NARROW_WINDOW_PX else SIDEBAR_PX


@cache
def settle():
    """Make every change cheap, once.

    What is loaded by now is taken out of the collector's sight, which runs in full after every change. And the thread
    that sends gets its turn at once: it asks for it at every message while the rest of the screen is worked out.
    """
    from tissue.screens.desk import drawn

    gc.collect()
    gc.freeze()
    sys.setswitchinterval(SWITCH_S)
    drawn.warm()


def theme():
    """The Look of the theme in use."""
    return look("dark" if st.context.theme.type == "dark" else "light")


@cache
def style(name):
    """The style sheet with the colours of one look."""
    colours = look(name)
    roles = ("page", "panel", "ink", "ink2", "rule", "rule2", "link", "stroma")
    variables = "".join(f"--tissue-{role}:{getattr(colours, role)};" for role in roles)
    variables += "".join(f"--tissue-{option}:{colours.option[option]};" for option in HEADS)
    return style_of(f":root{{{variables}}}{text('styles/style.css')}")


def begin():
    """The style; returns the Look. Every screen calls it first."""
    colours = theme()
    put(style(colours.name))
    return colours


def standing_line(page):
    """The line that stands at the foot of every screen; the patient's own where the patient reads.

    Args:
        page: the page that is shown.
    """
    line = STANDING if page.url_path == "explain" else STANDING_LINE
    with st.container(key="standing"):
        put(tag("div", line, role="note"))
