"""The surface that lies nearest to the readings and bends least, and the readings that lie apart from the others."""

from typing import NamedTuple

import numpy as np

from tissue.eye.measured.readings import Readings
from tissue.eye.measured.spline import SIZE, Spline, bending
from tissue.vocabulary import Array

HALVED_MM = 1.2  # of a ripple of this length half stays
STIFFNESS_MM6 = (HALVED_MM / (2.0 * np.pi)) ** 6
LEAST_JUDGED = 50  # with fewer readings none is held against the others
APART_UM, APART_SPREADS = 15.0, 8.0  # a reading is apart beyond the greater of both
SPREAD_OF_MEDIAN = 1.4826  # SD of a normal distribution over its median absolute deviation
AS_FAR = 0.8  # of the farthest reading: as far as this they are set aside together
MOST_APART, MOST_APART_SHARE = 3, 0.02  # more than both of these are no slips of a few readings


class Fit(NamedTuple):
    """A surface, which of the readings it was fitted to, the SD of what they lie from it [µm], those set aside.

    apart_um: of every reading how far it lies from the fit without it [µm].
    """

    spline: Spline
    kept: np.ndarray
    residual_sd_um: float
    apart_um: Array

    @property
    def too_many_apart(self) -> bool:
        """Whether more readings lie apart than a few slips."""
        return is_too_many(int((~self.kept).sum()), self.kept.size)


def is_too_many(apart: int, readings: int) -> bool:
    """Whether so many readings apart are no slips of a few.

    >>> is_too_many(3, 20), is_too_many(5, 253), is_too_many(6, 253)
    (False, False, True)
    """
    return apart > MOST_APART and apart > MOST_APART_SHARE * readings


def fit_readings(readings: Readings) -> Fit:
    """The surface through the readings, those apart set aside one after the other.

    Least Σ wᵢ·(S − dᵢ)² + λ·∬(S_xxx² + 3·S_xxy² + 3·S_xyy² + S_yyy²). A reading is apart where it lies over 15 µm, and
    over 8 spreads of all, from the fit without it; of several the one that lies farthest for what the fit follows it.

    Args:
        readings: Places or Sectors that are used.
    """
    kept = np.ones(readings.value_um.size, dtype=bool)
    while True:
        spline, left, far, pull = _one(readings, kept)
        apart = _are_apart(far, kept) if kept.size >= LEAST_JUDGED else np.zeros_like(kept)
        if not apart.any() or is_too_many(int((~kept).sum()), kept.size):
            return Fit(spline, kept, float(np.std(left[kept])), far)
        kept &= ~(apart & (pull >= AS_FAR * pull[apart].max()))


def _are_apart(far: Array, kept: np.ndarray) -> np.ndarray:
    """The readings among those kept that lie apart."""
    limit = max(APART_UM, APART_SPREADS * SPREAD_OF_MEDIAN * float(np.median(far[kept])))
    return kept & (far > limit)


def _one(readings: Readings, kept: np.ndarray) -> tuple[Spline, Array, Array, Array]:
    """One fit: the surface, what the readings lie from it [µm], from the fit without them, and studentised."""
    from scipy.linalg import cho_factor, cho_solve
    from scipy.linalg.lapack import dpotri

    fitted, weight, of_reading = readings.kept(kept).averaged()
    left_side, right_side = fitted.normal(weight)
    factor = cho_factor(left_side + STIFFNESS_MM6 * bending(), lower=True, overwrite_a=True, check_finite=False)
    spline = Spline(cho_solve(factor, right_side, check_finite=False).reshape(SIZE, SIZE))
    left = readings.value_um - readings.predicted_um(spline)
    if kept.size < LEAST_JUDGED:
        return spline, left, np.abs(left), np.abs(left)
    half = dpotri(factor[0], lower=1)[0]
    inverse = np.tril(half) + np.tril(half, -1).T
    share = np.zeros(kept.size)
    share[kept] = readings.kept(kept).weights_mm2() * fitted.reach(inverse)[of_reading]
    room = np.maximum(1.0 - share, 1e-6)
    return spline, left, np.abs(left) / room, np.abs(left) / np.sqrt(room)
