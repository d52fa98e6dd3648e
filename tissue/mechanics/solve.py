"""Displacement and stress of a Solid under inner pressure: Newton's method, one step where the law is linear.

The gradient has its five components last: ∂u_r/∂r, ∂u_r/∂z, ∂u_z/∂r, ∂u_z/∂z, u_r/r.
"""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import splu
from skfem import Basis

from tissue.ground.vocabulary import Array
from tissue.mechanics.laws.law import Law, Tissue
from tissue.mechanics.solid import PLACES, Solid

UNIT = np.array([1.0, 0.0, 0.0, 1.0, 1.0])
MOST_STEPS = 40
HALVINGS = 10  # halvings of a step that makes the balance worse
SMALL = 1e-9  # at rest the force out of balance is less than this share of the load


def small(gradient: Array) -> tuple[Array, Array, Array]:
    """J − 1, cof F and its change by F to first order: tr ε, 1 and 0."""
    size = gradient.shape[:-1]
    return gradient @ UNIT, np.broadcast_to(UNIT, gradient.shape), np.zeros((*size, 5, 5))


def large(gradient: Array) -> tuple[Array, Array, Array]:
    """J − 1, cof F = ∂J/∂F, (…, 5), and ∂cof F/∂F, (…, 5, 5), with J = F_θ·(F_rr·F_zz − F_rz·F_zr)."""
    rr, rz, zr, zz, around = np.moveaxis(gradient + UNIT, -1, 0)
    area = rr * zz - rz * zr
    cofactor = np.stack([zz * around, -zr * around, -rz * around, rr * around, area], axis=-1)
    change = np.zeros((*gradient.shape, 5))
    for (i, j), value in {(0, 3): around, (1, 2): -around, (0, 4): zz, (1, 4): -zr, (2, 4): -rz, (3, 4): rr}.items():
        change[..., i, j] = change[..., j, i] = value
    return around * area - 1.0, cofactor, change


class NoEquilibrium(Exception):
    """Newton's method found no state of rest of the solid."""


@dataclass(frozen=True, eq=False)
class Material:
    """What fills a Solid at its quadrature points.

    law: see mechanics/laws/law.py. tissue: Tissue. normal: across the lamellae, (elements, points, 3).
    carried: share of the stiffness that is kept, (elements, 1).
    """

    law: Law
    tissue: Tissue
    normal: np.ndarray
    carried: np.ndarray

    def respond(self, gradient: Array) -> tuple[Array, Array]:
        """Stress (…, 3, 3) and tangent (…, 5, 5) without the volume part [kPa]."""
        stress, tangent = self.law.respond(gradient, self.normal, self.tissue)
        kept = self.carried[..., np.newaxis, np.newaxis]
        return stress * kept, tangent[..., PLACES[:, np.newaxis], PLACES] * kept

    @cached_property
    def bulk(self) -> Array:
        """Stiffness against a change of volume [kPa]."""
        return self.law.bulk(self.tissue) * self.carried


@dataclass(frozen=True, eq=False)
class Field:
    """Displacement, and stress and strain at the quadrature points, shape (elements, points).

    meridional and hoop: in the surface, along a meridian and around the axis. weight: volume of each point.
    reaction: forces of the supports at every degree of freedom of the displacement, per radian. steps: of Newton.
    """

    solid: Solid
    displacement: np.ndarray
    weight: np.ndarray
    meridional_kPa: np.ndarray
    hoop_kPa: np.ndarray
    meridional_strain: np.ndarray
    hoop_strain: np.ndarray
    reaction: np.ndarray
    steps: int

    @property
    def stress_kPa(self) -> Array:
        """In-plane stress [kPa]: (meridional + hoop)/2."""
        return (self.meridional_kPa + self.hoop_kPa) / 2.0

    @property
    def strain(self) -> Array:
        """In-plane strain [–]: (meridional + hoop)/2."""
        return (self.meridional_strain + self.hoop_strain) / 2.0


