"""What value of one input gives a wanted figure, the same bed or strength; a plain answer where none does."""

from dataclasses import dataclass

import numpy as np

from tissue.entry.fields import fields
from tissue.explore.variation import axis, figure, plan_value, varied

SCAN = 61
FLAT = 1e-6  # a figure that moves less than this over the whole range does not depend on the input
CLOSE = 1e-4  # what is found must give the target to this


@dataclass(frozen=True, eq=False)
class Found:
    """The answer to a search.

    value: of the input, NaN where none gives the target. wanted: the target. at_low, at_high: (input, figure) where
    the figure is least and greatest over the range searched; NaN where it has none anywhere. flat: whether the figure
    does not depend on the input.
    """

    field: str
    option: str
    measure: str
    wanted: float
    value: float
    at_low: tuple
    at_high: tuple
    flat: bool

    @property
    def there(self):
        """Whether a value of the input gives the target."""
        return not np.isnan(self.value)

    def words(self, heading, measure_words):
        """The answer in one sentence.

        Args:
            heading: what the input is called, with its unit: `Optical zone, mm`.
            measure_words: takes a figure and gives it in words with its unit.

        >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
        >>> seek(eye, "flap", "bed_central_um", 500.0, "zone_mm").words("Zone, mm", "bed {:.0f} µm".format)
        'Zone, mm: no value from 4 to 9 gives bed 500 µm; it runs from bed 214 µm at 9 to bed 399 µm at 4.'
        """
        wanted = measure_words(self.wanted)
        if self.there:
            return f"{heading}: {self.value:.4g} gives {wanted}."
        if np.isnan(self.at_low[1]):
            return f"{heading}: there is no figure over the whole range, so none gives {wanted}."
        low, high = (f"{measure_words(y)} at {x:g}" for x, y in (self.at_low, self.at_high))
        if self.flat:
            return f"{heading}: the figure does not depend on it and stays at {measure_words(self.at_low[1])}."
        ends = sorted((self.at_low[0], self.at_high[0]))
        return f"{heading}: no value from {ends[0]:g} to {ends[1]:g} gives {wanted}; it runs from {low} to {high}."


def seek(values, option, measure, wanted, field, low=None, high=None):
    """The value of one input, nearest to the plan's, at which a figure of one option is as wanted.

    Every change of sign over an even scan is a place where it may be; the nearest is brought to rest by Brent's method.

    Args:
        values: the plan by the names of the interface, one eye.
        option: surface, flap or lenticule; measure: one of `variation.known_measures`.
        wanted: the figure wanted [unit of the measure].
        field: the input; low, high: where to look [unit of the field], the whole range of the field where None
            (of a sphere the usual one).

    Raises:
        EyeError: as `variation.axis`.

    >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
    >>> round(seek(eye, "flap", "bed_central_um", 300.0, "zone_mm").value, 3)
    7.364
    """
    from scipy.optimize import brentq

    entry = fields()[field]
    if field != "sphere_D":
        low, high = entry.low if low is None else low, entry.high if high is None else high
    x = axis(values, field, low, high, SCAN)
    y, whole = _figures(values, option, measure, field, x), np.full(2, np.nan)
    known = np.flatnonzero(~np.isnan(y))
    at_low, at_high = (tuple(whole), tuple(whole)) if known.size == 0 else ((x[i], y[i]) for i in _ends(known, y))
    flat = bool(known.size and at_high[1] - at_low[1] < FLAT)
    value = np.nan
    if not flat:
        plan, over = plan_value(values, field), y - wanted
        value = _nearest(lambda v: float(_figures(values, option, measure, field, v)) - wanted, x, over, plan, brentq)
    return Found(field, option, measure, float(wanted), value, at_low, at_high, flat)


def _figures(values, option, measure, field, x):
    """The figure at values of the input, NaN where there is none."""
    inputs, why = varied(values, **{field: np.asarray(x, dtype=float)})
    return np.where(why == "", figure(inputs, option, measure)[0], np.nan)


def _ends(known, y):
    """Where the figure is least and greatest."""
    return known[np.argmin(y[known])], known[np.argmax(y[known])]


def _nearest(over, x, scanned, plan, solve):
    """The root nearest to the plan; NaN where the scan shows none."""
    exact = x[scanned == 0.0]
    crossing = np.flatnonzero(scanned[:-1] * scanned[1:] < 0.0)
    roots = [*exact, *(solve(over, x[i], x[i + 1], xtol=1e-10) for i in crossing)]
    roots = [root for root in roots if abs(over(root)) < CLOSE]
    return float(min(roots, key=lambda root: abs(root - plan))) if roots else np.nan
