"""How sure the figures are: independent normal errors of measurement and cutting through the same arithmetic."""

import math
from dataclasses import dataclass

import numpy as np

ERFC = np.frompyfunc(math.erfc, 1, 1)  # of the standard library: scipy.special takes half a second to import
Z95 = 1.96  # two-sided 95 % point of the normal distribution, as model and publications round it


@dataclass(frozen=True, eq=False)
class Spread:
    """Spread of one option's beds and percent altered, by the names of the interface."""

    bed_mean_um: object
    bed_sd_um: object
    bed_low_um: object
    bed_high_um: object
    bed_below_line_percent: object
    bed_min_below_line_percent: object
    altered_low_percent: object
    altered_high_percent: object


def spread(cornea, option, errors, bed_um, bed_min_um, line_um):
    """Exact spread of the beds, and the closed form of the percent altered.

    σ² = ΣSD² (thickness, cut, removal), mean shifted by the biases; P(bed < line) = Φ((line − mean)/σ).

    Args:
        cornea, option, errors: Cornea, Option, Errors.
        bed_um, bed_min_um: planned central and least bed [µm].
        line_um: the line [µm].
    """
    shift = errors.thickness_bias_um - option.cut_error.bias_um - option.removal_error.bias_um
    sd = np.sqrt(errors.thickness_sd_um**2 + option.cut_error.sd_um**2 + option.removal_error.sd_um**2)
    mean = bed_um + shift
    low, high = altered_interval(cornea, option, errors)
    return Spread(
        bed_mean_um=mean,
        bed_sd_um=sd,
        bed_low_um=mean - Z95 * sd,
        bed_high_um=mean + Z95 * sd,
        bed_below_line_percent=below_percent(mean, sd, line_um),
        bed_min_below_line_percent=below_percent(bed_min_um + shift, sd, line_um),
        altered_low_percent=low,
        altered_high_percent=high,
    )


def below_percent(mean_um, sd_um, line_um):
    """P(bed < line) [%] of a normal bed; all or nothing where the SD is 0. Source reinstein2006ablation.

    >>> round(float(below_percent(250.0, 32.31, 200.0)), 2)
    6.09
    """
    short = line_um - mean_um
    with np.errstate(divide="ignore", invalid="ignore"):
        z = np.where(sd_um > 0, short / sd_um, np.where(short > 0, np.inf, -np.inf))
    z = np.where(np.isnan(short), np.nan, z)
    return 50.0 * np.asarray(ERFC(-z / math.sqrt(2.0)), dtype=float)[()]


def altered_interval(cornea, option, errors):
    """95 % interval of the central percent altered [%]: roots of a quadratic.

    (p·T̄ − m)² = 1.96²·(σ_cut² + σ_r² + p²·σ_T²), m the mean of cut + r, T̄ of thickness
    """
    T = cornea.central_thickness_um + errors.thickness_bias_um
    m = option.cut_um + option.removal.central_um + option.cut_error.bias_um + option.removal_error.bias_um
    variance = Z95**2 * (option.cut_error.sd_um**2 + option.removal_error.sd_um**2)
    a = T**2 - Z95**2 * errors.thickness_sd_um**2
    root = np.sqrt(np.maximum(0.0, (T * m) ** 2 - a * (m**2 - variance)))
    return 100.0 * (T * m - root) / a, 100.0 * (T * m + root) / a
