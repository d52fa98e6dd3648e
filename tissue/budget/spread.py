"""How sure the figures are: independent normal errors of measurement and cutting through the same arithmetic."""

import math
from dataclasses import dataclass

import numpy as np

from tissue.eye.cornea import Cornea
from tissue.options.options import Errors, Option
from tissue.removal.volume import moved_volume_mm3
from tissue.vocabulary import Floats

ERFC = np.frompyfunc(math.erfc, 1, 1)  # of the standard library: scipy.special takes half a second to import
Z95 = 1.96  # two-sided 95 % point of the normal distribution, as model and publications round it
VOLUME = "removal_volume_mm3"
CLOSED = ("bed_central_um", "bed_min_um", "bed_planned_um", "altered_percent", VOLUME)  # figures whose spread is exact


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


def spread(
    cornea: Cornea, option: Option, errors: Errors, bed_um: Floats, bed_min_um: Floats, line_um: Floats
) -> Spread:
    """Exact spread of the beds, and the closed form of the percent altered.

    σ² = ΣSD² (thickness, cut, removal), mean shifted by the biases; P(bed < line) = Φ((line − mean)/σ). On a map of the
    eye's own that of a reading adds to the least bed alone.

    Args:
        cornea, option, errors: Cornea, Option, Errors.
        bed_um, bed_min_um: planned central and least bed [µm].
        line_um: the line [µm].
    """
    shift = errors.thickness_bias_um - option.cut_error.bias_um - option.removal_error.bias_um
    variance = (
        np.square(errors.thickness_sd_um) + np.square(option.cut_error.sd_um) + np.square(option.removal_error.sd_um)
    )
    sd, sd_least = np.sqrt(variance), np.sqrt(variance + cornea.thickness.sd_um**2)
    mean = bed_um + shift
    low, high = altered_interval(cornea, option, errors)
    return Spread(
        bed_mean_um=mean,
        bed_sd_um=sd,
        bed_low_um=mean - Z95 * sd,
        bed_high_um=mean + Z95 * sd,
        bed_below_line_percent=below_percent(mean, sd, line_um),
        bed_min_below_line_percent=below_percent(bed_min_um + shift, sd_least, line_um),
        altered_low_percent=low,
        altered_high_percent=high,
    )


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
    """95 % interval of the central percent altered [%]: roots of a quadratic.

    (p·T̄ − m)² = 1.96²·(σ_cut² + σ_r² + p²·σ_T²), m the mean of cut + r, T̄ of thickness
    """
    T = cornea.central_thickness_um + errors.thickness_bias_um
    m = option.cut_um + option.removal.central_um + option.cut_error.bias_um + option.removal_error.bias_um
    variance = Z95**2 * (np.square(option.cut_error.sd_um) + np.square(option.removal_error.sd_um))
    a = np.square(T) - Z95**2 * np.square(errors.thickness_sd_um)
    root = np.sqrt(np.maximum(0.0, np.square(T * m) - a * (np.square(m) - variance)))
    return 100.0 * (T * m - root) / a, 100.0 * (T * m + root) / a


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
    squares["removal"] = np.square(option.removal_error.sd_um)
    whole = sum(squares.values())
    with np.errstate(divide="ignore", invalid="ignore"):
        return {error: np.divide(100.0 * squares.get(error, 0.0), whole)[()] for error in acting(option)}
