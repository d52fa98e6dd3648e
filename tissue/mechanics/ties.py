"""Two faces that slide on each other: one displacement along the normal, two along the face."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csc_matrix, identity
from skfem import Basis


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


def _pairs(basis, upper, lower):
    """Degrees of freedom (r, z) of the upper and the lower face, nodes then mid-sides, and the tangents there."""
    step = np.diff(basis.mesh.p[:, lower], axis=1)
    side = step / np.hypot(*step)
    node = np.concatenate([[[1.0], [0.0]], side[:, :-1] + side[:, 1:]], axis=1)
    tangent = np.concatenate([node / np.hypot(*node), side], axis=1)
    return _degrees(basis, upper), _degrees(basis, lower), tangent


def _degrees(basis, chain):
    """Degrees of freedom (r, z) of the nodes of a chain but its last, then of the mid-sides."""
    mesh = basis.mesh
    code = mesh.facets.min(axis=0) * mesh.p.shape[1] + mesh.facets.max(axis=0)
    order = np.argsort(code)
    ends = np.sort(np.stack([chain[:-1], chain[1:]]), axis=0)
    sides = order[np.searchsorted(code, ends[0] * mesh.p.shape[1] + ends[1], sorter=order)]
    return np.concatenate([basis.nodal_dofs[:, chain[:-1]], basis.facet_dofs[:, sides]], axis=1)
