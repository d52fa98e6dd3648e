"""Tissue as the epithelium lets it be seen: short dents are filled, t → (1 − s²∇²)⁻¹·t."""

from dataclasses import dataclass

import numpy as np
from scipy.fft import dctn, idctn
from scipy.ndimage import map_coordinates

from tissue.removal.removal import Removal
from tissue.sources import data
from tissue.vocabulary import Array


@dataclass(frozen=True, eq=False)
class Smoothed:
    """Smoothed tissue [µm] as a function of places in the treated axes [mm]: a cubic spline through a grid.

    The tissue is the same in the four quadrants of its axes, so that one quadrant is transformed: cosines alone.
    weights: of the spline, shape (steps, steps), v down the rows; step_mm: of the grid.
    """

    weights: Array
    step_mm: float

    def __call__(self, u_mm: Array, v_mm: Array) -> Array:
        """Smoothed tissue [µm]."""
        places = [np.abs(v_mm) / self.step_mm - 0.5, np.abs(u_mm) / self.step_mm - 0.5]
        return np.asarray(map_coordinates(self.weights, places, order=3, mode="reflect", prefilter=False))


def smoothed(taken: Removal, length_mm: float | None = None) -> Smoothed:
    """The Smoothed tissue of a Removal, without its base and as computed.

    Args:
        taken: Removal of one eye (numbers).
        length_mm: s, the length over which the epithelium smooths [mm]; the published one where None.
    """
    known = data("sight")["smoothing"]
    s, steps = (known["length_mm"] if length_mm is None else length_mm), known["steps"]
    step = known["reach_mm"] / steps
    at = (np.arange(steps) + 0.5) * step
    u, v = np.meshgrid(at, at)
    t = taken.profile.thickness_um(u, v, taken.central_unscaled_um)
    wave = np.pi * np.arange(steps) / known["reach_mm"]
    damped = 1.0 / (1.0 + s**2 * (wave[np.newaxis, :] ** 2 + wave[:, np.newaxis] ** 2))
    between = (2.0 + np.cos(wave * step)) / 3.0  # what a cubic spline makes of its weights
    spectrum = dctn(t, norm="ortho") * damped / np.outer(between, between)
    return Smoothed(np.asarray(idctn(spectrum, norm="ortho")), step)


def smoothing_length_mm(gain_um_per_D: float) -> float:
    """Length s [mm] that gives so much epithelium at the centre for a dioptre [µm/D]: √(g·2·376/(4·1000)).

    The tissue of a dioptre has ∇²t = 4·1000/(2·376) µm/mm² at its centre, and what is filled there is s²·∇²t.

    >>> round(smoothing_length_mm(0.94), 2)
    0.42
    """
    return float(np.sqrt(gain_um_per_D * 2.0 * 376.0 / 4000.0))
