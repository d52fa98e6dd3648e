"""Relative strength: the share of a depth relationship that is still loaded after a cut and a removal."""

from functools import cache

import numpy as np

from tissue.budget.strength.relationship import Relationship, relationships
from tissue.ground.sources import rows
from tissue.ground.vocabulary import Array, Floats

FITTED_EPITHELIUM_UM = (
    53.0  # µm, of the reconstruction itself; a curve of the band shifts the epithelium by its distance from it
)


def relative_strength(
    relationship: Relationship,
    central_thickness_um: Floats,
    epithelium_um: Floats,
    cut_um: Floats,
    removal_um: Floats,
    credit: Floats,
) -> Floats:
    """Relative strength at the centre, in percent of the untouched cornea.

    100·(g·F(cut) + 1 − F(cut + r)), F the share of the relationship in front of a depth

    Args:
        relationship: a Relationship.
        central_thickness_um: thickness with epithelium [µm], any shape.
        epithelium_um: epithelium [µm].
        cut_um: depth of the cut [µm]; the epithelium for a surface ablation.
        removal_um: removal at the treatment centre [µm].
        credit: share g of what lies above the cut that counts as loaded, 0 to 1.

    Source: reinstein2013

    >>> model = relationships()["reinstein2013"]
    >>> round(float(relative_strength(model, 550.0, 53.0, 110.0, 100.0, 0.0)), 1)
    53.9
    """
    cut, removal, credit = (np.asarray(v, float) for v in (cut_um, removal_um, credit))
    floor = relationship.share(cut + removal, central_thickness_um, epithelium_um)
    if not np.any(credit != 0.0):
        return np.asarray(100.0 * (1.0 - floor))[()]
    above = relationship.share(cut, central_thickness_um, epithelium_um)
    return np.asarray(100.0 * (credit * above + 1.0 - floor))[()]


def all_strengths(
    central_thickness_um: Floats, epithelium_um: Floats, cut_um: Floats, removal_um: Floats, credit: Floats
) -> dict[str, Floats]:
    """Relative strength by every relationship, {id: percent}; arguments as in `relative_strength`.

    >>> round(float(all_strengths(550.0, 53.0, 130.0, 100.0, 1.0)["uniform"]), 1)
    79.9
    """
    eye = (central_thickness_um, epithelium_um, cut_um, removal_um, credit)
    return {name: relative_strength(relationship, *eye) for name, relationship in relationships().items()}


def band(
    central_thickness_um: Floats, epithelium_um: Floats, cut_um: Floats, removal_um: Floats, credit: Floats
) -> tuple[Floats, Floats]:
    """Least and greatest strength over all curves that the printed results of 2013 allow, in percent.

    A curve fitted with epithelium e uses E + (e − 53); a surface ablation begins at that epithelium's back face.

    Args:
        as in `relative_strength`; a cut no deeper than the epithelium is a surface ablation.

    Source: reinstein2013

    >>> low, high = band(550.0, 53.0, 110.0, 100.0, 0.0)
    >>> round(float(low), 1), round(float(high), 1)
    (53.5, 54.5)
    """
    eye = (central_thickness_um, epithelium_um, cut_um, removal_um, credit)
    thickness, epithelium, cut, removal, credit = (np.asarray(v, float) for v in eye)
    shift, integral = _admissible()
    shape = shift.shape + (1,) * np.broadcast(*eye).ndim
    fitted = epithelium + shift.reshape(shape)
    stroma = thickness - fitted
    above = np.where(cut <= epithelium, 0.0, cut - fitted)
    lost = _share(integral.reshape(5, *shape), (above + removal) / stroma)
    if np.any(credit != 0.0):
        lost = lost - credit * _share(integral.reshape(5, *shape), above / stroma)
    return (100.0 - 100.0 * lost.max(0))[()], (100.0 - 100.0 * lost.min(0))[()]


@cache
def _admissible() -> tuple[Array, Array]:
    """Shift of the epithelium of each curve [µm], and its integral's coefficients c₁…c₅ scaled to Σc = 1."""
    table = np.array([[float(v) for v in row.values()] for row in rows("admissible_curves")])
    integral = table[:, 1:] / np.arange(1.0, 6.0)
    return table[:, 0] - FITTED_EPITHELIUM_UM, np.ascontiguousarray((integral / integral.sum(1, keepdims=True)).T)


def _share(integral: Array, x: Floats) -> Array:
    """F(x) = Σ c_k·x^k of every curve (first axis), x held within 0 and 1."""
    x = np.clip(x, 0.0, 1.0)
    value = integral[4] * x
    for c in integral[3::-1]:
        value += c
        value *= x
    return value


@cache
def _range_table() -> Array:
    """The table of the admissible range: stromal fraction, least and greatest density, least and greatest share."""
    return np.array([[float(v) for v in row.values()] for row in rows("density_range")]).T


def density_range(stromal_fraction: Floats) -> tuple[Floats, Floats]:
    """Least and greatest density of the 2013 model over all admissible curves, epithelium 53 µm, for pictures.

    Linear between the computed points; the curve itself lies between, and behind 0.8 of the stroma only this band is
    known.

    Args:
        stromal_fraction: depth as a share of the stroma, 0 front to 1 back [–], any shape.

    Source: reinstein2013

    >>> low, high = density_range(0.5)
    >>> float(low), float(high)
    (0.83, 0.96)
    """
    fraction, least, greatest, _, _ = _range_table()
    x = np.asarray(stromal_fraction, float)
    return np.interp(x, fraction, least), np.interp(x, fraction, greatest)
