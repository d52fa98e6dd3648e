"""The sections of the options with the front drawn flat; they are the head of the table, each over its column."""

from collections.abc import Sequence
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from tissue.budget.comparison import Comparison, bed_ends
from tissue.drawing.base import palette
from tissue.drawing.base.handles import with_handles
from tissue.drawing.base.labels import Scale
from tissue.drawing.base.outline import Outline, half_width_mm, outlines
from tissue.drawing.base.palette import Look
from tissue.drawing.base.placing import flat_labels
from tissue.drawing.base.rings import front
from tissue.drawing.base.sheet import Sheet
from tissue.drawing.base.traces import Item, Points, axis, layout, texts, words
from tissue.drawing.base.words import whole
from tissue.drawing.front.front import SMALL_STEP_DEG, Column, small_axes, small_front, under_front
from tissue.drawing.front.handles import zone_ring
from tissue.drawing.section.handles import section_handles
from tissue.ground.sources import data
from tissue.ground.vocabulary import Figure

MEASURE_SHARE, NARROW_MEASURE_SHARE = 0.2156, 0.26  # of the width, for the measures' names and the front view
GAP_SHARE = 0.012
WIDTH_PX, NARROW_PX = 1104, 900  # usual width of the main column; below the second the narrow shares are used
HEIGHT_PX, TOP_PX, BOTTOM_PX = 252, 8, 30
DEPTH_UM, DEPTH_STEP_UM = 640.0, 50.0
LEAST_PX = (24.0, 31.0)  # room under the back surface for the words of the least bed: in one line, in two
BELOW_PX = 15.0  # from the end of the depth axis down to the middle of the words under the sections
RISE_PX = 1.2  # words of a trace are drawn this much higher than other words at the same place
TICK_UM, TICK_GAP_PX = 100, 4.0  # between the figures of the depth axis, and from them to the first section
AXES = "2"  # the pair of axes all three sections share


def column_shares(narrow: bool = False) -> tuple[float, float, float]:
    """Shares of the width: (measures, option, gap). One measure column, then the options with a gap between.

    >>> measure, option, gap = column_shares()
    >>> round(measure + 3 * option + 2 * gap, 9)
    1.0
    """
    measure, count = NARROW_MEASURE_SHARE if narrow else MEASURE_SHARE, len(palette.HEADS)
    return measure, (1.0 - measure - (count - 1) * GAP_SHARE) / count, GAP_SHARE


def option_domains(narrow: bool = False) -> dict[str, tuple[float, float]]:
    """Where each option's column begins and ends, as shares of the width, by name."""
    measure, option, gap = column_shares(narrow)
    starts = {name: measure + i * (option + gap) for i, name in enumerate(palette.HEADS)}
    return {name: (start, start + option) for name, start in starts.items()}


class Frame(NamedTuple):
    """How the flattened picture stands on the screen: half a section's width [mm], Scale, width [px]."""

    half_mm: float
    scale: Scale
    width_px: float
    narrow: bool

    @property
    def span_mm(self) -> tuple[float, float]:
        """Ends of the axis that all sections share [mm]; it runs on under the measures: one trace holds all words."""
        last = self.half_mm + max(right for right, _ in self.offsets.values())
        share = column_shares(self.narrow)[0]
        return last - (last + self.half_mm) / (1.0 - share), last

    def above(self, px: float) -> float:
        """The depth of a place this many px above the lower edge [µm]."""
        return (self.scale.depth_px + BOTTOM_PX - px) / self.scale.per_um

    @property
    def offsets(self) -> dict[str, tuple[float, float]]:
        """How far each section stands to the right of the first [mm] and below it [µm], on their common axes."""
        _, option, gap = column_shares(self.narrow)
        step = 2.0 * self.half_mm * (option + gap) / option
        return {name: (i * step, 0.0) for i, name in enumerate(palette.HEADS)}


