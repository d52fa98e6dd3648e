"""A piece of HTML that changes with every input: brought into the page in place, without being built anew."""

from functools import cache
from pathlib import Path

import streamlit as st


@cache
def component():
    """The component, registered once."""
    return st.components.v2.component(
        "tissue_piece",
        html='<div class="tissue-piece"></div>',
        js=Path(__file__).with_name("piece.js").read_text("utf-8"),
        isolate_styles=False,
    )


def piece(key, html):
    """Show HTML. What was typed by a user must have been escaped.

    Args:
        key: its name on the screen.
        html: the HTML.
    """
    component()(key=f"piece-{key}", data=html.encode())
