"""The cuts as a film, from the front and in section: strokes whose points carry the second at which each is cut.

The page draws each stroke up to the present moment, so that both views follow one clock without the arithmetic.
"""

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.drawing.base.meridian import Meridian, meridian
from tissue.drawing.base.palette import Look
from tissue.drawing.base.rings import Circle, Front, front
from tissue.drawing.base.traces import Points, area, axis, layout, lines, listed, texts
from tissue.drawing.routes.cut_clock import CUT_NAMES, describe_clock
from tissue.drawing.routes.cut_front import FROM_DEG, cut_words
from tissue.ground.vocabulary import CAP, CUT, INCISION, SIDE, Array, Figure, Floats
from tissue.routes.cutting import Clock, cut_so_far

HEIGHT_PX, TOP_PX, BOTTOM_PX = 236, 6, 2
EYE_SHARE_PX, GAP_PX, EYE_MARGIN = 226, 56, 1.05
DEPTH_UM, ENDS_UM, NAME_PX = 640.0, 75.0, 12
TURNS, STEP_DEG = 13, 10.0  # turns of a drawn spiral; coarser than a laser's
THIN_PX, CUT_PX, SIDE_PX, OPEN_PX = 1.5, 2.6, 3.0, 6.0
SAID = (
    "Dotted: the plan. The spirals are drawn coarser than a laser's, and which way round they run is not known. The "
    "section runs along the incision. Where it is stopped, or at its end, that moment goes into the plan, and the "
    "figures below stand for it; Esc while it runs leaves the plan as it was."
)


def cuts_played(comparison: Comparison, side: str, clock: Clock, seconds: float, look: Look, width_px: float) -> Figure:
    """The plan of the cuts from the front and in section, with the strokes that are drawn while it plays.

    Args:
        comparison: Comparison of one eye with a lenticule extraction.
        side: `OD` or `OS`.
        clock: Clock.
        seconds: the moment at which it stands [s].
        look: Look.
        width_px: width of the figure [px].
    """
    line = meridian(comparison, float(comparison.cap.incision_deg))
    reach = 0.99 * float(comparison.cornea.white_to_white_mm) / 2.0
    seen, pink = front(comparison), look.option[comparison.under_cap.option.name]
    outer = Circle(seen.centre[0], seen.centre[1], float(clock.lenticule_radius_mm))
    data = [area(seen.limbus.arc(step_deg=3.0), "", look.stroma, line=(look.ink, 1.5, "solid"))]
    data.append(lines([outer.arc(step_deg=3.0), seen.cap_there.arc(step_deg=3.0)], "", look.ink2, 1, "dot"))
    data += _body(comparison, line, reach, side, look)
    strokes = _from_front(seen, outer, clock, pink, look) + _in_section(comparison, line, clock, pink, look)
    played = {
        "strokes": strokes,
        "now": round(float(seconds), 3),
        "total": float(clock.total_s),
        "stages": [[float(end), CUT_NAMES[name]] for name, end in zip(clock.order, clock.ends_s, strict=True)],
    }
    frame = layout(look, None, HEIGHT_PX, (0, 0, TOP_PX, BOTTOM_PX), meta={"played": played})
    return {"data": data, "layout": frame | _axes(seen, line, reach, look, width_px)}


def _axes(seen: Front, line: Meridian, reach: float, look: Look, width_px: float) -> dict[str, Figure]:
    """The view from the front at the left, the section over the rest of the width."""
    low, high = line.crossings(reach)
    edge = EYE_MARGIN * seen.limbus.radius_mm
    plot = HEIGHT_PX - TOP_PX - BOTTOM_PX
    across = edge * EYE_SHARE_PX / plot
    start = (EYE_SHARE_PX + GAP_PX) / width_px
    ticks = {"tickvals": list(range(0, int(DEPTH_UM), 200)), "tickfont": {"size": 11, "color": look.ink2}}
    return {
        "xaxis": axis((0.0, EYE_SHARE_PX / width_px), (-across, across), "y"),
        "yaxis": axis((0.0, 1.0), (-edge, edge), "x"),
        "xaxis2": axis((start, 1.0), (low, high), "y2"),
        "yaxis2": axis((0.0, 1.0), (DEPTH_UM + ENDS_UM, -12.0), "x2", showticklabels=True, **ticks),
    }


