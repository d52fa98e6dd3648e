"""HTML that escapes by itself: text stays text, and only what is built here is markup.

>>> tag("p", "bed < line, ", tag("b", 314), class_="note")
Markup('<p class="note">bed &lt; line, <b>314</b></p>')
"""

from collections.abc import Collection, Iterable, Sequence
from functools import cache
from typing import Any

import streamlit as st
from markupsafe import Markup, escape

from tissue.drawing.patient.language import unbroken

NOTHING, BREAK = Markup(), Markup("<br>")


def tag(element: str, /, *inside: Any, **marks: Any) -> Markup:
    """An element. Its contents and the values of its attributes are escaped unless they are markup.

    Args:
        element: its name.
        inside: texts, numbers and markup, one after another.
        marks: attributes. An underscore in a name becomes a hyphen, one at the end goes (`class_`); None and False
            leave the attribute out, True writes its name alone.
    """
    return Markup(f"<{element}{_attributes(marks)}>{''.join(map(escape, inside))}</{element}>")


def start(element: str, /, **marks: Any) -> Markup:
    """The opening tag alone, for an element that holds nothing (`col`, `input`). Arguments as in `tag`."""
    return Markup(f"<{element}{_attributes(marks)}>")


def _attributes(marks: dict[str, Any]) -> str:
    """Attributes as they stand in a tag, each after a space."""
    said = ""
    for name, value in marks.items():
        if value is True:
            said += f" {_attribute(name)}"
        elif value is not None and value is not False:
            said += f' {_attribute(name)}="{escape(value)}"'
    return said


@cache
def _attribute(name: str) -> str:
    """The name of an attribute, made from the name of an argument."""
    return name.rstrip("_").replace("_", "-")


def joined(*parts: str) -> Markup:
    """Texts and markup one after another, as markup."""
    return Markup("".join(map(escape, parts)))


def paragraphs(*lines: str) -> Markup:
    """A paragraph for each line that says something."""
    return joined(*(tag("p", line) for line in lines if line))


def together(markup: Markup) -> Markup:
    """Markup in which no line break parts a figure from its mm, or a sign from the word before it; see `unbroken`."""
    return Markup(unbroken(markup))


def style_of(css: str) -> Markup:
    """A style sheet of our own as markup; it is not escaped."""
    return Markup(f"<style>{css}</style>")


def script_of(js: str) -> Markup:
    """A script of our own as markup; it is not escaped."""
    return Markup(f"<script>{js}</script>")


def as_markup(html: Markup) -> Markup:
    """The markup itself; a plain text is refused, because it was not escaped."""
    if not isinstance(html, Markup):
        raise TypeError(f"text where markup is meant: {str(html)[:60]!r}")
    return html


def put(html: Markup, place: Any = st, scripts: bool = False) -> None:
    """Show markup. Every screen shows HTML through this function or through `piece`.

    Args:
        html: markup.
        place: where to show it; below what was shown last where None.
        scripts: whether its scripts run.
    """
    place.html(as_markup(html), unsafe_allow_javascript=scripts)


def title_line(title: str, words: str) -> Markup:
    """The line at the head of a screen that is not about an eye."""
    return tag("div", tag("h1", title), tag("span", words), class_="eye")


def part(title: str) -> Markup:
    """Heading of a part of a screen."""
    return tag("h2", title, class_="part")


def notes(*lines: str) -> Markup:
    """Small lines under a table."""
    return tag("div", paragraphs(*lines), class_="notes")


def notice_list(title: str, lines: Iterable[str]) -> Markup:
    """Notices, one paragraph each, under their heading."""
    return part(title) + tag("div", paragraphs(*lines), class_="notices", id="notices-below")


def strip(*lines: str) -> Markup:
    """A strip with words that must be read before what stands under it."""
    return tag("div", *(tag("p", line) for line in lines), class_="stale", role="alert")


def prose(*lines: str) -> Markup:
    """Lines of running text."""
    return tag("div", paragraphs(*lines), class_="prose")


def plain_table(
    heads: Sequence[str],
    rows: Iterable[Iterable[Any]],
    caption: str = "",
    numbers: Collection[int] = (),
) -> Markup:
    """A table with a head.

    Args:
        heads: words of the columns.
        rows: lists of texts, one for each cell; a tuple in place of a text is a cell of several lines.
        caption: what the table is, read out before it.
        numbers: columns, counted from 0, that are set to the right.
    """
    kinds = ["number" if i in numbers else None for i in range(len(heads))]
    top = (tag("th", head, scope="col", class_=kind) for kind, head in zip(kinds, heads, strict=True))
    body = (tag("tr", *(_cell(kind, content) for kind, content in zip(kinds, row, strict=True))) for row in rows)
    head = tag("thead", tag("tr", *top))
    return scrolled(tag("table", hidden_caption(caption), head, tag("tbody", *body), class_="plain"))


def hidden_caption(words: str) -> Markup:
    """A hidden caption that screen readers read out before a table; nothing where there are no words."""
    return tag("caption", words, class_="unseen-text") if words else NOTHING


def hidden_heads(first: str, titles: Iterable[str]) -> Markup:
    """Hidden heads, for screen readers, of a table whose visible heads stand above the pictures."""
    cells = (tag("th", title, scope="col") for title in (first, *titles))
    return tag("thead", tag("tr", *cells), class_="unseen")


def column_widths(widths_percent: Iterable[float]) -> Markup:
    """The widths of the columns of a table [%], written to a thousandth."""
    return tag("colgroup", *(start("col", style=f"width:{width:.3f}%") for width in widths_percent))


def scrolled(*inside: Any) -> Markup:
    """Markup that scrolls sideways where the column is too narrow for it."""
    return tag("div", *inside, class_="scroll")


def _cell(kind: str | None, content: Any) -> Markup:
    lines = content if isinstance(content, tuple) else (content,)
    return tag("td", BREAK.join(lines), class_=kind)
