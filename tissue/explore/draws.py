"""Quasi-random errors through the same arithmetic: the spread of every figure, and which error matters.

An error is the same all over the eye. So a draw moves T(x, y) and r(x, y) by one number each, and no place has to be
searched again in every draw: see `_least` and `_greatest`.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from tissue.budget.budget import Budget, bed_wanted, budget, deepest_off_centre
from tissue.budget.comparison import Comparison, Result
from tissue.budget.least_bed import search, thinnest_in_disc
from tissue.budget.left import NOTHING_UM
from tissue.budget.place import Place
from tissue.budget.spread import acting
from tissue.budget.strength.relationship import relationships
from tissue.budget.strength.strength import relative_strength
from tissue.explore.sample import ERRORS, NUMBER, PLACES, SEED, Sample, shuffled_normals, standard_normals
from tissue.eye.cornea import Cornea
from tissue.ground.errors import EyeError
from tissue.ground.limits import with_computed
from tissue.ground.vocabulary import Array
from tissue.removal.options import Option

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
)  # of the Budget; errors that are the same all over the eye do not change power, parts, rim and depth per dioptre
SHARES_ON_THE_WAY = 9  # places of the greatest share kept between the least and the greatest error


def strength_name(relationship: str) -> str:
    """Name of the strength by a relationship among the figures.

    >>> strength_name("uniform")
    'strength_uniform_percent'
    """
    return f"strength_{relationship}_percent"


def moved_figures() -> tuple[str, ...]:
    """Names of all figures that errors change."""
    return (*MOVED, *PLACES, *map(strength_name, relationships()))


def sample(
    comparison: Comparison, names: Iterable[str] | None = None, number: int = NUMBER, seed: int = SEED
) -> dict[str, Sample]:
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
    >>> flap = sample(compare(Cornea(550.0), Treatment(Refraction(-6.0))))["flap"]
    >>> [round(float(end)) for end in flap.interval("bed_central_um")]
    [305, 357]
    """
    names = moved_figures() if names is None else tuple(names)
    unknown = [name for name in names if name not in moved_figures()]
    if unknown:
        raise EyeError("figure", unknown[0], ", ".join(moved_figures()))
    z, read = standard_normals(number, seed), shuffled_normals(number, seed)
    columns = np.broadcast_shapes(*(np.shape(r.available) for r in comparison.results.values()))
    z = z.T.reshape(len(ERRORS), number, *(1,) * len(columns))
    read_um = comparison.cornea.thickness.sd_um * read.reshape(number, *(1,) * len(columns))
    drawn = {name: _drawn(comparison, result.option, z, read_um) for name, result in comparison.results.items()}
    greatest = dict.fromkeys(drawn, Place(np.nan, np.nan, np.nan))
    if "altered_max_percent" in names:
        greatest = _greatest(comparison, drawn)
    return {
        name: Sample(
            name, acting(result.option), _figures(comparison, result, drawn[name], greatest[name], names), number, seed
        )
        for name, result in comparison.results.items()
    }


def _figures(
    comparison: Comparison, result: Result, drawn: "_Drawn", greatest: Place, names: Iterable[str]
) -> dict[str, Array]:
    """The wanted figures of one option, NaN where the option has none."""
    eye, option, found = drawn.eye, drawn.option, {}
    if any(name in _BUDGET for name in names):
        figures = budget(eye, comparison.treatment, option, _least(comparison.cornea, result, drawn), greatest)
        found = {name: np.where(result.available, getattr(figures, name), np.nan) for name in names if name in _BUDGET}
    known = result.available & ~deepest_off_centre(result.option)
    depths = (eye.central_thickness_um, eye.epithelium_um, option.cut_um, option.removal.central_um, option.credit)
    for relationship in relationships().values():
        if strength_name(relationship.id) in names:
            value = relative_strength(relationship, *depths)
            found[strength_name(relationship.id)] = np.where(known, value, np.nan)
    shape = np.broadcast_shapes(drawn.deeper_um.shape, *(part.shape for part in found.values()))
    return {name: np.broadcast_to(found[name], shape) for name in names}


_BUDGET = {*MOVED, *PLACES} & set(Budget.__dataclass_fields__)


class _Drawn(NamedTuple):
    """An eye and an option with their errors: how much thicker the eye is and how much deeper the removal [µm].

    read_um: error of a reading of the eye's own map where the bed is least.
    """

    eye: Cornea
    option: Option
    thicker_um: Array
    deeper_um: Array
    read_um: Array


