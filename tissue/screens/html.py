"""A plain table as HTML, everything in it escaped."""

from html import escape


def plain_table(heads, rows, caption="", numbers=()):
    """A table with a head.

    Args:
        heads: words of the columns.
        rows: lists of texts, a cell each; a tuple in place of a text is a cell of several lines.
        caption: what the table is, read out before it.
        numbers: columns, counted from 0, that are set to the right.
    """
    kind = [' class="number"' if i in numbers else "" for i in range(len(heads))]
    top = "".join(f'<th scope="col"{k}>{escape(head)}</th>' for k, head in zip(kind, heads, strict=True))
    body = "".join(f"<tr>{''.join(map(_cell, kind, row))}</tr>" for row in rows)
    said = f'<caption class="unseen-text">{escape(caption)}</caption>' if caption else ""
    whole = f"{said}<thead><tr>{top}</tr></thead><tbody>{body}</tbody>"
    return f'<div class="scroll"><table class="plain">{whole}</table></div>'


def _cell(kind, content):
    lines = content if isinstance(content, tuple) else (content,)
    return f"<td{kind}>{'<br>'.join(escape(str(line)) for line in lines)}</td>"


def part(title):
    """Heading of a part of a screen."""
    return f'<h2 class="part">{escape(title)}</h2>'


def notes(*lines):
    """Small lines under a table."""
    return '<div class="notes">' + "".join(f"<p>{escape(line)}</p>" for line in lines if line) + "</div>"


def strip(*lines):
    """A strip that must be read before what stands under it."""
    return '<div class="stale" role="alert">' + "".join(f"<p>{escape(line)}</p>" for line in lines) + "</div>"


def prose(*lines):
    """Lines of running text."""
    return '<div class="prose">' + "".join(f"<p>{escape(line)}</p>" for line in lines if line) + "</div>"
