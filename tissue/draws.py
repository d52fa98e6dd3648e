"""Quasi-random errors through the same arithmetic: the spread of every figure, and which error matters.

Errors are even over the eye. So a draw moves T(x, y) and r(x, y) by one number each, and what need not be sought
again in every draw is not sought: see `_least` and `_greatest`.
"""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from tissue.budget import Budget, budget, deepest_off_centre
from tissue.errors import EyeError
from tissue.extremes import Place, search
from tissue.relationship import relationships
from tissue.strength import relative_strength
from tissue.uncertainty import Z95, acting

NUMBER = 4096
SEED = 2013
ENDS = (0.025, 0.975)
BITS = 30  # of a quasi-random number
ERRORS = ("thickness", "epithelium", "cut", "removal")  # in the order of the Sobol points
MOVED = (
    "cut_um",
    "removal_central_um",
    "removal_max_um",
    "bed_central_um",
    "bed_min_um",
    "bed_percent",
    "altered_percent",
    "altered_max_percent",
    "removed_percent",
    "stromal_altered_percent",
    "uncut_stroma_um",
    "healed_thickness_um",
)  # of the Budget; errors that are even over the eye leave power, parts, rim and depth per dioptre as they are
PLACES = ("bed_min_x_mm", "bed_min_y_mm")
SHARES_ON_THE_WAY = 9  # places of the greatest share kept between the least and the greatest error
BINS = 32
NEAR = 0.1  # share of the draws, at either end, to which the plane is fitted


@dataclass(frozen=True, eq=False)
class Sample:
    """Draws of one option: every figure by its name, an entry a draw along the first axis.

    errors: those that act on the option, of ERRORS. number, seed: of the draws.
    """

    option: str
    errors: tuple
    figures: dict
    number: int
    seed: int

    def interval(self, name):
        """2.5 % and 97.5 % point of a figure; NaN where the option has no figures."""
        return self.intervals([name])[name]

    def intervals(self, names=None):
        """{name: (2.5 %, 97.5 %)} of the figures named, or of all."""
        names = [name for name in self.figures if name not in PLACES] if names is None else names
        rows = np.stack([self.figures[name].reshape(self.number, -1).T for name in names])
        low, high = _ends(rows, standard_normals(self.number, self.seed))
        columns = self.figures[names[0]].shape[1:]
        return {name: (low[i].reshape(columns)[()], high[i].reshape(columns)[()]) for i, name in enumerate(names)}

    def variance_percent(self, name):
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


def _ends(rows, z):
    """2.5 % and 97.5 % points along the last axis.

    A plane g·z in the errors is normal and its end points are known: only what a figure differs from the plane that
    fits it near its end point is taken from the draws, which leaves a few hundredths of their noise.
    """
    design = np.column_stack([np.ones(len(z)), z])
    flat = rows.reshape(-1, len(z))
    near, drawn = int(NEAR * len(z)), np.sort(flat, axis=-1)
    order = np.argpartition((flat @ np.linalg.pinv(design).T)[:, 1:] @ z.T, (near, len(z) - near), axis=-1)
    ends = []
    for sign, share, tail in ((-1.0, ENDS[0], order[:, :near]), (1.0, ENDS[1], order[:, -near:])):
        these = design[tail]
        slopes = np.linalg.solve(these.mT @ these, these.mT @ np.take_along_axis(flat, tail, axis=-1)[..., np.newaxis])[
            :, 1:, 0
        ]
        alike = np.sort(slopes @ z.T, axis=-1)
        exact = sign * Z95 * np.sqrt((slopes**2).sum(axis=-1))
        ends.append((_sorted_at(drawn, share) + exact - _sorted_at(alike, share)).reshape(rows.shape[:-1]))
    return ends


def _sorted_at(ordered, share):
    """Quantile of values in order along the last axis, the i-th of n counted as (i + 1/2)/n."""
    place = share * ordered.shape[-1] - 0.5
    first = int(place)
    return ordered[..., first] + (place - first) * (ordered[..., first + 1] - ordered[..., first])


def strength_name(relationship):
    """Name of the strength by a relationship among the figures.

    >>> strength_name("uniform")
    'strength_uniform_percent'
    """
    return f"strength_{relationship}_percent"


def moved_figures():
    """Names of all figures that errors move."""
    return (*MOVED, *PLACES, *map(strength_name, relationships()))


@lru_cache(maxsize=4)
def standard_normals(number=NUMBER, seed=SEED):
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
    if number < BINS or 2**power != number:
        raise EyeError("draws", number, f"a power of two from {BINS} on")
    engine = qmc.Sobol(len(ERRORS), scramble=True, bits=BITS, seed=np.random.default_rng(seed))
    z = ndtri(engine.random_base2(power) + 0.5**BITS / 2.0)
    z.setflags(write=False)
    return z


def draw(comparison, names=None, number=NUMBER, seed=SEED):
    """The wanted figures of every option under the errors of the plan.

    Thickness moves CCT and T alike, the epithelium moves the surface's cut and the strength, the cut's error the cut,
    the removal's error r where r > 0, never below 0. All options are given the same draws: compare their intervals,
    not the draws with each other.

    Args:
        comparison: Comparison of one eye, or of columns of eyes.
        names: figures of `moved_figures`; all where None.
        number, seed: of the draws.

    Returns:
        {option: Sample}.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> flap = draw(compare(Cornea(550.0), Treatment(Refraction(-6.0))))["flap"]
    >>> [round(float(end)) for end in flap.interval("bed_central_um")]
    [305, 357]
    """
    names = moved_figures() if names is None else tuple(names)
    unknown = [name for name in names if name not in moved_figures()]
    if unknown:
        raise EyeError("figure", unknown[0], ", ".join(moved_figures()))
    z = standard_normals(number, seed)
    columns = np.broadcast_shapes(*(np.shape(r.available) for r in comparison.results.values()))
    z = z.T.reshape(len(ERRORS), number, *(1,) * len(columns))
    return {
        name: Sample(name, acting(result.option), _figures(comparison, result, names, z), number, seed)
        for name, result in comparison.results.items()
    }


