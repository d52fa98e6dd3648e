"""Light of the image near the axis: the point spread by a Fourier transform of the pupil's field.

A cell of the pupil over which the wave changes too fast for the transform is split until it no longer does:
else its light, which lands far out, would be counted near the axis.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.fft import fft, next_fast_len
from scipy.ndimage import maximum_filter

from tissue.ground.vocabulary import Array, Floats
from tissue.optics.sight.cells import Cells, disc_share
from tissue.optics.sight.focus import CELLS, InPupil, amplitude, cells_over
from tissue.optics.sight.view import ARCMIN, Line, View, lines_of_light

LEAST_CELLS = 160
MARGIN = 1.25  # of the rule for the cells
WHOLE_ARCMIN = 40.0  # slope up to which a cell is left whole
FAR_ARCMIN, NEAR_ARCMIN = 10.0, 3.0
PIXELS_PER_AIRY = 2.6  # pixels to λ/D
PARTS = (1, 2, 3, 4, 6, 8, 11, 16)  # a side, in which a steep cell can be split
CLOSER, ROUNDS = 4, 2  # steps in which the brightest place is searched more closely


@dataclass(frozen=True, eq=False)
class Spread:
    """Point spread of one line of light about the axis, over the peak without error; y down the rows.

    values: shape (n, n); step_arcmin: of a pixel; per_light: what a pixel of value 1 is of all light [%]. field, cells,
    line, peak: what it was made of.
    """

    values: Array
    step_arcmin: float
    per_light: float
    field: np.ndarray
    cells: Cells
    line: Line
    peak: float

    @property
    def along_arcmin(self) -> Array:
        """Middles of the pixels along a side [′]."""
        return np.asarray((np.arange(self.values.shape[0]) - self.values.shape[0] // 2) * self.step_arcmin)

    def within_percent(self, radius_arcmin: float) -> float:
        """Light within a radius of the axis [′], of all light in the pupil [%]; pixels at the rim by their share."""
        along = self.along_arcmin
        share = disc_share(along[np.newaxis, :], along[:, np.newaxis], radius_arcmin, self.step_arcmin)
        return float(self.per_light * (self.values * share).sum())

    def strehl(self) -> float:
        """Greatest value within 3′ of the axis, searched more closely about the brightest pixel."""
        across, up = np.meshgrid(self.along_arcmin, self.along_arcmin)
        best = np.argmax(np.where(np.hypot(across, up) <= NEAR_ARCMIN, self.values, -1.0))
        x, y, step = float(across.flat[best]), float(up.flat[best]), self.step_arcmin
        for _ in range(ROUNDS):
            offset = np.linspace(-step, step, 2 * CLOSER + 1)
            close = at_directions(self.field, self.cells, x + offset, y + offset, self.line)
            row, column = np.unravel_index(np.argmax(close), close.shape)
            x, y, step = x + float(offset[column]), y + float(offset[row]), step / CLOSER
        return float(close.max() / self.peak)


def point_spread(seen: InPupil, line: Line, stiles_crawford_per_mm2: float, far_arcmin: float = FAR_ARCMIN) -> Spread:
    """The Spread of one line of light out to a distance from the axis [′]."""
    cells = cells_over(seen.radius_mm, cells_needed(seen, line, far_arcmin))
    square = cells.filled(_averaged(seen, line, stiles_crawford_per_mm2, cells, far_arcmin))
    size = cells.share * amplitude(cells.x_mm, cells.y_mm, stiles_crawford_per_mm2)
    peak, light = np.square(size.sum()), (np.square(size) / cells.share).sum()
    frame = next_fast_len(int(np.ceil(PIXELS_PER_AIRY * cells.count)))
    step = line.wavelength_mm / (frame * cells.step_mm) / ARCMIN
    values = _about_axis(square, frame, int(np.ceil(far_arcmin / step + 0.5))) / peak
    per_light = 100.0 * peak / light / frame**2
    return Spread(values, step, float(per_light), square, cells, line, float(peak))


def _about_axis(square: NDArray[Any], frame: int, half: int) -> Array:
    """|Fourier transform|² of a field in a frame of so many points a side, `half` pixels to either side of the axis."""
    near = np.arange(-half, half + 1)
    across = fft(square, frame, axis=1)[:, near]
    return np.square(np.abs(fft(across, frame, axis=0)[near])).astype(float)


def cells_needed(seen: InPupil, line: Line, far_arcmin: float) -> int:
    """Cells across the pupil: 1.25·D·(slope + reach)/λ, for slopes up to 40′, and 160 at least."""
    steepest = min(float(np.nanmax(seen.slopes_arcmin)), WHOLE_ARCMIN)
    return max(LEAST_CELLS, int(np.ceil(_samples(steepest, far_arcmin, line, 2.0 * seen.radius_mm))))


def _samples(slope_arcmin: Floats, far_arcmin: float, line: Line, width_mm: float) -> Floats:
    """How many samples a width [mm] needs where the wave has a slope [′]."""
    return MARGIN * width_mm * (slope_arcmin + far_arcmin) * ARCMIN / line.wavelength_mm


def _averaged(seen: InPupil, line: Line, stiles_crawford: float, cells: Cells, far_arcmin: float) -> NDArray[Any]:
    """The field of every cell, shape (cells,); of a steep one the mean over its parts."""
    needed = _samples(_steepness(seen, cells), far_arcmin, line, cells.step_mm)
    made = np.empty(cells.x_mm.shape, dtype=np.complex64)
    split = np.minimum(np.searchsorted(PARTS, needed), len(PARTS) - 1)
    for number, parts in enumerate(PARTS):
        rows = split == number
        made[rows] = _field_of(seen, line, stiles_crawford, cells, rows, parts)
    return made


def _field_of(
    seen: InPupil, line: Line, stiles_crawford: float, cells: Cells, rows: NDArray[np.bool_], parts: int
) -> NDArray[np.complex64]:
    """The mean field of some cells, each in so many parts a side."""
    offset = ((np.arange(parts) + 0.5) / parts - 0.5) * cells.step_mm
    x = (cells.x_mm[rows][:, None, None] + offset[None, :, None] + 0.0 * offset[None, None, :]).ravel()
    y = (cells.y_mm[rows][:, None, None] + 0.0 * offset[None, :, None] + offset[None, None, :]).ravel()
    found = seen.field(x, y, line, stiles_crawford)
    return found.reshape(-1, parts * parts).mean(axis=1) * cells.share[rows].astype(np.float32)


def _steepness(seen: InPupil, cells: Cells) -> Array:
    """Greatest slope of the wave about each cell [′], from the cells in which it is fitted and their neighbours."""
    square = seen.cells.filled(np.nan_to_num(seen.slopes_arcmin))
    widest = maximum_filter(square, 3)
    column, row = (
        np.clip(((v / seen.radius_mm + 1.0) / 2.0 * CELLS).astype(int), 0, CELLS - 1) for v in (cells.x_mm, cells.y_mm)
    )
    return widest[row, column]


def at_directions(square: np.ndarray, cells: Cells, across_arcmin: Array, up_arcmin: Array, line: Line) -> Array:
    """|Σ E·exp(−2πi·α·x/λ)|² of a field at directions [′], shape (up, across)."""
    turn = -2.0j * np.pi * ARCMIN / line.wavelength_mm * cells.along_mm
    left, right = (np.exp(np.outer(angle, turn)) for angle in (up_arcmin, across_arcmin))
    near = np.einsum("ij,jk->ik", left, square)  # for so few directions several threads would wait for each other
    return np.square(np.abs(np.einsum("ik,lk->il", near, right)))


def light_percent(seen: InPupil, light: str, stiles_crawford_per_mm2: float, radius_arcmin: float) -> float:
    """Light within a radius of the axis [′], of all light in the pupil [%]; mean over the lines by their shares."""
    return sum(
        line.share * point_spread(seen, line, stiles_crawford_per_mm2, radius_arcmin).within_percent(radius_arcmin)
        for line in lines_of_light(light)
    )


def light_figures(seen: InPupil, view: View) -> dict[str, float]:
    """Light near the axis, by name."""
    return _light_near(spreads_of(seen, view))


def spreads_of(seen: InPupil, view: View) -> list[Spread]:
    """The Spread of every line of the light."""
    return [point_spread(seen, line, view.stiles_crawford_per_mm2) for line in lines_of_light(view.light)]


def _light_near(spreads: Sequence[Spread]) -> dict[str, float]:
    """Light within 3′ and 10′, by name; mean over the lines by their shares."""

    def within(radius: float) -> float:
        return sum(one.line.share * one.within_percent(radius) for one in spreads)

    return {"light_3_arcmin_percent": within(NEAR_ARCMIN), "light_10_arcmin_percent": within(FAR_ARCMIN)}


def image_figures(seen: InPupil, view: View) -> dict[str, float]:
    """Light near the axis and the Strehl ratio, by name; no such ratio where the light is not one line."""
    spreads = spreads_of(seen, view)
    return _light_near(spreads) | {"strehl": spreads[0].strehl() if len(spreads) == 1 else np.nan}
