"""The tool's own components, each registered once: its HTML, its style, and scripts from the files of the screens."""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import streamlit as st

HERE = Path(__file__).parents[1]
CHANNEL, SPEAKS = "parts/link/channel.js", "window.tissueDesk"  # they keep what the page tells the desk


@cache
def component(name: str, html: str, *scripts: str, css: str = "") -> Callable[..., Any]:
    """The component of that name, to be called with its key and data.

    Args:
        name: what it is called in the page.
        html: what stands in it.
        scripts: its scripts, as files below the screens, one read after another; the last one has the default export.
            What they say to the desk they say through the channel, which stands before them.
        css: its style.
    """
    js = "".join(text(script) for script in scripts)
    if SPEAKS in js:  # the order of a page's scripts is not guaranteed
        js = text(CHANNEL) + js
    return st.components.v2.component(f"tissue_{name}", html=html, css=css or None, js=js, isolate_styles=False)


@cache
def text(name: str) -> str:
    """The text of a file below the screens."""
    return (HERE / name).read_text("utf-8")
