"""A solid of quadrilaterals the same all round its axis: elements, supports, pressed and sliding faces; no material."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import block_diag, coo_matrix, csc_matrix, identity
from skfem import Basis, ElementQuad1, ElementQuad2, ElementVector, FacetBasis, MeshQuad

from tissue.ground.vocabulary import Array

ORDER = 4  # of the quadrature: three by three Gauss points in an element
PLACES = np.array([0, 1, 3, 4, 8])  # of ∂u_r/∂r, ∂u_r/∂z, ∂u_z/∂r, ∂u_z/∂z, u_r/r among the nine of a gradient


@dataclass(frozen=True, eq=False)
class Solid:
    """Elements, quadrature, supports and the pressed face.

    displacement, pressure: bases of quadratic displacement and linear pressure. face: quadrature of the pressed face.
    held: held degrees of freedom. ties: from free to all degrees of the displacement.
    """

    displacement: Basis
    pressure: Basis
    face: FacetBasis
    held: np.ndarray
    ties: csc_matrix

    @property
    def size(self) -> tuple[int, int]:
        """Degrees of freedom of displacement and of pressure."""
        return self.displacement.N, self.pressure.N

    @cached_property
    def weight(self) -> Array:
        """Volume of each point per radian [mm³], shape (elements, points)."""
        return self.displacement.dx * np.asarray(self.displacement.global_coordinates())[0]

    @cached_property
    def gradients(self) -> Array:
        """From the displacements of an element to the five components at its points, (elements, points, 5, 18)."""
        return _gradients(self.displacement)

    @cached_property
    def pressures(self) -> Array:
        """From the pressures of an element to that at its points, (elements, points, 4)."""
        return _values(self.pressure)

    @cached_property
    def on_face(self) -> tuple[Array, Array, Array, Array]:
        """Of the pressed face: gradients, displacements (facets, points, 2, 18), normal (…, 2) and area per radian."""
        area = self.face.dx * np.asarray(self.face.global_coordinates())[0]
        return _gradients(self.face), _values(self.face), np.moveaxis(np.asarray(self.face.normals), 0, -1), area

    @cached_property
    def degrees(self) -> NDArray[np.int64]:
        """Degrees of freedom of each element, displacement then pressure, (elements, 22)."""
        both = np.concatenate([self.displacement.element_dofs, self.pressure.element_dofs + self.displacement.N])
        return both.T.astype(np.int64)

    @cached_property
    def face_degrees(self) -> NDArray[np.int64]:
        """Degrees of freedom of each pressed facet, (facets, 18)."""
        return self.displacement.element_dofs[:, self.face.tind].T.astype(np.int64)

    @cached_property
    def spread(self) -> csc_matrix:
        """Sparse matrix from the free degrees of freedom to all."""
        moving, still = self.size
        whole = block_diag([self.ties, identity(still)], format="csc")
        return whole[:, np.setdiff1d(np.arange(moving + still), self.held)]

    def matrix(self, blocks: Array, face_blocks: Array) -> csc_matrix:
        """Sparse matrix of the blocks of every element (elements, 22, 22) and of every pressed facet."""
        place, rows, starts = self._pattern
        values = np.bincount(place, np.concatenate([blocks.ravel(), face_blocks.ravel()]), len(rows))
        return csc_matrix((values, rows, starts), shape=(sum(self.size),) * 2)

    @cached_property
    def _pattern(self) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
        """Place of every entry of the blocks in the matrix; row of each place, and where each column starts."""
        size = sum(self.size)
        parts = self.degrees, self.face_degrees
        found, place = np.unique(
            np.concatenate([(d[:, np.newaxis, :] * size + d[:, :, np.newaxis]).ravel() for d in parts]),
            return_inverse=True,
        )
        columns, rows = np.divmod(found, size)
        return place, rows, np.searchsorted(columns, np.arange(size + 1))

    def vector(self, blocks: Array, face_blocks: Array) -> Array:
        """Vector of the blocks of every element (elements, 22) and of every pressed facet."""
        own = np.bincount(self.degrees.ravel(), blocks.ravel(), sum(self.size))
        pressed = np.bincount(self.face_degrees.ravel(), face_blocks.ravel(), sum(self.size))
        return np.asarray(own + pressed, dtype=float)


def solid(
    points_mm: Array,
    quads: NDArray[np.int_],
    pressed: NDArray[np.int_],
    axis: NDArray[np.int_],
    *,
    held_z: Sequence[int] | NDArray[np.int_] = (),
    held: Sequence[int] | NDArray[np.int_] = (),
    seams: dict[str, NDArray[np.int_]] | None = None,
    tied: Sequence[str] = (),
) -> Solid:
    """Solid of a mesh of quadrilaterals.

    Args:
        points_mm: r and z of the nodes [mm], shape (2, nodes).
        quads: corners of the elements, shape (4, elements).
        pressed, axis, held_z, held: nodes of the pressed face; on the axis; free only in r; fixed.
        seams: {name: nodes of two faces that slide on each other, from the axis to the node they share, (2, n)}.
        tied: names of the seams that do not slide: a node moves to where its fellow moves.
    """
    mesh = MeshQuad(np.ascontiguousarray(points_mm), np.ascontiguousarray(quads), sort_t=False)
    displacement = Basis(mesh, ElementVector(ElementQuad2()), intorder=ORDER)
    fixed = [
        _degrees(displacement, _facets(mesh, axis), "u^1"),
        _degrees(displacement, _facets(mesh, held_z), "u^2"),
        _degrees(displacement, _facets(mesh, held), "u^1"),
        _degrees(displacement, _facets(mesh, held), "u^2"),
    ]
    free, idle = ties(displacement, seams or {}, tied)
    return Solid(
        displacement=displacement,
        pressure=displacement.with_element(ElementQuad1()),
        face=FacetBasis(mesh, displacement.elem, facets=_facets(mesh, pressed), intorder=ORDER),
        held=np.unique(np.concatenate([*fixed, idle])).astype(int),
        ties=free,
    )


def _gradients(basis: Basis | FacetBasis) -> Array:
    """The five components of the gradient that each displacement of an element gives at its points."""
    r = np.asarray(basis.global_coordinates())[0]
    made = np.empty((*r.shape, 5, len(basis.basis)))
    for i, (function,) in enumerate(basis.basis):
        made[..., :4, i] = np.moveaxis(function.grad.reshape(4, *function.grad.shape[2:]), 0, -1)
        made[..., 4, i] = np.asarray(function)[0] / r
    return made


def _values(basis: Basis | FacetBasis) -> Array:
    """The values that each degree of freedom of an element gives at its points, last axis the degrees."""
    shape = basis.dx.shape
    each = [np.asarray(function) for (function,) in basis.basis]
    whole = np.stack([np.broadcast_to(one, (*one.shape[: one.ndim - 2], *shape)) for one in each], axis=-1)
    return whole if whole.ndim == 3 else np.moveaxis(whole, 0, -2)


def _facets(mesh: MeshQuad, nodes: ArrayLike) -> NDArray[np.intp]:
    """Facets whose two nodes are both in a set."""
    marked = np.zeros(mesh.p.shape[1], bool)
    marked[np.asarray(nodes, int)] = True
    return np.flatnonzero(marked[mesh.facets].all(axis=0))


def _degrees(basis: Basis, facets: NDArray[np.intp], name: str) -> NDArray[np.intp]:
    """Degrees of freedom of one component on facets."""
    return basis.get_dofs(facets).all([name]) if len(facets) else np.zeros(0, int)


def ties(
    basis: Basis, seams: dict[str, NDArray[np.int_]], tied: Sequence[str] = ()
) -> tuple[csc_matrix, NDArray[np.int_]]:
    """Matrix from free to all degrees of freedom of the displacement, and those it leaves idle.

    A node of the upper face moves as the node of the lower face under it, and by a slip s along the face: u + s·t.

    Args:
        basis: quadratic displacement.
        seams: {name: nodes of both faces from the axis to the node they share, (2, n)}.
        tied: names of the seams without a slip.
    """
    if not seams:
        return identity(basis.N, format="csr"), np.zeros(0, int)
    pairs = {name: _pairs(basis, *seam) for name, seam in seams.items()}
    upper, lower, tangent = (np.concatenate(part, axis=1) for part in zip(*pairs.values(), strict=True))
    slip, idle = upper
    own = np.setdiff1d(np.arange(basis.N), upper)
    one = np.ones(len(slip))
    rows = np.concatenate([own, slip, idle, slip, idle])
    columns = np.concatenate([own, lower[0], lower[1], slip, slip])
    values = np.concatenate([np.ones(len(own)), one, one, tangent[0], tangent[1]])
    matrix = coo_matrix((values, (rows, columns)), shape=(basis.N, basis.N)).tocsr()
    return matrix, np.concatenate([idle, *(pairs[name][0][0] for name in tied)])


def _pairs(
    basis: Basis, upper: NDArray[np.intp], lower: NDArray[np.intp]
) -> tuple[NDArray[np.intp], NDArray[np.intp], Array]:
    """Degrees of freedom (r, z) of the upper and the lower face, nodes then mid-sides, and the tangents there."""
    step = np.diff(basis.mesh.p[:, lower], axis=1)
    side = step / np.hypot(*step)
    node = np.concatenate([[[1.0], [0.0]], side[:, :-1] + side[:, 1:]], axis=1)
    tangent = np.concatenate([node / np.hypot(*node), side], axis=1)
    return _degrees_of_chain(basis, upper), _degrees_of_chain(basis, lower), tangent


def _degrees_of_chain(basis: Basis, chain: NDArray[np.intp]) -> NDArray[np.intp]:
    """Degrees of freedom (r, z) of the nodes of a chain but its last, then of the mid-sides."""
    mesh = basis.mesh
    code = mesh.facets.min(axis=0) * mesh.p.shape[1] + mesh.facets.max(axis=0)
    order = np.argsort(code)
    ends = np.sort(np.stack([chain[:-1], chain[1:]]), axis=0)
    sides = order[np.searchsorted(code, ends[0] * mesh.p.shape[1] + ends[1], sorter=order)]
    return np.concatenate([basis.nodal_dofs[:, chain[:-1]], basis.facet_dofs[:, sides]], axis=1)
