"""Eight-node bricks with mean dilatation, assembled and solved: plain NumPy, one pattern for all elements.

The corners are those of a cell in front, counter-clockwise, then the same behind.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csc_matrix
from scipy.sparse.linalg import SuperLU, splu

from tissue.ground.vocabulary import Array
from tissue.mechanics.laws.law import Law, Tissue

PLACE = 1.0 / np.sqrt(3.0)
CORNERS = np.array(
    [[-1, -1, -1], [1, -1, -1], [1, 1, -1], [-1, 1, -1], [-1, -1, 1], [1, -1, 1], [1, 1, 1], [-1, 1, 1]], float
)
POINTS = PLACE * CORNERS
FACE = POINTS[4:, :2]  # of the quadrature of the face behind


def shapes(points: Array) -> tuple[Array, Array]:
    """The eight functions at points of the cube, (points, 8), and their slopes, (points, 8, 3)."""
    factors = 1.0 + points[:, np.newaxis, :] * CORNERS
    slopes = np.stack(
        [CORNERS[:, i] * np.prod(np.delete(factors, i, axis=2), axis=2) for i in range(3)],
        axis=2,
    )
    return np.prod(factors, axis=2) / 8.0, slopes / 8.0


VALUES, SLOPES = shapes(POINTS)


@dataclass(frozen=True, eq=False)
class Bricks:
    """Elements of one state; no material yet.

    nodes_mm: shape (nodes, 3). corners: (elements, 8). place: original stromal fraction at the corners, (elements, 8).
    sclera: whether each element lies behind the limbus. pressed: elements whose face behind is pressed.
    free: sparse matrix from the free degrees of freedom, in the order of their elimination, to all.
    """

    nodes_mm: np.ndarray
    corners: np.ndarray
    place: np.ndarray
    sclera: np.ndarray
    pressed: np.ndarray
    free: csc_matrix

    @cached_property
    def _mapped(self) -> tuple[Array, Array]:
        """Slopes of the eight functions in space, (elements, points, 8, 3), and the volume of each point."""
        jacobian = np.einsum("pai,eaj->epij", SLOPES, self.nodes_mm[self.corners])
        inverse = np.linalg.inv(jacobian)
        return np.einsum("pai,epji->epaj", SLOPES, inverse), np.linalg.det(jacobian)

    @property
    def weight(self) -> Array:
        """Volume of each point [mm³], (elements, points)."""
        return self._mapped[1]

    @cached_property
    def points_mm(self) -> Array:
        """Places of the points [mm], (elements, points, 3)."""
        return np.einsum("pa,eaj->epj", VALUES, self.nodes_mm[self.corners])

    @cached_property
    def tissue(self) -> tuple[Tissue, Array]:
        """Tissue of the points, and the unit vector across its lamellae: ∇x, x the original fraction."""
        ends = [np.stack([POINTS[:, 0], POINTS[:, 1], z], axis=1) for z in _slices()]
        front, back = (self.place @ shapes(end)[0].T for end in ends)
        slope = np.einsum("epaj,ea->epj", self._mapped[0], self.place)
        return Tissue(front, back, self.sclera[:, np.newaxis]), slope / np.linalg.norm(slope, axis=-1, keepdims=True)

    @cached_property
    def across(self) -> Array:
        """Unit vector across the rows of the elements at the points, (elements, points, 3)."""
        along = np.einsum("pai,eaj->epij", SLOPES[..., :2], self.nodes_mm[self.corners])
        across = np.cross(along[:, :, 0], along[:, :, 1])
        return across / np.linalg.norm(across, axis=-1, keepdims=True)

    @cached_property
    def _degrees(self) -> NDArray[np.intp]:
        """Degrees of freedom of each element, (elements, 24)."""
        return (3 * self.corners[:, :, np.newaxis] + np.arange(3)).reshape(len(self.corners), 24)

    def gradients(self, displacement: Array) -> Array:
        """Displacement gradient at the points, (elements, points, 3, 3)."""
        moved = displacement.reshape(-1, 3)[self.corners]
        return np.einsum("eai,epaj->epij", moved, self._mapped[0])

    @cached_property
    def load(self) -> Array:
        """Force of a unit pressure on the pressed face, at every degree of freedom: −∫ n·N, n out of the solid."""
        values, slopes = shapes(np.concatenate([FACE, np.ones((4, 1))], axis=1))
        corners = self.corners[self.pressed][:, 4:]
        along = np.einsum("pai,eaj->epij", slopes[:, 4:, :2], self.nodes_mm[corners])
        normal = np.cross(along[:, :, 0], along[:, :, 1])
        outward = np.sign(np.sum(normal * self._behind(), axis=-1, keepdims=True))
        force = -np.einsum("pa,epj->eaj", values[:, 4:], normal * outward)
        made = np.zeros(self.nodes_mm.shape)
        np.add.at(made, corners, force)
        return made.ravel()

    def _behind(self) -> Array:
        """From front to back of the pressed elements, (elements, 1, 3)."""
        at = self.nodes_mm[self.corners[self.pressed]]
        return (at[:, 4:].mean(axis=1) - at[:, :4].mean(axis=1))[:, np.newaxis]

    def solve(self, law: Law, pressure_kPa: float) -> "Rested":
        """The elements at rest under a pressure.

        Args:
            law: a linear one; see mechanics/laws/law.py.
            pressure_kPa: on the pressed face [kPa].
        """
        tangent, bulk = self._filled(law)
        whole = self._matrix(tangent, bulk)
        factors = factored(self._reduced(whole))
        answer = self.free @ factors.solve(self.free.T @ (pressure_kPa * self.load))
        return Rested(self, answer, tangent, bulk, whole @ answer - pressure_kPa * self.load)

    def _reduced(self, whole: csc_matrix) -> csc_matrix:
        """A matrix of all degrees of freedom, reduced to the free ones."""
        return (self.free.T @ whole @ self.free).tocsc()

    def _filled(self, law: Law) -> tuple[Array, Array]:
        """Tangent and bulk of a law at the points."""
        tissue, normal = self.tissue
        tangent = law.respond(np.zeros((*self.weight.shape, 3, 3)), normal, tissue)[1]
        return tangent, np.broadcast_to(law.bulk(tissue), self.weight.shape)

    def _matrix(self, tangent: Array, bulk: Array) -> csc_matrix:
        """Sparse matrix of all elements: ∫ Bᵀ·C·B, and λ·V of the mean dilatation."""
        slopes, weight = self._mapped
        n = len(self.corners)
        rows = np.zeros((n, 8, 9, 24))
        for i in range(3):
            rows[:, :, 3 * i : 3 * i + 3, i::3] = np.swapaxes(slopes, -1, -2)
        weighted = np.matmul(tangent * weight[..., np.newaxis, np.newaxis], rows)
        blocks = np.matmul(np.swapaxes(rows.reshape(n, 72, 24), 1, 2), weighted.reshape(n, 72, 24))
        mean = self._mean_dilatation()
        stiff = np.sum(weight * bulk, axis=1)
        blocks += stiff[:, np.newaxis, np.newaxis] * mean[:, :, np.newaxis] * mean[:, np.newaxis, :]
        at = self._degrees
        row, column = np.broadcast_arrays(at[:, :, np.newaxis], at[:, np.newaxis, :])
        size = self.nodes_mm.size
        return coo_matrix((blocks.ravel(), (row.ravel(), column.ravel())), shape=(size, size)).tocsc()

    def _mean_dilatation(self) -> Array:
        """From the displacements of an element to its mean change of volume, (elements, 24)."""
        slopes, weight = self._mapped
        mean = np.einsum("epaj,ep->eaj", slopes, weight) / weight.sum(axis=1)[:, np.newaxis, np.newaxis]
        return mean.reshape(len(mean), 24)

    def dilatation(self, displacement: Array) -> Array:
        """Mean change of volume of each element."""
        return np.einsum("ei,ei->e", self._mean_dilatation(), displacement[self._degrees])


@dataclass(frozen=True, eq=False)
class Rested:
    """Bricks at rest: displacement of every degree of freedom [mm], and the forces that hold them."""

    bricks: Bricks
    displacement: np.ndarray
    tangent: np.ndarray
    bulk: np.ndarray
    reaction: np.ndarray

    @cached_property
    def strain(self) -> Array:
        """Mean in-plane strain at the points, (elements, points)."""
        return self._in_plane(self.bricks.gradients(self.displacement))

    @cached_property
    def stress_kPa(self) -> Array:
        """Mean in-plane stress at the points [kPa], (elements, points)."""
        gradient = self.bricks.gradients(self.displacement)
        flat = np.matmul(self.tangent, gradient.reshape(*gradient.shape[:2], 9, 1)).reshape(gradient.shape)
        return self._in_plane(flat) + self.bulk * self.bricks.dilatation(self.displacement)[:, np.newaxis]

    def _in_plane(self, tensor: Array) -> Array:
        """Mean over the directions of the rows: (trace minus the component across)/2."""
        across = self.bricks.across
        through = np.einsum("epi,epij,epj->ep", across, tensor, across)
        return (np.trace(tensor, axis1=-2, axis2=-1) - through) / 2.0


def factored(matrix: csc_matrix) -> SuperLU:
    """Factors of a symmetric matrix whose rows stand in the order of their elimination."""
    return splu(matrix, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


def _slices() -> tuple[Array, Array]:
    """Front and back ends, across an element, of what each point stands for."""
    middle = np.where(POINTS[:, 2] < 0.0, 0.0, 1.0)
    return middle - 1.0, middle
