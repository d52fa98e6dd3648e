"""The place of a reading among published readings of its kind: mean, spread between centres and between eyes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.budget.spread import Z95, below_percent
from tissue.eye.reading import METHODS, Reading
from tissue.followup.expected import (
    PUBLISHED,
    Figure,
    K_error,
    cut_error,
    gain_error,
    gain_rows,
    method_difference,
    refraction_error,
    removal_error,
)
from tissue.followup.follow import Follow, State, design, state, treated_SE_D
from tissue.ground.published import row
from tissue.ground.vocabulary import Floats
from tissue.removal.options import Option


@dataclass(frozen=True, eq=False)
class Strip:
    """A reading among published readings of its kind [unit of the reading].

    low, high: 95 of 100 such readings, all centres together. between_sd, eye_sd: SD of the means of centres, and of
    the eyes of one centre with the noise of the reading. place_percent: share of such readings below it. rows: ids of
    the published rows behind it; series: how many sources they come from; eyes: how many eyes those kept.
    """

    value: float
    expected: float
    low: float
    high: float
    between_sd: float
    eye_sd: float
    place_percent: float
    rows: tuple[str, ...]
    series: int
    eyes: int

    @property
    def outside(self) -> bool:
        """Whether the reading lies outside 95 of 100 such readings."""
        return not self.low <= self.value <= self.high


def strip_of(value: float, figure: Figure) -> Strip:
    """The Strip of one reading: expected ± 1.96·√(between² + eye²), place 100·Φ.

    Args:
        value: the reading.
        figure: what is expected as its bias, with both spreads and the rows behind them.

    >>> one = strip_of(450.0, Figure(460.0, 3.0, 4.0, ("r01", "r04")))
    >>> round(one.low, 1), round(one.place_percent, 2), one.series, one.eyes
    (450.2, 2.28, 1, 70)
    """
    expected, between_sd, eye_sd = (float(part) for part in figure[:3])
    sd = float(np.hypot(between_sd, eye_sd))
    place = float(below_percent(expected, sd, value))
    ends = expected - Z95 * sd, expected + Z95 * sd
    return Strip(float(value), expected, *ends, between_sd, eye_sd, place, figure.rows, *behind(figure.rows))


def behind(ids: Sequence[str]) -> tuple[int, int]:
    """How many sources some rows have, and how many eyes these kept; the eyes of one source are counted once.

    >>> behind(("r01", "r02")), behind(("e06", "e07", "e08")), behind(("e02", "e03"))
    ((2, 130), (1, 100), (1, 113))
    """
    by_source: dict[str, dict[tuple[str, str], float]] = {}
    for one in map(row, ids):
        by_source.setdefault(one.source, {})[str(one.SE_D), one.procedure] = one.n_eyes
    eyes = sum(np.nansum(list(groups.values())) for groups in by_source.values())
    return len(by_source), int(eyes)


def published_states(comparison: Comparison, option: Option, before_by: str | None) -> tuple[State, State]:
    """The State of centres and the State of eyes by published rows, about the same means.

    Args:
        comparison: Comparison.
        option: Option that was done.
        before_by: method of the thickness before surgery, None where unknown.
    """
    cornea, taken, cut = comparison.cornea, removal_error(option), cut_error(option)
    steps = [
        Figure(cornea.central_thickness_um, 0.0, PUBLISHED.thickness_sd_um),
        Figure(cornea.epithelium_um, 0.0, PUBLISHED.epithelium_sd_um),
        cut._replace(bias=option.cut_um + cut.bias),
        taken._replace(bias=option.removal.central_um + taken.bias),
        gain_error(),
        *(method_difference(method, before_by) for method in METHODS),
    ]
    uncut = option.cut_field is None
    means = [one.bias for one in steps]
    centres = state(means, [one.between_sd for one in steps], uncut)
    return centres, state(means, [one.eye_sd for one in steps], uncut)


def strips(found: Follow, target_D: float = 0.0) -> tuple[dict[str, Strip | None], ...]:
    """The Strips of every reading of one eye by name of what was measured; None where nothing is published for it.

    Args:
        found: Follow of one eye.
        target_D: spherical equivalent aimed at, spectacles [D].
    """
    centres, eyes = published_states(found.comparison, found.done.option, found.before_by)
    return tuple(
        _of_thicknesses(found, one, centres, eyes) | _of_powers(found, one, target_D) for one in found.readings
    )


def _of_thicknesses(found: Follow, reading: Reading, centres: State, eyes: State) -> dict[str, Strip | None]:
    """Strips of the thicknesses of one reading."""
    factors, gains, noise, values = design([reading], treated_SE_D(found.comparison))
    made: dict[str, Strip | None] = {}
    for i, name in enumerate(reading.thicknesses):
        centre, eye = (one.along(factors[i], gains[i]) for one in (centres, eyes))
        own = float(np.hypot(eye.sd_um, noise[i]))
        rows = _rows_behind(found, reading, name)
        made[name] = strip_of(values[i], Figure(centre.mean_um, centre.sd_um, own, rows))
    return made


def _rows_behind(found: Follow, reading: Reading, name: str) -> tuple[str, ...]:
    """Ids of the rows that a strip rests on: of the tissue taken, else of the gain, before surgery of the device."""
    if not reading.after:
        return method_difference(reading.method, found.before_by).rows if name == "thickness_um" else ()
    if name in ("thickness_um", "bed_um"):
        return removal_error(found.done.option).rows
    return gain_rows(float(treated_SE_D(found.comparison)), reading.method)


def _of_powers(found: Follow, reading: Reading, target_D: float) -> dict[str, Strip | None]:
    """Strips of K and refraction of one reading."""
    comparison = found.comparison
    made: dict[str, Strip | None] = {}
    if reading.K_D is not None:
        fall = K_error(float(treated_SE_D(comparison)))
        made["K_D"] = fall and _of_power(float(reading.K_D), comparison.cornea.mean_K_D, fall)
    if reading.SE_D is not None:
        left = refraction_error(found.done.option.name, reading.days)
        made["SE_D"] = left and _of_power(float(reading.SE_D), target_D, left)
    return made


def _of_power(value: float, about: Floats, figure: Figure) -> Strip:
    return strip_of(value, figure._replace(bias=about + figure.bias))