def _figures(comparison, result, names, z):
    """The wanted figures of one option, NaN where the option has none."""
    cornea, treatment, errors = comparison.cornea, comparison.treatment, comparison.errors
    thicker = errors.thickness_bias_um + errors.thickness_sd_um * z[0]
    eye = replace(
        cornea,
        central_thickness_um=cornea.central_thickness_um + thicker,
        thinnest_um=cornea.thinnest_um + thicker,
        epithelium_um=cornea.epithelium_um + errors.epithelium_sd_um * z[1],
    )
    option, deeper = _reached(result.option, eye, z)
    found = {}
    if any(name in _BUDGET for name in names):
        least = _least(cornea, result, option, thicker, deeper)
        greatest = Place(np.nan, np.nan, np.nan)
        if "altered_max_percent" in names:
            greatest = _greatest(cornea, result, option, thicker, deeper)
        figures = budget(eye, treatment, option, least, greatest)
        found = {name: np.where(result.available, getattr(figures, name), np.nan) for name in names if name in _BUDGET}
    known = result.available & ~deepest_off_centre(result.option)
    depths = (eye.central_thickness_um, eye.epithelium_um, option.cut_um, option.removal.central_um, option.credit)
    for relationship in relationships().values():
        if strength_name(relationship.id) in names:
            value = relative_strength(relationship, *depths)
            found[strength_name(relationship.id)] = np.where(known, value, np.nan)
    shape = np.broadcast_shapes(z[0].shape, *(part.shape for part in found.values()))
    return {name: np.broadcast_to(found[name], shape) for name in names}


_BUDGET = {*MOVED, *PLACES} & set(Budget.__dataclass_fields__)


def _reached(option, eye, z):
    """The option with its cut and removal as drawn, and how much deeper the removal is [µm].

    Where nothing is cut the epithelium is the cut. What is spared moves with the cut where it is the cut.
    """
    cut = eye.epithelium_um
    if option.cut_field is not None:
        cut = option.cut_um + option.cut_error.bias_um + option.cut_error.sd_um * z[2]
    deeper = option.removal_error.bias_um + option.removal_error.sd_um * z[3]
    taken, central = option.removal, option.removal.central_um
    moved = replace(
        taken,
        base_um=taken.base_um + np.where(central > 0, np.maximum(deeper, -central), 0.0),
        max_um=np.maximum(taken.max_um + deeper, 0.0),
    )
    spared = np.where(option.spared_um == option.cut_um, cut, eye.epithelium_um)
    return replace(option, cut_um=cut, spared_um=spared, removal=moved), deeper


def _thinnest_in_disc(cornea, taken):
    """Place where the thickness map is least over the closed treated disc: T [µm] and place [mm]."""
    dx, dy = cornea.thinnest_x_mm - taken.centre_x_mm, cornea.thinnest_y_mm - taken.centre_y_mm
    inward = np.minimum(1.0, taken.radius_mm / np.maximum(np.hypot(dx, dy), taken.radius_mm * 1e-9))
    x, y = taken.centre_x_mm + dx * inward, taken.centre_y_mm + dy * inward
    return Place(cornea.thickness_um(x, y), x, y)


def _least(cornea, result, drawn, thicker, deeper):
    """Place of the least bed in every draw, as `budget` takes it; exact, without a search.

    min(T + d − cut − max(0, r + e)) = min(min T, min(T − r) − e) + d − cut: the place stays where it is unless an
    error takes the whole removal, and then it is where T is least.
    """
    figures, planned = result.budget, result.option
    thinnest = _thinnest_in_disc(cornea, planned.removal)
    through = figures.bed_min_um + planned.cut_um - deeper
    nothing_taken = thinnest.value < through
    value = np.where(nothing_taken, thinnest.value, through) + thicker + drawn.removal.base_um
    return Place(
        value,
        np.where(nothing_taken, thinnest.x_mm, figures.bed_min_x_mm),
        np.where(nothing_taken, thinnest.y_mm, figures.bed_min_y_mm),
    )


def _greatest(cornea, result, drawn, thicker, deeper):
    """Greatest share (cut + r)/T in every draw, minus a fraction, as `budget` takes it.

    With A = cut + base + e the greatest of (A + t)/(T + d) over the places is S where max(t − S·T) = S·d − A: its
    place depends on S alone and is that of the planned thickness with A − S·d above. So the places found for a few
    amounts above hold for all draws, to the second order of their distance.
    """
    taken, planned = result.option.removal, result.budget
    above = drawn.cut_um + taken.base_um + deeper
    like = above - planned.altered_max_percent / 100.0 * thicker
    steps = np.linspace(0.0, 1.0, SHARES_ON_THE_WAY).reshape(-1, *(1,) * (like.ndim - 1))
    low, high = like.min(axis=0), like.max(axis=0)
    kept = low + steps * (high - low)
    found = search(cornea, [(taken, kept)])[0]
    thinnest = _thinnest_in_disc(cornea, taken)
    share = drawn.cut_um / (thinnest.value + thicker)
    for value, x, y, a in zip(*found, kept, strict=True):
        T = cornea.thickness_um(x, y)
        share = np.maximum(share, (above - value * T - a) / (T + thicker))
    return Place(-share, np.nan, np.nan)
