"""Finds the least of any quantity over a closed disc with a ring about it: on a polar grid, following its valleys.

The quantity only has to be smooth within the disc and within the ring: an eye's own map
may have several valleys. Many discs are searched at once.
"""

from collections.abc import Callable

import numpy as np

from tissue.ground.vocabulary import Array, Floats

RING_MM = 0.25  # rings are no farther apart
TURNS = 48  # 7.5 degrees
MATTERS = 3.0  # a valley this much above the best one [unit of the quantity] cannot become the best
MOST_VALLEYS = 12
ROUNDS = 10  # each halves the step; the last is about 0.0005 mm
FIRST_STEP_MM = 0.3
OFFSETS = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])

Quantity = Callable[[Array, Array], Floats]
Piece = tuple[Array, Array, Array, Array, Array]  # values, places (x, y), inner and outer radius


def least_in_disc(
    quantity: Quantity,
    centre_mm: tuple[Floats, Floats],
    edge_mm: Floats,
    ring_mm: Floats = 0.0,
    matters: Floats = MATTERS,
) -> tuple[Array, Array, Array]:
    """The least value over a closed disc and the ring about it, and its place from the vertex [mm].

    Args:
        quantity: function of x, y from the vertex [mm]; takes arrays of places in front of the shape of the discs.
        centre_mm: (x, y) of the discs from the vertex [mm].
        edge_mm: radius of the discs [mm], any shape.
        ring_mm: width of the ring about them [mm], 0 for none.
        matters: how far above the best a valley of the grid is still followed [unit of the quantity].

    >>> value, x, y = least_in_disc(lambda x, y: (x - 1.0) ** 2 + (y + 2.0) ** 2, (0.0, 0.0), 3.0)
    >>> abs(float(value)) < 1e-6, round(float(x), 3), round(float(y), 3)
    (True, 1.0, -2.0)
    """
    search = _Search(
        quantity, np.broadcast_arrays(*(np.asarray(p, dtype=float) for p in (*centre_mm, edge_mm, ring_mm)))
    )
    found = search.pieces()
    best = np.min([values.min(axis=0) for values, *_ in found], axis=0)
    value, x, y = search.followed(search.valleys(found, best + matters))
    pick = np.argmin(np.where(np.isnan(value), np.inf, value), axis=0)[np.newaxis]
    return tuple(np.take_along_axis(part, pick, axis=0)[0] for part in (value, x, y))


class _Search:
    """A quantity over discs and the rings about them."""

    def __init__(self, quantity: Quantity, parts: tuple[Array, ...]) -> None:
        self.quantity = quantity
        self.x, self.y, self.edge, self.ring = parts
        self.lead = (1,) * self.edge.ndim
        turns = np.arange(TURNS) * 2.0 * np.pi / TURNS
        self.turns = turns.reshape(1, -1, *self.lead)

    def at(self, x: Array, y: Array) -> Array:
        """The quantity at places from the centres [mm]."""
        return np.asarray(np.broadcast_to(self.quantity(self.x + x, self.y + y), np.broadcast(x, self.x).shape))

    def pieces(self) -> list[Piece]:
        """For disc and ring: values and places (x, y) of the grid by ring and turn, inner and outer radius."""
        found = [self._grid(np.zeros_like(self.edge), self.edge)]
        if np.any(self.ring > 0):
            found.append(self._grid(self.edge, self.edge + self.ring))
        return found

    def _grid(self, inner: Array, outer: Array) -> Piece:
        count = int(np.ceil(np.nanmax(outer - inner, initial=RING_MM) / RING_MM)) + 1
        rho = np.linspace(inner, outer, count)[:, np.newaxis]
        x, y = rho * np.cos(self.turns), rho * np.sin(self.turns)
        return self.at(x, y), x, y, inner, outer

    def valleys(self, pieces: list[Piece], limit: Array) -> Piece:
        """Value, place, inner and outer radius of every valley of the grids that may be the best, on the first axis."""
        found = []
        for values, x, y, inner, outer in pieces:
            valley = _valleys(values) & (values <= limit)
            order = np.where(valley, values, np.inf).reshape(-1, *self.edge.shape)
            count = min(MOST_VALLEYS, max(1, int(valley.reshape(order.shape).sum(axis=0).max(initial=1))))
            pick = np.argsort(order, axis=0, kind="stable")[:count]
            at = [np.take_along_axis(part.reshape(order.shape), pick, axis=0) for part in (values, x, y)]
            found.append((*at, *(np.broadcast_to(part, pick.shape) for part in (inner, outer))))
        value, x, y, inner, outer = (np.concatenate(part) for part in zip(*found, strict=True))
        return value, x, y, inner, outer

    def followed(self, valleys: Piece) -> tuple[Array, Array, Array]:
        """Value and place from the vertex of every valley, followed down within its disc or ring."""
        value, x, y, inner, outer = valleys
        step = FIRST_STEP_MM
        for _ in range(ROUNDS):
            value, x, y = self._nearer(value, x, y, inner, outer, step)
            step /= 2.0
        return value, x + self.x, y + self.y

    def _nearer(
        self, value: Array, x: Array, y: Array, inner: Array, outer: Array, step: float
    ) -> tuple[Array, Array, Array]:
        """The best of each place and its 24 neighbours up to a step away, those outside drawn to the edge."""
        across = step * OFFSETS.reshape(-1, 1, 1, *self.lead)
        along = step * OFFSETS.reshape(1, -1, 1, *self.lead)
        tried_x, tried_y = (part.reshape(-1, *x.shape) for part in np.broadcast_arrays(x + across, y + along))
        rho = np.hypot(tried_x, tried_y)
        scale = np.clip(rho, inner, outer) / np.maximum(rho, 1e-12)
        tried_x, tried_y = tried_x * scale, tried_y * scale
        tried = self.at(tried_x, tried_y)
        pick = np.argmin(tried, axis=0)[np.newaxis]
        found, new_x, new_y = (np.take_along_axis(part, pick, axis=0)[0] for part in (tried, tried_x, tried_y))
        better = found < value
        return np.where(better, found, value), np.where(better, new_x, x), np.where(better, new_y, y)


def _valleys(values: Array) -> np.ndarray:
    """Places of a grid by ring and turn that have no lower neighbour; the centre counts once."""
    inward, outward = (
        np.pad(values, [(one, 1 - one), *[(0, 0)] * (values.ndim - 1)], constant_values=np.inf) for one in (1, 0)
    )
    valley = (values <= inward[:-1]) & (values <= outward[1:])
    valley &= (values <= np.roll(values, 1, axis=1)) & (values <= np.roll(values, -1, axis=1))
    first = np.isclose(values[0].max(axis=0), values[0].min(axis=0), rtol=0.0, atol=0.0)
    lowest = (values[0, 0] <= values[1].min(axis=0)) if values.shape[0] > 1 else True
    valley[0] = np.where(first, False, valley[0])
    valley[0, 0] = np.where(first, lowest, valley[0, 0])
    return valley
