"""The front view: small in the measure column, large with its names."""

from tissue.drawing import palette
from tissue.drawing.rings import front
from tissue.drawing.traces import area, axis, lines, marks, words

TICKS_PX = 52.0  # right part of the measure column, left to the figures of the depth axis
SMALL_PX, NARROW_SMALL_PX = 134.0, 108.0  # diameter of the limbus
PUPIL_TINT = 0.10  # ink in the stroma


def small_front(comparison, side, look, measure_share, width_px, narrow):
    """Traces and words of the small front view on the first pair of axes."""
    seen = front(comparison)
    traces = ring_traces(seen, look, "", thick=5.0, thin=1.3)
    room = measure_share * width_px - TICKS_PX
    return traces, _small_words(seen, side, look, room, width_px, narrow)


def small_axes(measure_share, width_px, plot_px, narrow, limbus_mm):
    """The first pair of axes, at one scale both ways: [px] on the screen are the same across and up."""
    room = measure_share * width_px - TICKS_PX
    per_mm = (NARROW_SMALL_PX if narrow else SMALL_PX) / limbus_mm
    across, up = room / per_mm, plot_px / per_mm
    return {
        "xaxis": axis((0.0, room / width_px), (-across / 2, across / 2), "y"),
        "yaxis": axis((0.0, 1.0), (-up * 0.54, up * 0.46), "x", scaleanchor="x", scaleratio=1, constrain="domain"),
    }


def _small_words(seen, side, look, room, width_px, narrow):
    """Temporal and nasal; the two degree marks where there is room."""
    left, right = ("temporal", "nasal") if side == "OD" else ("nasal", "temporal")
    more = {"xref": "paper", "yref": "paper", "yanchor": "middle", "italic": True}
    notes = [
        words(left, 0.0, 0.08, 14, look.ink2, xanchor="left", **more),
        words(right, room / width_px, 0.08, 14, look.ink2, xanchor="right", **more),
    ]
    if not narrow:
        edge = seen.limbus.radius_mm
        notes.append(words("180°", -edge, 0.0, 11, look.ink2, "x", "y", xanchor="right", xshift=-5))
        notes.append(words("0°", edge, 0.0, 11, look.ink2, "x", "y", xanchor="left", xshift=5))
    return notes


def ring_traces(seen, look, axes, thick, thin, step_deg=5.0):
    """Every circle, arc and place of a Front, from the limbus inwards to the marks.

    Args:
        seen: Front.
        look: Look.
        axes: suffix of the pair of axes.
        thick: width of the incision [px].
        thin: width of the circles [px].
        step_deg: between the points of a circle [degrees].
    """

    def circle(ring):
        return ring.arc(step_deg=step_deg)

    limbus, pupil = circle(seen.limbus), circle(seen.pupil)
    traces = [
        area(limbus, axes, look.stroma),
        area(pupil, axes, palette.mix(look.stroma, look.ink, PUPIL_TINT)),
        lines([pupil], axes, look.rule2, 0.8),
        lines([limbus, circle(seen.zone)] if seen.any_available else [limbus], axes, look.ink, thin + 0.2),
    ]
    if "surface" in seen.treated:
        traces.append(lines([circle(seen.treated["surface"])], axes, look.option["surface"], thin + 0.5, "dot"))
    if seen.flap is not None:
        traces.append(
            lines([seen.flap.arc(*seen.flap_arc_deg, step_deg)], axes, look.option["flap"], thin + 0.5, "dash")
        )
        traces.append(lines(seen.hinge, axes, look.option["flap"], 1.0))
    if seen.cap is not None:
        traces.append(lines([circle(seen.cap)], axes, look.option["lenticule"], thin))
        traces.append(lines([seen.cap.arc(*seen.incision_arc_deg, step_deg)], axes, look.option["lenticule"], thick))
    if seen.axis_marks:
        traces.append(lines(seen.axis_marks, axes, look.ink, thin + 0.7))
    return traces + [marks(places(seen), axes, look.ink)]


def places(seen, size_px=12.0):
    """Vertex +, treatment centre × where it is another place, thinnest point ▽."""
    points = [(0.0, 0.0, "cross-thin-open", size_px + 2.0, 1.4)]
    if not seen.centred:
        points.append((*seen.centre, "x-thin-open", size_px - 2.0, 1.4))
    return points + [(*seen.thinnest, "triangle-down-open", size_px - 1.0, 1.4)]
