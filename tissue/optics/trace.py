"""Rays traced through the front surface: its spherical aberration, and how far out its power stays paraxial."""

from collections.abc import Callable

import numpy as np

from tissue.eye.cornea import INDEX, sag_mm
from tissue.ground.errors import number
from tissue.ground.vocabulary import Array, Floats
from tissue.optics.zernike import RINGS, nodes, weights
from tissue.removal.removal import POWER_PER_CURVATURE

BLOCK = 12_288  # values worked on at a time: arrays of that size stay in the processor's cache
COARSE = np.linspace(0.0, 1.0, 13)  # shares of the way out that are tried first
FINE = np.linspace(0.0, 1.0, 7)  # shares of the step in which the limit is passed


def in_blocks(function: Callable[..., Floats], places: int, *columns: Array) -> Array:
    """function(*columns) for columns of one length, a block of rows at a time; results joined on the last axis.

    Args:
        function: what to do with a block of every column.
        places: values it works on for one row, which sets the length of a block.
        columns: arrays of one length.
    """
    rows = max(1, BLOCK // places)
    starts = range(0, max(1, columns[0].size), rows)
    return np.concatenate([function(*(c[first : first + rows] for c in columns)) for first in starts], axis=-1)


def flat_columns(*values: Floats) -> tuple[list[Array], tuple[int, ...]]:
    """The values as flat columns of one length, and the shape to give a result back in."""
    arrays = np.broadcast_arrays(*(number(value) for value in values))
    return [np.ravel(array) for array in arrays], arrays[0].shape


def ray_power_D(slope_per_mm: Floats, sag_per_mm2: Floats, radius2_mm2: Floats) -> Floats:
    """Power by which a ray parallel to the axis meets it [D], by the exact law of refraction.

    A ray at height ρ on a surface of slope g·ρ and sag σ·ρ² crosses the axis at z from the vertex:
    1000·n/z = 1000·n·g·(q − 1)/(q + g²ρ² + σ·g·ρ²·(q − 1)), q = √(n² + (n² − 1)·g²ρ²)

    Args:
        slope_per_mm: slope over height, g [1/mm].
        sag_per_mm2: sag over squared height, σ [1/mm].
        radius2_mm2: squared height, ρ² [mm²].

    >>> round(float(ray_power_D(1 / 7.8, 0.5 / 7.8, 0.0)), 6)
    48.205128
    """
    steep = slope_per_mm**2 * radius2_mm2
    q = np.sqrt(INDEX**2 + (INDEX**2 - 1.0) * steep)
    bend = slope_per_mm * (q - 1.0)
    return 1000.0 * INDEX * bend / (q + steep + sag_per_mm2 * bend * radius2_mm2)


def _conic(curvature: Floats, K: Floats, radius2: Floats) -> tuple[Floats, Floats]:
    """Slope over height and sag over squared height [1/mm] of a conic."""
    root = np.sqrt(1.0 - K * curvature**2 * radius2)
    return curvature / root, curvature / (1.0 + root)


def conic_error_D(radius2_mm2: Floats, curvature_per_mm: Floats, K: Floats) -> Floats:
    """Local refraction error of a conic [D] at a squared height [mm²]: power of the ray minus the paraxial power."""
    power = ray_power_D(*_conic(curvature_per_mm, K, radius2_mm2), radius2_mm2)
    return power - POWER_PER_CURVATURE * curvature_per_mm


def operated_error_D(
    radius2_mm2: Floats, curvature_per_mm: Floats, K: Floats, after_per_mm: Floats, K_before: Floats, K_after: Floats
) -> Floats:
    """Local refraction error [D] on a principal meridian of a conic minus the tissue of a profile, within the zone.

    Args:
        radius2_mm2: squared height [mm²].
        curvature_per_mm, K: apical curvature [1/mm] and 1 + Q of the cornea.
        after_per_mm: curvature after along the meridian [1/mm].
        K_before, K_after: conic factors of the profile [–].
    """
    cornea, before, after = (
        _conic(*surface, radius2_mm2)
        for surface in ((curvature_per_mm, K), (curvature_per_mm, K_before), (after_per_mm, K_after))
    )
    slope, sag = (cornea[i] + (after[i] - before[i]) for i in (0, 1))
    return ray_power_D(slope, sag, radius2_mm2) - POWER_PER_CURVATURE * after_per_mm


def kept_radius_mm(error: Callable[[Array], Floats], farthest_mm: Floats, limit_D: Floats) -> Floats:
    """Radius [mm] up to which |error| stays within a limit [D], at most `farthest_mm`; NaN stays NaN.

    Args:
        error: function of a squared radius [mm²] that gives the error [D].
        farthest_mm: where to stop looking [mm], any shape.
        limit_D: the limit [D].

    >>> round(float(kept_radius_mm(lambda r2: 0.125 * r2, np.array(3.0), 0.5)), 4)
    2.0
    """
    farthest_mm = number(farthest_mm)
    inner, step = np.zeros(farthest_mm.shape), farthest_mm
    for shares in (COARSE, FINE, FINE):
        places = inner + step * shares.reshape((-1,) + (1,) * farthest_mm.ndim)
        size = np.abs(error(places**2))
        over = ~(size[1:] <= limit_D)
        first = np.where(over.any(axis=0), over.argmax(axis=0), shares.size - 2)[np.newaxis]
        inner, outer = (np.take_along_axis(places, first + i, axis=0)[0] for i in (0, 1))
        step = outer - inner
    low, high = (np.take_along_axis(size, first + i, axis=0)[0] for i in (0, 1))
    high = np.where(np.isnan(high), np.inf, high)
    part = (limit_D - low) / np.where(high > limit_D, high - low, 1.0)
    radius = np.where(high > limit_D, inner + step * part, outer)
    return np.where(np.isnan(low), np.nan, radius)[()]


def front_c40_um(radius_mm: Floats, asphericity: Floats, pupil_mm: Floats) -> Floats:
    """Primary spherical aberration C40 of a conic front surface about its own focus [µm], traced exactly.

    The optical path of rays parallel to the axis to the sphere about the paraxial focus through the vertex,
    fitted over the pupil. NaN where the surface ends within the pupil. Source optiland (the same trace elsewhere).

    Args:
        radius_mm, asphericity: apical radius [mm] and Q [–], any shape.
        pupil_mm: pupil diameter [mm], any shape.

    >>> round(float(front_c40_um(7.8, -0.26, 6.0)), 6)
    0.178788
    """
    columns, shape = flat_columns(radius_mm, asphericity, pupil_mm)
    return in_blocks(_c40_of_rows, RINGS, *columns).reshape(shape)[()]


def _c40_of_rows(radius_mm: Array, asphericity: Array, pupil_mm: Array) -> Array:
    """C40 [µm] of a column; on a surface of revolution one ray for each ring is enough."""
    x, y, _ = nodes(RINGS, 1)
    ring2 = (x**2 + y**2)[:, None]
    with np.errstate(invalid="ignore"):
        path = path_um(1.0 / radius_mm, 1.0 + asphericity, ring2 * (pupil_mm / 2.0) ** 2)
    return weights(4, 0, RINGS, 1) @ path


def path_um(curvature_per_mm: Floats, K: Floats, radius2_mm2: Floats) -> Floats:
    """Wavefront error [µm] of rays parallel to the axis of a conic, relative to the ray on the axis.

    W = −(s + n·L), L from the surface point along the refracted ray back to the sphere about the focus.
    """
    focus = INDEX / ((INDEX - 1.0) * curvature_per_mm)
    slope, _ = _conic(curvature_per_mm, K, radius2_mm2)
    s = sag_mm(curvature_per_mm * radius2_mm2, K * curvature_per_mm**2 * radius2_mm2)
    steep = slope**2 * radius2_mm2
    q = np.sqrt(INDEX**2 + (INDEX**2 - 1.0) * steep)
    tangent = slope * (q - 1.0) / (q + steep)  # of the refracted ray's angle with the axis, over the height
    along = 1.0 / np.sqrt(1.0 + tangent**2 * radius2_mm2)
    towards = along * (focus - s + tangent * radius2_mm2)
    L = towards - np.sqrt(towards**2 - radius2_mm2 - (focus - s) ** 2 + focus**2)
    return -1000.0 * (s + INDEX * L)
