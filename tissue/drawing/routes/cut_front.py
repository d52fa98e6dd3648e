"""What is cut by a moment, from the front; and the order of the cuts as four pictures."""

from typing import Any

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.meridian import Meridian, meridian
from tissue.drawing.base.palette import Hatch, Look
from tissue.drawing.base.rings import Circle, Front, front
from tissue.drawing.base.traces import area, axis, layout, lines, marks, words
from tissue.drawing.front.front import Column, column_words, small_axes
from tissue.drawing.routes.cut_clock import CUT_NAMES
from tissue.drawing.routes.way_frame import BELOW_PX, HEIGHT_PX, TOP_PX, WayFrame
from tissue.ground.vocabulary import CAP, CUT, INCISION, SIDE, Array, Figure
from tissue.removal.options import Option
from tissue.removal.removal import Removal
from tissue.routes.cutting import Clock, CutSoFar, cut_so_far, done_percent

RING_HATCH, DISC_HATCH = Hatch("/", 6, 0.24), Hatch("\\", 7, 0.14)
CLEAR = "rgba(0,0,0,0)"
FROM_DEG = 90.0  # an unfinished side cut is drawn clockwise from the top, because where it begins is not known
DRAWN_AT = {CUT: 0.5, SIDE: 1.0, CAP: 0.5, INCISION: 1.0}
TITLES = {CUT: "Lenticule, outside in", SIDE: "Its side cut", CAP: "Cap, inside out", INCISION: "Incision"}
TITLE_PX, EYE_PX, STRIP_PX, FOOT_PX = 48, 168, 84, 24
GAP_SHARE, NARROW_PX = 0.02, 700
STRIP_UM = 660.0  # depth shown under each picture
WORDS_PX = 16.0  # from the limbus to the middle of the words under it


def cut_rings(
    comparison: Comparison, cut: CutSoFar, look: Look, axes: str, thick: float = 6.0, step_deg: float = 3.0
) -> list[Figure]:
    """Traces of what is cut by now: the ring of the lenticule cut, its side, the disc of the cap, the incision.

    Dotted: what is planned and not yet cut.

    Args:
        comparison: Comparison of one eye with a lenticule extraction.
        cut: CutSoFar.
        look: Look.
        axes: suffix of the pair of axes.
        thick: width of side cut and incision [px].
        step_deg: between the points of a circle [degrees].
    """
    seen, name = front(comparison), comparison.under_cap.option.name
    cap = seen.cap_there
    pink = look.option[name]
    x, y = seen.centre
    outer, inner = (Circle(x, y, float(r)) for r in (cut.lenticule_outer_mm, cut.lenticule_inner_mm))
    disc = Circle(x, y, float(cut.cap_radius_mm))
    traces = [area(seen.limbus.arc(step_deg=step_deg), axes, look.stroma, line=(look.ink, 1.5, "solid"))]
    if outer.radius_mm - inner.radius_mm > 1e-6:
        traces.append(area(ring(outer, inner, step_deg), axes, look.removed[name], RING_HATCH, pink))
    if disc.radius_mm > 1e-6:
        traces.append(area(disc.arc(step_deg=step_deg), axes, CLEAR, DISC_HATCH, look.ink2))
    planned = [circle.arc(step_deg=step_deg) for circle in (outer, cap)]
    traces.append(lines(planned, axes, look.ink2, 1, "dot"))
    edges = [c.arc(step_deg=step_deg) for c in (inner, disc) if 1e-6 < c.radius_mm < _full(c, disc, seen, outer)]
    if edges:
        traces.append(lines(edges, axes, look.ink, 2.2))
    return traces + _sides(seen, cut, outer, (axes, pink, thick), step_deg)


def _full(circle: Circle, disc: Circle, seen: Front, outer: Circle) -> float:
    """Radius [mm] at which a cut is finished or, outside in, has not begun, so that no moving edge is drawn."""
    return (seen.cap_there if circle is disc else outer).radius_mm - 1e-6


def _sides(seen: Front, cut: CutSoFar, outer: Circle, how: tuple[str, str, float], step_deg: float) -> list[Figure]:
    """Side cut and incision, as far as they are done; how: suffix of the axes, colour, width of the incision [px]."""
    axes, colour, thick = how
    strokes = []
    if float(cut.side_done) > 0:
        strokes.append(outer.arc(FROM_DEG - 360.0 * float(cut.side_done), FROM_DEG, step_deg))
    traces = [lines(strokes, axes, colour, 0.5 * thick)] if strokes else []
    if float(cut.incision_done) > 0:
        low, high = seen.incision_arc_deg
        arc = seen.cap_there.arc(low, low + float(cut.incision_done) * (high - low), step_deg)
        traces.append(lines([arc], axes, colour, thick))
    return traces


def ring(outer: Circle, inner: Circle, step_deg: float) -> tuple[Array, ...]:
    """A ring as a polygon (x, y): out along the outer circle, back along the inner one."""
    return tuple(
        np.concatenate([there, back[::-1]])
        for there, back in zip(outer.arc(step_deg=step_deg), inner.arc(step_deg=step_deg), strict=True)
    )


