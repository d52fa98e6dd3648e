"""Displacement and stress of an axisymmetric solid under inner pressure, by finite elements."""

from dataclasses import dataclass

import numpy as np
from scipy.sparse import bmat, identity
from scipy.sparse.linalg import splu
from skfem import Basis, ElementQuad1, ElementQuad2, ElementVector, FacetBasis, MeshQuad

from tissue.mechanics.forms import bulk, inner_pressure, shear, volume
from tissue.mechanics.ties import ties

ORDER = 4  # of the quadrature: three by three Gauss points in an element


@dataclass(frozen=True, eq=False)
class Solid:
    """Elements, quadrature and what holds and presses them; no material yet.

    displacement, pressure: bases of quadratic displacement and linear pressure. coupling: ∫ q div u.
    load: of unit pressure. held: held degrees of freedom. ties: from free to all degrees of displacement.
    """

    displacement: Basis
    pressure: Basis
    coupling: object
    load: np.ndarray
    held: np.ndarray
    ties: object


@dataclass(frozen=True, eq=False)
class Field:
    """Displacement, and stress and strain at the quadrature points, shape (elements, points).

    meridional and hoop: in the surface, along a meridian and around the axis. weight: volume of each point.
    reaction: forces of the supports at every degree of freedom of the displacement, per radian.
    """

    solid: Solid
    displacement: np.ndarray
    r_mm: np.ndarray
    weight: np.ndarray
    meridional_kPa: np.ndarray
    hoop_kPa: np.ndarray
    meridional_strain: np.ndarray
    hoop_strain: np.ndarray
    reaction: np.ndarray

    @property
    def stress_kPa(self):
        """In-plane stress [kPa]: (meridional + hoop)/2."""
        return (self.meridional_kPa + self.hoop_kPa) / 2.0

    @property
    def strain(self):
        """In-plane strain [–]: (meridional + hoop)/2."""
        return (self.meridional_strain + self.hoop_strain) / 2.0


def solid(points_mm, quads, pressed, axis, held_z=(), held=(), seams=()):
    """Solid of a mesh of quadrilaterals.

    Args:
        points_mm: r and z of the nodes [mm], shape (2, nodes).
        quads: corners of the elements, shape (4, elements).
        pressed, axis, held_z, held: nodes of the pressed face, on the axis, free only to move in r, not free at all.
        seams: nodes of two faces that slide on each other, from the axis to the node they share, each (2, n).
    """
    mesh = MeshQuad(np.ascontiguousarray(points_mm), np.ascontiguousarray(quads), sort_t=False)
    displacement = Basis(mesh, ElementVector(ElementQuad2()), intorder=ORDER)
    pressure = displacement.with_element(ElementQuad1())
    face = FacetBasis(mesh, displacement.elem, facets=_facets(mesh, pressed), intorder=ORDER)
    fixed = [
        _degrees(displacement, _facets(mesh, axis), "u^1"),
        _degrees(displacement, _facets(mesh, held_z), "u^2"),
        _degrees(displacement, _facets(mesh, held), "u^1"),
        _degrees(displacement, _facets(mesh, held), "u^2"),
    ]
    tied, idle = ties(displacement, seams)
    return Solid(
        displacement=displacement,
        pressure=pressure,
        coupling=volume.assemble(displacement, pressure),
        load=inner_pressure.assemble(face, P=1.0),
        held=np.unique(np.concatenate([*fixed, idle])).astype(int),
        ties=tied,
    )


def solve(body, modulus_kPa, poisson, pressure_kPa):
    """Field of a Solid whose modulus is given at every quadrature point.

    [A Bᵀ; B −C](u; p) = (f; 0)

    Args:
        body: Solid.
        modulus_kPa: shape (elements, points) or (elements, 1) [kPa].
        poisson: below 0.5 [–].
        pressure_kPa: on the pressed face [kPa].
    """
    mu = modulus_kPa / (2.0 * (1.0 + poisson)) + np.zeros(body.displacement.dx.shape)
    lam = 2.0 * mu * poisson / (1.0 - 2.0 * poisson)
    A = shear.assemble(body.displacement, mu=mu)
    C = bulk.assemble(body.pressure, lam=lam)
    whole = bmat([[A, body.coupling.T], [body.coupling, C]], format="csr")
    load = np.concatenate([pressure_kPa * body.load, np.zeros(C.shape[0])])
    answer = _solved(whole, load, body)
    reaction = (whole @ answer - load)[: A.shape[0]]
    return field_of(body, answer[: A.shape[0]], answer[A.shape[0] :], mu, reaction)


def _solved(whole, load, body):
    """Solution with the supports held and the ties kept, refined once so that scale leaves no trace."""
    spread = bmat([[body.ties, None], [None, identity(body.coupling.shape[0])]], format="csr")
    free = np.setdiff1d(np.arange(whole.shape[0]), body.held)
    spread = spread[:, free]
    reduced = (spread.T @ whole @ spread).tocsc()
    factors, force = splu(reduced, permc_spec="COLAMD"), spread.T @ load
    answer = factors.solve(force)
    return spread @ (answer + factors.solve(force - reduced @ answer))


def field_of(body, u, p, mu, reaction):
    """Field of a displacement [mm], a pressure in the solid [kPa] and the shear modulus [kPa] they go with."""
    basis = body.displacement
    at = basis.interpolate(u)
    q = np.asarray(body.pressure.interpolate(p))
    r = np.asarray(basis.global_coordinates())[0]
    gradient = at.grad
    radial, axial = gradient[0, 0], gradient[1, 1]
    across = (gradient[0, 1] + gradient[1, 0]) / 2.0
    tr, tz = _along(basis)
    meridional = radial * tr**2 + axial * tz**2 + 2.0 * across * tr * tz
    hoop = np.asarray(at)[0] / r
    return Field(
        solid=body,
        displacement=u,
        r_mm=r,
        weight=basis.dx * r,
        meridional_kPa=2.0 * mu * meridional - q,
        hoop_kPa=2.0 * mu * hoop - q,
        meridional_strain=meridional,
        hoop_strain=hoop,
        reaction=reaction,
    )


def _along(basis):
    """Unit vector along the rows of the elements at the quadrature points."""
    corners = basis.mesh.p[:, basis.mesh.t]
    y = basis.X[1]
    front, back = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 3]
    along = front[..., np.newaxis] * (1.0 - y) + back[..., np.newaxis] * y
    return along / np.hypot(*along)


def _facets(mesh, nodes):
    """Facets whose two nodes are both in a set."""
    marked = np.zeros(mesh.p.shape[1], bool)
    marked[np.asarray(nodes, int)] = True
    return np.flatnonzero(marked[mesh.facets].all(axis=0))


def _degrees(basis, facets, name):
    """Degrees of freedom of one component on facets."""
    return basis.get_dofs(facets).all([name]) if len(facets) else np.zeros(0, int)
