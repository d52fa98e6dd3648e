"""The cuts of an extraction at one moment: the line of time, the front view and the section of what is cut by then."""

import numpy as np

from tissue.drawing.meridian import meridian
from tissue.drawing.outline import half_width_mm, outlines
from tissue.drawing.palette import DASH
from tissue.drawing.rings import Circle, front
from tissue.drawing.traces import area, axis, layout, lines, words
from tissue.drawing.words import whole

STAGES = {
    "lenticule": "lenticule cut, outside in",
    "lenticule-side": "side cut of the lenticule",
    "cap": "cap cut, inside out",
    "incision": "incision",
}
CLOCK_PX, FRONT_PX, SECTION_PX = 86, 300, 300
ORDER_WORDS = (
    "Each cut sweeps an area at one pitch, so its time goes with its area and not with the refraction: the lasing time "
    "is the same for −1.50 and for −8.50."
)


def clock_line(clock, seconds, look):
    """The four cuts on a line of time, with the moment.

    Args:
        clock: Clock.
        seconds: the moment [s].
        look: Look.
    """
    total = float(clock.total_s)
    frame = layout(look, None, CLOCK_PX, (4, 4, 24, 30))
    frame["xaxis"] = axis((0.0, 1.0), (0.0, total), "y", showticklabels=True, tickfont={"size": 11, "color": look.ink2})
    frame["yaxis"] = axis((0.0, 1.0), (0.0, 1.0), "x")
    data, notes = [area((np.array([0.0, seconds, seconds, 0.0]), np.array([0.0, 0.0, 1.0, 1.0])), "", look.above)], []
    for name, begin, end in zip(STAGES, map(float, clock.begins_s), map(float, clock.ends_s), strict=True):
        data.append(lines([((begin, end, end, begin, begin), (0.0, 0.0, 1.0, 1.0, 0.0))], "", look.ink, 1))
        if end - begin > 0.12 * total:
            notes.append(words(STAGES[name], 0.5 * (begin + end), 0.5, 12.5, look.ink))
    data.append(lines([((seconds, seconds), (-0.05, 1.05))], "", look.ink, 2.4))
    top = {"xanchor": "right" if seconds > 0.8 * total else "left", "yanchor": "bottom"}
    notes.append(words(f"<b>{seconds:.1f} s</b>", seconds, 1.0, 12.5, look.ink, **top))
    return {"data": data, "layout": frame | {"annotations": notes}}


def describe_clock(clock, seconds):
    """The line of time in words."""
    ends = ", ".join(f"{word} to {float(end):.1f} s" for word, end in zip(STAGES.values(), clock.ends_s, strict=True))
    return f"The cuts in their order: {ends}. The moment is {seconds:.1f} s."


def front_of_cut(comparison, cut, look, said=True):
    """What is cut by now, seen from the front: the ring of the lenticule cut, the disc of the cap, the incision.

    Args:
        comparison: Comparison.
        cut: CutSoFar.
        look: Look.
        said: whether the words of what is filled and what is a line stand under it.
    """
    seen = front(comparison)
    half = 1.06 * seen.limbus.radius_mm
    frame = layout(look, None, FRONT_PX, (4, 4, 4, 4))
    frame["xaxis"] = axis((0.0, 1.0), (-half, half), "y")
    frame["yaxis"] = axis((0.0, 1.0), (-half, half), "x", scaleanchor="x", scaleratio=1)
    x, y = seen.centre
    outer, inner = (Circle(x, y, float(r)) for r in (cut.lenticule_outer_mm, cut.lenticule_inner_mm))
    data = [area(seen.limbus.arc(), "", look.stroma)]
    if outer.radius_mm - inner.radius_mm > 1e-6:
        ring = [np.concatenate([a, b[::-1]]) for a, b in zip(outer.arc(), inner.arc(), strict=True)]
        data.append(area(tuple(ring), "", look.removed["lenticule"]))
    if float(cut.cap_radius_mm) > 0:
        disc = Circle(x, y, float(cut.cap_radius_mm))
        data.append(lines([disc.arc()], "", look.option["lenticule"], 2.4))
    data.append(lines([seen.limbus.arc()], "", look.ink, 1.5))
    data.append(lines([outer.arc()], "", look.ink2, 1, "dot"))
    if seen.cap is not None:
        data.append(lines([seen.cap.arc()], "", look.ink2, 1, "dot"))
        if float(cut.incision_done) > 0:
            data.append(lines([seen.cap.arc(*seen.incision_arc_deg)], "", look.option["lenticule"], 7))
    under = {"xanchor": "left", "yanchor": "bottom"}
    text = "filled: lenticule cut so far; line: edge of the cap cut so far"
    notes = [words(text, 0.0, 0.0, 11.5, look.ink2, "paper", "paper", **under)] if said else []
    return {"data": data, "layout": frame | {"annotations": notes}}


