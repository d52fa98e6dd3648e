"""The front view: its rings, and the small one of the measures' column."""

from typing import NamedTuple

from tissue.drawing.base import palette
from tissue.drawing.base.rings import front
from tissue.drawing.base.traces import area, axis, lines, marks, texts

TICKS_PX = 52.0  # right part of the measure column, left to the figures of the depth axis
SMALL_PX, NARROW_SMALL_PX = 134.0, 108.0  # diameter of the limbus
WORDS_PX = 24.0  # words under the limbus
CENTRE_DOWN = 0.42  # middle of the eye, from the upper edge of the plot
PUPIL_TINT = 0.10  # ink in the stroma


class Column(NamedTuple):
    """The measures' column: share of the width, width of the figure, height of the plot and of its last row [px]."""

    share: float
    width_px: float
    plot_px: float
    row_px: float
    narrow: bool

    @property
    def room_px(self):
        """Width left of the depth axis [px]."""
        return self.share * self.width_px - TICKS_PX

    def per_mm(self, limbus_mm):
        """Px per mm of the small front view."""
        return (NARROW_SMALL_PX if self.narrow else SMALL_PX) / limbus_mm


def small_front(comparison, side, look, column, said):
    """Traces of the small front view on the first pair of axes; `said` stands in the last row of its Column."""
    seen = front(comparison)
    edge = seen.limbus.radius_mm
    per_mm = column.per_mm(2.0 * edge)
    half = column.room_px / 2.0 / per_mm
    left, right = ("temporal", "nasal") if side == "OD" else ("nasal", "temporal")
    row = -edge - WORDS_PX / per_mm
    last = (-(1.0 - CENTRE_DOWN) * column.plot_px + column.row_px) / per_mm
    items = [
        (left, -half, row, 14, "middle right", "italic"),
        (right, half, row, 14, "middle left", "italic"),
        (said, -half, last, 11, "middle right", "ink2"),
    ]
    if not column.narrow:
        gap = 5.0 / per_mm
        items.append(("180°", -edge - gap, 0.0, 11, "middle left", "ink2"))
        items.append(("0°", edge + gap, 0.0, 11, "middle right", "ink2"))
    return ring_traces(seen, look, "", thick=5.0, thin=1.3) + [texts(items, "", look)]


def small_axes(column, limbus_mm):
    """The first pair of axes, at one scale both ways."""
    per_mm = column.per_mm(limbus_mm)
    across, up = column.room_px / per_mm, column.plot_px / per_mm
    ends = (-up * (1.0 - CENTRE_DOWN), up * CENTRE_DOWN)
    return {
        "xaxis": axis((0.0, column.room_px / column.width_px), (-across / 2, across / 2), "y"),
        "yaxis": axis((0.0, 1.0), ends, "x", scaleanchor="x", scaleratio=1, constrain="domain"),
    }


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

    ink, option = look.ink, look.option
    pupil = palette.mix(look.stroma, ink, PUPIL_TINT)
    traces = [
        area(circle(seen.limbus), axes, look.stroma, line=(ink, thin + 0.2, "solid")),
        area(circle(seen.pupil), axes, pupil, line=(look.rule2, 0.8, "solid")),
    ]
    inked = list(seen.axis_marks) + ([circle(seen.zone)] if seen.any_available else [])
    if inked:
        traces.append(lines(inked, axes, ink, thin + 0.2))
    if "surface" in seen.treated:
        traces.append(lines([circle(seen.treated["surface"])], axes, option["surface"], thin + 0.5, "dot"))
    if seen.flap is not None:
        traces.append(lines([seen.flap.arc(*seen.flap_arc_deg, step_deg)], axes, option["flap"], thin + 0.5, "dash"))
        traces.append(lines(seen.hinge, axes, option["flap"], 1.0))
    if seen.cap is not None:
        traces.append(lines([circle(seen.cap)], axes, option["lenticule"], thin))
        traces.append(lines([seen.cap.arc(*seen.incision_arc_deg, step_deg)], axes, option["lenticule"], thick))
    return traces + [marks(places(seen), axes, ink)]


def places(seen, size_px=12.0):
    """Vertex +, treatment centre × where it is another place, thinnest point ▽."""
    points = [(0.0, 0.0, "cross-thin-open", size_px + 2.0, 1.4)]
    if not seen.centred:
        points.append((*seen.centre, "x-thin-open", size_px - 2.0, 1.4))
    return points + [(*seen.thinnest, "triangle-down-open", size_px - 1.0, 1.4)]