def _drawn(comparison: Comparison, option: Option, z: Array, read_um: Array) -> _Drawn:
    """One option with errors z.

    Where nothing is cut, the epithelium counts as the cut. The spared depth moves with the cut where both are one.
    """
    cornea, errors = comparison.cornea, comparison.errors
    thicker = errors.thickness_bias_um + errors.thickness_sd_um * z[0]
    epithelium = cornea.epithelium_um + errors.epithelium_sd_um * z[1]
    thick = {"central_thickness_um": cornea.central_thickness_um, "thinnest_um": cornea.thinnest_um}
    eye = with_computed(cornea, epithelium_um=epithelium, **{name: value + thicker for name, value in thick.items()})
    cut = epithelium
    if option.cut_field is not None:
        cut = option.cut_um + option.cut_error.bias_um + option.cut_error.sd_um * z[2]
    deeper = option.removal_error.bias_um + option.removal_error.sd_um * z[3]
    taken, central = option.removal, option.removal.central_um
    moved = replace(
        taken,
        base_um=taken.base_um + np.where(central > NOTHING_UM, np.maximum(deeper, -central), 0.0),
        max_um=np.maximum(taken.max_um + deeper, 0.0),
    )
    spared = np.where(option.spared_um == option.cut_um, cut, epithelium)
    return _Drawn(eye, replace(option, cut_um=cut, spared_um=spared, removal=moved), thicker, deeper, read_um)


def _least(cornea: Cornea, result: Result, drawn: _Drawn) -> Place:
    """Place of the least bed in every draw, as `budget` takes it; exact, without a search.

    min(T + d − cut − max(0, r + e)) = min(min T, min(T − r) − e) + d − cut: the place stays where it is unless an
    error takes the whole removal, and then it is where T is least.
    """
    figures, planned = result.budget, result.option
    thinnest = thinnest_in_disc(cornea, planned.removal, bed_wanted(cornea, planned).uncut)
    through = figures.bed_min_um + planned.cut_um - drawn.deeper_um
    nothing_taken = thinnest.value < through
    value = np.where(nothing_taken, thinnest.value, through) + drawn.thicker_um + drawn.option.removal.base_um
    value = value + drawn.read_um
    return Place(
        value,
        np.where(nothing_taken, thinnest.x_mm, figures.bed_min_x_mm),
        np.where(nothing_taken, thinnest.y_mm, figures.bed_min_y_mm),
    )


def _greatest(comparison: Comparison, drawn: Mapping[str, _Drawn]) -> dict[str, Place]:
    """Greatest share (cut + r)/T of every option in every draw, minus a fraction, as `budget` takes it.

    With A = cut + base + e the greatest of (A + t)/(T + d) over the places is S where max(t − S·T) = S·d − A: its
    place depends on S alone and is that of the planned thickness with A − S·d above. So the places found for a few
    amounts above hold for all draws, to the second order of their distance.
    """
    cornea, wanted, on_ways = comparison.cornea, [], []
    above: dict[str, Array] = {}
    for name, one in drawn.items():
        planned = comparison.results[name]
        above[name] = one.option.cut_um + planned.option.removal.base_um + one.deeper_um
        like = above[name] - planned.budget.altered_max_percent / 100.0 * one.thicker_um
        steps = np.linspace(0.0, 1.0, SHARES_ON_THE_WAY).reshape(-1, *(1,) * (like.ndim - 1))
        low, high = like.min(axis=0), like.max(axis=0)
        on_ways.append(low + steps * (high - low))
        wanted.append(bed_wanted(cornea, planned.option)._replace(above=on_ways[-1]))
    found = {}
    for name, sought, kept, places in zip(drawn, wanted, on_ways, search(cornea, wanted), strict=True):
        one, taken = drawn[name], sought.taken
        thickness = thinnest_in_disc(cornea, taken, sought.uncut).value + one.thicker_um
        share = one.option.cut_um / thickness
        if cornea.thickness.from_one_point:
            central = cornea.central_thickness_um + one.thicker_um
            share = np.maximum(share, (above[name] + taken.central_um - taken.base_um) / central)
        for value, x, y, on_the_way in zip(*map(np.asarray, places), kept, strict=True):
            T = cornea.thickness_um(x, y)
            share = np.maximum(share, (above[name] - value * T - on_the_way) / (T + one.thicker_um))
        found[name] = Place(-share, np.nan, np.nan)
    return found