def section_of_cut(comparison, cut, route, look):
    """Old planes cut by now and the new planes of one way out, flattened and to scale.

    Args:
        comparison: Comparison.
        cut: CutSoFar.
        route: Route of the way out, or None.
        look: Look.
    """
    half = half_width_mm(comparison)
    plan = outlines(comparison, 0.0, half)["lenticule"]
    line = meridian(comparison)
    option = comparison.results["lenticule"].option
    deep = 50.0 * np.ceil((float(plan.back.depth_um.max()) + 10.0) / 50.0)
    frame = layout(look, None, SECTION_PX, (46, 8, 8, 30))
    frame["xaxis"] = axis((0.0, 1.0), (-half, half), "y")
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "dtick": 100}
    frame["yaxis"] = axis((0.0, 1.0), (deep, 0.0), "x", showgrid=True, gridcolor=look.iso_depth, **ticks)
    stroma = np.concatenate([[-half, half], plan.back.position_mm[::-1]])
    data = [area((stroma, np.concatenate([[0.0, 0.0], plan.back.depth_um[::-1]])), "", look.stroma)]
    data.append(lines([tuple(plan.epithelium)], "", look.epithelium_hatch, 1, "dot"))
    data += _old(line, option, cut, look)
    notes = []
    if route is not None and route.available and not np.isnan(route.clearance.value):
        data += _new(line, route, look)
        at = float(line.position_mm(route.clearance.x_mm, route.clearance.y_mm))
        text = f"clearance <b>{whole(route.clearance.value)}</b>"
        depth = float(option.cut_um + option.removal.r_um(route.clearance.x_mm, route.clearance.y_mm)) + 90.0
        data.append(lines([((at, at), (depth - 88.0, depth - 22.0))], "", look.ink, 0.8))
        notes.append(words(text, at, depth, 12.5, look.ink, bgcolor=look.stroma))
    data.append(lines([tuple(plan.back)], "", look.ink, 2))
    below = {"xref": "paper", "yref": "paper", "xanchor": "left", "yanchor": "top", "yshift": -6}
    notes.append(
        words(
            "solid: cut so far; dashed: new cut and floor; depth in µm, front drawn flat",
            0.0,
            0.0,
            11.5,
            look.ink2,
            **below,
        )
    )
    return {"data": data, "layout": frame | {"annotations": notes}}


def _old(line, option, cut, look):
    """The cuts that stand: both halves of the lenticule's ring, and the disc of the cap."""
    C, colour, strokes = float(option.cut_um), look.option["lenticule"], []
    inner, outer = float(cut.lenticule_inner_mm), float(cut.lenticule_outer_mm)
    if outer - inner > 1e-6:
        for sign in (-1.0, 1.0):
            position = sign * np.linspace(inner, outer, 61)
            strokes.append((position, C + option.removal.r_um(*line.place(position))))
    reached = float(cut.cap_radius_mm)
    if reached > 0:
        strokes.append((np.array([-reached, reached]), np.array([C, C])))
    return [lines(strokes, "", colour, 2.4)] if strokes else []


def _new(line, route, look):
    """The new cut and the floor of the new removal."""
    option = route.option
    taken, F2 = option.removal, float(option.cut_um)
    radius = float(option.cut_diameter_mm) / 2.0
    position = np.linspace(-float(taken.radius_mm), float(taken.radius_mm), 121)
    floor = F2 + taken.r_um(*line.place(position))
    colour, dash = look.option[option.name], DASH["flap"]
    strokes = [(np.array([-radius, -radius, radius]), np.array([0.0, F2, F2])), (position, floor)]
    return [lines(strokes, "", colour, 2, dash)]


def describe_section(cut, route):
    """The section in words, with its numbers."""
    inner, outer = float(cut.lenticule_inner_mm), float(cut.lenticule_outer_mm)
    said = f"Cut so far: the lenticule from {inner:.2f} to {outer:.2f} mm, "
    said += f"the cap to {float(cut.cap_radius_mm):.2f} mm from the centre."
    if route is not None and route.available and not np.isnan(route.clearance.value):
        said += (
            f" {route.way.name}: new cut at {whole(route.cut_um)} µm, clearance {whole(route.clearance.value)} µm at "
            f"{float(route.clearance.x_mm):.1f}, {float(route.clearance.y_mm):.1f} mm."
        )
    return said


def cap_trade(capped, look):
    """What a thicker cap keeps open and what it costs: the reserve of the bed and the room for a thin flap, in µm.

    Args:
        capped: (cap thicknesses, reserve over the line, room beyond what a thin flap needs), arrays [µm].
        look: Look.
    """
    caps, reserve, room = capped
    frame = layout(look, None, 260, (50, 14, 26, 42))
    ticks = {"showticklabels": True, "tickfont": {"size": 11, "color": look.ink2}, "showgrid": True}
    both = np.concatenate([reserve, room])
    both = both[np.isfinite(both)]
    low, high = (float(both.min()), float(both.max())) if len(both) else (0.0, 1.0)
    frame["xaxis"] = axis((0.0, 1.0), (caps[0], caps[-1]), "y", gridcolor=look.rule, dtick=10, **ticks)
    frame["yaxis"] = axis((0.0, 1.0), (low - 10.0, high + 10.0), "x", gridcolor=look.rule, **ticks)
    data = [
        lines([((caps[0], caps[-1]), (0.0, 0.0))], "", look.rule2, 1),
        lines([(caps, reserve)], "", look.ink, 2),
        lines([(caps, room)], "", look.option["flap"], 2, "dash"),
    ]
    corner = {"xref": "paper", "yref": "paper", "xanchor": "left"}
    notes = [
        words("bed over the line", caps[2], reserve[2], 12.5, look.ink, xanchor="left", yanchor="bottom", yshift=4),
        words("room for a thin flap", caps[2], room[2], 12.5, look.ink, xanchor="left", yanchor="bottom", yshift=6),
        words("µm; under 0 there is none", 0.0, 1.0, 11.5, look.ink2, yanchor="bottom", **corner),
        words("cap thickness, µm", 0.0, 0.0, 11.5, look.ink2, yanchor="top", yshift=-22, **corner),
    ]
    return {"data": data, "layout": frame | {"annotations": notes}}


def describe_trade(capped):
    """The trade in words."""
    caps, reserve, room = capped
    parts = [
        f"cap {cap:.0f}: bed {whole(reserve[i])} over the line, room for a thin flap {whole(room[i])}"
        for i, cap in enumerate(caps)
        if cap % 10 == 0
    ]
    return f"In µm: {'; '.join(parts)}."