def solve(body: Solid, material: Material, pressure_kPa: float, start: Array | None = None) -> Field:
    """Field of a Solid at rest under a pressure that follows its pressed face.

    ∫ (P̄ − p·cof F):∇v = −∫ pressure·cof F·N·v on the face, ∫ (J − 1 + p/K)·q = 0; F = 1 where the law is linear

    Args:
        body: Solid.
        material: Material.
        pressure_kPa: on the pressed face [kPa].
        start: displacement of all degrees [mm] that Newton's method starts from; none where None.

    Raises:
        NoEquilibrium: Newton's method came to no rest.
    """
    problem = _Problem(body, material, pressure_kPa)
    answer = np.zeros(sum(body.size))
    if start is not None:
        answer[: len(start)] = start
    now, steps = problem.at(answer), 0
    goal = SMALL * problem.scale
    while True:
        now, steps = problem.nearer(now), steps + 1
        if material.law.linear or now.out_of_balance <= goal:
            return _field(body, now, steps, material.law.linear)
        if steps == MOST_STEPS:
            raise NoEquilibrium


@dataclass(frozen=True, eq=False)
class _Moved:
    """A Solid at one answer: displacements and pressures, what they make at the points, and forces out of balance."""

    answer: np.ndarray
    gradient: np.ndarray
    pressure: np.ndarray
    stress: np.ndarray
    tangent: np.ndarray
    turned: tuple[np.ndarray, ...]
    force: np.ndarray
    out_of_balance: float


@dataclass(frozen=True, eq=False)
class _Problem:
    """A filled Solid under a pressure on its face."""

    body: Solid
    material: Material
    pressure_kPa: float

    @property
    def _volume(self) -> Callable[[Array], tuple[Array, Array, Array]]:
        return small if self.material.law.linear else large

    @cached_property
    def scale(self) -> float:
        """Size of the load, with which forces out of balance are compared."""
        nothing = np.zeros(sum(self.body.size))
        return self._left(self.body.vector(np.zeros(self.body.degrees.shape), self._face(nothing)[0]))

    def at(self, answer: Array) -> _Moved:
        """The problem at an answer."""
        body = self.body
        gradient = np.einsum("epai,ei->epa", body.gradients, answer[body.degrees[:, :18]])
        pressure = np.einsum("epn,en->ep", body.pressures, answer[body.degrees[:, 18:]])
        stress, tangent = self.material.respond(_whole(gradient))
        volume, *turned = self._volume(gradient)
        within = _components(stress) - pressure[..., np.newaxis] * turned[0]
        own = np.einsum("epa,epai->ei", body.weight[..., np.newaxis] * within, body.gradients)
        change = np.einsum("ep,epn->en", body.weight * (volume + pressure / self.material.bulk), body.pressures)
        force = body.vector(np.concatenate([own, -change], axis=1), self._face(answer)[0])
        return _Moved(answer, gradient, pressure, stress, tangent, tuple(turned), force, self._left(force))

    def _face(self, answer: Array) -> tuple[Array, Array]:
        """Force and its change by displacement, of every pressed facet."""
        rows, values, normal, area = self.body.on_face
        gradient = np.einsum("epai,ei->epa", rows, answer[self.body.face_degrees])
        _, cofactor, change = self._volume(gradient)
        out = _outward(normal) * (self.pressure_kPa * area)[..., np.newaxis, np.newaxis]
        force = np.einsum("epci,epca,epa->ei", values, out, cofactor)
        return force, np.einsum("epci,epca,epab,epbj->eij", values, out, change, rows, optimize=True)

    def _left(self, force: Array) -> float:
        """Size of a force on the free degrees of freedom."""
        return float(np.abs(self.body.spread.T @ (force * self._even)).max())

    @cached_property
    def _even(self) -> Array:
        """Factors that give forces and changes of volume one unit."""
        moving, still = self.body.size
        return np.concatenate([np.ones(moving), np.full(still, float(np.mean(self.material.bulk)))])

    def nearer(self, now: _Moved) -> _Moved:
        """The problem after one step of Newton's method, which is shortened while it makes the balance worse."""
        step = self._step(now)
        if self.material.law.linear:
            return self.at(now.answer + step)
        for shorter in range(HALVINGS):
            with np.errstate(invalid="ignore", over="ignore"):  # an element may be turned inside out
                made = self.at(now.answer + step / 2.0**shorter)
            if made.out_of_balance < now.out_of_balance:
                return made
        raise NoEquilibrium

    def _step(self, now: _Moved) -> Array:
        """Change of the answer that removes the forces out of balance, refined once."""
        spread = self.body.spread
        whole = (spread.T @ self._matrix(now) @ spread).tocsc()
        factors, force = splu(whole, permc_spec="COLAMD"), spread.T @ -now.force
        step = factors.solve(force)
        return spread @ (step + factors.solve(force - whole @ step))

    def _matrix(self, now: _Moved) -> csc_matrix:
        """Change of the forces by the answer: [A −Bᵀ; −B −C]."""
        body, weight = self.body, self.body.weight
        inner = now.tangent - now.pressure[..., np.newaxis, np.newaxis] * now.turned[1]
        n, points = weight.shape
        flat = body.gradients.reshape(n, 5 * points, 18)
        weighted = (weight[..., np.newaxis, np.newaxis] * np.matmul(inner, body.gradients)).reshape(flat.shape)
        blocks = np.empty((n, 22, 22))
        blocks[:, :18, :18] = np.matmul(np.swapaxes(flat, 1, 2), weighted)
        volume = np.matmul(now.turned[0][..., np.newaxis, :], body.gradients)[..., 0, :]
        held = np.swapaxes(body.pressures * weight[..., np.newaxis], 1, 2)
        blocks[:, 18:, :18] = -np.matmul(held, volume)
        blocks[:, :18, 18:] = np.swapaxes(blocks[:, 18:, :18], 1, 2)
        blocks[:, 18:, 18:] = -np.matmul(held / self.material.bulk[:, np.newaxis, :], body.pressures)
        return body.matrix(blocks, self._face(now.answer)[1])