def flattened(
    comparison: Comparison,
    side: str,
    look: Look,
    meridian_deg: float = 0.0,
    *,
    kept: Comparison | None = None,
    spread: bool = False,
    width_px: float = WIDTH_PX,
) -> Figure:
    """The small front view and a section of every option with the front drawn flat, depth downwards on one axis.

    The sections share one pair of axes, each moved to its column, because a picture of few traces is drawn faster.

    Args:
        comparison: Comparison of one eye.
        side: `OD` or `OS`.
        look: Look.
        meridian_deg: meridian through the treatment centre [degrees].
        kept: another Comparison whose cuts and floors are drawn as a thin outline.
        spread: whether the 95 % interval of the bed is drawn as a band about the floor of the removal.
        width_px: width the labels are placed for [px].
    """
    narrow = width_px < NARROW_PX
    half = half_width_mm(comparison)
    drawn = outlines(comparison, meridian_deg, half)
    labels, scale = placed(drawn, comparison, half, width_px)
    frame = Frame(half, scale, width_px, narrow)
    sheet = Sheet(look, drawn, labels, scale, frame.offsets, AXES)
    ends = partial(bed_ends, comparison) if spread else None
    before = outlines(kept, meridian_deg, half) if kept is not None else {}
    bars, below = _below(drawn, side, frame)
    traces = small_front(comparison, look, _column(frame)) + sheet.traces(before, ends, bars)
    items = _depths(frame) + _under_front(frame, side) + sheet.plain_items + below
    traces.append(texts(items, AXES, look))
    notes = [*sheet.notes, _depth_title(look, narrow)]
    limbus = float(comparison.cornea.white_to_white_mm)
    handles = section_handles(comparison, sheet, [zone_ring(front(comparison), step_deg=SMALL_STEP_DEG)])
    return {"data": traces, "layout": _layout(look, frame, limbus, notes) | with_handles(handles)}


def line_names(comparison: Comparison, name: str) -> list[str]:
    """Names of the user's line over an option, the longest first; where it was set for flaps, the others say so."""
    wanted = float(comparison.judgement.bed_line_um)
    line = data("lines")["bed"]
    short = f"bed {whole(wanted)}"
    if not comparison.results[name].option.lifts_flap and wanted == line["value"]:
        return [f"{short} ({line['for_others']})", short]
    return [short]


def placed(
    drawn: dict[str, Outline], comparison: Comparison, half_mm: float, width_px: float
) -> tuple[dict[str, Any], Scale]:
    """(labels, leaders) of every flattened section by name, and the Scale: the depth axis grows until all have room.

    Args:
        drawn: flat Outlines by name.
        comparison: Comparison of one eye.
        half_mm: half the width of a section [mm].
        width_px: width of the figure [px].
    """
    narrow = width_px < NARROW_PX
    size = 11.5 if narrow else 12.0
    half_px = column_shares(narrow)[1] * width_px / 2.0
    plot_px = HEIGHT_PX - TOP_PX - BOTTOM_PX
    thickest = max(outline.thickness_um for outline in drawn.values())
    depth = _first_depth(drawn, plot_px)
    while True:
        scale = Scale(half_px / half_mm, plot_px / depth, half_px, plot_px)
        found = {name: flat_labels(o, scale, size, line_names(comparison, name)) for name, o in drawn.items()}
        lowest = max((one.box.bottom for labels, _ in found.values() for one in labels), default=0.0)
        if max(lowest, thickest * scale.per_um + BELOW_PX) <= plot_px:
            return found, scale
        depth += DEPTH_STEP_UM


def _first_depth(drawn: dict[str, Outline], plot_px: float) -> float:
    """Least depth of the axis [µm] that leaves the words of the least bed their height under the back surface."""
    depth = DEPTH_UM
    for outline in drawn.values():
        if outline.least is not None:
            words_px = LEAST_PX[0] if outline.least.on_meridian else LEAST_PX[1]
            wanted = outline.back.depth_um.min() / (1.0 - words_px / plot_px)
            depth += DEPTH_STEP_UM * np.ceil(max(0.0, wanted - depth) / DEPTH_STEP_UM)
    return float(depth)


