"""The follow-up of a plan as a readable table."""

from textwrap import wrap
from typing import Any

from tissue.eye.reading import METHOD_WORDS, WORDS
from tissue.followup.follow import Ledger, bed_planned, bed_today, layer_estimates, reserve_today
from tissue.followup.notices import follow_notices, on_day
from tissue.followup.strips import Strip
from tissue.report.followup.follow_json import PARTS, Laid
from tissue.report.measures import NO_FIGURE, STANDING_LINE, percent, rounded, span
from tissue.report.terminal import SIDES

WIDTH, NAME = 108, 38
STRIP_WORDS = (
    "Expected: mean of published readings of this kind, and 95 of 100 of them. It says where a reading lies, not why."
)
PART_WORDS = {
    "not_removed": "not removed",
    "grown_back": "grown back",
    "method": "method",
    "unexplained": "unexplained",
}
LAYER_WORDS = {
    "thickness_before_um": "thickness before surgery",
    "epithelium_before_um": "epithelium before surgery",
    "removal_um": "taken",
    "cut_um": "flap or cap as cut",
    "epithelium_um": "epithelium today",
    "cut_today_um": "flap or cap today",
}


def follow_table(code: str, eyes: dict[str, Laid]) -> str:
    """The text of a whole follow-up.

    Args:
        code: the pseudonym, or an empty text.
        eyes: by side, its Laid.
    """
    blocks = [f"Follow-up of {code}" if code else "Follow-up"]
    blocks += ["\n".join(_eye(side, one)) for side, one in eyes.items()]
    return "\n\n".join([*blocks, STRIP_WORDS, STANDING_LINE])


def _eye(side: str, one: Laid) -> list[str]:
    found = one.found
    lines = [f"{SIDES[side]}   {found.done.option.title} was done"]
    for reading, lies, ledger in zip(found.readings, one.strips, found.ledgers, strict=True):
        lines += ["", f"{on_day(reading)[0].upper()}{on_day(reading)[1:]}, by {METHOD_WORDS[reading.method]}"]
        lines += [_strip(name, strip, getattr(reading, name)) for name, strip in lies.items()]
        lines += [] if ledger is None else [_account(ledger)]
    lines += ["", *_today(one)]
    told = [notice.text for notice in follow_notices(found, one.strips, one.own_source)]
    for i, text in enumerate(told):
        lines += [*([""] if not i else []), *wrap(text, WIDTH, initial_indent="- ", subsequent_indent="  ")]
    return lines


def _strip(name: str, one: Strip | None, value: Any) -> str:
    """One reading beside its strip."""
    words, unit, decimals = WORDS[name]
    first = f"  {words}, {unit}".ljust(NAME) + rounded(float(value), decimals).rjust(7)
    if one is None:
        return f"{first}   no published rows"
    ends = span(one.low, one.high, decimals) if one.low >= 0 else _ends(one, decimals)
    eyes = f"{one.eyes} eyes, " if one.eyes else ""
    series = f"{one.series} series" if one.rows else "no rows but the spread between eyes"
    place = f"expected {rounded(one.expected, decimals)} ({ends}), above {percent(one.place_percent)} %"
    return f"{first}   {place}; {eyes}{series}"


def _ends(one: Strip, decimals: int) -> str:
    return f"{rounded(one.low, decimals)} to {rounded(one.high, decimals)}"


def _account(ledger: Ledger) -> str:
    """The account of one reading on one line: planned minus its parts is what was measured."""
    parts = "".join(
        f" − {PART_WORDS[name]} {rounded(part.mean_um)} ± {rounded(part.sd_um)}"
        for name in PARTS
        for part in (getattr(ledger, name),)
    )
    return f"  thinner by, µm: planned {rounded(ledger.planned_um)}{parts} = measured {rounded(ledger.measured_um)}"


def _today(one: Laid) -> list[str]:
    """Bed, layers and reserve by all readings."""
    before, today, left = bed_planned(one.found), bed_today(one.found), reserve_today(one.found)
    line = float(one.found.comparison.judgement.bed_line_um)
    lines = ["By the errors of the plan and all readings, µm, with 95 of 100"]
    for words, bed in (("bed as planned, errors counted", before), ("bed today", today)):
        ends, under = span(bed.low_um, bed.high_um), percent(bed.below_line_percent)
        lines.append(f"  {words}".ljust(NAME) + f"{rounded(bed.mean_um)} ({ends}), chance under {line:.0f}: {under} %")
    lines.append("  least bed today".ljust(NAME) + rounded(today.min_um))
    for name, part in layer_estimates(one.found).items():
        if part is not None:
            lines.append(f"  {LAYER_WORDS[name]}".ljust(NAME) + f"{rounded(part.mean_um)} ± {rounded(part.sd_um)}")
    ends = f"{rounded(left.low_um)} to {rounded(left.high_um)}"
    lines.append(
        "  reserve over the line".ljust(NAME) + f"{rounded(left.mean_um)} ({ends}), planned {rounded(left.planned_um)}"
    )
    lines.append("  least flap under the epithelium".ljust(NAME) + rounded(left.flap_least_um))
    room = NO_FIGURE if left.room_um is None else rounded(left.room_um)
    return [*lines, "  room for a thin flap in the cap".ljust(NAME) + room]
