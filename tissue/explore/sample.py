"""Quasi-random errors, and the statistics of a figure drawn with them: its end points, and which error matters."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from tissue.budget.spread import Z95
from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import Array, Floats

NUMBER = 4096
SEED = 2013
FEWEST = 256
ENDS = (0.025, 0.975)
BITS = 30  # of a quasi-random number
ERRORS = ("thickness", "epithelium", "cut", "removal")  # in the order of the Sobol points; the removal last
PLACES = ("bed_min_x_mm", "bed_min_y_mm")
SUMS = ("bed_central_um", "bed_min_um", "uncut_stroma_um", "healed_thickness_um")
BINS = 32
NEAR = 0.1  # share of the draws, at either end, to which the plane is fitted
PARTS, HALVINGS = 512, 12  # of the removal's part of a sum; of the search for its end points


@dataclass(frozen=True, eq=False)
class Sample:
    """Draws of one option: every figure by its name, one entry for each draw along the first axis.

    errors: those that act on the option, of ERRORS. number, seed: of the draws.
    """

    option: str
    errors: tuple[str, ...]
    figures: dict[str, Array]
    number: int
    seed: int

    def interval(self, name: str) -> tuple[Floats, Floats]:
        """2.5 % and 97.5 % point of a figure; NaN where the option has no figures."""
        return self.intervals([name])[name]

    def intervals(self, names: Iterable[str] | None = None) -> dict[str, tuple[Floats, Floats]]:
        """{name: (2.5 %, 97.5 %)} of the figures named, or of all."""
        names = [name for name in self.figures if name not in PLACES] if names is None else names
        z = standard_normals(self.number, self.seed)
        found: dict[str, tuple[Floats, Floats]] = {}
        for these, ends in ((SUMS, _sum_ends), (None, _plane_ends)):
            mine = [name for name in names if (name in SUMS) == (these is SUMS)]
            if mine:
                rows = np.stack([self.figures[name].reshape(self.number, -1).T for name in mine])
                low, high = ends(rows.reshape(-1, self.number), z)
                shape = (len(mine), *self.figures[mine[0]].shape[1:])
                found |= dict(zip(mine, zip(low.reshape(shape), high.reshape(shape), strict=True), strict=True))
        return {name: found[name] for name in names}

    def variance_percent(self, name: str) -> dict[str, float]:
        """Share of a figure's variance [%] that each error explains by itself, {error: share}.

        Var(E[figure | error]) / Var(figure), the mean taken in bins of equal count; what they leave of 100 is
        explained by errors together only. One eye, no columns.
        """
        figure, z = self.figures[name], standard_normals(self.number, self.seed)
        found = {}
        for error in self.errors:
            order = np.argsort(z[:, ERRORS.index(error)], kind="stable")
            means = figure[order].reshape(BINS, -1).mean(axis=1)
            with np.errstate(divide="ignore", invalid="ignore"):
                found[error] = float(100.0 * means.var() / figure.var())
        return found


def _design(z: Array) -> Array:
    """Columns of a plane in the errors, the constant first."""
    return np.column_stack([np.ones(len(z)), z])


def _plane(rows: Array, z: Array) -> Array:
    """Slopes of the plane of least squares through each row."""
    design = _design(z)
    return np.asarray(np.linalg.solve(design.T @ design, design.T @ rows.T)[1:].T, dtype=float)


def _plane_ends(rows: Array, z: Array) -> list[Array]:
    """2.5 % and 97.5 % points of figures, each a row.

    A plane g·z in the errors is normal and its end points are known: only what a figure differs from the plane that
    fits it near its end point is taken from the draws, which leaves a few hundredths of their noise.
    """
    design, near, drawn = _design(z), int(NEAR * len(z)), np.sort(rows, axis=-1)
    order = np.argpartition(_plane(rows, z) @ z.T, (near, len(z) - near), axis=-1)
    ends = []
    for sign, share, tail in ((-1.0, ENDS[0], order[:, :near]), (1.0, ENDS[1], order[:, -near:])):
        these, values = design[tail], np.take_along_axis(rows, tail, axis=-1)[..., np.newaxis]
        slopes = np.linalg.solve(these.mT @ these, these.mT @ values)[:, 1:, 0]
        exact = sign * Z95 * np.sqrt((slopes**2).sum(axis=-1))
        ends.append(_sorted_at(drawn, share) + exact - _sorted_at(np.sort(slopes @ z.T, axis=-1), share))
    return ends


def _sum_ends(rows: Array, z: Array) -> list[Array]:
    """2.5 % and 97.5 % points of figures that are a plane in all errors but the removal's, plus any function of that.

    The removal cannot fall below nothing, so its part bends: P(figure < y) is the mean over that part of the normal
    distribution of the rest.
    """
    slopes = _plane(rows, z)[:, :-1]
    part = np.sort(rows - slopes @ z[:, :-1].T, axis=-1)
    sd = np.sqrt((slopes**2).sum(axis=-1))[:, np.newaxis]
    part = part.reshape(len(rows), min(PARTS, len(z)), -1).mean(axis=-1)
    return [_where_share_lies_under(share, part, sd) for share in ENDS]


def _where_share_lies_under(share: float, part: Array, sd: Array) -> Array:
    """The y with mean(Φ((y − part)/sd)) = share along the last axis: halvings, then a straight line."""
    from scipy.special import ndtr

    def under(y: Array) -> Array:
        with np.errstate(divide="ignore", invalid="ignore"):
            return ndtr((y - part) / sd).mean(axis=-1, keepdims=True)

    low, high = part[:, :1] - 5.0 * sd, part[:, -1:] + 5.0 * sd
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        short = under(middle) < share
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    first, last = under(low), under(high)
    with np.errstate(divide="ignore", invalid="ignore"):
        way = np.where(last > first, np.clip((share - first) / (last - first), 0.0, 1.0), 0.5)
    return (low + way * (high - low))[:, 0]


def _sorted_at(ordered: Array, share: float) -> Array:
    """Quantile of values in order along the last axis, the i-th of n counted as (i + 1/2)/n."""
    place = share * ordered.shape[-1] - 0.5
    first = int(place)
    return ordered[..., first] + (place - first) * (ordered[..., first + 1] - ordered[..., first])


@lru_cache(maxsize=4)
def standard_normals(number: int = NUMBER, seed: int = SEED) -> Array:
    """Scrambled Sobol points as independent standard normals, shape (number, errors); read only.

    Depends on nothing of an eye, so the table is kept: SciPy's statistics take a second to import.

    Args:
        number: number of draws, a power of two.
        seed: of the scrambling.

    Raises:
        EyeError: a number that is no power of two.

    Source: sobol points of scipy.stats.qmc
    """
    from scipy.special import ndtri
    from scipy.stats import qmc

    power = int(number).bit_length() - 1
    if number < FEWEST or 2**power != number:
        raise EyeError("draws", number, f"a power of two from {FEWEST} on")
    engine = qmc.Sobol(len(ERRORS), scramble=True, bits=BITS, seed=np.random.default_rng(seed))
    z = ndtri(engine.random_base2(power) + 0.5**BITS / 2.0)
    z.setflags(write=False)
    return z


@lru_cache(maxsize=4)
def shuffled_normals(number: int, seed: int) -> Array:
    """Normal numbers of one more error, evenly spread and in an order of their own, shape (number,).

    The draws of the other errors stay what they are without it.
    """
    from scipy.special import ndtri

    even = (np.arange(number) + 0.5) / number
    return np.asarray(ndtri(np.random.default_rng([seed, number]).permutation(even)))
