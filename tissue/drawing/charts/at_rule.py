"""Places the plan's figures at its rule in a chart: above or below their line, clear of lines and words."""

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np

from tissue.drawing.base.fonts import text_size
from tissue.drawing.base.labels import Box
from tissue.ground.vocabulary import Array

FIGURE_PX, TALL_PX = 12.5, 15.0  # type of the figures, height of their boxes
OFF_PX, BESIDE_PX = 11.0, 4.0  # from their line, and from the rule
Curves = Sequence[tuple[Array, Array]]
ROWS = 3  # number of places above or below a line that are tried


class Plot(NamedTuple):
    """Width and height of a plot [px], and how far figures may stand over it."""

    wide_px: float
    high_px: float
    over_px: float = 0.0


class Place(NamedTuple):
    """Where a figure stands: its Box [px], the end held at the rule, and how far over its point [px]."""

    box: Box
    end: str
    up_px: float

    @property
    def held(self) -> dict[str, Any]:
        """The same for a note whose point is that of the figure."""
        shift = BESIDE_PX if self.end == "left" else -BESIDE_PX
        return {"xanchor": self.end, "xshift": shift, "yshift": self.up_px}


def place_figure(
    text: str,
    point: tuple[float, float],
    curves: Curves,
    taken: Sequence[Box],
    plot: Plot,
    order: tuple[int, int] = (1, -1),
) -> Place:
    """The Place of a figure beside its point: the first that is free of lines and words.

    Where there is none, the first free of words, otherwise the first of all.

    Args:
        text: the figure.
        point: (x, y) [px], y downwards from the upper edge of the plot.
        curves: (x, y) of every line [px], NaN in its gaps.
        taken: Boxes of words.
        plot: Plot.
        order: 1 over its line, -1 under it, which is tried first.
    """
    wide = text_size(text, FIGURE_PX)[0]
    places = []
    for row in range(ROWS):
        for up in order:
            middle = point[1] - up * (OFF_PX + row * TALL_PX)
            for end, left in (("left", point[0] + BESIDE_PX), ("right", point[0] - BESIDE_PX - wide)):
                box = Box(left, middle - TALL_PX / 2.0, left + wide, middle + TALL_PX / 2.0)
                places.append(Place(box, end, point[1] - middle))
    clear = [one for one in places if _is_inside(one.box, plot) and not any(one.box.overlaps(box) for box in taken)]
    free = (one for one in clear if not any(_runs_through(one.box, *curve) for curve in curves))
    return next(free, (clear or places)[0])


def _is_inside(box: Box, plot: Plot) -> bool:
    return box.left >= 0.0 and box.right <= plot.wide_px and box.top >= -plot.over_px and box.bottom <= plot.high_px


def _runs_through(box: Box, x: Array, y: Array) -> bool:
    """Whether a line runs through a Box."""
    heights = np.interp(np.linspace(box.left, box.right, 9), x, y)
    return bool(np.any((heights > box.top) & (heights < box.bottom)))
