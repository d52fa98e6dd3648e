"""What every screen stands in: navigation, style, theme and the standing line."""

import gc
import sys
from functools import cache
from pathlib import Path

import streamlit as st

from tissue.drawing.palette import HEADS, look
from tissue.measures import STANDING_LINE

HERE = Path(__file__).parent
NARROW_WINDOW_PX, SIDEBAR_PX = 900, 300
SWITCH_S = 0.0005  # a tenth of the usual time that one thread may keep another waiting
ICON = HERE / "icon.svg"


def pages():
    """The screens, in the order of the navigation; one line adds one."""
    from tissue.screens import alignment, enhancement, evidence, mechanics, plan, series, suction, tradeoffs

    return [
        st.Page(plan.show, title="Plan", url_path="plan", default=True),
        st.Page(tradeoffs.show, title="Trade-offs", url_path="trade-offs"),
        st.Page(alignment.show, title="Alignment", url_path="alignment"),
        st.Page(suction.show, title="Suction loss", url_path="suction-loss"),
        st.Page(enhancement.show, title="Enhancement", url_path="enhancement"),
        st.Page(mechanics.show, title="Mechanics", url_path="mechanics"),
        st.Page(series.show, title="Series", url_path="series"),
        st.Page(evidence.show, title="Evidence", url_path="evidence"),
    ]


def sidebar():
    """How the sidebar begins: its width [px], or folded in a narrow window, once that is known."""
    return "collapsed" if st.session_state.get("window_width", NARROW_WINDOW_PX + 1) <= NARROW_WINDOW_PX else SIDEBAR_PX


@cache
def settle():
    """Make every change cheap, once.

    What is loaded by now is taken out of the collector's sight, which runs in full after every change. And the thread
    that sends gets its turn at once: it asks for it at every message while the rest of the screen is worked out.
    """
    from tissue.screens import drawn

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
    return f"<style>:root{{{variables}}}{(HERE / 'style.css').read_text('utf-8')}</style>"


def begin():
    """The style; returns the Look. Every screen calls it first."""
    colours = theme()
    st.html(style(colours.name))
    return colours


def standing_line():
    """The line that stands at the foot of every screen."""
    with st.container(key="standing"):
        st.html(f'<div role="note">{STANDING_LINE}</div>')