def _below(drawn: dict[str, Outline], side: str, frame: Frame) -> tuple[list[Points], list[Item]]:
    """Under each section a bar of 1 mm, and the words of the bar and of the section's two ends."""
    per_mm, per_um = frame.scale.per_mm, frame.scale.per_um
    row = (frame.scale.depth_px + BELOW_PX) / per_um
    bar_px = per_mm + 4.0 + 26.0  # the bar, a gap, its name
    bars: list[Points] = []
    items: list[Item] = []
    for name, o in drawn.items():
        middle = frame.offsets[name][0]
        start = middle - bar_px / 2.0 / per_mm
        bars.append(([start, start + 1.0], [row, row]))
        items.append(("1 mm", start + 1.0 + 4.0 / per_mm, row, 11, "middle right", "ink2"))
        size, ends = _end_words(o, side, frame.narrow)
        for word, at, position in zip(ends, (-1.0, 1.0), ("middle right", "middle left"), strict=True):
            items.append((word, middle + at * frame.half_mm, row, size, position, "italic"))
    return bars, items


def _depths(frame: Frame) -> list[Item]:
    """The figures of the depth axis, beside the first section."""
    deepest = frame.scale.depth_px / frame.scale.per_um
    at = -frame.half_mm - TICK_GAP_PX / frame.scale.per_mm
    return [(f"{depth}", at, depth, 11, "middle left", "ink2") for depth in range(0, int(deepest) + 1, TICK_UM)]


def _under_front(frame: Frame, side: str) -> list[Item]:
    """The words under the small front view."""
    column, first = _column(frame), frame.span_mm[0]
    ends = {"left": (first, "middle right"), "right": (first + column.room_px / frame.scale.per_mm, "middle left")}
    return [
        (one.text, ends[one.end][0], frame.above(one.above_px - RISE_PX), one.size_px, ends[one.end][1],
         "italic ink" if one.italic else "ink2")
        for one in under_front(column, side, _not_to_scale(frame), 14)
    ]  # fmt: skip


def _column(frame: Frame) -> Column:
    """The measures' column, which holds the small front view."""
    return Column(column_shares(frame.narrow)[0], frame.width_px, HEIGHT_PX - TOP_PX, BELOW_PX, frame.narrow)


def _not_to_scale(frame: Frame) -> str:
    """What a flattened picture must say of itself.

    >>> _not_to_scale(Frame(5.0, Scale(28.0, 0.336, 140.0, 215.0), 1104, False))
    'front drawn flat, depth × 12'
    """
    return f"front drawn flat, depth × {1000.0 * frame.scale.per_um / frame.scale.per_mm:.0f}"


def _end_words(outline: Outline, side: str, narrow: bool) -> tuple[int, list[str] | tuple[str, str]]:
    """Type size and words of both ends; in a narrow column a long word is split over two lines."""
    ends = outline.meridian.end_words(side)
    if narrow and max(map(len, ends)) > len("temporal"):
        return 11, [end.replace("infero", "infero-<br>").replace("supero", "supero-<br>") for end in ends]
    return 13, ends


def _depth_title(look: Look, narrow: bool) -> Figure:
    """The title of the depth axis, beside its figures."""
    more = {"xref": "paper", "yref": "paper", "textangle": -90, "xanchor": "center", "xshift": -36, "yanchor": "middle"}
    return words("depth, µm", column_shares(narrow)[0], 0.5, 11, look.ink2, **more)


def _layout(look: Look, frame: Frame, limbus_mm: float, notes: Sequence[Figure]) -> Figure:
    """Two pairs of axes: the front view in the measures' column, the sections over the options."""
    axes = small_axes(_column(frame), limbus_mm)
    axes["xaxis" + AXES] = axis((0.0, 1.0), frame.span_mm, "y" + AXES)
    axes["yaxis" + AXES] = axis((0.0, 1.0), (frame.above(0.0), 0.0), "x" + AXES)
    return layout(look, None, HEIGHT_PX, (0, 0, TOP_PX, 0), annotations=notes, **axes)
