"""Contrast of the image: the transfer function as the autocorrelation of the pupil's field."""

from functools import cache, lru_cache

import numpy as np
from scipy.fft import fft, next_fast_len, rfft

from tissue.ground.sources import data
from tissue.ground.vocabulary import Array
from tissue.optics.sight.cells import Cells
from tissue.optics.sight.focus import InPupil, amplitude
from tissue.optics.sight.view import GREEN, Line, View, lines_of_light

HIGHEST = 60  # cycles per degree
PER_CYCLE = 2  # pixels of the pupil for a cycle per degree: whole frequencies are points of the grid
SIX = ((5, 0), (4, 3), (3, 4), (0, 5), (-3, 4), (-4, 3))  # directions, five long in whole numbers


def transfer(seen: InPupil, light: str, stiles_crawford_per_mm2: float) -> np.ndarray:
    """Optical transfer function, complex, mean over the lines of light by their shares.

    Shape (61, 121): frequencies 0 … 60 upwards down the rows, −60 … 60 across [cycles/degree].
    """
    return sum(
        (line.share * _of_line(seen, line, stiles_crawford_per_mm2) for line in lines_of_light(light)),
        np.zeros((HIGHEST + 1, 2 * HIGHEST + 1), dtype=complex),
    )


def _of_line(seen: InPupil, line: Line, stiles_crawford: float) -> Array:
    """Transfer function of one line of light."""
    cells = pupil_pixels(seen.radius_mm, line.wavelength_nm)
    return autocorrelation(cells, seen.field(cells.x_mm, cells.y_mm, line, stiles_crawford))


@lru_cache(maxsize=16)  # the lines of a view; a server runs for weeks
def pupil_pixels(radius_mm: float, wavelength_nm: float) -> Cells:
    """Cells over a pupil [mm], two to a cycle per degree at that wavelength [nm]; an odd number of them."""
    step = np.degrees(wavelength_nm * 1e-6) / PER_CYCLE
    count = int(np.ceil(2.0 * radius_mm / step + 1.0))
    return Cells(radius_mm, count + 1 - count % 2, float(step))


def autocorrelation(cells: Cells, values: np.ndarray) -> np.ndarray:
    """Autocorrelation of a field [(cells,)] at shifts of whole cycles per degree, over all its light: as `transfer`.

    The field is set into so large a frame that no shift runs round it; only the rows that are asked for are undone.
    All light is that of the cells' shares: the square of a share would count the rim for too little.
    """
    pixels, reach = cells.filled(values * cells.share.astype(np.float32)), PER_CYCLE * HIGHEST
    size = next_fast_len(cells.count + reach)
    power = np.square(np.abs(fft(fft(pixels, size, axis=1), size, axis=0)))
    rows = np.conj(rfft(power, axis=0)[: reach + 1 : PER_CYCLE])
    across = -PER_CYCLE * np.arange(-HIGHEST, HIGHEST + 1)  # the second transform is its inverse, read backwards
    found = np.asarray(fft(rows, axis=1)[:, across] / (size**2 * (cells.share * np.square(np.abs(values))).sum()))
    found[0, HIGHEST] = 1.0
    return found


@cache
def _frequencies() -> tuple[Array, Array]:
    """Size of each frequency of the half plane [cycles/degree], and how much the eye's contrast counts there."""
    up, across = np.mgrid[0 : HIGHEST + 1, -HIGHEST : HIGHEST + 1]
    size = np.hypot(up, across)
    counted = (size > 0) & (size <= HIGHEST) & ((up > 0) | (across > 0))
    known = data("sight")["contrast"]
    c = known["per_cycle"] * size
    weight = known["gain"] * (known["floor"] + c) * np.exp(-(c ** known["power"]))
    return size, np.where(counted, weight, 0.0)


def visual_strehl(found: np.ndarray, without_error: np.ndarray) -> float:
    """Σ A·|OTF| over Σ A·OTF without error, whole frequencies to 60 cycles/degree [0–1]; source mannos1974."""
    _, weight = _frequencies()
    return float((weight * np.abs(found)).sum() / (weight * without_error.real).sum())


def along_six(found: np.ndarray, cycles: int) -> Array:
    """|OTF| in six directions at a frequency that five divides [cycles/degree], shape (6,)."""
    part = cycles // 5
    return np.array([abs(found[part * up, HIGHEST + part * across]) for across, up in SIX])


def contrast_figures(seen: InPupil, view: View) -> dict[str, float]:
    """Contrast at 10 and 20 cycles/degree, mean and least of six directions, and the visual Strehl ratio, by name."""
    otf = transfer(seen, view.light, view.stiles_crawford_per_mm2)
    at_10, at_20 = along_six(otf, 10), along_six(otf, 20)
    return {
        "mtf_10": float(at_10.mean()),
        "mtf_10_least": float(at_10.min()),
        "mtf_20": float(at_20.mean()),
        "mtf_20_least": float(at_20.min()),
        "visual_strehl": visual_strehl(otf, without_error(seen.radius_mm, view.stiles_crawford_per_mm2)),
    }


@cache
def without_error(radius_mm: float, stiles_crawford_per_mm2: float) -> np.ndarray:
    """Transfer function of a pupil [mm] without error at 555 nm; as `contrast.transfer`."""
    (line,) = lines_of_light(GREEN)
    cells = pupil_pixels(radius_mm, line.wavelength_nm)
    return autocorrelation(cells, amplitude(cells.x_mm, cells.y_mm, stiles_crawford_per_mm2))
