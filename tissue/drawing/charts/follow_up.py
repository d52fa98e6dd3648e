"""Pictures of a follow-up: readings on their strips, the account as dimension lines, the bed as planned and today."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from tissue.drawing.base.palette import ABOVE_HATCH, LINE_OF_USER, Look
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.eye.reading import METHOD_WORDS, WORDS, Reading
from tissue.followup.follow import Bed, Ledger
from tissue.followup.notices import on_day
from tissue.followup.strips import Strip
from tissue.ground.vocabulary import rounded

LEFT_PX, RIGHT_PX, NARROW_LEFT_PX, NARROW_RIGHT_PX, NARROW_PX = 210, 210, 176, 8, 620
ROW_PX, TOP_PX, BOTTOM_PX = 34, 26, 8
FARTHEST = 3.4  # a reading farther out is drawn this many standard deviations from the mean
BAND, BETWEEN = 0.26, 0.14  # half heights of the two bands, in rows
DIMENSION_ROW_PX, TICK = 26, 0.2
PARTS = (("not_removed", "not removed"), ("grown_back", "grown back"), ("method", "method"),
         ("unexplained", "unexplained"))  # fmt: skip


class StripRow(NamedTuple):
    """One reading of one kind: its Strip, None where nothing is published; name and value as measured."""

    reading: Reading
    name: str
    value: float
    strip: Strip | None


def strips_figure(rows: Sequence[StripRow], look: Look, width_px: float) -> dict:
    """Every reading on its strip: 95 of 100 readings, the part between centres hatched, the mean, the reading.

    Every strip has its own scale: as many standard deviations to the left as to the right of its mean.

    Args:
        rows: StripRows, one reading after another.
        look: Look.
        width_px: width of the figure [px].
    """
    left, right = _sides(width_px)
    places, y = [], 0.0
    notes: list[dict] = []
    last = None
    for row in rows:
        if row.reading is not last:
            y += 0.35
            notes.append(_left(f"{_day(row.reading)}, by {METHOD_WORDS[row.reading.method]}", y, look, left, True))
            y, last = y + 0.85, row.reading
        places.append(y)
        y += 1.0
    height = int(TOP_PX + BOTTOM_PX + ROW_PX * y)
    frame = layout(look, width_px, height, (left, right, TOP_PX, BOTTOM_PX))
    frame["xaxis"] = axis((0.0, 1.0), (-FARTHEST - 0.4, FARTHEST + 0.4), "y")
    frame["yaxis"] = axis((0.0, 1.0), (y - 0.3, -0.3), "x")
    data: list[dict] = []
    for row, place in zip(rows, places, strict=True):
        drawn, said = _strip_row(row, place, look, left, right)
        data, notes = data + drawn, notes + said
    return {"data": data, "layout": frame | {"annotations": notes}}


def _sides(width_px: float) -> tuple[int, int]:
    """Room for words to the left and to the right of the strips [px]."""
    return (LEFT_PX, RIGHT_PX) if width_px >= NARROW_PX else (NARROW_LEFT_PX, NARROW_RIGHT_PX)


def _day(reading: Reading) -> str:
    words_ = on_day(reading)
    return words_[0].upper() + words_[1:]


def _left(text: str, y: float, look: Look, left_px: int, head: bool = False) -> dict:
    """Words at the left edge of the figure."""
    more = {"xref": "paper", "xanchor": "left", "xshift": -left_px + 2}
    style = {"serif": True, "weight": 600} if head else {}
    return words(text, 0.0, y, 13.5 if head else 12.5, look.ink, **more, **style)


def _strip_row(row: StripRow, y: float, look: Look, left: int, right: int) -> tuple[list[dict], list[dict]]:
    """Traces and words of one strip."""
    name, unit, decimals = WORDS[row.name]
    label = f"{name} <b>{_number(row)}</b> {unit}"
    notes = [_left(label, y, look, left)]
    if row.strip is None:
        notes.append(words("no published rows", 0.0, y, 11.5, look.ink2))
        return [], notes
    one, sd = row.strip, float(np.hypot(row.strip.between_sd, row.strip.eye_sd))
    reach, between = 1.96, 1.96 * one.between_sd / sd
    where = float(np.clip((one.value - one.expected) / sd, -FARTHEST, FARTHEST))
    data = [area(_box(reach, y, BAND), "", look.panel, line=(look.rule2, 1, "solid"))]
    data += [area(_box(between, y, BETWEEN), "", look.above, ABOVE_HATCH, look.above_hatch)] if between > 0.02 else []
    data.append(lines([([0.0, 0.0], [y - BAND - 0.08, y + BAND + 0.08])], "", look.ink, 1.2))
    data.append(marks([(where, y, "diamond", 10, 0.8)], "", look.ink))
    low, high = min(-reach, where), max(reach, where)  # beyond a reading that lies outside
    for end, value, anchor, shift in ((low, one.low, "right", -8), (high, one.high, "left", 8)):
        notes.append(words(_plain(value, decimals), end, y, 11, look.ink2, xanchor=anchor, xshift=shift))
    if right > NARROW_RIGHT_PX:
        beside = {"xref": "paper", "xanchor": "left", "xshift": 4}
        text = f"mean {_plain(one.expected, decimals)}; {rows_behind(one)}"
        notes.append(words(text, 1.0, y, 11.5, look.ink2, **beside))
    return data, notes


def _box(reach: float, y: float, half: float) -> tuple[list[float], list[float]]:
    """The corners of a band, its first one twice."""
    return [-reach, reach, reach, -reach, -reach], [y - half, y - half, y + half, y + half, y - half]


def rows_behind(one: Strip) -> str:
    """The published rows behind a strip, in words.

    >>> from tissue.followup.strips import strip_of
    >>> from tissue.followup.expected import Figure
    >>> rows_behind(strip_of(450.0, Figure(460.0, 3.0, 4.0, ("r01", "r02"))))
    '130 eyes, 2 series'
    """
    if not one.rows:
        return "spread between eyes"
    return f"{one.eyes:,} eyes, {one.series} series" if one.eyes else f"{one.series} series, eyes not kept"


def _number(row: StripRow) -> str:
    return _plain(row.value, WORDS[row.name][2])


def _plain(value: float, decimals: int) -> str:
    return rounded(value, decimals)


def describe_strips(rows: Sequence[StripRow]) -> str:
    """Every strip in words, with its numbers."""
    said = []
    for row in rows:
        name, unit, decimals = WORDS[row.name]
        first = f"{_day(row.reading)}, {name} {_number(row)} {unit}"
        if row.strip is None:
            said.append(f"{first}: no published rows.")
            continue
        ends = f"{_plain(row.strip.low, decimals)} to {_plain(row.strip.high, decimals)}"
        mean = _plain(row.strip.expected, decimals)
        said.append(f"{first}: expected {mean}, 95 of 100 from {ends}; {rows_behind(row.strip)}.")
    return " ".join(said)


def account_figure(reading: Reading, ledger: Ledger, look: Look, width_px: float) -> dict:
    """The account of one reading as dimension lines: planned minus its parts is what was measured.

    Args:
        reading, ledger: Reading and its Ledger.
        look: Look.
        width_px: width of the figure [px].
    """
    steps = _steps(ledger)
    ends = [end for _, begin, end, _ in steps for end in (begin, end)]
    height = TOP_PX + BOTTOM_PX + DIMENSION_ROW_PX * (len(steps) + 1)
    frame = layout(look, width_px, height, (NARROW_LEFT_PX, 16, TOP_PX, BOTTOM_PX))
    frame["xaxis"] = axis((0.0, 1.0), (min(*ends, 0.0) - 2.0, max(ends) * 1.04 + 2.0), "y")
    frame["yaxis"] = axis((0.0, 1.0), (len(steps) - 0.4, -1.2), "x")
    strokes = [stroke for i, (_, begin, end, _) in enumerate(steps) for stroke in _dimension(begin, end, i)]
    joins = [([end, end], [i, i + 1.0]) for i, (_, _, end, _) in enumerate(steps[:-1])]
    data = [lines(joins, "", look.rule2, 0.8, "dot"), lines(strokes, "", look.ink, 1.2)]
    title = f"{_day(reading)}: thinner than before surgery, µm"
    notes = [_left(title, -0.95, look, NARROW_LEFT_PX, True)]
    for i, (name, _, _, text) in enumerate(steps):
        notes.append(_left(f"{name} <b>{text}</b>", i, look, NARROW_LEFT_PX))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _steps(ledger: Ledger) -> list[tuple[str, float, float, str]]:
    """Each line of the account: name, begin, end [µm], the figure in words."""
    planned, at = float(ledger.planned_um), float(ledger.planned_um)
    found = [("planned", 0.0, planned, rounded(planned))]
    for part, name in PARTS:
        one = getattr(ledger, part)
        found.append((f"− {name}", at, at - float(one.mean_um), f"{rounded(one.mean_um)} ± {rounded(one.sd_um)}"))
        at -= float(one.mean_um)
    return [*found, ("= measured", 0.0, float(ledger.measured_um), rounded(ledger.measured_um))]


def _dimension(begin: float, end: float, y: float) -> list[tuple[list[float], list[float]]]:
    """A dimension line with a tick at both ends."""
    return [([begin, end], [y, y]), *(([x, x], [y - TICK, y + TICK]) for x in (begin, end))]


def describe_account(reading: Reading, ledger: Ledger) -> str:
    """The account in words, with its numbers."""
    said = ", ".join(f"{name} {text}" for name, _, _, text in _steps(ledger))
    return f"{_day(reading)}: thinner than before surgery, µm: {said}."


def bed_figure(before: Bed, today: Bed, line_um: float, look: Look, width_px: float) -> dict:
    """The bed as planned and by all readings, with 95 of 100 and the user's line.

    Args:
        before, today: Beds.
        line_um: the user's line [µm].
        look: Look.
        width_px: width of the figure [px].
    """
    rows = (("planned, errors counted", before), ("today, all readings", today))
    ends = [float(end) for _, bed in rows for end in (bed.low_um, bed.high_um)] + [line_um]
    room = 0.08 * (max(ends) - min(ends)) + 4.0
    frame = layout(look, width_px, TOP_PX + BOTTOM_PX + ROW_PX * 3, (NARROW_LEFT_PX, 16, TOP_PX, BOTTOM_PX))
    frame["xaxis"] = axis((0.0, 1.0), (min(ends) - room, max(ends) + room), "y")
    frame["yaxis"] = axis((0.0, 1.0), (2.2, -1.2), "x")
    data = [lines([([line_um, line_um], [-0.45, 1.6])], "", look.ink, 1.0, LINE_OF_USER)]
    notes = [_left("Residual bed at the centre, µm", -0.85, look, NARROW_LEFT_PX, True)]
    notes.append(words(f"your line {line_um:.0f}", line_um, 1.9, 11.5, look.ink2))
    for i, (name, bed) in enumerate(rows):
        low, mean, high = (float(part) for part in (bed.low_um, bed.mean_um, bed.high_um))
        data.append(lines(_dimension(low, high, i), "", look.ink, 1.2))
        data.append(marks([(mean, i, "diamond", 9, 0.8)], "", look.ink))
        notes.append(_left(f"{name} <b>{rounded(mean)}</b>", i, look, NARROW_LEFT_PX))
        ends_ = ((low, "right", -6), (high, "left", 6))
        notes += [words(rounded(x), x, i, 11, look.ink2, xanchor=to, xshift=by) for x, to, by in ends_]
    return {"data": data, "layout": frame | {"annotations": notes}}


def describe_bed(before: Bed, today: Bed, line_um: float) -> str:
    """Both beds in words, with their numbers."""
    said = [
        f"{name} {rounded(bed.mean_um)}, 95 of 100 from {rounded(bed.low_um)} to {rounded(bed.high_um)}"
        for name, bed in (("planned", before), ("today", today))
    ]
    return f"Residual bed at the centre, µm: {'; '.join(said)}; your line {line_um:.0f}."
