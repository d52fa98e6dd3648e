"""The cuts of an extraction against time: a drawn line of time with the moment."""

from collections.abc import Sequence

import numpy as np

from tissue.drawing.base.fonts import text_width
from tissue.drawing.base.palette import Look
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.ground.vocabulary import CAP, CUT, INCISION, SIDE, Figure
from tissue.routes.cutting import Clock, done_percent

CUT_NAMES = {
    CUT: "lenticule cut, outside in",
    SIDE: "side cut of the lenticule",
    CAP: "cap cut, inside out",
    INCISION: "incision",
}
SHORT_NAMES = {CUT: CUT, SIDE: "side cut", CAP: "cap", INCISION: "incision"}
SAME_TIME = (
    "Why the lasing time is the same for −1.50 and for −8.50 D: each cut sweeps its area at one pitch, so its time "
    "goes with that area, or with the length and height of a side cut, and not with the refraction. A deeper lenticule "
    "is a steeper face, not a larger one."
)
SIDE_PX, TOP_PX, BOX_PX, BOTTOM_PX = 8, 40, 26, 22
HEAD = 1.0 + 24.0 / BOX_PX  # where the mark of the moment stands, as a part of the box
NAME_PX, THIN_PX, APART_PX = 12.5, 11.5, 6.0
THIN_ROW_PX, MOMENT_ROW_PX = 10.0, 28.0  # over the box, to the middle of the words


def clock_line(clock: Clock, seconds: float, look: Look, width_px: float) -> Figure:
    """The four cuts on a line of time, filled up to the moment.

    Args:
        clock: Clock.
        seconds: the moment [s].
        look: Look.
        width_px: width of the figure [px].
    """
    total = float(clock.total_s)
    per_s = (width_px - 2.0 * SIDE_PX) / total
    frame = layout(look, None, TOP_PX + BOX_PX + BOTTOM_PX, (SIDE_PX, SIDE_PX, 0, BOTTOM_PX))
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "ticksuffix": " s"}
    frame["xaxis"] = axis((0.0, 1.0), (0.0, total), "y", **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (0.0, 1.0 + TOP_PX / BOX_PX), "x")
    ends = list(zip(clock.order, map(float, clock.begins_s), map(float, clock.ends_s), strict=True))
    data = [area((np.array([0.0, seconds, seconds, 0.0]), np.array([0.0, 0.0, 1.0, 1.0])), "", look.above)]
    data.append(lines([((a, b, b, a, a), (0.0, 0.0, 1.0, 1.0, 0.0)) for _, a, b in ends], "", look.ink, 1))
    data.append(lines([((seconds, seconds), (0.0, HEAD))], "", look.ink, 2.4))
    data.append(marks([(seconds, HEAD, "triangle-down", 9, 0)], "", look.ink))
    notes, leaders = _names(ends, seconds, per_s, look)
    if leaders:
        data.append(lines(leaders, "", look.ink, 0.8))
    notes.append(_moment(clock, seconds, total, look))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _names(
    ends: Sequence[tuple[str, float, float]], seconds: float, per_s: float, look: Look
) -> tuple[list[Figure], list[tuple[tuple[float, float], tuple[float, float]]]]:
    """Names of the cuts: in their box where there is room beside the moment, otherwise above it with a leader."""
    notes: list[Figure] = []
    leaders: list[tuple[tuple[float, float], tuple[float, float]]] = []
    over: list[tuple[str, float]] = []  # names over their box, and where
    for name, begin, end in ends:
        at = _room(CUT_NAMES[name], begin * per_s, end * per_s, seconds * per_s)
        if at is not None:
            notes.append(words(CUT_NAMES[name], at / per_s, 0.5, NAME_PX, look.ink))
            continue
        middle = 0.5 * (begin + end)
        leaders.append(((middle,) * 2, (1.0, 1.0 + 4.0 / BOX_PX)))
        short = SHORT_NAMES[name]
        if over and (middle - over[-1][1]) * per_s < text_width(short, THIN_PX):  # two thin cuts, one after the other
            short, middle = f"{over[-1][0]}, {short}", 0.5 * (over.pop()[1] + middle)
        over.append((short, middle))
    for short, middle in over:
        half = 0.5 * text_width(short, THIN_PX)
        place = {"xanchor": "center", "yanchor": "middle", "yshift": THIN_ROW_PX}
        last = ends[-1][2]
        if (last - middle) * per_s < half:  # a name that would leave the figure ends at its edge, or at the moment
            crossed = (last - seconds) * per_s < 2.0 * half + APART_PX
            place |= {"xanchor": "right", "xshift": -8 if crossed else 0}
            middle = seconds if crossed else last
        elif abs(middle - seconds) * per_s < half + APART_PX:
            place |= {"xanchor": "left", "xshift": 8} if middle > seconds else {"xanchor": "right", "xshift": -8}
        notes.append(words(short, middle, 1.0, THIN_PX, look.ink2, **place))
    return notes, leaders


def _room(text: str, left: float, right: float, moment: float) -> float | None:
    """Middle of a name in its box [px], clear of the moment; None where there is no room."""
    half = text_width(text, NAME_PX) / 2.0 + APART_PX
    inside = left < moment < right
    places = [(left, right), *(((left, moment), (moment, right)) if inside else ())]
    for low, high in sorted(places, key=lambda ends: ends[0] - ends[1]):
        at = 0.5 * (low + high)
        if high - low >= 2.0 * half and not at - half < moment < at + half:
            return at
    return None


def _moment(clock: Clock, seconds: float, total: float, look: Look) -> Figure:
    """The moment and how far the cut of that moment has come."""
    stage, done = clock.moment(seconds)
    text = f"<b>{seconds:.1f} s</b>, {SHORT_NAMES[clock.order[int(stage)]]} {done_percent(done)} % done"
    right = seconds > 0.75 * total
    place = {"xanchor": "right" if right else "left", "yanchor": "middle", "yshift": MOMENT_ROW_PX}
    return words(text, seconds, 1.0, NAME_PX, look.ink, xshift=-9 if right else 9, **place)


def describe_clock(clock: Clock, seconds: float) -> str:
    """The line of time in words, with its numbers."""
    ends = ", ".join(
        f"{CUT_NAMES[name]} to {float(end):.1f} s" for name, end in zip(clock.order, clock.ends_s, strict=True)
    )
    stage, done = clock.moment(seconds)
    now = CUT_NAMES[clock.order[int(stage)]]
    return f"The cuts in their order: {ends}. The moment is {seconds:.1f} s: {now}, {done_percent(done)} % done."
