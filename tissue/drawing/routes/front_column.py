"""The view from the front in the measures' column, beside the sections of the ways."""

from tissue.drawing.base.traces import texts
from tissue.drawing.front.front import Column, small_axes
from tissue.drawing.routes.cut_front import cut_rings
from tissue.drawing.routes.way_frame import BELOW_PX, HEIGHT_PX, TOP_PX

WORDS_PX = 16.0  # from the limbus to the middle of the words under it
LAST_SHARE = 0.58  # of the plot lies under the middle of the eye


def front_column(comparison, cut, side, look, frame):
    """Axes and traces of what is cut, from the front.

    Args:
        comparison: Comparison of one eye.
        cut: CutSoFar.
        side: `OD` or `OS`.
        look: Look.
        frame: WayFrame.
    """
    column = Column(frame.columns.measure, frame.width_px, HEIGHT_PX - TOP_PX, BELOW_PX, frame.narrow)
    edge = float(comparison.cornea.white_to_white_mm) / 2.0
    per_mm = column.per_mm(2.0 * edge)
    half = column.room_px / 2.0 / per_mm
    row, last = -edge - WORDS_PX / per_mm, (-LAST_SHARE * column.plot_px + column.row_px) / per_mm
    left, right = ("temporal", "nasal") if side == "OD" else ("nasal", "temporal")
    size = 11 if frame.narrow else 13
    items = [(left, -half, row, size, "middle right", "italic"), (right, half, row, size, "middle left", "italic")]
    items += [(frame.said, -half, last, 11, "middle right", "ink2")]
    return small_axes(column, 2.0 * edge), cut_rings(comparison, cut, look, "", thick=5.0) + [texts(items, "", look)]