def cut_words(cut: CutSoFar) -> str:
    """What is cut by now in words, with the radii."""
    inner, outer, cap = (float(r) for r in (cut.lenticule_inner_mm, cut.lenticule_outer_mm, cut.cap_radius_mm))
    parts = [f"lenticule cut from {outer:.2f} to {inner:.2f} mm from the centre"] if outer - inner > 1e-6 else []
    parts += [f"its side cut {done_percent(cut.side_done)} %"] if float(cut.side_done) > 0 else []
    parts += [f"cap cut from the centre to {cap:.2f} mm"] if cap > 1e-6 else []
    parts += [f"incision {done_percent(cut.incision_done)} %"] if float(cut.incision_done) > 0 else []
    return "; ".join(parts) if parts else "nothing is cut yet"


def order_of_cuts(comparison: Comparison, clock: Clock, look: Look, width_px: float) -> Figure:
    """Four pictures from the front, each with its section, in the order of the clock.

    Args:
        comparison: Comparison of one eye with a lenticule extraction.
        clock: Clock.
        look: Look.
        width_px: width of the figure [px].
    """
    narrow = width_px < NARROW_PX
    foot = 2 * FOOT_PX if narrow else FOOT_PX
    height = TITLE_PX + EYE_PX + STRIP_PX + foot
    frame, data, notes = layout(look, None, height, (0, 0, 0, 0)), [], []
    each = (1.0 - 3.0 * GAP_SHARE) / 4.0
    radius = 1.04 * float(comparison.cornea.white_to_white_mm) / 2.0
    for i, stage in enumerate(clock.order):
        cut, axes = cut_so_far(clock, stage, DRAWN_AT[stage]), str(2 * i + 1) if i else ""
        left = i * (each + GAP_SHARE)
        half = _half_mm(each * width_px, radius)
        _axes(frame, i, (left, left + each), half, radius, foot)
        data += cut_rings(comparison, cut, look, axes) + _ways_of_travel(comparison, stage, cut, look, axes)
        data += _strip(comparison, cut, stage, look, str(2 * i + 2))
        title, time = f"{i + 1}  {TITLES[stage]}", _time(float(clock.begins_s[i]), float(clock.ends_s[i]))
        title, time = (one.replace(", ", ",<br>") if narrow else one for one in (title, time))
        place = {"xanchor": "left", "xref": "paper", "yref": "paper", "align": "left"}
        notes.append(words(title, left, 1.0, 15, look.ink, yanchor="top", serif=True, weight=600, **place))
        notes.append(words(time, left, 0.0, 12, look.ink2, yanchor="bottom", **place))
    return {"data": data, "layout": frame | {"annotations": notes}}


def _time(begin_s: float, end_s: float) -> str:
    """When a cut begins and how long it takes.

    >>> _time(10.26, 10.35), _time(23.98, 24.0)
    ('from 10.3 s, 0.1 s long', 'from 24.0 s, under 0.1 s long')
    """
    lasts = end_s - begin_s
    return f"from {begin_s:.1f} s, {f'{lasts:.1f}' if lasts >= 0.05 else 'under 0.1'} s long"


def _half_mm(width_px: float, radius_mm: float) -> float:
    """Half of what a panel shows across [mm]: the eye stands at the left, its diameter the height of the picture."""
    return radius_mm * max(1.0, width_px / EYE_PX)


def _axes(frame: Figure, i: int, domain: tuple[float, float], half: float, radius: float, foot: int) -> None:
    """The two pairs of axes of one panel: the view from the front, and its section under it at the same width.

    Args:
        frame: gets them. i: number of the panel. domain: where it begins and ends [share of the width].
        half: of its width, radius: of what is seen of the eye [mm]. foot: height of the words below [px].
    """
    height = frame["height"]
    upper, lower = str(2 * i + 1) if i else "", str(2 * i + 2)
    eye = (1.0 - (TITLE_PX + EYE_PX) / height, 1.0 - TITLE_PX / height)
    strip = (foot / height, eye[0] - 6.0 / height)
    across = (-radius, 2.0 * half - radius)
    more = {"scaleanchor": "x" + upper, "scaleratio": 1, "constrain": "domain", "constraintoward": "middle"}
    frame["xaxis" + upper] = axis(domain, across, "y" + upper, constrain="domain", constraintoward="left")
    frame["yaxis" + upper] = axis(eye, (-radius, radius), "x" + upper, **more)
    frame["xaxis" + lower] = axis(domain, across, "y" + lower)
    frame["yaxis" + lower] = axis(strip, (STRIP_UM, -20.0), "x" + lower)


