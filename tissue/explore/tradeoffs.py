"""Trade-offs of a plan: one or two inputs varied, every other held, through the arithmetic of the plan itself.

A map seeks the least bed once for each removal and not once for each cell; nothing else is left out or approximated.
"""

from dataclasses import dataclass

import numpy as np

from tissue.budget.spread import CLOSED, closed_interval
from tissue.draws.figures import draw, moved_figures
from tissue.entry.eye import build
from tissue.explore.variation import NUMBER, axis, figure, plan_value, relationship_of, require_known, varied

PAIRS = (("zone_mm", "cap_um"), ("zone_mm", "flap_um"), ("zone_mm", "sphere_D"), ("cap_um", "base_um"))


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
    plan: tuple

    def rows(self):
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
    """A measure of all options over one input: the input, its values, a Line an option, and the plan's own value."""

    measure: str
    field: str
    x: np.ndarray
    lines: dict
    plan: float


def grid(values, option, measure, across, down, x=None, y=None, number=NUMBER):
    """A measure of one option over two inputs, as one array call.

    Args:
        values: the plan by the names of the interface, one eye.
        option: surface, flap or lenticule.
        measure: one of `known_measures`.
        across, down: the two inputs.
        x, y: their values [units of the fields]; `axis` where None.
        number: of values of an axis.

    Raises:
        EyeError: as `axis`, or a measure that is not known.

    >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
    >>> made = grid(eye, "lenticule", "bed_min_um", "zone_mm", "cap_um")
    >>> made.values.shape, [round(float(part), 1) for part in made.plan]
    ((61, 61), [6.5, 120.0, 323.9])
    """
    x = axis(values, across, number=number) if x is None else np.asarray(x, dtype=float)
    y = axis(values, down, number=number) if y is None else np.asarray(y, dtype=float)
    inputs, why = varied(values, **{across: x[np.newaxis, :], down: y[:, np.newaxis]})
    figures, missing = figure(inputs, option, measure)
    shape = (y.size, x.size)
    why = np.where(why == "", np.broadcast_to(missing, shape), why)
    found = np.where(why == "", figures, np.nan)
    plan = build(values)
    at = (plan_value(values, across), plan_value(values, down), float(figure(plan, option, measure)[0]))
    return Grid(option, measure, across, down, x, y, found, why, at)


def sweep(values, measure, field, x=None, number=NUMBER, seed=None):
    """A measure of all options over one input, with the spread of each.

    The spread is the closed one where there is one, else from draws; NaN where errors do not move the figure.

    Args:
        values: the plan by the names of the interface, one eye.
        measure: one of `known_measures`.
        field: the input; x: its values [unit of the field], `axis` where None; number: of them.
        seed: of the draws, where another than the usual one is wanted.

    >>> eye = {"sphere_D": -6.0, "central_thickness_um": 548.0}
    >>> made = sweep(eye, "bed_central_um", "zone_mm", [6.0, 7.0])
    >>> [[round(float(v)) for v in line.values] for line in made.lines.values()]
    [[407, 372], [350, 315], [339, 307]]
    """
    require_known(measure)
    x = axis(values, field, number=number) if x is None else np.asarray(x, dtype=float)
    inputs, why = varied(values, **{field: x})
    comparison = inputs.compare()
    more = {} if seed is None else {"seed": seed}
    samples = draw(comparison, [measure], **more) if measure in moved_figures() and measure not in CLOSED else {}
    lines = {}
    for name, result in comparison.results.items():
        none = np.full(x.shape, np.nan)
        low, high = none, none
        if measure in CLOSED:
            low, high = closed_interval(result, measure)
        elif name in samples:
            low, high = samples[name].interval(measure)
        reason = np.where(why == "", result.why_not, why)
        parts = (np.where(reason == "", part, np.nan) for part in (_of_result(result, measure), low, high))
        lines[name] = Line(*parts, reason)
    return Sweep(measure, field, x, lines, plan_value(values, field))


def _of_result(result, measure):
    """A measure of a Result."""
    for part in (result.budget, result.spread):
        if hasattr(part, measure):
            return getattr(part, measure)
    return result.strength.strength_percent[relationship_of(measure).id]
