"""Ways side by side above the columns of their table: shares of the width, axes, words below the sections."""

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple

import numpy as np

from tissue.drawing.base.labels import Label, Placed, Scale, label
from tissue.drawing.base.meridian import Meridian
from tissue.drawing.base.palette import Look
from tissue.drawing.base.placing import Placer
from tissue.drawing.base.traces import Item, Points, axis, layout, lines, texts, words
from tissue.drawing.section.section import GAP_SHARE, MEASURE_SHARE, NARROW_MEASURE_SHARE, NARROW_PX
from tissue.ground.vocabulary import Array, Figure

HEIGHT_PX, TOP_PX, BOTTOM_PX = 300, 8, 30
BELOW_PX = 15.0  # words under the sections, from the lower edge to their middle
DEPTH_UM, DEPTH_STEP_UM = 640.0, 50.0
FEWEST = 2  # columns: one way alone takes no more than half of the room
AXES = "2"
NO_FIGURES = "no figures: see Why not"


class Columns(NamedTuple):
    """Shares of the width: the measures' column, each way's column, the gap between; and how many ways there are."""

    measure: float
    each: float
    gap: float
    ways: int

    @property
    def starts(self) -> list[float]:
        """Where each way's column begins [share of the width]."""
        return [self.measure + i * (self.each + self.gap) for i in range(self.ways)]


def columns(count: int, narrow: bool = False) -> Columns:
    """The Columns of so many ways.

    >>> c = columns(3)
    >>> round(c.measure + 3 * c.each + 2 * c.gap, 9)
    1.0
    """
    measure, room = NARROW_MEASURE_SHARE if narrow else MEASURE_SHARE, max(count, FEWEST)
    return Columns(measure, (1.0 - measure - GAP_SHARE * (room - 1)) / room, GAP_SHARE, count)


class WayFrame(NamedTuple):
    """How the sections stand on the screen: half a section's width [mm], Scale, Columns, width [px]."""

    half_mm: float
    scale: Scale
    columns: Columns
    width_px: float

    @property
    def narrow(self) -> bool:
        """Whether the narrow columns hold."""
        return self.width_px < NARROW_PX

    def offset(self, i: int) -> tuple[float, float]:
        """How far the section of a way is to the right of the first [mm] and below it [µm]."""
        _, each, gap, _ = self.columns
        return i * 2.0 * self.half_mm * (each + gap) / each, 0.0

    def layout(self, look: Look, first_axes: dict[str, Figure], notes: Sequence[Figure]) -> Figure:
        """Frame of the figure: the pair of axes of the sections beside those of the measures' column.

        Args:
            look: Look.
            first_axes: `xaxis` and `yaxis` of the measures' column; may be empty.
            notes: words.
        """
        depth = self.scale.depth_px / self.scale.per_um
        last = self.offset(self.columns.ways - 1)[0]
        ends = self.columns.measure, self.columns.starts[-1] + self.columns.each
        ticks = {"tickvals": list(range(0, int(depth) + 1, 100)), "tickfont": {"size": 11, "color": look.ink2}}
        axes = first_axes | {
            "xaxis" + AXES: axis(ends, (-self.half_mm, last + self.half_mm), "y" + AXES),
            "yaxis" + AXES: axis(
                (0.0, 1.0), (depth + BOTTOM_PX / self.scale.per_um, 0.0), "x" + AXES, showticklabels=True, **ticks
            ),
        }
        title = {"xref": "paper", "yref": "paper", "textangle": -90, "xanchor": "center", "xshift": -36}
        notes = [*notes, words("depth, µm", ends[0], 0.5, 11, look.ink2, yanchor="middle", **title)]
        return layout(look, None, HEIGHT_PX, (0, 0, TOP_PX, 0), annotations=notes, **axes)

    def below(self, look: Look, meridians: list[Meridian], side: str, items: Sequence[Item]) -> list[Figure]:
        """Words of the two ends and a bar of 1 mm under each section; and, with them, other plain labels.

        Args:
            look: Look.
            meridians: Meridian of every section.
            side: `OD` or `OS`.
            items: of `texts`.
        """
        per_mm, per_um = self.scale.per_mm, self.scale.per_um
        row, bar_px = (self.scale.depth_px + BELOW_PX) / per_um, per_mm + 4.0 + 26.0
        bars, items = [], list(items)
        for i, line in enumerate(meridians):
            middle = self.offset(i)[0]
            start = middle - bar_px / 2.0 / per_mm
            bars.append(([start, start + 1.0], [row, row]))
            items.append(("1 mm", start + 1.0 + 4.0 / per_mm, row, 11, "middle right", "ink2"))
            for word, at, position in zip(
                line.end_words(side), (-1.0, 1.0), ("middle right", "middle left"), strict=True
            ):
                size = 11 if self.narrow else 13
                items.append(
                    (_parted(word) if self.narrow else word, middle + at * self.half_mm, row, size, position, "italic")
                )
        return [lines(bars, AXES, look.ink, 2), texts(items, AXES, look)]

    @property
    def said(self) -> str:
        """The words that a flattened picture must carry."""
        return f"front drawn flat, depth × {1000.0 * self.scale.per_um / self.scale.per_mm:.0f}"


def _parted(word: str) -> str:
    """A long direction in two lines."""
    return word.replace("infero", "infero-<br>").replace("supero", "supero-<br>")


def fitted(
    place: Callable[[Any, Scale, float], Placed],
    drawn: Sequence[Any],
    half_mm: float,
    cols: Columns,
    width_px: float,
    thickest_um: float,
) -> tuple[list[Placed], WayFrame]:
    """(labels, leaders) of every section and the WayFrame: the depth axis grows until labels and corneas have room.

    Args:
        place: gives labels and leaders of one section at a Scale and a type size [px].
        drawn: what `place` takes, one a section.
        half_mm: half the width of a section [mm].
        cols: Columns.
        width_px: width of the figure [px].
        thickest_um: of the corneas in the middle of their sections [µm].
    """
    size = 11.5 if width_px < NARROW_PX else 12.0
    half_px, plot_px, depth = cols.each * width_px / 2.0, HEIGHT_PX - TOP_PX - BOTTOM_PX, DEPTH_UM
    while True:
        scale = Scale(half_px / half_mm, plot_px / depth, half_px, plot_px)
        found = [place(one, scale, size) for one in drawn]
        lowest = max([thickest_um * scale.per_um, *(label.box.bottom for labels, _ in found for label in labels)])
        if lowest <= plot_px or depth > 3.0 * DEPTH_UM:
            return found, WayFrame(half_mm, scale, cols, width_px)
        depth += DEPTH_STEP_UM


def in_place(strokes: Sequence[Points], offset: tuple[float, float]) -> list[tuple[Array, Array]]:
    """Strokes (position, depth) moved to the place of their section."""
    right, down = offset
    return [(np.asarray(x) + right, np.asarray(y) + down) for x, y in strokes]


def put_free(placer: Placer, text: str, y_px: float) -> Label:
    """A label in the middle of a section, moved down until it touches no other label and no leader.

    Args:
        placer: Placer.
        text: the words.
        y_px: wished middle [px].
    """
    while True:
        put = label(text, 0.0, y_px, placer.size, "stroma")
        covered = any(put.box.overlaps(other.box, 2.0) for other in placer.labels)
        if not covered and not any(leader.meets(put.box) for leader in placer.leaders):
            return put
        y_px += 4.0
