"""A piece of HTML that changes with every input and is updated in place, without being built again."""

from markupsafe import Markup

from tissue.screens.html import as_markup
from tissue.screens.parts.component import component

HTML = '<div class="tissue-piece"></div>'


def piece(key: str, html: Markup) -> None:
    """Show markup.

    Args:
        key: its name on the screen.
        html: the markup; empty is a piece with nothing in it.
    """
    component("piece", HTML, "parts/piece/piece.js")(key=f"piece-{key}", data=str(as_markup(html)).encode())
