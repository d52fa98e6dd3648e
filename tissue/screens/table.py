"""The tables of figures as HTML: columns under the sections, units once, every measure one click from its source."""

from functools import cache
from html import escape

from tissue.drawing.palette import DASH, HEADS, SHORT_HEADS
from tissue.drawing.section import column_shares
from tissue.drawing.words import SIDES
from tissue.measures import GROUPS, marked, measures, optics_measures, value_of
from tissue.screens.drawn import behind_words, interval_words
from tissue.screens.measures import beside

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


def _row(measure, comparison, side, narrow, kept, drawn):
    """A measure of every option; where a plan is kept, its value stands beside instead of parts and spread."""
    cells = ""
    for name, result in comparison.results.items():
        words = beside(measure, result, side, narrow) or interval_words(comparison, drawn, measure, name)
        if kept is not None:
            words = f"kept {value_of(measure, kept.results[name], kept.judgement)}"
        cells += _value_cell(measure, result, comparison.judgement, words)
    kind = ' class="important"' if measure.key else ""
    behind = behind_words(comparison, drawn, measure)
    return f"<tr{kind}>{name_cell(measure.id, measure.heading(comparison.judgement), behind)}{cells}</tr>"


def _group_row(group, columns):
    return f'<tr class="group"><th colspan="{columns}" scope="colgroup">{GROUPS[group]}</th></tr>'


def table(comparison, side, groups=("depth", "shares", "stays"), narrow=False, kept=None, drawn=None):
    """The table of the options.

    Args:
        comparison: Comparison of one eye.
        side: OD or OS.
        groups: which groups of measures.
        narrow: whether the narrow columns hold.
        kept: another Comparison, whose values stand beside.
        drawn: Drawn of the errors; what needs it stays empty without.
    """
    rows = []
    for group in groups:
        rows += [_group_row(group, 4)] if len(groups) > 1 else []
        rows += [_row(m, comparison, side, narrow, kept, drawn) for m in measures().values() if m.group == group]
    hidden = "".join(f'<th scope="col">{title}</th>' for title in HEADS.values())
    head = f'<thead class="unseen"><tr><th scope="col">Measure</th>{hidden}</tr></thead>'
    body = f"{colgroup(narrow)}{head}<tbody>{''.join(rows)}</tbody>"
    return f'<div class="scroll"><table class="figures" style="{middles(narrow)}">{body}</table></div>'


def pair_table(eyes, groups=("depth", "shares", "stays")):
    """The figures of both eyes, three columns an eye, the right eye first.

    Args:
        eyes: Comparison by side.
        groups: which groups of measures.
    """
    columns = [(side, result, eye.judgement) for side, eye in eyes.items() for result in eye.results.values()]
    top = "".join(f'<th colspan="3" scope="colgroup">{side} ({SIDES[side]})</th>' for side in eyes)
    heads_ = "".join(f'<th scope="col">{SHORT_HEADS[result.option.name]}</th>' for _, result, _ in columns)
    rows = ""
    for group in groups:
        rows += _group_row(group, 1 + len(columns))
        for measure in (m for m in measures().values() if m.group == group):
            cells = "".join(_pair_cell(measure, result, judgement) for _, result, judgement in columns)
            name = name_cell(measure.id, measure.heading(columns[0][2]))
            rows += f"<tr{' class=important' if measure.key else ''}>{name}{cells}</tr>"
    first, each = 24.0, 76.0 / len(columns)
    widths = (
        f'<colgroup><col style="width:{first}%">' + f'<col style="width:{each:.3f}%">' * len(columns) + "</colgroup>"
    )
    head = f"{widths}<thead><tr><td></td>{top}</tr><tr><th scope=col>Measure</th>{heads_}</tr></thead>"
    return f'<div class="scroll"><table class="figures pair">{head}<tbody>{rows}</tbody></table></div>'


def _pair_cell(measure, result, judgement):
    mark = "<sup>†</sup>" if marked(measure, result) else ""
    return f'<td><span class="value">{value_of(measure, result, judgement)}{mark}</span></td>'
