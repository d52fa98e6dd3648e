"""The tables of figures as HTML: columns under the sections, units once, every measure one click from its source."""

from functools import cache
from html import escape

from tissue.drawing.palette import DASH, HEADS, SHORT_HEADS
from tissue.drawing.section import column_shares
from tissue.measures import GROUPS, marked, measures, value_of
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
def _name_cell(name, label):
    """Name and unit of a measure; the name opens formula, source and limits."""
    measure = measures()[name]
    behind = (
        f"<b>{escape(label)}</b><p>{escape(measure.formula)}</p><p>{escape(measure.limits)}</p>"
        f'<p class="source">{escape(measure.citation)}</p>'
    )
    unit = f' <span class="unit">{measure.unit}</span>' if measure.unit else ""
    return (
        f'<th scope="row"><details name="behind"><summary>{escape(label)}</summary><div class="behind">{behind}</div></details>'
        f"{unit}</th>"
    )


def _value_cell(measure, result, judgement, side):
    mark = "<sup>†</sup>" if marked(measure, result) else ""
    words = escape(beside(measure, result, side))
    return f'<td><span class="value">{value_of(measure, result, judgement)}{mark}</span><span class="beside">{words}</span></td>'


def _row(measure, comparison, side):
    judgement = comparison.judgement
    label = measure.heading(judgement)
    cells = "".join(_value_cell(measure, result, judgement, side) for result in comparison.results.values())
    kind = ' class="important"' if measure.key else ""
    return f"<tr{kind}>{_name_cell(measure.id, label)}{cells}</tr>"


def table(comparison, side, groups=("depth", "shares", "stays"), narrow=False):
    """The table of the options.

    Args:
        comparison: Comparison of one eye.
        side: OD or OS.
        groups: which groups of measures.
        narrow: whether the narrow columns hold.
    """
    rows = []
    for group in groups:
        if len(groups) > 1:
            rows.append(f'<tr class="group"><th colspan="4" scope="colgroup">{GROUPS[group]}</th></tr>')
        rows += [_row(m, comparison, side) for m in measures().values() if m.group == group]
    hidden = "".join(f'<th scope="col">{title}</th>' for title in HEADS.values())
    head = f'<thead class="unseen"><tr><th scope="col">Measure</th>{hidden}</tr></thead>'
    body = f"{colgroup(narrow)}{head}<tbody>{''.join(rows)}</tbody>"
    return f'<div class="scroll"><table class="figures" style="{middles(narrow)}">{body}</table></div>'
