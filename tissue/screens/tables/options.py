"""The tables of figures as HTML: columns below the sections, each unit once, each measure one click from its source."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from tissue.budget.comparison import Comparison, Result
from tissue.drawing.base.palette import DASH, HEADS, SHORT_HEADS
from tissue.drawing.base.words import SIDES
from tissue.drawing.section.section import column_shares
from tissue.removal.options import Judgement
from tissue.report.measures import GROUPS, Measure, marked, measures, measures_of, optics_measures, value_of, weight_of
from tissue.screens.desk.drawn import Drawn, behind_words, interval_words
from tissue.screens.html import column_widths, hidden_heads, joined, scrolled, tag
from tissue.screens.tables.measures import beside_value, pair_beside

if TYPE_CHECKING:
    from tissue.screens.desk.reading import Shown

BORDER = {"dot": "dotted", "dash": "dashed", "solid": "solid", "dashdot": "double"}
# Widths in the table of both eyes [%]: the names, the side at both ends of a row, the gap between the eyes.
PAIR_NAME_PERCENT, SIDE_PERCENT, PAIR_GAP_PERCENT = 22.0, 2.6, 3.0
GAP = tag("td", class_="gap")
NO_BREAK = "\u00a0"


def colgroup(narrow: bool = False) -> Markup:
    """Widths of the columns, from the same shares as the sections above them."""
    measure, option, gap = column_shares(narrow)
    return column_widths(100.0 * width for width in (measure, *[option + gap] * (len(HEADS) - 1), option))


def middles(narrow: bool = False) -> str:
    """Where the middle of a section lies in its column of the table [%], as style variables."""
    _, option, gap = column_shares(narrow)
    return f"--middle:{50 * option / (option + gap):.3f}%;--last-middle:50%"


def heads(narrow: bool = False) -> Markup:
    """Names of the options over their sections, each with its line key."""
    cells = (
        tag(
            "th",
            line_key(name),
            tag("span", HEADS[name], class_="full"),
            tag("span", SHORT_HEADS[name], class_="short"),
            scope="col",
        )
        for name in HEADS
    )
    return tag("table", colgroup(narrow), tag("tr", tag("td"), *cells), class_="heads")


def line_key(name: str) -> Markup:
    """The line of an option as it is drawn, before its name."""
    return tag("span", class_="key", style=f"border-top:4px {BORDER[DASH[name]]} var(--tissue-{name})")


@cache
def name_cell(name: str, label: str, drawn: str = "") -> Markup:
    """Name and unit of a measure; the name opens formula, source, limits and the intervals."""
    measure = (measures() | optics_measures())[name]
    source = tag("p", measure.citation, class_="source")
    behind = joined(tag("p", measure.formula), tag("p", measure.limits), source, tag("p", drawn))
    return opening_name(label, label, behind, measure.unit)


def opening_name(name: str, title: str, behind: Markup, unit: str) -> Markup:
    """Name and unit of a row; the name opens its title and its explanation."""
    opened = tag("details", tag("summary", name), tag("div", tag("b", title), behind, class_="behind"), name="behind")
    in_units = (NO_BREAK, tag("span", unit, class_="unit")) if unit else ()  # a unit stands behind its last word
    return tag("th", opened, *in_units, scope="row")


def _value_cell(measure: Measure, result: Result, judgement: Judgement, words: str) -> Markup:
    return value_cell(value_of(measure, result, judgement), "†" if marked(measure, result) else "", words)


def value_cell(value: str, mark: str, words: str) -> Markup:
    """A value with its mark and the words beside it."""
    value = tag("span", value, tag("sup", mark) if mark else "", class_="value")
    return tag("td", value, tag("span", words, class_="beside"))


def _kept_words(measure: Measure, kept: Comparison, option: str) -> str:
    """The value of a measure in the kept plan."""
    return f"kept {value_of(measure, kept.results[option], kept.judgement)}"


def _row(measure: Measure, comparison: Comparison, side: str, narrow: bool, kept: Any, drawn: Any) -> Markup:
    """A measure of every option; where a plan is kept, its value stands beside instead of parts and spread."""
    cells = []
    for name, result in comparison.results.items():
        words = beside_value(measure, result, side, narrow) or interval_words(comparison, drawn, measure, name)
        if kept is not None:
            words = _kept_words(measure, kept, name)
        cells.append(_value_cell(measure, result, comparison.judgement, words))
    name = name_cell(measure.id, measure.heading(comparison.judgement), behind_words(comparison, drawn, measure))
    return tag("tr", name, *cells, class_=weight_of(measure, [comparison]) or None)


def _group_row(group: str, columns: int) -> Markup:
    return tag("tr", tag("th", GROUPS[group], colspan=columns, scope="colgroup"), class_="group")


def table(
    comparison: Comparison,
    side: str,
    groups: tuple[str, ...] = ("depth", "shares", "stays"),
    narrow: bool = False,
    *,
    kept: Any = None,
    drawn: Drawn | None = None,
    above: str = "",
) -> Markup:
    """The table of the options.

    Args:
        comparison: Comparison of one eye.
        side: OD or OS.
        groups: which groups of measures.
        narrow: whether the narrow columns hold.
        kept: another Comparison, whose values stand beside.
        drawn: Drawn of the errors; what needs it stays empty without.
        above: heads that move with its columns where there is no room for all of them.
    """
    rows = []
    for group in groups:
        rows += [_group_row(group, 1 + len(HEADS))] if len(groups) > 1 else []
        rows += [_row(m, comparison, side, narrow, kept, drawn) for m in measures_of(group, [comparison])]
    inside = colgroup(narrow), hidden_heads("Measure", HEADS.values()), tag("tbody", *rows)
    return scrolled(above, tag("table", *inside, class_="figures", style=middles(narrow)))


def pair_table(
    eyes: dict[str, Shown],
    kept: dict[str, Shown] | None = None,
    groups: tuple[str, str, str] = ("depth", "shares", "stays"),
) -> Markup:
    """The figures of both eyes with their intervals: one column for each option of each eye, the right eye first.

    Args:
        eyes: Shown by side; what needs draws stays empty until they are there.
        kept: Shown of a kept plan by side, whose values stand beside instead.
        groups: which groups of measures.
    """
    rows, both = [], [one.comparison for one in eyes.values()]
    first, last = list(eyes)[0], list(eyes)[-1]
    for group in groups:
        rows.append(_group_row(group, 1 + len(_pair_widths(eyes))))
        for measure in measures_of(group, both):
            blocks = (
                joined(*(_pair_cell(measure, one, option, kept or {}) for option in one.comparison.results))
                for one in eyes.values()
            )
            name = name_cell(measure.id, measure.heading(both[0].judgement), _pair_behind(measure, eyes))
            cells = name, _side_cell(first), GAP.join(blocks), _side_cell(last)
            rows.append(tag("tr", *cells, class_=weight_of(measure, both) or None))
    widths = column_widths((PAIR_NAME_PERCENT, *_pair_widths(eyes)))
    return scrolled(tag("table", widths, _pair_heads(eyes), tag("tbody", *rows), class_="figures pair"))


def _pair_widths(eyes: dict[str, Shown]) -> list[float]:
    """Widths of the columns after the names [%]: a side, the options of each eye with a gap between, a side."""
    options = [len(one.comparison.results) for one in eyes.values()]
    left = 100.0 - PAIR_NAME_PERCENT - 2.0 * SIDE_PERCENT - PAIR_GAP_PERCENT * (len(options) - 1)
    blocks = [[left / sum(options)] * count for count in options]
    between = [[SIDE_PERCENT], *([PAIR_GAP_PERCENT] for _ in options[1:]), [SIDE_PERCENT]]
    return [width for pair in zip(between, [*blocks, []], strict=True) for part in pair for width in part]


def _side_cell(side: str) -> Markup:
    """The eye at this end of a row; a screen reader is told it by the heads."""
    return tag("td", side, class_="end", aria_hidden="true")


def _pair_heads(eyes: dict[str, Shown]) -> Markup:
    """Two rows of heads: the eyes, and the options of each."""
    sides = (
        tag("th", f"{side} ({SIDES[side]})", colspan=len(one.comparison.results), scope="colgroup")
        for side, one in eyes.items()
    )
    options = (
        joined(*(tag("th", SHORT_HEADS[option], scope="col") for option in one.comparison.results))
        for one in eyes.values()
    )
    empty = tag("td")
    return tag(
        "thead",
        tag("tr", empty, empty, GAP.join(sides), empty),
        tag("tr", tag("th", "Measure", scope="col"), empty, GAP.join(options), empty),
    )


def _pair_cell(measure: Measure, shown: Shown, option: str, kept: dict[str, Shown]) -> Markup:
    """A measure of one option of one eye with its interval, or with its value in the kept plan."""
    comparison = shown.comparison
    result = comparison.results[option]
    words = pair_beside(measure, result) or interval_words(comparison, shown.drawn_yet, measure, option)
    if shown.inputs.side in kept:
        words = _kept_words(measure, kept[shown.inputs.side].comparison, option)
    return _value_cell(measure, result, comparison.judgement, words)


def _pair_behind(measure: Measure, eyes: dict[str, Shown]) -> str:
    """The intervals of both eyes, given once where the words are the same."""
    said = {side: behind_words(one.comparison, one.drawn_yet, measure) for side, one in eyes.items()}
    if len(set(said.values())) == 1:
        return next(iter(said.values()))
    return " ".join(f"{side} ({SIDES[side]}): {words}" for side, words in said.items() if words)