def _ways_of_travel(comparison: Comparison, stage: str, cut: CutSoFar, look: Look, axes: str) -> list[Figure]:
    """Arrows in which a spiral travels: from the rim inwards, or from the centre outwards."""
    x, y = front(comparison).centre
    ends = {CUT: (float(cut.lenticule_outer_mm), float(cut.lenticule_inner_mm)),
            CAP: (0.9, float(cut.cap_radius_mm))}.get(stage)  # fmt: skip
    if ends is None:
        return []
    begin, end = ends
    inwards = end < begin
    strokes = [((x + s * begin, x + s * end), (y, y)) for s in (-1.0, 1.0)]
    heads = [(x + s * end, y, "triangle-left" if (s > 0) == inwards else "triangle-right", 9, 0) for s in (-1.0, 1.0)]
    return [lines(strokes, axes, look.ink, 1.6), marks(heads, axes, look.ink)]


def _strip(comparison: Comparison, cut: CutSoFar, stage: str, look: Look, axes: str) -> list[Figure]:
    """The section through the incision under a picture: earlier cuts in ink, the cut of this step in its colour."""
    towards, cornea = float(comparison.cap.incision_deg), comparison.cornea
    line, option = meridian(comparison, towards), comparison.under_cap.option
    low, high = line.crossings(0.99 * float(cornea.white_to_white_mm) / 2.0)
    position = np.linspace(low, high, 61)
    back = np.minimum(cornea.thickness_um(*line.place(position)), STRIP_UM)
    body = (np.concatenate([[low, high], position[::-1]]), np.concatenate([[0.0, 0.0], back[::-1]]))
    now = cut_strokes(line, option, cut, np.sign(np.cos(np.radians(towards - line.direction_deg))))
    earlier = [stroke for name, part in now.items() if name != stage for stroke in part]
    traces = [area(body, axes, look.stroma), lines([((low, high), (0.0, 0.0)), (position, back)], axes, look.ink, 1.2)]
    if earlier:
        traces.append(lines(earlier, axes, look.ink, 1.2))
    if now[stage]:
        traces.append(lines(now[stage], axes, look.option[comparison.under_cap.option.name], 2.6))
    return traces


def cut_strokes(line: Meridian, option: Option, cut: CutSoFar, incision_sign: float = 0.0) -> dict[str, list[Any]]:
    """What is cut by now along a meridian, strokes (position [mm], depth [µm]) by stage; a side cut once it has begun.

    Args:
        line: Meridian.
        option: Option of the extraction.
        cut: CutSoFar.
        incision_sign: at which end the incision lies, −1 or 1; 0 where the meridian does not meet it.
    """
    C, taken = float(option.cut_um), option.removal
    inner, outer = float(cut.lenticule_inner_mm), float(cut.lenticule_outer_mm)
    strokes: dict[str, list] = {name: [] for name in CUT_NAMES}
    if outer - inner > 1e-6:
        for sign in (-1.0, 1.0):
            position = sign * np.linspace(inner, outer, 61)
            strokes[CUT].append((position, C + taken.r_um(*line.place(position))))
    if float(cut.side_done) > 0:
        for end in (-outer, outer):
            strokes[SIDE].append((np.array([end, end]), C + np.array([0.0, 1.0]) * _rim_um(taken, line, end)))
    reached = float(cut.cap_radius_mm)
    if reached > 1e-6:
        strokes[CAP].append((np.array([-reached, reached]), np.array([C, C])))
    if float(cut.incision_done) > 0 and incision_sign:
        strokes[INCISION].append((incision_sign * np.array([reached, reached]), np.array([0.0, C])))
    return strokes


def _rim_um(taken: Removal, line: Meridian, position: float) -> float:
    """Height of the side cut at the rim [µm]."""
    return float(taken.r_um(*line.place(position)))


def describe_order(clock: Clock, comparison: Comparison) -> str:
    """The four pictures in words, with their numbers."""
    parts = []
    for i, stage in enumerate(clock.order):
        done = DRAWN_AT[stage]
        cut = cut_so_far(clock, stage, done)
        begin, end = float(clock.begins_s[i]), float(clock.ends_s[i])
        parts.append(f"{CUT_NAMES[stage]}, {_time(begin, end)}, drawn at {done_percent(done)} %: {cut_words(cut)}")
    cap = float(comparison.under_cap.option.cut_um)
    return f"The order of the cuts, cap at {cap:.0f} µm. {'. '.join(parts)}."


def front_column(
    comparison: Comparison, cut: CutSoFar, side: str, look: Look, frame: WayFrame
) -> tuple[dict[str, Figure], list[Figure], list[Figure]]:
    """Axes and traces of what is cut, from the front, and its words.

    Args:
        comparison: Comparison of one eye.
        cut: CutSoFar.
        side: `OD` or `OS`.
        look: Look.
        frame: WayFrame.
    """
    column = Column(frame.columns.measure, frame.width_px, HEIGHT_PX - TOP_PX, BELOW_PX, frame.narrow)
    axes = small_axes(column, float(comparison.cornea.white_to_white_mm))
    size = 11 if frame.narrow else 13
    said = column_words(look, column, side, frame.said, size)
    return axes, cut_rings(comparison, cut, look, "", thick=5.0), said
