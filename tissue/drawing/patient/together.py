"""The ways and no surgery side by side, in words: the same rows in the same order and unit for all."""

from collections.abc import Iterator
from typing import NamedTuple
from unicodedata import combining, normalize

from tissue.budget.comparison import Comparison, Result
from tissue.drawing.patient.language import mm, mm_or_less, with_sign, words
from tissue.drawing.patient.words import LEAST_SAID_UM, WAYS, least_um, most_um, shift_um, story
from tissue.ground.published import pool_rows
from tissue.ground.sources import data
from tissue.ground.vocabulary import NO_FIGURE, Floats, rounded

NO_SURGERY = "none"
COLUMNS = (*WAYS, NO_SURGERY)
IN_WORDS = ("strength", "undo", "again", "days")
FIGURES = ("depth", "out", "most", "stays", "sheets", "share", "range", "shift", "thinnest")


class Row(NamedTuple):
    """One row: its name, its head, and one cell for each column, or one sentence for all columns."""

    name: str
    head: str
    cells: tuple[str, ...]
    common: str = ""


def column_name(column: str, language: str) -> str:
    """The name of a column."""
    text = words(language)
    return text["table"][NO_SURGERY]["name"] if column == NO_SURGERY else text["ways"][column]["name"]


def by_name(columns: tuple[str, ...], language: str) -> tuple[str, ...]:
    """Columns in the order of their names in a language, so that no order is a preference of ours.

    >>> by_name(("surface", "flap", "none"), "en")
    ('none', 'surface', 'flap')
    """
    return tuple(sorted(columns, key=lambda column: _plain_letters(column_name(column, language))))


def _plain_letters(text: str) -> str:
    """A text for sorting as in a dictionary: small letters without accents."""
    return "".join(one for one in normalize("NFKD", text.casefold()) if not combining(one))


def side_by_side(
    comparison: Comparison, side: str, columns: tuple[str, ...], language: str, most: bool | None = None
) -> list[Row]:
    """The Rows of one eye.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        columns: of COLUMNS, in their order on the page.
        language: one of LANGUAGES.
        most: whether there is a row of what is taken at most; where None, when that is not in the middle.
    """
    text = words(language)["table"]
    cells = {column: _column(comparison, side, column, language) for column in columns}
    names = ["cut", *FIGURES, *IN_WORDS]
    if not (most_is_told(comparison, side, columns) if most is None else most):
        names.remove("most")
    found = [Row(name, text["rows"][name], tuple(cells[column][name] for column in columns)) for name in names]
    return [*found, *_rates(columns, language)]


def most_is_told(comparison: Comparison, side: str, columns: tuple[str, ...]) -> bool:
    """Whether a way takes most elsewhere than in the middle of this eye; arguments as `side_by_side`."""
    return any(story(comparison, column, side).ring for column in columns if column != NO_SURGERY)


def _column(comparison: Comparison, side: str, column: str, language: str) -> dict[str, str]:
    """The cells of one column by the names of the rows."""
    if column == NO_SURGERY:
        return _no_surgery(comparison, language)
    told, text = story(comparison, column, side, language), words(language)["table"]
    found = {name: text[column][name] for name in ("cut", *IN_WORDS)}
    if not told.available:
        nothing = told.why_not == words(language)["said"]["nothing"]
        return found | dict.fromkeys(FIGURES, NO_FIGURE) | {"stays": text["empty" if nothing else "gone"]}
    budget, figures = told.result.budget, told.figures
    interval = figures["low"] != NO_FIGURE and not figures["low"].startswith("−")
    return found | {
        "depth": figures["cut"],
        "out": figures["removed"] if float(budget.removal_central_um) > 0 else text[NO_SURGERY]["out"],
        "most": mm_or_less(most_um(told.result), language),
        "stays": figures["bed"],
        "thinnest": mm_or_less(least_um(budget), language),
        "sheets": sheets(budget.bed_central_um, language),
        "share": figures["share"],
        "range": text["range"].format(**figures) if interval else NO_FIGURE,
        "shift": _shift(comparison, told.result, language) if interval else NO_FIGURE,
    }


def _no_surgery(comparison: Comparison, language: str) -> dict[str, str]:
    """The cells of the column without surgery: the cornea as it was measured."""
    text, cornea = words(language)["table"], comparison.cornea
    own = text[NO_SURGERY]
    return {name: own[name] for name in ("cut", "depth", "out", *IN_WORDS)} | {
        "most": own["out"],
        "stays": mm(cornea.central_thickness_um, language),
        "thinnest": mm(min(float(cornea.thinnest_um), float(cornea.central_thickness_um)), language),
        "sheets": sheets(cornea.central_thickness_um, language),
        "share": "100",
        "range": NO_FIGURE,
        "shift": NO_FIGURE,
    }


def sheets(value_um: Floats, language: str) -> str:
    """A thickness in sheets of paper: in whole ones, below one and a half with a decimal.

    >>> sheets(303.5, "en"), sheets(86.0, "en")
    ('3', '0.9')
    """
    count = float(value_um) / data("explain")["familiar"]["paper"]["thickness_um"]
    return with_sign(rounded(count, 0 if count >= 1.5 else 1), language)


def _shift(comparison: Comparison, result: Result, language: str) -> str:
    """The words on how a usual shift contributes to the range."""
    text, shift = words(language)["table"], shift_um(comparison, result)
    if round(shift, 1) == 0.0:
        return text["shift_none"]
    size = "_small" if abs(shift) < LEAST_SAID_UM else ""
    return text[f"shift_{'more' if shift > 0 else 'less'}{size}"].format(shift=mm(abs(shift), language))


def counted_ways(rate: dict[str, str]) -> tuple[str, ...]:
    """The ways whose treated eyes were counted for a rate, each once; a collection of case reports does not count.

    Args:
        rate: an entry of the rates in explain.toml.

    >>> [counted_ways(rate) for rate in data("explain")["rates"]]
    [('lenticule',), ('flap',)]
    """
    if "pool" in rate:
        found = [one.procedure for one in pool_rows(rate["pool"])]
    else:
        found = [one["way"] for one in data("counts")[rate["counts"]] if not one.get("reports", False)]
    return tuple(dict.fromkeys(found))


def _rates(columns: tuple[str, ...], language: str) -> Iterator[Row]:
    """A Row for each rate of which a column was counted; no surgery never is, so it says which ways were."""
    text = words(language)["table"]
    for rate in data("explain")["rates"]:
        ways = [way for way in counted_ways(rate) if way in columns]
        if ways:
            said = text["no_count"].format(ways="; ".join(column_name(way, language) for way in ways))
            yield Row(rate["name"], text["rows"][rate["name"]], (), said)
