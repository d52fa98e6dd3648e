"""A surface over the cornea as a tensor product of cubic B-splines, and how little it bends.

Knots stand every 0.5 mm over ±6 mm. On knots at one distance the four splines that are not zero have a closed form; a
reading then meets 16 of the 729 coefficients.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np

from tissue.ground.vocabulary import Array, Floats

REACH_MM = 6.0  # knots from −6 to +6 mm
STEP_MM = 0.5
INTERVALS = 24
SIZE = INTERVALS + 3  # splines in one direction
SIXTEEN = (np.arange(4)[:, None] * SIZE + np.arange(4)).ravel()  # coefficients from the first that a place meets
AT_ONCE = 2000  # places; more would not stay in the processor's memory
CUBICS = np.array([[1, 4, 1, 0], [-3, 0, 3, 0], [3, -6, 3, 0], [-1, 3, -3, 1]]) / 6.0  # power of u, spline


def basis(x_mm: Array) -> tuple[np.ndarray, Array]:
    """The first of the four splines that are not zero at each place, and the four values.

    Args:
        x_mm: places [mm], one-dimensional; beyond the knots the end is taken; NaN gives NaN.

    >>> first, values = basis(np.array([0.0]))
    >>> int(first[0]), values[0].round(3).tolist()
    (12, [0.167, 0.667, 0.167, 0.0])
    """
    steps = np.clip((x_mm + REACH_MM) / STEP_MM, 0.0, float(INTERVALS))
    first = np.fmin(steps, INTERVALS - 1).astype(int)  # of NaN, some interval: its values are NaN all the same
    u = steps - first
    return first, np.stack([np.ones_like(u), u, u * u, u * u * u], axis=-1) @ CUBICS


def design_rows(x_mm: Array, y_mm: Array) -> tuple[np.ndarray, Array]:
    """The 16 coefficients that each place meets and their weights; both of the shape (places, 16)."""
    first, values = basis(np.concatenate([x_mm, y_mm]))
    (i, j), (along, across) = first.reshape(2, -1), values.reshape(2, -1, 4)
    return (i * SIZE + j)[:, None] + SIXTEEN, (along[:, :, None] * across[:, None, :]).reshape(-1, 16)


@dataclass(frozen=True, eq=False)
class Spline:
    """A surface: coefficients [µm] of the shape (SIZE, SIZE), x first."""

    coefficients: Array

    def at(self, x_mm: Floats, y_mm: Floats) -> Floats:
        """The surface [µm] at places from the vertex [mm], any shape; beyond ±6 mm the value at the end.

        S(x, y) = Σ c_ij·B_i(x)·B_j(y)
        """
        places = np.broadcast_arrays(np.asarray(x_mm, dtype=float), np.asarray(y_mm, dtype=float))
        x, y = (part.ravel() for part in places)
        flat, found = self.coefficients.ravel(), np.empty(x.size)
        for start in range(0, x.size, AT_ONCE):
            part = slice(start, start + AT_ONCE)
            index, b = design_rows(x[part], y[part])
            found[part] = np.einsum("nk,nk->n", np.take(flat, index), b)
        return found.reshape(places[0].shape)[()]


@cache
def bending() -> Array:
    """What a surface bends, as a quadratic form of its coefficients, shape (SIZE², SIZE²).

    ∬ (S_xxx² + 3·S_xxy² + 3·S_xyy² + S_yyy²), exact: four Gauss points in each interval.
    """
    whole, first, second, third = (_products(order) for order in range(4))
    return np.kron(third, whole) + 3.0 * np.kron(second, first) + 3.0 * np.kron(first, second) + np.kron(whole, third)


def _products(order: int) -> Array:
    """∫ of the products of the derivatives of two splines of one direction, shape (SIZE, SIZE)."""
    u, weight = np.polynomial.legendre.leggauss(4)
    u, weight = (u + 1.0) / 2.0, weight / 2.0 * STEP_MM
    powers = np.polynomial.polynomial.polyvander(u, 3)
    bent = CUBICS
    for _ in range(order):
        bent = np.vstack([bent[1:] * np.arange(1, 4)[:, None], np.zeros(4)]) / STEP_MM
    values = powers @ bent
    one = (values * weight[:, None]).T @ values
    found = np.zeros((SIZE, SIZE))
    for k in range(INTERVALS):
        found[k : k + 4, k : k + 4] += one
    return found
