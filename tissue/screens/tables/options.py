"""The tables of figures as HTML: columns under the sections, units once, every measure one click from its source."""

from functools import cache
from html import escape

from tissue.drawing.base.palette import DASH, HEADS, SHORT_HEADS
from tissue.drawing.base.words import SIDES
from tissue.drawing.section.section import column_shares
from tissue.report.measures import GROUPS, marked, measures, optics_measures, value_of
from tissue.screens.desk.drawn import behind_words, interval_words
from tissue.screens.tables.measures import beside, pair_beside

BORDER = {"dot": "dotted", "dash": "dashed", "solid": "solid"}


def colgroup(narrow=False):
    """Widths of the columns, from the same shares as the sections above them: each ends where the next begins."""
    measure, option, gap = column_shares(narrow)
    widths = [measure, option + gap, option + gap, option]
    return "<colgroup>" + "".join(f'<col style="width:{100 * w:.3f}%">' for w in widths) + "</colgroup>"


def middles(narrow=False):
    """Where the middle of a section lies in its column of the table [%], as style variables."""
    _, option, gap = column_shares(narrow)
    return f"--middle:{50 * option / (option + gap):.3f}%;--last-middle:50%"


def heads(narrow=False):
    """Names of the options over their sections, each with its line key."""
    cells = "".join(
        f'<th scope="col"><span class="key" style="border-top:4px {BORDER[DASH[name]]} var(--tissue-{name})"></span>'
        f'<span class="full">{HEADS[name]}</span><span class="short">{SHORT_HEADS[name]}</span></th>'
        for name in HEADS
    )
    return f'<table class="heads">{colgroup(narrow)}<tr><td></td>{cells}</tr></table>'


@cache
def name_cell(name, label, drawn=""):
    """Name and unit of a measure; the name opens formula, source, limits and the intervals."""
    measure = (measures() | optics_measures())[name]
    behind = (
        f"<b>{escape(label)}</b><p>{escape(measure.formula)}</p><p>{escape(measure.limits)}</p>"
        f'<p class="source">{escape(measure.citation)}</p><p>{escape(drawn)}</p>'
    )
    unit = f' <span class="unit">{measure.unit}</span>' if measure.unit else ""
    opened = f'<summary>{escape(label)}</summary><div class="behind">{behind}</div>'
    return f'<th scope="row"><details name="behind">{opened}</details>{unit}</th>'


def _value_cell(measure, result, judgement, words):
    mark = "<sup>†</sup>" if marked(measure, result) else ""
    value = f'<span class="value">{value_of(measure, result, judgement)}{mark}</span>'
    return f'<td>{value}<span class="beside">{escape(words)}</span></td>'


def _kept_words(measure, kept, option):
    """The value of a measure in the kept plan."""
    return f"kept {value_of(measure, kept.results[option], kept.judgement)}"


def _row(measure, comparison, side, narrow, kept, drawn):
    """A measure of every option; where a plan is kept, its value stands beside instead of parts and spread."""
    cells = ""
    for name, result in comparison.results.items():
        words = beside(measure, result, side, narrow) or interval_words(comparison, drawn, measure, name)
        if kept is not None:
            words = _kept_words(measure, kept, name)
        cells += _value_cell(measure, result, comparison.judgement, words)
    kind = ' class="important"' if measure.key else ""
    behind = behind_words(comparison, drawn, measure)
    return f"<tr{kind}>{name_cell(measure.id, measure.heading(comparison.judgement), behind)}{cells}</tr>"


def _group_row(group, columns):
    return f'<tr class="group"><th colspan="{columns}" scope="colgroup">{GROUPS[group]}</th></tr>'


def table(comparison, side, groups=("depth", "shares", "stays"), narrow=False, kept=None, drawn=None, above=""):
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
        rows += [_group_row(group, 4)] if len(groups) > 1 else []
        rows += [_row(m, comparison, side, narrow, kept, drawn) for m in measures().values() if m.group == group]
    hidden = "".join(f'<th scope="col">{title}</th>' for title in HEADS.values())
    head = f'<thead class="unseen"><tr><th scope="col">Measure</th>{hidden}</tr></thead>'
    body = f"{colgroup(narrow)}{head}<tbody>{''.join(rows)}</tbody>"
    return f'<div class="scroll">{above}<table class="figures" style="{middles(narrow)}">{body}</table></div>'


def pair_table(eyes, kept=None, groups=("depth", "shares", "stays")):
    """The figures of both eyes with their intervals, three columns an eye, the right eye first.

    Args:
        eyes: Shown by side; what needs draws stays empty until they are there.
        kept: Shown of a kept plan by side, whose values stand beside instead.
        groups: which groups of measures.
    """
    columns = [(one, option) for one in eyes.values() for option in one.comparison.results]
    top = "".join(f'<th colspan="3" scope="colgroup">{side} ({SIDES[side]})</th>' for side in eyes)
    heads_ = "".join(f'<th scope="col">{SHORT_HEADS[option]}</th>' for _, option in columns)
    rows = ""
    for group in groups:
        rows += _group_row(group, 1 + len(columns))
        for measure in (m for m in measures().values() if m.group == group):
            cells = "".join(_pair_cell(measure, one, option, kept or {}) for one, option in columns)
            label = measure.heading(columns[0][0].comparison.judgement)
            name = name_cell(measure.id, label, _pair_behind(measure, eyes))
            rows += f"<tr{' class=important' if measure.key else ''}>{name}{cells}</tr>"
    first, each = 24.0, 76.0 / len(columns)
    widths = (
        f'<colgroup><col style="width:{first}%">' + f'<col style="width:{each:.3f}%">' * len(columns) + "</colgroup>"
    )
    head = f"{widths}<thead><tr><td></td>{top}</tr><tr><th scope=col>Measure</th>{heads_}</tr></thead>"
    return f'<div class="scroll"><table class="figures pair">{head}<tbody>{rows}</tbody></table></div>'


def _pair_cell(measure, shown, option, kept):
    """A measure of one option of one eye with its interval, or with its value in the kept plan."""
    comparison = shown.comparison
    result = comparison.results[option]
    words = pair_beside(measure, result) or interval_words(comparison, shown.drawn_yet, measure, option)
    if shown.inputs.side in kept:
        words = _kept_words(measure, kept[shown.inputs.side].comparison, option)
    return _value_cell(measure, result, comparison.judgement, words)


def _pair_behind(measure, eyes):
    """The intervals of both eyes; said once where they are the same words."""
    said = {side: behind_words(one.comparison, one.drawn_yet, measure) for side, one in eyes.items()}
    if len(set(said.values())) == 1:
        return next(iter(said.values()))
    return " ".join(f"{side} ({SIDES[side]}): {words}" for side, words in said.items() if words)
