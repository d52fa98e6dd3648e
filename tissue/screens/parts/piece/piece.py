"""A piece of HTML that changes with every input: brought into the page in place, without being built anew."""

from tissue.screens.parts.component import component

HTML = '<div class="tissue-piece"></div>'


def piece(key, html):
    """Show HTML. What was typed by a user must have been escaped.

    Args:
        key: its name on the screen.
        html: the HTML.
    """
    component("piece", HTML, "parts/piece/piece.js")(key=f"piece-{key}", data=html.encode())