def _whole(gradient: Array) -> Array:
    """A gradient (…, 3, 3) of its five components."""
    made = np.zeros((*gradient.shape[:-1], 9))
    made[..., PLACES] = gradient
    return made.reshape(*gradient.shape[:-1], 3, 3)


def _components(stress: Array) -> Array:
    """The five components of a stress (…, 3, 3)."""
    return stress.reshape(*stress.shape[:-2], 9)[..., PLACES]


def _outward(normal: Array) -> Array:
    """From the five components of a cofactor to the face it turns a normal into, (…, 2, 5)."""
    made = np.zeros((*normal.shape[:-1], 2, 5))
    made[..., 0, :2] = normal
    made[..., 1, 2:4] = normal
    return made


def _field(body: Solid, now: _Moved, steps: int, linear: bool) -> Field:
    """Field of a Solid at rest."""
    F = _whole(now.gradient) + np.eye(3) * (not linear)
    along = _along(body.displacement)
    moving = body.size[0]
    if linear:
        pushed, lengths = along, 1.0
        stress, meridional, hoop = now.stress, np.einsum("epi,epij,epj->ep", along, F, along), F[..., 2, 2]
    else:
        pushed = np.einsum("epij,epj->epi", F, along)
        lengths = np.linalg.norm(pushed, axis=-1)
        volume = np.linalg.det(F)[..., np.newaxis, np.newaxis]
        stress = np.matmul(now.stress, np.swapaxes(F, -1, -2)) / volume
        meridional, hoop = lengths - 1.0, F[..., 2, 2] - 1.0
    return Field(
        solid=body,
        displacement=now.answer[:moving],
        weight=body.weight,
        meridional_kPa=np.einsum("epi,epij,epj->ep", pushed, stress, pushed) / lengths**2 - now.pressure,
        hoop_kPa=stress[..., 2, 2] - now.pressure,
        meridional_strain=meridional,
        hoop_strain=hoop,
        reaction=now.force[:moving],
        steps=steps,
    )


def _along(basis: Basis) -> Array:
    """Unit vector (r, z, 0) along the rows of the elements at the quadrature points, (elements, points, 3)."""
    corners = basis.mesh.p[:, basis.mesh.t]
    y = basis.X[1]
    front, back = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 3]
    along = front[..., np.newaxis] * (1.0 - y) + back[..., np.newaxis] * y
    r, z = along / np.hypot(*along)
    return np.stack([r, z, np.zeros_like(r)], axis=-1)
