"""Where the bed is least, and where the greatest share of the thickness is altered.

The removal is the same in the four quadrants of the treated axes, and the thickness map grows with the distance
from the thinnest point: the place sought lies in the quadrant of the thinnest point. There a coarse grid gives one
start in the zone and one in the blend (edge and rim included), and Newton steps that must improve bring each to
its place.
"""

from typing import NamedTuple

import numpy as np

from tissue.steps import blend_step, zone_step

STEPS = 9
RADII = np.array([0.0, 0.2, 0.4, 0.55, 0.7, 0.85, 1.0])
EASING = np.array([0.0, 0.2, 0.4, 0.6, 0.8, 1.0])
TURNS = np.radians([0.0, 22.5, 45.0, 67.5, 90.0])
TIE_UM = 1e-9  # between equal points of the grid the one nearer the treated axis is taken


class Place(NamedTuple):
    """A value [µm for a bed, a fraction for a share] and its place from the vertex [mm]."""

    value: object
    x_mm: object
    y_mm: object


class Field:
    """Thickness map and removal of one eye (or a column of eyes) in the quadrant of the thinnest point."""

    def __init__(self, cornea, taken):
        u, v = taken.axes(cornea.thinnest_x_mm, cornea.thinnest_y_mm)
        round_ = np.broadcast_to(taken.profile.along_per_mm == taken.profile.across_per_mm, np.shape(u + v))
        turn = np.where(round_, np.arctan2(v, u), 0.0)
        self.turn = turn + np.radians(taken.axis_deg)
        u, v = np.where(round_, np.hypot(u, v), u), np.where(round_, 0.0, v)
        self.sign_u, self.sign_v = (np.where(np.abs(w) < 1e-9, 0.0, np.sign(w)) for w in (u, v))
        self.ut, self.vt = np.abs(u), np.abs(v)
        self.taken, self.shape = taken, taken.profile
        self.thinnest, self.growth = cornea.thinnest_um, cornea.thickness_per_mm2

    def thickness(self, u, v):
        """Thickness map [µm] in the quadrant."""
        return self.thinnest + self.growth * ((u - self.ut) ** 2 + (v - self.vt) ** 2)

    def removed(self, u, v):
        """Removal without base [µm] in the quadrant."""
        return self.taken.scale * self.shape.thickness_um(u, v, self.taken.central_unscaled_um)

    def back(self, u, v):
        """Place from the vertex [mm]; of mirrored equal points the one at the smallest angle from +x."""
        best = None
        for su in (1.0, -1.0):
            for sv in (1.0, -1.0):
                x = su * u * np.cos(self.turn) - sv * v * np.sin(self.turn)
                y = su * u * np.sin(self.turn) + sv * v * np.cos(self.turn)
                allowed = (self.sign_u * su >= 0) & (self.sign_v * sv >= 0)
                angle = np.where(allowed, np.round(np.arctan2(y, x) % (2.0 * np.pi), 9) % 6.283185307, np.inf)
                if best is None:
                    best = [angle, x, y]
                nearer = angle < best[0]
                best = [np.where(nearer, new, old) for new, old in zip((angle, x, y), best, strict=True)]
        return self.taken.centre_x_mm + best[1], self.taken.centre_y_mm + best[2]


class Grid(NamedTuple):
    """Starts: places in the quadrant [mm], thickness and removal there [µm], shape (points, …)."""

    u: object
    v: object
    thickness: object
    removed: object


def _grid(field, radii):
    """Grid of radii × turns in the quadrant; `radii` [mm] has shape (n, …)."""
    turns = TURNS.reshape((1, -1) + (1,) * (np.ndim(radii) - 1))
    u, v = (
        (np.asarray(radii)[:, None] * part).reshape((-1,) + np.shape(radii)[1:]) for part in (np.cos(turns), np.sin(turns))
    )
    return Grid(u, v, field.thickness(u, v), field.removed(u, v))


class Bed:
    """Thickness less removal: the least of it is the least bed, cut and base apart."""

    def value(self, thickness, removed):
        """T − t [µm]."""
        return thickness - removed

    def weight(self, value):
        """Weight of the thickness map in a Newton step."""
        return 1.0


class Share:
    """Minus the share of the thickness that is cut or removed."""

    def __init__(self, above_um):
        self.above_um = above_um

    def value(self, thickness, removed):
        """−(cut + base + t)/T [–]."""
        return -(self.above_um + removed) / thickness

    def weight(self, value):
        """The share itself: (cut + r) − share·T is stationary where the share is (Dinkelbach)."""
        return -value


def search(cornea, taken, goals):
    """The least value of each goal over the closed treated disc, and its place: a list of Place.

    Args:
        cornea: thickness map.
        taken: Removal.
        goals: Bed or Share objects.
    """
    field = Field(cornea, taken)
    columns = np.ones(np.shape(field.ut + taken.radius_mm + taken.central_um))
    a, w = taken.profile.zone_radius_mm * columns, taken.profile.blend_mm * columns
    lead = (-1,) + (1,) * columns.ndim
    grids = (
        _grid(field, a * RADII.reshape(lead)),
        _grid(field, a + w * EASING.reshape(lead)),
    )
    return [_least(field, grids, goal) for goal in goals]


def _least(field, grids, goal):
    """The better of the zone's and the blend's place for one goal."""
    zone = newton(field, goal, _start(grids[0], goal), zone_step)
    blend = newton(field, goal, _start(grids[1], goal), blend_step)
    inner = zone[0] <= blend[0]
    value, u, v = (np.where(inner, first, second) for first, second in zip(zone, blend, strict=True))
    return Place(value[()], *(place[()] for place in field.back(np.abs(u), np.abs(v))))


def _start(grid, goal):
    """Value and place of the best grid point."""
    value = goal.value(grid.thickness, grid.removed)
    order = TIE_UM * (np.arange(value.shape[0]) % TURNS.size).reshape((-1,) + (1,) * (value.ndim - 1))
    pick = np.argmin(value + order, axis=0)[np.newaxis]
    return [np.take_along_axis(array, pick, axis=0)[0] for array in (value, grid.u, grid.v)]


def newton(field, goal, start, step):
    """Newton steps from a start (value, u, v); a step that does not improve is taken back and shortened."""
    value, u, v = start
    reach = np.ones(np.shape(value))
    for _ in range(STEPS):
        try_u, try_v = step(field, u, v, goal.weight(value), reach)
        tried = goal.value(field.thickness(try_u, try_v), field.removed(try_u, try_v))
        better = tried < value
        value, u, v = np.where(better, tried, value), np.where(better, try_u, u), np.where(better, try_v, v)
        reach = np.where(better, reach, reach / 4.0)
    return value, u, v
