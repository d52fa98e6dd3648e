"""Published readings and their pools: for machines, and as a readable table."""

import dataclasses
from typing import Any

from tissue.ground.published import Pool, Row, pools, readings, share_interval
from tissue.ground.vocabulary import TRUE_MINUS, rounded
from tissue.report.contract import plain_json
from tissue.report.measures import STANDING_LINE

FEW = 1_000  # a count of fewer eyes has the exact interval of its share
POOL_WORDS = {
    "stroma-lenticule": "read-out less stroma taken, extraction",
    "thinning-lenticule": "planned less thinning, extraction",
    "refraction-lenticule": "refraction less target, extraction",
    "stroma-ablation": "read-out less stroma taken, ablation",
    "offset-oct": "ultrasound less OCT",
    "offset-scheimpflug": "ultrasound less Scheimpflug",
    "drift": "refraction a year, later",
    "gain": "epithelium thicker, a dioptre of myopia",
    "suction": "suction lost",
}
NOTE = (
    "low to high: what a new centre may find, mean ± 2·√(se² + τ²). Of counts se and tau are in log odds; of the gain "
    "tau is in µm. Positive: less was taken than planned, the epithelium is thicker, ultrasound reads more."
)


def published_as_dict() -> dict[str, Any]:
    """Rows by the names of the data file, and pools."""
    return plain_json({"rows": [_row(one) for one in readings()], "pools": [_pool(one) for one in pools().values()]})


def _row(one: Row) -> dict[str, Any]:
    found = dataclasses.asdict(one)
    if one.of < FEW:
        found["low_percent"], found["high_percent"] = share_interval(one.count, one.of)
    return found


def _pool(one: Pool) -> dict[str, Any]:
    return dataclasses.asdict(one)


def published_table() -> str:
    """The text of all rows and pools."""
    lines = ["Published readings, pooled", ""]
    lines += [_pool_line(one) for one in pools().values()]
    lines += ["", NOTE, "", "Every row", ""]
    lines += [f"{one.id}  {published_row_words(one)}; {one.source}" for one in readings()]
    return "\n".join([*lines, "", STANDING_LINE])


def _pool_line(one: Pool) -> str:
    words = f"{POOL_WORDS[one.id]}, {unit_words(one.unit)}".ljust(48)
    ends = "" if one.low != one.low else f"  ({two_places(one.low)} to {two_places(one.high)})"
    spreads = f"se {two_places(one.se)}  tau {two_places(one.tau)}"
    return f"{words}{two_places(one.mean)}{ends}  {spreads}  rows {', '.join(one.rows)}"


def two_places(value: float) -> str:
    """A figure with two digits behind the point; an en dash where there is none.

    >>> two_places(-12.119), two_places(-0.001), two_places(float("nan"))
    ('−12.12', '0.00', '–')
    """
    return rounded(value, 2)


def unit_words(unit: str) -> str:
    """A unit of the data file as people write it.

    >>> unit_words("um"), unit_words("um/D")
    ('µm', 'µm/D')
    """
    return unit.replace("um", "µm")


def published_row_words(one: Row) -> str:
    """One published reading in words.

    >>> from tissue.ground.published import row
    >>> published_row_words(row("r01"))
    'readout less stroma, lenticule, vhf, day 90, 70 eyes, −7.81 D: 8.2 ± 8 µm'
    """
    about = [one.quantity.replace("_", " "), one.procedure, one.method]
    about += [f"day {one.days:.0f}"] if one.days == one.days else []
    about += [f"{one.n_eyes:.0f} eyes"] if one.n_eyes == one.n_eyes else []
    about += [f"{one.SE_D:.2f} D"] if one.SE_D == one.SE_D else []
    return f"{', '.join(filter(None, about))}: {value_words(one)}".translate(TRUE_MINUS)


def value_words(one: Row) -> str:
    """The number of a row: mean with its SD, or count with its exact interval.

    >>> from tissue.ground.published import row
    >>> value_words(row("f03"))
    '0 of 17 eyes (0.0 to 19.5 %)'
    """
    if one.count == one.count:
        low, high = share_interval(one.count, one.of)
        return f"{one.count:.0f} of {one.of:,.0f} eyes ({low:.1f} to {high:.1f} %)"
    spread = f" ± {one.sd:g}" if one.sd == one.sd else ""
    return f"{one.mean:g}{spread} {unit_words(one.unit)}".translate(TRUE_MINUS)
