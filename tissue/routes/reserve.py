"""What each option leaves for later: the reserve of the bed, and later ways after a flap or a surface ablation."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from tissue.budget.comparison import Comparison
from tissue.eye.refraction import Refraction
from tissue.ground.errors import EyeError, given, number
from tissue.ground.limits import of_kind, shape_together
from tissue.ground.published import row
from tissue.ground.vocabulary import NOT_GIVEN, Array, Floats
from tissue.removal.removal import Removal, Treatment, profile_of

MOST_D = 30.0  # highest myopia tried for the reserve [D]; it takes more than any cornea has
HALVINGS = 26  # halvings, to a millionth of a dioptre


@dataclass(frozen=True, eq=False)
class Reserve:
    """What an option leaves over the line: thickness [µm], and the myopia that an ablation of it could treat [D].

    myopia_D: at the spectacle plane, as a positive number of dioptres; 0 where nothing is left over the line.
    """

    reserve_um: Floats
    myopia_D: Floats


class Later(NamedTuple):
    """A later way after another primary treatment: words, central bed, clearance in the flap [µm] (NaN where none)."""

    option: str
    words: str
    bed_um: Floats
    clearance_um: Floats


def reserve_um(comparison: Comparison, name: str) -> Floats:
    """Central bed of an option minus the line [µm]; NaN where the option has no figures.

    Args:
        comparison: Comparison.
        name: `surface`, `flap` or `lenticule`.
    """
    return comparison.results[name].budget.bed_central_um - comparison.judgement.bed_line_um


def reserves(comparison: Comparison, ablation_blend_mm: Floats = NOT_GIVEN) -> dict[str, Reserve]:
    """The Reserve of every option, by name.

    Args:
        comparison: Comparison.
        ablation_blend_mm: blend of the later ablation [mm], where the plan gives it; else the ramp.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> {name: round(float(left.myopia_D), 2) for name, left in reserves(plan).items()}
    {'surface': 8.78, 'flap': 5.0, 'lenticule': 4.41}
    """
    of_kind(comparison=(comparison, Comparison))
    eyes, blend = (
        shape_together(comparison.cornea, comparison.treatment),
        number(ablation_blend_mm, "ablation_blend_mm"),
    )
    if blend.ndim and blend.shape != eyes:
        raise EyeError("ablation_blend_mm", f"a column of {blend.size}", "one number, or one for each eye")
    names = list(comparison.results)
    left = [number(reserve_um(comparison, name)) for name in names]
    radii = [comparison.results[name].budget.radius_after_mm for name in names]
    myopia = _myopia_D(comparison, _stack(radii), _stack(left), ablation_blend_mm)
    return {name: Reserve(um[()], D[()]) for name, um, D in zip(names, left, myopia, strict=True)}


def _stack(values: Sequence[Floats]) -> Array:
    """Values of one shape [any unit] along a first axis."""
    return np.stack(np.broadcast_arrays(*values))


def _myopia_D(comparison: Comparison, radius_mm: Array, depth_um: Array, blend_mm: Floats) -> Array:
    """The myopia [D, spectacle plane] whose ablation at the plan's zone takes a depth [µm], by halving.

    NaN where no depth is given, 0 where it is not above 0.
    """
    plan = comparison.treatment
    left = replace(comparison.cornea, radius_mm=given(radius_mm, comparison.cornea.radius_mm))
    low, high = np.zeros(depth_um.shape), np.full(depth_um.shape, MOST_D)
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        wanted = Treatment(
            Refraction(-middle, vertex_mm=0.0), plan.zone_mm, profile=plan.profile, ablation_blend_mm=blend_mm
        )
        shape = profile_of(left, wanted, wanted.ablation_blend_mm)
        over = shape.deepest(sum(shape.central_um()))[0] > depth_um
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    spectacle = -Refraction(-low, vertex_mm=0.0).at_vertex(plan.refraction.vertex_mm).sphere_D
    return np.where(np.isnan(depth_um), np.nan, np.where(depth_um > 0, spectacle, 0.0))


def later_ways(comparison: Comparison, ablation: Removal) -> tuple[Later, ...]:
    """Later ways after a flap or a surface ablation, each taking the same second ablation.

    Args:
        comparison: Comparison.
        ablation: Removal of the second ablation.
    """
    E = comparison.cornea.epithelium_um
    flap, surface = comparison.under_flap, comparison.at_surface
    flap_bed, surface_bed = flap.budget.bed_central_um, surface.budget.bed_central_um
    t, deepest = ablation.central_um, ablation.max_um
    in_flap = np.where(np.isnan(flap_bed), np.nan, flap.option.cut_um - E - deepest)[()]
    return (
        Later(flap.option.name, "after a flap: lifting it", flap_bed - t, np.nan),
        Later(flap.option.name, "after a flap: surface ablation on the flap", flap_bed, in_flap),
        Later(surface.option.name, "after surface ablation: surface ablation again", surface_bed - t, np.nan),
    )


def epithelium_gain_um() -> float:
    """Greatest published mean of how much thicker the epithelium was after an extraction [µm]. Source reinstein2014.

    >>> epithelium_gain_um()
    15.0
    """
    return row("e10").mean
