"""The spread of the figures: independent normal errors of measurement and cutting, through the same arithmetic."""

import math
from dataclasses import dataclass, replace

import numpy as np

from tissue.budget.budget import bed_wanted
from tissue.budget.least_bed import thinnest_in_disc
from tissue.budget.left import (
    OUTERMOST,
    TAIL,
    Z95,
    Left,
    Normal,
    held,
    levels_at,
    near_nothing,
    removed_normal,
    replaced,
)
from tissue.eye.cornea import Cornea
from tissue.ground.vocabulary import Array, Floats
from tissue.removal.options import Error, Errors, Option
from tissue.removal.volume import moved_volume_mm3

ERFC = np.frompyfunc(math.erfc, 1, 1)  # of the standard library: scipy.special takes half a second to import
VOLUME = "removal_volume_mm3"
LEAST_TAKEN_UM = 1e-9  # at the least bed something is taken beside it even where nothing is taken at its place
CLOSED = (
    "bed_central_um",
    "bed_min_um",
    "bed_planned_um",
    "uncut_stroma_um",
    "healed_thickness_um",
    "bed_percent",
    "altered_percent",
    VOLUME,
)  # figures whose spread is exact


@dataclass(frozen=True, eq=False)
class Spread:
    """Spread of one option's beds and percent altered, by the names of the interface."""

    bed_mean_um: Floats
    bed_sd_um: Floats
    bed_low_um: Floats
    bed_high_um: Floats
    bed_below_line_percent: Floats
    bed_min_below_line_percent: Floats
    altered_low_percent: Floats
    altered_high_percent: Floats


def stays_left(option: Option, errors: Errors, figure: str, planned_um: Floats) -> Left:
    """A thickness at the centre minus the removal there, with its errors.

    Args:
        option, errors: Option, Errors.
        figure: which one, by its name in the Budget.
        planned_um: as planned [µm].
    """
    to_cut = np.asarray(option.spared_um == option.cut_um)
    above = {
        "bed_central_um": option.cut_error,
        "bed_planned_um": Error(option.cut_planned_bias_um, option.cut_error.sd_um),
        "uncut_stroma_um": Error(
            np.where(to_cut, option.cut_error.bias_um, 0.0),
            np.where(to_cut, option.cut_error.sd_um, errors.epithelium_sd_um),
        ),
        "healed_thickness_um": Error(0.0, 0.0),
    }[figure]
    bias, sds = errors.thickness_bias_um - above.bias_um, (errors.thickness_sd_um, above.sd_um)
    return Left(planned_um, option.removal.central_um, bias, sds, Normal(*option.removal_error))


def least_left(cornea: Cornea, option: Option, errors: Errors, bed_min_um: Floats) -> Left:
    """The least bed under its errors: what the removal takes of the least thickness over the treated disc.

    min(T − max(0, r + e)) = min(min T, min(T − r) − e)

    Args:
        cornea, option, errors: Cornea, Option, Errors.
        bed_min_um: as planned [µm].
    """
    thinnest = thinnest_in_disc(cornea, option.removal, bed_wanted(cornea, option).uncut).value
    taken = np.maximum(thinnest - option.cut_um - bed_min_um, LEAST_TAKEN_UM)
    bed = stays_left(option, errors, "bed_central_um", bed_min_um)
    return replace(bed, taken_um=taken, sds_um=(*bed.sds_um, cornea.thickness.sd_um))


def spread(
    cornea: Cornea, option: Option, errors: Errors, bed_um: Floats, bed_min_um: Floats, line_um: Floats
) -> Spread:
    """Exact spread of the beds, and the closed form of the percent altered.

    σ² = ΣSD² (thickness, cut, removal), mean shifted by the biases; P(bed < line) = Φ((line − mean)/σ). A removal
    within five SDs of nothing is held at nothing, see `left`; where nothing is removed its error does not act. On a map
    of the eye's own that of a reading adds to the least bed alone.

    Args:
        cornea, option, errors: Cornea, Option, Errors.
        bed_um, bed_min_um: planned central and least bed [µm].
        line_um: the line [µm].
    """
    bed = stays_left(option, errors, "bed_central_um", bed_um)
    (mean, sd), (low, high) = bed.normal, bed.interval()
    altered_low, altered_high = altered_interval(cornea, option, errors)
    return Spread(
        bed_mean_um=mean,
        bed_sd_um=sd,
        bed_low_um=low,
        bed_high_um=high,
        bed_below_line_percent=left_below_percent(bed, line_um),
        bed_min_below_line_percent=left_below_percent(least_left(cornea, option, errors, bed_min_um), line_um),
        altered_low_percent=altered_low,
        altered_high_percent=altered_high,
    )


