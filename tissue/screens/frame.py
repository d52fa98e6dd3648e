"""What every screen stands in: navigation, style, theme and the standing line."""

import gc
from functools import cache
from pathlib import Path

import streamlit as st

from tissue.drawing.palette import HEADS, look

HERE = Path(__file__).parent
ICON = HERE / "icon.svg"
STANDING_LINE = (
    "For planning discussion, teaching and research by professionals. It measures tissue; it does not say that an eye "
    "is fit for surgery. Follow local guidance and your own judgement."
)
DASHES = {"surface": "dotted", "flap": "dashed", "lenticule": "solid"}


def pages():
    """The screens, in the order of the navigation; one line adds one."""
    from tissue.screens import evidence, plan

    return [
        st.Page(plan.show, title="Plan", url_path="plan", default=True),
        st.Page(evidence.show, title="Evidence", url_path="evidence"),
    ]


@st.cache_resource
def settle():
    """Take what is loaded by now out of the collector's sight, once: it runs in full after every change."""
    gc.collect()
    gc.freeze()


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
    """Style and standing line; returns the Look. Every screen calls it first."""
    colours = theme()
    st.html(style(colours.name))
    st.html(f'<div class="standing-line" role="note">{STANDING_LINE}</div>')
    return colours
