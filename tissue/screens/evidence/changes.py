"""Evidence: what is not validated, what the tool does not know, and what changed between versions."""

from collections.abc import Iterable
from functools import cache
from itertools import groupby

from tissue.ground.sources import readme
from tissue.ground.vocabulary import VERSION
from tissue.screens.html import Markup, notes, part, plain_table, prose

NOT_VALIDATED = (
    "Any threshold of a strength figure, 60 % included.",
    "Percent tissue altered for anything but a flap: for the other two ways it is arithmetic (†).",
    "The thickness map away from the thinnest point: it is drawn from one point and an average growth.",
    "The strength of removals that are deepest off the centre: none is given.",
    "That a cap counts fully as loaded and a flap not at all: an assumption that can be changed.",
    "The depth relationships for corneas that are not normal.",
)


@cache
def changes_part() -> Markup:
    """What is not validated, what the tool does not know, version and changes."""
    html = part("Not validated") + prose(*NOT_VALIDATED)
    for title in ("What it does not know", "Changes"):
        html += part(title) + _shown(readme_section(title), title)
    return html + notes(f"Version {VERSION}.")


def readme_section(title: str) -> tuple[str, ...]:
    """Lines of a section of the README: paragraphs, list items without their dash, `###` headings, rows of tables."""
    _, _, rest = readme().partition(f"\n## {title}\n")
    lines = rest.partition("\n## ")[0].replace("*", "").replace("`", "")
    return tuple(line.removeprefix("- ").strip() for line in lines.splitlines() if line.strip())


def _shown(lines: Iterable[str], title: str) -> Markup:
    """Headings, tables and paragraphs in the order of the README."""
    html = Markup("")
    for kind, found in groupby(lines, lambda line: line[0] if line[0] in "#|" else ""):
        if kind == "|":
            heads, _, *rows = map(_cells, found)
            html += plain_table(heads, rows, title)
        elif kind == "#":
            html += Markup("").join(part(line.lstrip("# ")) for line in found)
        else:
            html += prose(*found)
    return html


def _cells(line: str) -> list[str]:
    """The cells of a row of a table."""
    return [cell.strip() for cell in line.strip("|").split("|")]
