"""Trade-offs of a plan: one or two inputs varied, every other held, through the arithmetic of the plan itself.

A map seeks the least bed once for each removal and not once for each cell; nothing else is left out or approximated.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from tissue.budget.comparison import Result, closed_interval
from tissue.budget.spread import CLOSED
from tissue.entry.eye import build
from tissue.entry.fields import fields
from tissue.explore.draws import moved_figures, sample
from tissue.explore.variation import (
    NUMBER,
    axis_values,
    figure_of,
    plan_value,
    relationship_of,
    require_known,
    require_plan,
    require_varied,
    values_along,
    varied,
)
from tissue.ground.limits import one_number
from tissue.ground.vocabulary import Array, Floats

PAIRS = (("zone_mm", "cap_um"), ("zone_mm", "flap_um"), ("zone_mm", "sphere_D"), ("cap_um", "base_um"))
SCAN = 61
ANY_FIGURE = (-1e6, 1e6)  # limits of a wanted figure: wider than any figure, in any unit
FLAT = 1e-6  # a figure that moves less than this over the whole range does not depend on the input
CLOSE = 1e-4  # a found value must reach the target within this


@dataclass(frozen=True, eq=False)
class Grid:
    """A measure of one option over two inputs.

    across, down: names of the inputs; x, y: their values. values: shape (y, x), NaN with a reason in `why`.
    plan: (x, y, value) of the plan itself; the plan's own x and y are among the values.
    """

    option: str
    measure: str
    across: str
    down: str
    x: np.ndarray
    y: np.ndarray
    values: np.ndarray
    why: np.ndarray
    plan: tuple[float, float, float]

    def rows(self) -> Iterator[tuple[Any, ...]]:
        """The grid as rows of a table, the names first; a cell without a figure carries its reason.

        >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
        >>> next(grid(eye, "flap", "bed_central_um", "zone_mm", "flap_um", number=3).rows())
        ('zone_mm', 'flap_um', 'flap_bed_central_um', 'reason')
        """
        yield (self.across, self.down, f"{self.option}_{self.measure}", "reason")
        for i, y in enumerate(self.y):
            for j, x in enumerate(self.x):
                value = self.values[i, j]
                yield (float(x), float(y), None if np.isnan(value) else float(value), str(self.why[i, j]))


@dataclass(frozen=True, eq=False)
class Line:
    """One option along a sweep: figure, both ends of its spread (NaN where it has none), and why there is no figure."""

    values: np.ndarray
    low: np.ndarray
    high: np.ndarray
    why: np.ndarray


@dataclass(frozen=True, eq=False)
class Sweep:
    """A measure of all options over one input: the input, its values, a Line for each option, the plan's value."""

    measure: str
    field: str
    x: np.ndarray
    lines: dict[str, Line]
    plan: float


def grid(
    values: dict[str, Any],
    option: str,
    measure: str,
    across: str,
    down: str,
    *,
    x: ArrayLike | None = None,
    y: ArrayLike | None = None,
    number: int = NUMBER,
) -> Grid:
    """A measure of one option over two inputs, as one array call.

    Args:
        values: the plan by the names of the interface, one eye.
        option: surface, flap or lenticule.
        measure: one of `known_measures`.
        across, down: the two inputs.
        x, y: their values [units of the fields]; `values_along` where None.
        number: of values of an axis.

    Raises:
        EyeError: as `values_along`, or a measure that is not known.

    >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
    >>> made = grid(eye, "lenticule", "bed_min_um", "zone_mm", "cap_um")
    >>> made.values.shape, [round(float(part), 1) for part in made.plan]
    ((61, 61), [6.5, 120.0, 323.9])
    """
    for field in (across, down):
        require_varied(field)
    require_plan(values)
    x = values_along(values, across, number=number) if x is None else axis_values(x, across)
    y = values_along(values, down, number=number) if y is None else axis_values(y, down)
    inputs, why = varied(values, **{across: x[np.newaxis, :], down: y[:, np.newaxis]})
    figures, missing = figure_of(inputs, option, measure)
    shape = (y.size, x.size)
    why = np.where(why == "", np.broadcast_to(missing, shape), why)
    found = np.where(why == "", figures, np.nan)
    plan = build(values)
    at = (plan_value(values, across), plan_value(values, down), float(figure_of(plan, option, measure)[0]))
    return Grid(option, measure, across, down, x, y, found, why, at)