def _body(comparison: Comparison, line: Meridian, reach: float, side: str, look: Look) -> list[Figure]:
    """The cornea along the incision with the planned cuts dotted, their names and the words of its ends."""
    cornea, option = comparison.cornea, comparison.under_cap.option
    low, high = line.crossings(reach)
    position = np.linspace(low, high, 61)
    back = np.minimum(cornea.thickness_um(*line.place(position)), DEPTH_UM)
    body = (np.concatenate([[low, high], position[::-1]]), np.concatenate([[0.0, 0.0], back[::-1]]))
    cut, radius = float(option.cut_um), float(option.cut_diameter_mm) / 2.0
    at = float(option.removal.radius_mm) * np.linspace(-1.0, 1.0, 81)
    floor = cut + option.removal.r_um(*line.place(at))
    planned: list[Points] = [(at, floor), ((-radius, radius), (cut, cut))]
    deepest = float(np.max(floor))
    names = [
        ("cap cut", 0.0, cut - 26.0, NAME_PX, "middle center", "ink2"),
        ("lenticule cut", 0.0, deepest + 34.0, NAME_PX, "middle center", "ink2"),
        ("depth, µm", low + 0.08, DEPTH_UM / 2.0 - 20.0, 11, "middle right", "ink2"),
    ]
    ends = zip(line.end_words(side), (low, high), ("middle right", "middle left"), strict=True)
    names += [(word, end, DEPTH_UM + 0.55 * ENDS_UM, 13, position, "italic") for word, end, position in ends]
    return [
        area(body, "2", look.stroma),
        lines([((low, high), (0.0, 0.0)), (position, back)], "2", look.ink, 1.2),
        lines(planned, "2", look.ink2, 1, "dot"),
        texts(names, "2", look),
    ]


def _from_front(seen: Front, outer: Circle, clock: Clock, pink: str, look: Look) -> list[Figure]:
    """The four cuts seen from the front, in their order."""
    cap_share, inwards = _turns(), 1.0 - _turns()
    turn = 2.0 * np.pi * TURNS * _turns()
    x, y = seen.centre
    cap = seen.cap_there
    ends = clock.begins_s, clock.ends_s
    side, opening = clock.order.index(SIDE), clock.order.index(INCISION)
    around = outer.arc(FROM_DEG - 360.0, FROM_DEG, 5.0)
    return [
        stroke(
            "",
            (x + outer.radius_mm * inwards * np.cos(turn), y + outer.radius_mm * inwards * np.sin(turn)),
            clock.seconds(CUT, 1.0 - inwards**2),
            (pink, THIN_PX),
        ),
        stroke("", [part[::-1] for part in around], _evenly(ends, side, len(around[0])), (pink, SIDE_PX)),
        stroke(
            "",
            (
                x + cap.radius_mm * cap_share * np.cos(turn),
                y + cap.radius_mm * cap_share * np.sin(turn),
            ),
            clock.seconds(CAP, cap_share**2),
            (look.ink2, THIN_PX),
        ),
        stroke("", arc := cap.arc(*seen.incision_arc_deg), _evenly(ends, opening, len(arc[0])), (pink, OPEN_PX)),
    ]


def _turns() -> Array:
    """Shares of a spiral's radius at its points [0–1], as many as its turns have steps."""
    return np.linspace(0.0, 1.0, int(TURNS * 360.0 / STEP_DEG) + 1)


def _evenly(ends: tuple[tuple[Floats, ...], tuple[Floats, ...]], stage: int, count: int) -> Array:
    """Seconds of points that are cut at an even pace."""
    begins, stops = ends
    return np.linspace(float(begins[stage]), float(stops[stage]), count)


def _in_section(comparison: Comparison, line: Meridian, clock: Clock, pink: str, look: Look) -> list[Figure]:
    """The four cuts along the incision, each half of a spiral a stroke of its own; a side cut once it has begun."""
    option, towards = comparison.under_cap.option, float(comparison.cap.incision_deg)
    cut, taken, share = float(option.cut_um), option.removal, np.linspace(0.0, 1.0, 61)
    rim, radius = float(clock.lenticule_radius_mm), float(clock.cap_radius_mm)
    begins = clock.begins_s
    found = []
    for sign in (-1.0, 1.0):
        at = sign * rim * (1.0 - share)
        depth = cut + np.asarray(taken.r_um(*line.place(at)))
        found.append(stroke("2", (at, depth), clock.seconds(CUT, 1.0 - (1.0 - share) ** 2), (pink, CUT_PX)))
        upright = ((sign * rim,) * 2, (float(depth[0]), cut))
        found.append(stroke("2", upright, [float(begins[clock.order.index(SIDE)])] * 2, (pink, CUT_PX)))
        flat = (sign * radius * share, np.full(share.shape, cut))
        found.append(stroke("2", flat, clock.seconds(CAP, share**2), (look.ink, CUT_PX)))
    out = np.sign(np.cos(np.radians(towards - line.direction_deg))) * radius
    seconds = _evenly((begins, clock.ends_s), clock.order.index(INCISION), 2)
    return [*found, stroke("2", ((out, out), (cut, 0.0)), seconds, (pink, OPEN_PX / 2.0))]


def stroke(
    axes: str,
    points: Points,
    at_s: Floats | list[float],
    line: tuple[str, float],
) -> Figure:
    """A stroke with the second at which each of its points is cut.

    Args:
        axes: suffix of the pair of axes. points: (x, y). at_s: seconds, rising. line: colour and width [px].
    """
    x, y, at = (listed(part) for part in (*points, at_s))
    return {"axes": axes, "x": x, "y": y, "at": at, "colour": line[0], "width": line[1]}


def describe_played(clock: Clock, seconds: float) -> str:
    """The picture in words, with its numbers."""
    stage, done = clock.moment(seconds)
    return (
        f"{describe_clock(clock, seconds)} Cut by then: {cut_words(cut_so_far(clock, clock.order[int(stage)], done))}."
    )
