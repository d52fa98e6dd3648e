"""Zernike polynomials in the OSA/ANSI order, normalised, and the mean over a pupil that finds their coefficients."""

from functools import cache
from math import factorial

import numpy as np

from tissue.ground.vocabulary import Array, Floats

ORDER = 6
RINGS, SPOKES = 12, 16  # Gauss–Legendre nodes in r², equal angles: exact to degree 22 in r and 15 in the angle


@cache
def terms(order: int = ORDER) -> tuple[tuple[int, int], ...]:
    """(n, m) of every term up to `order`, in the OSA/ANSI sequence j = (n·(n + 2) + m)/2; source thibos2004.

    >>> terms(2)
    ((0, 0), (1, -1), (1, 1), (2, -2), (2, 0), (2, 2))
    """
    return tuple((n, m) for n in range(order + 1) for m in range(-n, n + 1, 2))


def index(n: int, m: int) -> int:
    """Place of the term (n, m) in the OSA/ANSI sequence.

    >>> index(4, 0)
    12
    """
    return (n * (n + 2) + m) // 2


def radial(n: int, m: int, r: Floats) -> Floats:
    """Radial polynomial of degree n and frequency |m| at r [–, 0 centre, 1 rim], any shape.

    R = Σ_k (−1)^k·(n − k)! / (k!·((n + m)/2 − k)!·((n − m)/2 − k)!)·r^(n − 2k)
    """
    m, r = abs(m), np.asarray(r, dtype=float)
    total = np.zeros(r.shape)
    for k in range((n - m) // 2 + 1):
        below = factorial(k) * factorial((n + m) // 2 - k) * factorial((n - m) // 2 - k)
        total = total + (-1) ** k * factorial(n - k) / below * r ** (n - 2 * k)
    return total[()]


def zernike(n: int, m: int, r: Floats, angle: Floats) -> Floats:
    """One normalised term at r [–] and angle [radians, counter-clockwise from +x]; cosines for m ≥ 0, sines below.

    Z = N·R(r)·cos(m·angle) or N·R(r)·sin(|m|·angle), N = √(n + 1) for m = 0, else √(2·(n + 1))

    >>> round(float(zernike(2, 0, 1.0, 0.0)), 6)
    1.732051
    """
    size = np.sqrt(n + 1.0) if m == 0 else np.sqrt(2.0 * (n + 1.0))
    turn = np.cos(m * angle) if m >= 0 else np.sin(-m * angle)
    return size * radial(n, m, r) * turn


@cache
def nodes(rings: int = RINGS, spokes: int = SPOKES) -> tuple[Array, Array, Array]:
    """Places over the unit pupil and their weights: x, y and the share of the area, each of shape (rings·spokes,).

    Gauss–Legendre in r² on the rings, equal angles on each; the weights sum to 1.
    """
    node, share = np.polynomial.legendre.leggauss(rings)
    r = np.sqrt((node + 1.0) / 2.0)
    angle = (np.arange(spokes) + 0.5) * 2.0 * np.pi / spokes
    x, y = np.outer(r, np.cos(angle)).ravel(), np.outer(r, np.sin(angle)).ravel()
    return x, y, np.repeat(share / 2.0 / spokes, spokes)


@cache
def weights(n: int, m: int, rings: int = RINGS, spokes: int = SPOKES) -> Array:
    """Weights whose sum with values at the nodes is the coefficient of one term, shape (rings·spokes,).

    On these nodes the terms are orthonormal under the share of the area, so the least-squares fit over the
    pupil is one weighted sum a term.
    """
    x, y, share = nodes(rings, spokes)
    return zernike(n, m, np.hypot(x, y), np.arctan2(y, x)) * share


def coefficients(values: Floats, order: int = ORDER) -> Array:
    """Least-squares coefficients over the pupil, in the unit of `values` [(192, …)], shape (terms, …).

    >>> x, y, _ = nodes()
    >>> round(float(coefficients(2.0 * x**2 + 2.0 * y**2 - 1.0)[index(2, 0)]), 6)
    0.57735
    """
    return np.tensordot(np.stack([weights(n, m) for n, m in terms(order)]), np.asarray(values, float), axes=1)
