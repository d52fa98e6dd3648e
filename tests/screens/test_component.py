"""The tool's own components: what speaks to the desk does not lean on another having been read before it."""

import streamlit as st

from tissue.screens.parts.component import CHANNEL, component, text


def test_what_speaks_to_the_desk_has_the_channel_before_it(monkeypatch):
    """Source: a page of a busy machine on which the script that asks for the draws ran first: none came."""
    scripts = []
    monkeypatch.setattr(st.components.v2, "component", lambda _, js, **__: scripts.append(js))
    component.__wrapped__("quiet", "", "parts/when_free.js", "parts/quiet.js")
    component.__wrapped__("piece", "", "parts/piece/piece.js")
    assert scripts == [
        text(CHANNEL) + text("parts/when_free.js") + text("parts/quiet.js"),
        text("parts/piece/piece.js"),
    ]
