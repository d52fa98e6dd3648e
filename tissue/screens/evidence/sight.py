"""Part of Evidence on the optics of the planned surface: what published series found beside it, and its constants."""

from functools import cache

from markupsafe import Markup

from tissue.entry.fields import DEFAULT_STATUS
from tissue.ground.sources import data, source
from tissue.ground.vocabulary import TRUE_MINUS
from tissue.report.sight.found import found_rows
from tissue.report.sight.sight_terminal import NOT_VISION, TO_KNOW
from tissue.screens.html import notes, part, plain_table

FOUND_HEADS = ("Finding", "Published", "From the planned surface", "Beside each other", "Status", "Source")
CONSTANTS = (
    ("eye", "The eye's own C40 over 6 mm, µm", "c40_um"),
    ("smoothing", "Length over which the epithelium smooths, mm", "length_mm"),
    ("stiles_crawford", "Stiles–Crawford ρ offered, /mm²", "offered_per_mm2"),
    ("white", "Colour error of white light, D·nm", "chromatic_D_nm"),
    ("contrast", "Contrast sensitivity in the visual Strehl ratio, gain", "gain"),
)


@cache
def found_part() -> Markup:
    """What published series found beside what the planned surface gives, including what does not agree."""
    rows = [
        (one.what, one.figure, one.ours, one.beside, DEFAULT_STATUS[one.status], one.citation) for one in found_rows()
    ]
    title = "What published series found"
    return part(title) + plain_table(FOUND_HEADS, rows, title)


@cache
def sight_part() -> Markup:
    """The findings, and every constant of the optics of the planned surface."""
    known = data("sight")
    rows = [
        (
            words,
            f"{known[table][name]:g}".translate(TRUE_MINUS),
            DEFAULT_STATUS[known[table]["status"]],
            source(known[table]["source"]).citation,
        )
        for table, words, name in CONSTANTS
    ]
    title = "Constants of the optics of the planned surface"
    table = plain_table(("Constant", "Value", "Status", "Source"), rows, title, numbers=(1,))
    return found_part() + part(title) + table + notes(NOT_VISION, TO_KNOW)
