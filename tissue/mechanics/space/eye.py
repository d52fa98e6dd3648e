"""The eye of a plan as bricks: nodes along the front normals, cuts, hinge, incision and the shell behind the limbus.

Node `column·ROWS + row`: row 0 in front of the stroma, row 1 at the cut, the last at the back; nodes that are there
twice, on both sides of a cut, stand after all of them.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csc_matrix

from tissue.eye.cornea import Cornea
from tissue.ground.vocabulary import Array
from tissue.mechanics.mesh import LEAST_BED_MM, STEPS, NoBed, shell_nodes
from tissue.mechanics.shape import Setting
from tissue.mechanics.space.bricks import Bricks
from tissue.mechanics.space.columns import Columns, Fineness, columns_of_eye, dissected

BACK_ROWS = 3
ROWS = BACK_ROWS + 2  # of nodes


@dataclass(frozen=True, eq=False)
class CutDisc:
    """A cut seen from the front: its depth, centre and radius [mm]."""

    depth_mm: float
    x_mm: float
    y_mm: float
    radius_mm: float


@dataclass(frozen=True, eq=False)
class State:
    """What was done to an eye.

    taken_um: function of x and y from the vertex [mm] to the tissue taken [µm]. ablates_front: from the front, not
    from behind the cut. cap: `tied`, `sliding` or `gone`. opening: middle and half of the arc that the incision opens
    [radians], None where it is shut. stays: function of x and y [mm] to whether a cap that is gone is still there,
    None where none of it is.
    """

    taken_um: Callable | None = None
    ablates_front: bool = False
    cap: str = "tied"
    opening: tuple[float, float] | None = None
    stays: Callable | None = None


@dataclass(frozen=True, eq=False)
class EyeInSpace:
    """An eye divided for one cut, ready for every state that the cut belongs to."""

    cornea: Cornea
    cut: CutDisc
    grid: Columns
    setting: Setting

    def bricks(self, state: State) -> Bricks:
        """Bricks of one state.

        Raises:
            NoBed: nothing is left behind the cut.
        """
        nodes, above, below = self._nodes(state)
        layers, twice = self._layers(state)
        kept = self._kept(state)
        front = np.concatenate([above[self.grid.cells, row] for row in (0, 1)], axis=1)[kept]
        behind = [below[self.grid.cells, k] for k in range(ROWS - 1)]
        places = [front, *(np.concatenate(pair, axis=1) for pair in zip(behind[:-1], behind[1:], strict=True))]
        corners = np.concatenate([layers[0][kept], *layers[1:]])
        sclera = np.concatenate([self.grid.sclera[kept], *[self.grid.sclera] * BACK_ROWS])
        pressed = np.arange(len(corners) - len(self.grid.cells), len(corners))
        nodes = np.concatenate([nodes, nodes[twice]])
        free = self._free(corners, nodes, twice, state)
        return Bricks(nodes, corners, np.concatenate(places), sclera, pressed, free)

    # --- nodes ---

    def _nodes(self, state: State) -> tuple[Array, Array, Array]:
        """Places of the nodes [mm], and the original stromal fraction at both faces of every row, (columns, rows)."""
        x, y = self.grid.x_mm, self.grid.y_mm
        r = np.hypot(x, y)
        slope = r / np.sqrt(self.cornea.radius_mm**2 - (1.0 + self.cornea.asphericity) * r**2)
        cosine = 1.0 / np.hypot(1.0, slope)
        whole = _lengths(self.cornea, x, y, slope, cosine)
        E, C = float(self.cornea.epithelium_um) / 1000.0, self.cut.depth_mm
        taken = self._taken(state) * cosine
        if not np.min(whole - C - taken) > LEAST_BED_MM:
            raise NoBed("bed", f"{1000.0 * np.min(whole - C - taken):.0f} µm", "some stroma behind the cut")
        before = np.stack([np.full_like(r, E), np.full_like(r, C)], axis=1)
        share = np.linspace(0.0, 1.0, BACK_ROWS + 1)
        bed = (1.0 - share) * (C + taken)[:, np.newaxis] + share * whole[:, np.newaxis]
        along = np.concatenate([before[:, :1] + taken[:, np.newaxis], bed], axis=1)
        stroma = (whole - E)[:, np.newaxis]
        above = ((before + taken[:, np.newaxis] if state.ablates_front else before) - E) / stroma
        flat = r[:, np.newaxis] - (slope * cosine)[:, np.newaxis] * along
        z = np.asarray(self.cornea.front_mm(x, y))[:, np.newaxis] + cosine[:, np.newaxis] * along
        return self._with_shell(flat, z, above, (bed - E) / stroma)

    def _taken(self, state: State) -> Array:
        """Tissue taken at the corneal columns [mm]; behind a cut only as far as the cut reaches."""
        x, y = self.grid.x_mm, self.grid.y_mm
        if state.taken_um is None:
            return np.zeros_like(x)
        taken = np.asarray(state.taken_um(x, y), float) / 1000.0
        within = np.hypot(x - self.cut.x_mm, y - self.cut.y_mm) <= self.cut.radius_mm + 1e-9
        return taken if state.ablates_front else np.where(within, taken, 0.0)

    def _with_shell(self, flat: Array, z: Array, above: Array, below: Array) -> tuple[Array, Array, Array]:
        """Nodes and fractions of cornea and shell from distance to the axis and depth of the corneal nodes.

        The shell widens to a polygon of the equator's own area, so that the pressure meets what it meets in the eye.
        """
        spokes = self.grid.spokes
        x, y = self.grid.x_mm, self.grid.y_mm
        turn = np.arctan2(y, x)
        turns = [np.repeat(turn, ROWS)]
        distance, depth, fractions = [flat], [z], [(above, below)]
        shells = [_shell(flat[c], z[c], above[c], below[c], self.setting) for c in spokes]
        for ring in range(self.grid.shell_rings):
            made = np.stack([one[:, :, ring] for one in shells])  # spokes, (r, z, fraction), rows
            share = (ring + 1.0) / self.grid.shell_rings
            distance.append(made[:, 0] * (1.0 + share * (self.grid.wider - 1.0)))
            depth.append(made[:, 1])
            fractions.append((made[:, 2, :2], made[:, 2, 1:]))
            turns.append(np.repeat(turn[spokes], ROWS))
        out, turn = np.concatenate(distance).ravel(), np.concatenate(turns)
        nodes = np.stack([out * np.cos(turn), out * np.sin(turn), np.concatenate(depth).ravel()], axis=1)
        above, below = (np.concatenate(part) for part in zip(*fractions, strict=True))
        return nodes, above, below

    # --- elements ---

    def _layers(self, state: State) -> tuple[list[NDArray[np.intp]], NDArray[np.intp]]:
        """Corners of the elements of every layer, and the nodes that exist twice."""
        cells = self.grid.cells * ROWS
        layers = [np.concatenate([cells + k, cells + k + 1], axis=1) for k in range(ROWS - 1)]
        twice = self._twice(state)
        new = np.arange(self.grid.size * ROWS + len(twice))
        new[twice] = self.grid.size * ROWS + np.arange(len(twice))
        layers[0][self.grid.inside] = new[layers[0][self.grid.inside]]
        return layers, twice

    def _twice(self, state: State) -> NDArray[np.intp]:
        """Nodes on both sides of the incision, and of a cut whose faces slide."""
        opened = self._opened(state)
        slid = np.concatenate([np.flatnonzero(self.grid.within), opened]) if state.cap == "sliding" else opened[:0]
        return np.concatenate([opened * ROWS, slid * ROWS + 1]).astype(int)

    def _opened(self, state: State) -> NDArray[np.intp]:
        """Columns on the edge of the cut that the incision opens."""
        rim = self.grid.rim
        if state.opening is None or state.cap == "gone":
            return rim[:0]
        angle = np.arctan2(self.grid.y_mm[rim] - self.cut.y_mm, self.grid.x_mm[rim] - self.cut.x_mm)
        middle, half = state.opening
        return rim[np.abs(np.angle(np.exp(1j * (angle - middle)))) <= half + 1e-9]

    def _kept(self, state: State) -> NDArray[np.bool_]:
        """Which cells of the layer in front still exist."""
        if state.cap != "gone":
            return np.ones(len(self.grid.cells), bool)
        corneal = np.minimum(self.grid.cells, self.grid.corneal - 1)
        x, y = (axis[corneal].mean(axis=1) for axis in (self.grid.x_mm, self.grid.y_mm))
        stays = np.zeros(len(x), bool) if state.stays is None else state.stays(x, y)
        return ~self.grid.inside | stays

    # --- supports ---

    def _free(self, corners: NDArray[np.intp], nodes: Array, twice: NDArray[np.intp], state: State) -> csc_matrix:
        """Matrix from the free degrees of freedom, in the order of their elimination, to all."""
        old = self.grid.size * ROWS
        column = np.concatenate([np.arange(old), twice]) // ROWS
        order = np.lexsort([np.arange(len(nodes)), self._rank[column]])
        free = np.zeros((len(nodes), 3), bool)
        free[np.unique(corners)] = True
        self._hold(free)
        tied = old + np.flatnonzero(twice % ROWS == 1)
        free[tied, 2] = False  # two slips stand for the three
        number = np.full(free.shape, -1)
        number[order] = np.where(free[order], np.cumsum(free[order]).reshape(-1, 3) - 1, -1)
        parts = (
            [(np.flatnonzero(free), number[free], np.ones(free.sum()))]
            if not len(tied)
            else _slipping(free, number, tied, twice[tied - old], nodes)
        )
        rows, columns_, values = (np.concatenate(part) for part in zip(*parts, strict=True))
        return coo_matrix((values, (rows, columns_)), shape=(nodes.size, int(free.sum()))).tocsc()

    def _hold(self, free: NDArray[np.bool_]) -> None:
        """The equator rolls in its plane; three more supports keep the eye from drifting and turning."""
        first = (self.grid.size - len(self.grid.spokes)) * ROWS
        free[first : self.grid.size * ROWS, 2] = False
        angle = 2.0 * np.pi * (np.arange(len(self.grid.spokes)) / len(self.grid.spokes) - 3.0 / 8.0)
        for turn, axis in ((0.0, 1), (np.pi, 1), (np.pi / 2.0, 0)):
            nearest = int(np.argmin(np.abs(np.angle(np.exp(1j * (angle - turn))))))
            free[first + nearest * ROWS, axis] = False

    @cached_property
    def _rank(self) -> NDArray[np.intp]:
        """Place of every column in the order of elimination."""
        x, y = self.grid.x_mm, self.grid.y_mm
        spokes = np.stack([x, y], axis=1)[self.grid.spokes]
        shell = [spokes * (1.0 + 0.2 * ring) for ring in range(1, self.grid.shell_rings + 1)]
        order = dissected(np.concatenate([np.stack([x, y], axis=1), *shell]), self.grid.cells)
        rank = np.empty(self.grid.size, int)
        rank[order] = np.arange(self.grid.size)
        return rank


def eye_in_space(cornea: Cornea, cut: CutDisc, setting: Setting, fine: Fineness) -> EyeInSpace:
    """An eye divided for one cut.

    Args:
        cornea: Cornea of one eye.
        cut: CutDisc.
        setting: Setting; its element size is not used.
        fine: Fineness.
    """
    coarser = replace(setting, size_mm=fine.shell_mm)
    limbus = np.array([setting.limbus_mm])
    slope = limbus / np.sqrt(cornea.radius_mm**2 - (1.0 + cornea.asphericity) * limbus**2)
    place = np.linspace(0.0, 1.0, ROWS)
    trial = _shell(limbus[0] - 0.3 * slope[0] * place, place, place[:2], place[1:], coarser)
    grid = columns_of_eye((cut.x_mm, cut.y_mm), cut.radius_mm, setting.limbus_mm, fine, trial.shape[2])
    return EyeInSpace(cornea, cut, grid, coarser)


def _lengths(cornea: Cornea, x: Array, y: Array, slope: Array, cosine: Array) -> Array:
    """Length of the columns [mm] from the front surface to the back one, front + T(x, y)."""
    r = np.maximum(np.hypot(x, y), 1e-12)
    whole = cornea.thickness_um(x, y) / 1000.0 * cosine
    for _ in range(STEPS):
        inward = 1.0 - slope * cosine * whole / r
        reached = cornea.front_mm(x * inward, y * inward) + cornea.thickness_um(x * inward, y * inward) / 1000.0
        gap = cornea.front_mm(x, y) + cosine * whole - reached
        whole = whole - gap / np.hypot(1.0, slope)
    return whole


def _shell(r: Array, z: Array, above: Array, below: Array, setting: Setting) -> Array:
    """Nodes of the shell behind one column of the limbus: (r, z, original fraction), shape (3, rows, rings)."""
    layers = (np.stack([r[:2], z[:2], above]), np.stack([r[1:], z[1:], below]))
    front, back = shell_nodes([layer[:, :, np.newaxis] for layer in layers], setting)
    return np.concatenate([front[:, :1, 1:], back[:, :, 1:]], axis=1)


def _slipping(
    free: NDArray[np.bool_], number: NDArray[np.intp], tied: NDArray[np.intp], under: NDArray[np.intp], nodes: Array
) -> list[tuple[NDArray[np.intp], NDArray[np.intp], Array]]:
    """Entries of the matrix from free to all degrees, where nodes slip along the face of those under them."""
    plain = free.copy()
    plain[tied] = False
    across = nodes[under + 1] - nodes[under]
    normal = across / np.linalg.norm(across, axis=1, keepdims=True)
    one = np.cross(normal, np.where(np.abs(normal[:, :1]) < 0.9, [[1.0, 0.0, 0.0]], [[0.0, 1.0, 0.0]]))
    one /= np.linalg.norm(one, axis=1, keepdims=True)
    two = np.cross(normal, one)
    parts = [(np.flatnonzero(plain), number[plain], np.ones(plain.sum()))]
    for i in range(3):
        rows = 3 * tied + i
        parts += [(rows, number[tied, k], slip[:, i]) for k, slip in enumerate((one, two))]
        parts += [(rows, number[under, j], normal[:, i] * normal[:, j]) for j in range(3)]
    return parts
