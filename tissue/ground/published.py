"""Published readings after surgery, pooled with their disagreement instead of one number of one series."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from tissue.ground.sources import rows, source
from tissue.ground.vocabulary import Array, Floats

TEXTS = ("id", "quantity", "procedure", "method", "unit", "pool", "source", "status", "note")
NUMBERS = ("days", "n_eyes", "SE_D", "mean", "sd", "count", "of")
WEIGHTED = ("stroma-lenticule", "thinning-lenticule", "refraction-lenticule")  # pooled by DerSimonian and Laird
PLAIN = ("stroma-ablation", "offset-oct", "offset-scheimpflug", "drift")  # plain mean and SD of the series
SLOPE, COUNTED = "gain", "suction"
WIDE = 2.0  # standard deviations to either end of the range that a new centre may find


@dataclass(frozen=True, eq=False)
class Row:
    """One published reading; numbers are NaN and texts empty where the source did not keep them.

    source: its citation.

    Signs: a read-out or a plan minus what was measured (positive: less was taken), ultrasound minus the method,
    epithelium after less before. SE_D: mean spherical equivalent, spectacles.
    """

    id: str
    quantity: str
    procedure: str
    method: str
    unit: str
    pool: str
    source: str
    status: str
    note: str
    days: float
    n_eyes: float
    SE_D: float
    mean: float
    sd: float
    count: float
    of: float


@dataclass(frozen=True, eq=False)
class Pool:
    """Published rows of one quantity as one figure with its disagreement; NaN where there is none.

    mean, low, high: the figure, and what a new centre may find, in `unit`. se: standard error of the mean; tau: SD
    between centres; both in `scale`, which is the unit except for counts (log odds) and the slope (µm). eye_sd: SD
    between the eyes of one centre.
    """

    id: str
    rows: tuple[str, ...]
    unit: str
    scale: str
    mean: float
    se: float
    tau: float
    eye_sd: float
    low: float
    high: float

    @property
    def new_centre_sd(self) -> float:
        """SD of the mean that a new centre finds, in `scale`: √(se² + τ²).

        >>> round(pools()["stroma-lenticule"].new_centre_sd, 1)
        6.7
        """
        return float(np.hypot(self.se, self.tau))


@cache
def readings() -> tuple[Row, ...]:
    """Every published Row, in the order of the data file.

    >>> readings()[0].id, readings()[0].mean
    ('r01', 8.2)
    """
    return tuple(_row(entry) for entry in rows("published_readings"))


def _row(entry: dict[str, str]) -> Row:
    values: dict[str, Any] = {name: entry[name] for name in TEXTS}
    values["source"] = source(entry["source"]).citation
    return Row(**values | {name: float(entry[name]) if entry[name] else np.nan for name in NUMBERS})


@cache
def _by_id() -> dict[str, Row]:
    return {one.id: one for one in readings()}


def row(id: str) -> Row:
    """The Row of that id.

    Raises:
        KeyError: no such row.

    >>> row("e10").mean
    15.0
    """
    return _by_id()[id]


def pool_rows(pool: str) -> tuple[Row, ...]:
    """The Rows that enter a pool, in order.

    >>> [one.id for one in pool_rows("stroma-lenticule")]
    ['r01', 'r02']
    """
    return tuple(one for one in readings() if one.pool == pool)


@cache
def pools() -> dict[str, Pool]:
    """Every Pool by its id.

    >>> lenticule = pools()["stroma-lenticule"]
    >>> round(lenticule.mean, 1), round(lenticule.se, 1), round(lenticule.tau, 1)
    (12.1, 3.9, 5.4)
    """
    return {id: pooled(id, pool_rows(id)) for id in (*WEIGHTED, *PLAIN, SLOPE, COUNTED)}


def pooled(id: str, entries: Sequence[Row]) -> Pool:
    """The Pool of some rows, by the pooling method of its id.

    Args:
        id: one of WEIGHTED, PLAIN, `gain` or `suction`.
        entries: its Rows.
    """
    if id == COUNTED:
        return _of_counts(id, entries)
    if id == SLOPE:
        return _of_slope(id, entries)
    return _weighted(id, entries) if id in WEIGHTED else _plain(id, entries)


def random_effects(means: Floats, variances: Floats) -> tuple[float, float, float]:
    """Mean, its standard error and the SD between series by the moments of DerSimonian and Laird.

    w = 1/v; τ² = max(0, (Q − (k − 1))/(Σw − Σw²/Σw)); mean weighted by 1/(v + τ²). Source dersimonian1986.

    Args:
        means, variances: of k series [any unit, its square].

    >>> [round(float(part), 2) for part in random_effects([8.2, 16.0], [0.914, 0.620])]
    [12.12, 3.9, 5.45]
    """
    y, v = np.asarray(means, dtype=float), np.asarray(variances, dtype=float)
    w = 1.0 / v
    Q = np.sum(w * np.square(y - np.sum(w * y) / np.sum(w)))
    spare = np.sum(w) - np.sum(w * w) / np.sum(w)
    tau2 = max(0.0, (Q - (y.size - 1)) / spare) if y.size > 1 else 0.0
    w = 1.0 / (v + tau2)
    return float(np.sum(w * y) / np.sum(w)), float(np.sqrt(1.0 / np.sum(w))), float(np.sqrt(tau2))


def _columns(entries: Sequence[Row], *names: str) -> list[Array]:
    return [np.array([getattr(one, name) for one in entries]) for name in names]


def _pool(id: str, entries: Sequence[Row], scale: tuple[str, str], *figures: Any) -> Pool:
    mean, se, tau, eye_sd, low, high = map(float, figures)
    return Pool(id, tuple(one.id for one in entries), *scale, mean, se, tau, eye_sd, low, high)


def _weighted(id: str, entries: Sequence[Row]) -> Pool:
    """Series with an SD between eyes: each mean has the standard error SD/√n; eye SD pooled by n − 1."""
    mean, sd, n = _columns(entries, "mean", "sd", "n_eyes")
    m, se, tau = random_effects(mean, sd**2 / n)
    eye_sd, reach = np.sqrt(np.sum((n - 1.0) * sd**2) / np.sum(n - 1.0)), WIDE * np.hypot(se, tau)
    return _pool(id, entries, (entries[0].unit, entries[0].unit), m, se, tau, eye_sd, m - reach, m + reach)


def _plain(id: str, entries: Sequence[Row]) -> Pool:
    """Series without an SD between eyes: plain mean and SD; a new centre lies within ± 2·τ·√(1 + 1/k)."""
    (means,) = _columns(entries, "mean")
    k, m, tau = means.size, means.mean(), np.std(means, ddof=1)
    se, reach = tau / np.sqrt(k), WIDE * tau * np.sqrt(1.0 + 1.0 / k)
    return _pool(id, entries, (entries[0].unit, entries[0].unit), m, se, tau, np.nan, m - reach, m + reach)


def _of_counts(id: str, entries: Sequence[Row]) -> Pool:
    """Counts, pooled as log odds with the variances 1/count + 1/(of − count), and given in percent."""
    k, n = _columns(entries, "count", "of")
    m, se, tau = random_effects(np.log(k / (n - k)), 1.0 / k + 1.0 / (n - k))
    reach = WIDE * np.hypot(se, tau)
    percent = [100.0 / (1.0 + np.exp(-odds)) for odds in (m, m - reach, m + reach)]
    return _pool(id, entries, ("%", "log odds"), percent[0], se, tau, np.nan, *percent[1:])


def _of_slope(id: str, entries: Sequence[Row]) -> Pool:
    """Gain of epithelium per dioptre of myopia: a line through 0, weighted by eyes, over extractions.

    tau: SD [µm] of how far each source, whatever its procedure, lies off that line on the average of its eyes. eye_sd:
    that of the one row that prints it for a gain seen with one device.
    """
    gain, SE, n = _columns([one for one in entries if one.procedure == "lenticule"], "mean", "SE_D", "n_eyes")
    slope = np.sum(n * -SE * gain) / np.sum(n * SE**2)
    sources = dict.fromkeys(one.source for one in entries)
    off = [_off_the_line(slope, [one for one in entries if one.source == source]) for source in sources]
    tau = np.std(off, ddof=1) if len(off) > 1 else np.nan
    return _pool(id, entries, ("um/D", "um"), slope, np.nan, tau, row("e11").sd, np.nan, np.nan)


def _off_the_line(slope: float, entries: Sequence[Row]) -> float:
    """Mean distance of the eyes of one source from a line through 0 [µm]."""
    gain, SE, n = _columns(entries, "mean", "SE_D", "n_eyes")
    return float(np.average(gain + slope * SE, weights=n))


def share_interval(count: Floats, of: Floats) -> tuple[Floats, Floats]:
    """Exact 95 % interval of a share [%] by Clopper and Pearson; numbers or arrays. Source clopper1934.

    Args:
        count, of: how many of how many.

    >>> [round(float(end), 1) for end in share_interval(0, 17)]
    [0.0, 19.5]
    """
    from scipy.special import betaincinv

    k, n = np.asarray(count, dtype=float), np.asarray(of, dtype=float)
    low = np.where(k > 0, betaincinv(np.maximum(k, 1.0), n - k + 1.0, 0.025), 0.0)
    high = np.where(k < n, betaincinv(k + 1.0, np.maximum(n - k, 1.0), 0.975), 1.0)
    return 100.0 * low[()], 100.0 * high[()]