def left_below_percent(left: Left, line_um: Floats) -> Floats:
    """P(left < line) [%]."""
    plain = below_percent(*left.normal, line_um)
    near, over = left.over_percent(line_um)
    return replaced(near, plain, 100.0 - over) if near.any() else plain


def below_percent(mean_um: Floats, sd_um: Floats, line_um: Floats) -> Floats:
    """P(bed < line) [%] of a normal bed; all or nothing where the SD is 0. Source reinstein2006ablation.

    >>> round(float(below_percent(250.0, 32.31, 200.0)), 2)
    6.09
    """
    short = np.asarray(line_um) - mean_um
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(sd_um > 0, np.divide(short, sd_um), np.where(short > 0, np.inf, -np.inf))
    z = np.where(np.isnan(short), np.nan, z)
    return 50.0 * np.asarray(ERFC(-z / math.sqrt(2.0)), dtype=float)[()]


def altered_interval(cornea: Cornea, option: Option, errors: Errors) -> tuple[Floats, Floats]:
    """95 % interval of the central percent altered [%]: roots of a quadratic; exact where the removal is near nothing.

    (p·T̄ − m)² = 1.96²·(σ_cut² + σ_r² + p²·σ_T²), m the mean of cut + r, T̄ of thickness. A share of at most p
    is a removal within p·T − cut.
    """
    T = cornea.central_thickness_um + errors.thickness_bias_um
    removed = removed_normal(option.removal.central_um, *option.removal_error)
    cut = option.cut_um + option.cut_error.bias_um
    m = cut + removed.mean
    variance = Z95**2 * (np.square(option.cut_error.sd_um) + np.square(removed.sd))
    a = np.square(T) - Z95**2 * np.square(errors.thickness_sd_um)
    root = np.sqrt(np.maximum(0.0, np.square(T * m) - a * (np.square(m) - variance)))
    low, high = 100.0 * (T * m - root) / a, 100.0 * (T * m + root) / a
    near = np.broadcast_to(near_nothing(removed), np.shape(low)) & np.isfinite(low)
    if not near.any():
        return low, high
    reach = OUTERMOST * (errors.thickness_sd_um + option.cut_error.sd_um + removed.sd) / T
    given = (*removed, reach, T, cut, errors.thickness_sd_um, option.cut_error.sd_um, low / 100.0, high / 100.0)
    *parts, least, most = (np.broadcast_to(part, near.shape)[near] for part in given)
    exact = levels_at((TAIL, 1.0 - TAIL), _room_of_share, parts[3], parts, (least, most))
    return replaced(near, low, 100.0 * exact[0]), replaced(near, high, 100.0 * exact[1])


def _room_of_share(share: Array, T: Array, cut: Array, T_sd: Array, cut_sd: Array) -> Normal:
    """The room for a removal [µm] in a share of the thickness, a fraction."""
    return Normal(share * T - cut, np.hypot(share * T_sd, cut_sd))


def volume_interval(option: Option) -> tuple[Floats, Floats]:
    """95 % interval of the volume removed [mm³]: the volumes at the ends of the removal's own error.

    Exact: the volume hangs on that error alone and never falls as it rises.
    """
    bias, reach = option.removal_error.bias_um, Z95 * option.removal_error.sd_um
    return moved_volume_mm3(option.removal, bias - reach), moved_volume_mm3(option.removal, bias + reach)


def acting(option: Option) -> tuple[str, ...]:
    """Names of the errors that act on an option; where nothing is cut the epithelium is what lies above the removal."""
    return (
        ("thickness", "epithelium", "removal")
        if option.cut_field is None
        else ("thickness", "epithelium", "cut", "removal")
    )


def bed_variance_percent(option: Option, errors: Errors) -> dict[str, Floats]:
    """Share of the bed's variance [%] that each error brings, exact: {error: 100·SD²/ΣSD²}.

    Args:
        option, errors: Option, Errors.

    >>> from tissue import Cornea, Refraction, Treatment, compare
    >>> plan = compare(Cornea(550.0), Treatment(Refraction(-6.0)))
    >>> shares = bed_variance_percent(plan.under_flap.option, plan.errors)
    >>> {error: round(float(share), 1) for error, share in shares.items()}
    {'thickness': 14.2, 'epithelium': 0.0, 'cut': 14.2, 'removal': 71.5}
    """
    cut = "epithelium" if option.cut_field is None else "cut"
    squares = {"thickness": np.square(errors.thickness_sd_um), cut: np.square(option.cut_error.sd_um)}
    squares["removal"] = np.square(held(removed_normal(option.removal.central_um, *option.removal_error)).sd)
    whole = sum(squares.values())
    with np.errstate(divide="ignore", invalid="ignore"):
        return {error: np.divide(100.0 * squares.get(error, 0.0), whole)[()] for error in acting(option)}
