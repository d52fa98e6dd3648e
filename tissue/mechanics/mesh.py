"""The section divided into elements: columns along the front normals, rows in front of and behind the cut; the shell
of the sclera that holds it, from the limbus down to a roller at the equator.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tissue.ground.errors import EyeError
from tissue.ground.vocabulary import Array, Floats
from tissue.mechanics.shape import EyeShape, Setting, require_limbus

COARSER = 3.0  # element length at the equator over that in the cornea
LEAST_ELEMENTS = 6
STEPS = 12  # steps of Newton's method to where a column meets a surface; five are enough
LEAST_BED_MM = 0.005  # a thinner bed cannot be solved
LEAST_COLUMN_MM = 0.02  # one column serves two edges nearer than this


def shell_nodes(layers: Sequence[Array], setting: Setting) -> tuple[Array, ...]:
    """Two layers of nodes (r, z, place) with the columns of the sclera added to those of the cornea.

    The outer face is a sphere through the front of the limbus; direction and thickness pass from those of the
    last corneal column to those of a concentric shell.

    Args:
        layers: arrays of shape (3, rows + 1, columns).
        setting: Setting.
    """
    outer, inner = layers[0][:2, 0, -1], layers[1][:2, -1, -1]
    R = setting.sclera_radius_mm
    start = np.arcsin(outer[0] / R)
    centre = outer[1] + R * np.cos(start)
    length = R * (np.pi / 2.0 - start)
    angle = start + _graded(length, setting.size_mm) * (np.pi / 2.0 - start)
    whole = np.hypot(*(outer - inner))
    across = np.arctan2(outer[0] - inner[0], inner[1] - outer[1])
    eased = np.clip(R * (angle - start) / setting.sclera_blend_mm, 0.0, 1.0)
    eased = eased**2 * (3.0 - 2.0 * eased)
    direction = across * (1.0 - eased) + angle * eased
    thickness = whole * (1.0 - eased) + setting.sclera_thickness_mm * eased
    r0, z0 = R * np.sin(angle), centre - R * np.cos(angle)
    z0[-1] = centre
    made = []
    for layer in layers:
        share = np.hypot(layer[0, :, -1] - outer[0], layer[1, :, -1] - outer[1]) / whole
        depth = share[:, np.newaxis] * thickness
        r, z = r0 - depth * np.sin(direction), z0 + depth * np.cos(direction)
        z[:, -1] = centre
        made.append(np.concatenate([layer, np.stack([r, z, share[:, np.newaxis] + 0.0 * r])], axis=2))
    return tuple(made)


def _graded(length: float, size: float) -> Array:
    """Shares of a length at which columns stand: the first step near `size`, growing evenly."""
    count = max(LEAST_ELEMENTS, int(np.ceil(length / (COARSER * size))))
    even = np.arange(1, count + 1) / count
    first = min(1.0, size * count / length)
    return first * even + (1.0 - first) * even**2


class NoBed(EyeError):
    """A cut and a removal that leave no stroma behind them."""


@dataclass(frozen=True, eq=False)
class Cut:
    """A cut, and what was taken behind it.

    Args:
        depth_mm: depth from the front of the cornea, along its normal [mm].
        radius_mm: half the diameter of flap or cap [mm].
        removal_mm: function of the distance from the axis [mm] to the tissue taken [mm].
        edges_mm: radii that columns must meet [mm]; the last is that of the whole treated disc.
        ablates_front: the tissue was taken from the front surface instead, and nothing is cut.
    """

    depth_mm: float
    radius_mm: float
    removal_mm: Callable[[Floats], Floats]
    edges_mm: tuple[float, ...]
    ablates_front: bool = False


@dataclass(frozen=True, eq=False)
class Division:
    """How every state of an eye is divided, so that they compare element by element.

    radii_mm: of the columns at the front surface. front_rows, back_rows: in front of and behind the cut.
    """

    radii_mm: np.ndarray
    front_rows: int
    back_rows: int

    def column_at(self, radius_mm: float) -> int:
        """Number of the last column within a radius [mm]."""
        return int(np.flatnonzero(self.radii_mm <= radius_mm + 1e-9)[-1])


@dataclass(frozen=True, eq=False)
class Section:
    """Elements of a section, column by column, in two layers: 0 in front of the cut, 1 behind it.

    points_mm: r and z of the nodes, shape (2, nodes). quads: corners of the elements, shape (4, elements): front
    and back, from column to column. layer, column: of each element; inside: within the cut; sclera: beyond the
    limbus. place: original stromal fraction at the corners, shape (4, elements). grids: node numbers of both
    layers, shape (rows + 1, columns + 1). seam: nodes of cap and bed along a cut whose faces slide, shape (2, n).
    """

    points_mm: np.ndarray
    quads: np.ndarray
    layer: np.ndarray
    column: np.ndarray
    inside: np.ndarray
    sclera: np.ndarray
    place: np.ndarray
    grids: tuple[NDArray[np.int_], ...]
    seam: np.ndarray | None

    def line_of_nodes(self, column: int) -> NDArray[np.int_]:
        """Node numbers of one column from front to back."""
        return np.unique(np.concatenate([grid[:, column] for grid in self.grids]))


def column_radii(size_mm: float, edges_mm: Sequence[float], limbus_mm: float) -> Array:
    """Radii of the columns [mm] from the axis to the limbus: steps up to size_mm, a column on each edge in turn.

    >>> [float(r) for r in column_radii(0.5, (0.75, 0.76), 2.0).round(3)]
    [0.0, 0.375, 0.75, 1.167, 1.583, 2.0]
    """
    stops = [0.0, limbus_mm]
    for edge in edges_mm:
        if 0.0 < edge < limbus_mm and min(abs(edge - stop) for stop in stops) > LEAST_COLUMN_MM:
            stops.append(edge)
    stops.sort()
    parts = [np.zeros(1)]
    for start, end in zip(stops[:-1], stops[1:], strict=True):
        count = int(np.ceil((end - start) / size_mm - 1e-9))
        parts.append(np.linspace(start, end, count + 1)[1:])
    return np.concatenate(parts)


def division(shape: EyeShape, cuts: Sequence[Cut], setting: Setting) -> Division:
    """One Division for all states of an eye.

    Args:
        shape: EyeShape.
        cuts: every Cut of the plan.
        setting: Setting.
    """
    edges = [*(cut.radius_mm for cut in cuts), *(edge for cut in cuts for edge in cut.edges_mm)]
    depths = [cut.depth_mm for cut in cuts]
    in_front = (max(depths) - shape.epithelium_mm) / setting.size_mm
    behind = (shape.central_thickness_mm - min(depths)) / setting.size_mm
    return Division(
        radii_mm=column_radii(setting.size_mm, edges, setting.limbus_mm),
        front_rows=max(1, int(np.ceil(in_front - 1e-9))),
        back_rows=max(2, int(np.ceil(behind - 1e-9))),
    )


def meshed_section(
    shape: EyeShape, cut: Cut, divided: Division, setting: Setting, taken: bool = True, sliding: bool = False
) -> Section:
    """The section of an eye with its elements.

    Epithelium, flap and cap have an even thickness along the front normal, as they are cut; the thickness map and the
    removal are along the axis, as everywhere in the arithmetic. On the axis the two are one.

    Args:
        shape: EyeShape.
        cut: Cut; its depth and radius divide the elements even where nothing is taken.
        divided: Division.
        setting: Setting.
        taken: whether the tissue is gone; the number of elements does not change.
        sliding: whether cap and bed have nodes of their own within the cut.

    Raises:
        NoBed: nothing is left behind the cut.
        EyeError: a front surface that ends before the limbus.
    """
    require_limbus(shape, setting)
    layers: Sequence[Array] = _layers(shape, cut, divided, divided.radii_mm, _removal(cut, divided.radii_mm) * taken)
    if setting.boundary == "sclera":
        layers = shell_nodes(layers, setting)
    rim = divided.column_at(cut.radius_mm)
    grids, points = _numbered(layers, rim if sliding else 0)
    parts = [_elements(grid, layer[2], number) for number, (grid, layer) in enumerate(zip(grids, layers, strict=True))]
    quads, place, layer, column = (np.concatenate(part, axis=-1) for part in zip(*parts, strict=True))
    return Section(
        points_mm=points,
        quads=quads,
        layer=layer,
        column=column,
        inside=column < rim,
        sclera=column >= len(divided.radii_mm) - 1,
        place=place,
        grids=grids,
        seam=np.stack([grids[0][-1], grids[1][0]])[:, : rim + 1] if sliding else None,
    )


def _removal(cut: Cut, radii: Array) -> Array:
    """Tissue taken at the columns [mm]; behind a cut only as far as the cut reaches."""
    removal = np.asarray(cut.removal_mm(radii), float)
    return removal if cut.ablates_front else np.where(radii <= cut.radius_mm + 1e-9, removal, 0.0)


def _layers(shape: EyeShape, cut: Cut, divided: Division, radii: Array, removal: Array) -> tuple[Array, Array]:
    """Nodes of both layers: arrays (r, z, original stromal fraction), shape (3, rows + 1, columns).

    Everything is measured along the column, where a removal r along the axis takes r·cos of the column's tilt.
    """
    slope = np.asarray(shape.slope(radii))
    cosine = 1.0 / np.hypot(1.0, slope)
    whole = _length(shape, radii, slope, cosine)
    E, C, taken = shape.epithelium_mm, cut.depth_mm, removal * cosine
    if not np.min(whole - C - taken) > LEAST_BED_MM:
        raise NoBed("bed", f"{1000.0 * np.min(whole - C - taken):.0f} µm", "some stroma behind the cut and the removal")
    front = np.linspace(0.0, 1.0, divided.front_rows + 1)[:, np.newaxis]
    back = np.linspace(0.0, 1.0, divided.back_rows + 1)[:, np.newaxis]
    before = E + front * (C - E) + 0.0 * radii
    above = before + taken
    bed = (1.0 - back) * (C + taken) + back * whole

    def nodes(along: Array, original: Array) -> Array:
        r, z = radii - slope * cosine * along, shape.front_mm(radii) + cosine * along
        return np.stack([r, z, (original - E) / (whole - E)])

    return nodes(above, above if cut.ablates_front else before), nodes(bed, bed)


def _length(shape: EyeShape, radii: Array, slope: Array, cosine: Array) -> Array:
    """Length of the columns [mm] from the front surface to the back one, front(r) + T(r)."""
    along = shape.thickness_mm(radii) * cosine
    for _ in range(STEPS):
        r = radii - slope * cosine * along
        gap = shape.front_mm(radii) + cosine * along - shape.front_mm(r) - shape.thickness_mm(r)
        along = along - gap / (cosine + slope * cosine * shape.slope(r))
    return along


def _numbered(layers: Sequence[Array], sliding_column: int) -> tuple[tuple[NDArray[np.intp], ...], Array]:
    """Node numbers of both layers and the nodes; the cut's are shared but before the sliding column."""
    above, below = layers
    grids = [np.arange(above[0].size).reshape(above[0].shape), np.arange(below[0].size).reshape(below[0].shape)]
    grids[1] = grids[1] + above[0].size
    shared = np.arange(above.shape[2]) >= sliding_column
    grids[0][-1, shared] = grids[1][0, shared]
    points = np.concatenate([above[:2].reshape(2, -1), below[:2].reshape(2, -1)], axis=1)
    used, new = np.unique(np.concatenate([grid.ravel() for grid in grids]), return_inverse=True)
    parts = np.split(new, [above[0].size])
    return tuple(part.reshape(grid.shape) for part, grid in zip(parts, grids, strict=True)), points[:, used]


def _elements(
    grid: NDArray[np.intp], place: Array, number: int
) -> tuple[NDArray[np.intp], Array, NDArray[np.intp], NDArray[np.intp]]:
    """Corners, original stromal fraction, layer and column of the elements of one layer."""
    row, column = np.indices((grid.shape[0] - 1, grid.shape[1] - 1)).reshape(2, -1)
    at = ((row, column), (row, column + 1), (row + 1, column + 1), (row + 1, column))
    quads = np.stack([grid[i, j] for i, j in at])
    return quads, np.stack([place[i, j] for i, j in at]), np.full(row.shape, number), column
