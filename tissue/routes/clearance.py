"""The least distance between an old cut and a new one, and its place: a polar grid, refined where it is least."""

from collections.abc import Callable, Sequence

import numpy as np

from tissue.budget.place import Place
from tissue.ground.vocabulary import Array, Floats

RINGS = 24  # in each piece between two edges
TURNS = 120
ROUNDS = 12  # each halves the step; the last is about 1e-5 mm
GAIN = 1e-6  # µm: a second search, wide enough to go round a centre, must improve by more than this
TIE = 1e-10  # µm: points this close are equal; then the smallest angle from +x counts, then the point nearest the rim


def least_over(
    value: Callable[[Array, Array], Floats],
    centre_mm: tuple[Floats, Floats],
    inner_mm: Floats,
    outer_mm: Floats,
    edges_mm: Sequence[Floats] = (),
) -> Place:
    """The least value over a closed annulus and its place, a Place.

    Args:
        value: function of x, y from the vertex [mm] that gives the quantity [µm]; takes arrays of places in front
            of the shape of the eyes.
        centre_mm: (x, y) of the annulus from the vertex [mm], any shape.
        inner_mm, outer_mm: its radii [mm], any shape; both circles belong to it, inner 0 is a disc.
        edges_mm: radii [mm] where the value has a kink or a step; they are looked at themselves.

    >>> place = least_over(lambda x, y: 100.0 - x**2 - y**2, (0.0, 0.0), 1.0, 3.0)
    >>> float(place.value), float(place.x_mm), float(place.y_mm)
    (91.0, 3.0, 0.0)
    """
    field = _Annulus(value, centre_mm, inner_mm, outer_mm)
    rho, angle = field.start(edges_mm)
    least = field.at(rho, angle)
    for wide in (False, True):
        along, around = field.width / (RINGS - 1.0), 2.0 * np.pi / TURNS
        for _ in range(ROUNDS):
            turn = np.maximum(around, np.minimum(np.pi, along / (rho + TIE))) if wide else around
            rho, angle, least = field.nearer((rho, angle, least), along, turn, GAIN if wide else TIE * TURNS)
            along, around = along / 2.0, around / 2.0
    return Place(least[()], *(place[()] for place in field.place(rho, angle)))


class _Annulus:
    """A quantity over a closed annulus, in polar places about its centre."""

    def __init__(
        self,
        value: Callable[[Array, Array], Floats],
        centre_mm: tuple[Floats, Floats],
        inner_mm: Floats,
        outer_mm: Floats,
    ) -> None:
        self.value = value
        self.x, self.y, self.inner, self.outer = np.broadcast_arrays(*centre_mm, inner_mm, outer_mm)
        self.width = self.outer - self.inner

    def place(self, rho: Array, angle: Array) -> tuple[Array, Array]:
        """Place from the vertex [mm]."""
        return self.x + rho * np.cos(angle), self.y + rho * np.sin(angle)

    def at(self, rho: Array, angle: Array) -> Array:
        """The quantity [µm] at polar places."""
        return np.asarray(self.value(*self.place(rho, angle)))

    def start(self, edges_mm: Sequence[Floats]) -> tuple[Array, Array]:
        """Radius and angle of the least point of the grid."""
        edges = [np.clip(edge, self.inner, self.outer) for edge in (self.inner, *edges_mm, self.outer)]
        ends = np.sort(np.stack(np.broadcast_arrays(*edges)), axis=0)
        rings = np.linspace(ends[1:], ends[:-1], RINGS)
        rings = np.flip(np.sort(rings.reshape((-1,) + self.outer.shape), axis=0), axis=0)
        turns = np.arange(TURNS) * 2.0 * np.pi / TURNS
        lead = (1,) * self.outer.ndim
        rho, angle = np.broadcast_arrays(rings[np.newaxis], turns.reshape((-1, 1) + lead))
        return _least_of(self.at(rho, angle), rho, angle)

    def nearer(
        self, known: tuple[Array, Array, Array], along: Floats, around: Floats, gain: float
    ) -> tuple[Array, Array, Array]:
        """The least of a point and its 24 neighbours a step and half a step away, where one is less by the gain.

        known: radius, angle and value of the point.
        """
        rho, angle, least = known
        lead = (1,) * self.outer.ndim
        offsets = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
        tried_rho = np.clip(rho + along * offsets.reshape((-1, 1) + lead), self.inner, self.outer)
        tried_angle = angle + around * offsets.reshape((1, -1) + lead)
        tried_rho, tried_angle = np.broadcast_arrays(tried_rho, tried_angle)
        tried = self.at(tried_rho, tried_angle)
        best_rho, best_angle = _least_of(tried, tried_rho, tried_angle)
        found = self.at(best_rho, best_angle)
        better = found < least - gain
        return np.where(better, best_rho, rho), np.where(better, best_angle, angle), np.where(better, found, least)


def _least_of(value: Array, rho: Array, angle: Array) -> tuple[Array, Array]:
    """Radius and angle of the least value over the first two axes; of equals the first."""
    shape = (-1,) + value.shape[2:]
    value, rho, angle = (np.broadcast_to(array, value.shape).reshape(shape) for array in (value, rho, angle))
    order = TIE * np.arange(value.shape[0]).reshape((-1,) + (1,) * (value.ndim - 1))
    pick = np.argmin(value + order, axis=0)[np.newaxis]
    return tuple(np.take_along_axis(array, pick, axis=0)[0] for array in (rho, angle))