def sweep(
    values: dict[str, Any],
    measure: str,
    field: str,
    x: ArrayLike | None = None,
    number: int = NUMBER,
    seed: int | None = None,
) -> Sweep:
    """A measure of all options over one input, with the spread of each.

    The spread is the closed one where there is one, else from draws; NaN where errors do not move the figure.

    Args:
        values: the plan by the names of the interface, one eye.
        measure: one of `known_measures`.
        field: the input; x: its values [unit of the field], `values_along` where None; number: of them.
        seed: of the draws, where another than the usual one is wanted.

    >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
    >>> made = sweep(eye, "bed_central_um", "zone_mm", [6.0, 7.0])
    >>> [[round(float(v)) for v in line.values] for line in made.lines.values()]
    [[407, 372], [350, 315], [339, 307]]
    """
    require_known(measure)
    require_varied(field)
    require_plan(values)
    x = values_along(values, field, number=number) if x is None else axis_values(x, field)
    inputs, why = varied(values, **{field: x})
    comparison = inputs.compare()
    more = {} if seed is None else {"seed": seed}
    samples = sample(comparison, [measure], **more) if measure in moved_figures() and measure not in CLOSED else {}
    lines = {}
    for name, result in comparison.results.items():
        none = np.full(x.shape, np.nan)
        ends: tuple[Floats, Floats] = (none, none)
        if measure in CLOSED:
            ends = closed_interval(comparison, name, measure)
        elif name in samples:
            ends = samples[name].interval(measure)
        reason = np.where(why == "", result.why_not, why)
        figure, low, high = (np.where(reason == "", part, np.nan) for part in (_of_result(result, measure), *ends))
        lines[name] = Line(figure, low, high, reason)
    return Sweep(measure, field, x, lines, plan_value(values, field))


def _of_result(result: Result, measure: str) -> Floats:
    """A measure of a Result."""
    for part in (result.budget, result.spread):
        if hasattr(part, measure):
            return getattr(part, measure)
    return result.strength.strength_percent[relationship_of(measure).id]


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
    at_low: tuple[float, float]
    at_high: tuple[float, float]
    flat: bool

    @property
    def there(self) -> bool:
        """Whether a value of the input gives the target."""
        return not np.isnan(self.value)

    def words(self, heading: str, measure_words: Callable[[float], str]) -> str:
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


def seek(
    values: dict[str, Any],
    option: str,
    measure: str,
    wanted: float,
    field: str,
    *,
    low: float | None = None,
    high: float | None = None,
) -> Found:
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

    require_varied(field)
    require_plan(values)
    wanted = one_number(wanted, "wanted", *ANY_FIGURE)
    entry = fields()[field]
    if field != "sphere_D":
        low, high = entry.low if low is None else low, entry.high if high is None else high
    x = values_along(values, field, low, high, SCAN)
    y, whole = _figures(values, option, measure, field, x), np.full(2, np.nan)
    known = np.flatnonzero(~np.isnan(y))
    at_low, at_high = (tuple(whole), tuple(whole)) if known.size == 0 else ((x[i], y[i]) for i in _ends(known, y))
    flat = bool(known.size and at_high[1] - at_low[1] < FLAT)
    value = np.nan
    if not flat:
        plan, over = plan_value(values, field), y - wanted
        value = _nearest(lambda v: float(_figures(values, option, measure, field, v)) - wanted, x, over, plan, brentq)
    return Found(field, option, measure, float(wanted), value, at_low, at_high, flat)


def _figures(values: dict[str, Any], option: str, measure: str, field: str, x: ArrayLike) -> Array:
    """The figure at values of the input, NaN where there is none."""
    inputs, why = varied(values, **{field: np.asarray(x, dtype=float)})
    return np.where(why == "", figure_of(inputs, option, measure)[0], np.nan)


def _ends(known: NDArray[np.intp], y: Array) -> tuple[int, int]:
    """Indices at which the figure is least and greatest."""
    return known[np.argmin(y[known])], known[np.argmax(y[known])]


def _nearest(over: Callable[[float], float], x: Array, scanned: Array, plan: float, solve: Callable[..., Any]) -> float:
    """The root nearest to the plan; NaN where the scan shows none."""
    exact = x[scanned == 0.0]
    crossing = np.flatnonzero(scanned[:-1] * scanned[1:] < 0.0)
    roots = [*exact, *(solve(over, x[i], x[i + 1], xtol=1e-10) for i in crossing)]
    roots = [root for root in roots if abs(over(root)) < CLOSE]
    return float(min(roots, key=lambda root: abs(root - plan))) if roots else np.nan
