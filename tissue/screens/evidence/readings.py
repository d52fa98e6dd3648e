"""Part of Evidence on readings after surgery: every published row, and the pools with their disagreement."""

from functools import cache

from markupsafe import Markup

from tissue.entry.fields import DEFAULT_STATUS
from tissue.ground.published import Pool, Row, pools, readings
from tissue.report.followup.published import NOTE, POOL_WORDS, two_places, unit_words, value_words
from tissue.report.measures import NO_FIGURE
from tissue.screens.html import notes, part, plain_table

POOL_HEADS = ("Quantity", "Mean", "A new centre may find", "se", "SD between centres", "SD between eyes", "Rows")
ROW_HEADS = ("Row", "Quantity", "After", "By", "Day", "Eyes", "SE, D", "Printed", "Status", "Source", "Remark")


@cache
def readings_part() -> Markup:
    """Pools first, then every row behind them."""
    said = (
        "Series that disagree are shown and pooled, not chosen from: their disagreement widens what a new centre may "
        "find."
    )
    return (
        part("Readings after surgery, pooled")
        + notes(said, NOTE)
        + plain_table(POOL_HEADS, [_pool(one) for one in pools().values()], "Pools", numbers=(1, 2, 3, 4, 5))
        + part("Every row")
        + plain_table(ROW_HEADS, [_row(one) for one in readings()], "Published readings", numbers=(4, 5, 6))
    )


def _pool(one: Pool) -> tuple[str, ...]:
    """One pool."""
    ends = NO_FIGURE if one.low != one.low else f"{two_places(one.low)} to {two_places(one.high)}"
    figures = (two_places(value) for value in (one.se, one.tau, one.eye_sd))
    return f"{POOL_WORDS[one.id]}, {unit_words(one.unit)}", two_places(one.mean), ends, *figures, ", ".join(one.rows)


def _row(one: Row) -> tuple[str, ...]:
    """One row."""
    return (
        one.id,
        one.quantity.replace("_", " "),
        one.procedure,
        one.method or NO_FIGURE,
        _whole(one.days),
        _whole(one.n_eyes),
        two_places(one.SE_D),
        value_words(one),
        DEFAULT_STATUS[one.status],
        one.source,
        one.note,
    )


def _whole(value: float) -> str:
    return NO_FIGURE if value != value else f"{value:.0f}"
