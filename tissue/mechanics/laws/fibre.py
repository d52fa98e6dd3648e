"""The fibre law: a soft ground with stiffening fibres spread evenly in the plane of each lamella; large displacements.

W = c·(I₁·J^(−2/3) − 3) + k_f/(2·k₂)·mean over fibres of [exp(k₂·⟨I₄ − 1⟩²) − 1], and K/2·(J − 1)² for the volume.
For small strain it is the transverse law with G = 2c and E_f = 4·k_f.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from tissue.ground.limits import finite
from tissue.ground.vocabulary import Array, Floats
from tissue.mechanics.laws.law import ONE, Tissue

FIBRES = 12  # even directions in half a turn
NEARLY_TAUT = 1e-9  # an unstretched fibre acts with its stiffness, so that the first step has one
RANGES = {
    "ground_kPa": (0.0, 1e9),
    "fibre_kPa": (0.0, 1e9),
    "stiffening": (0.0, 1e6),
    "volume_kPa": (0.0, 1e12),
    "sclera_ratio": (0.0, 1e6),
}
STEEPEST = 50.0  # greatest exponent that is computed; no state at rest comes near it


@dataclass(frozen=True, eq=False)
class Fibre:
    """Exponential fibres in a neo-Hookean ground, with the same three methods as every law.

    Args:
        share: share of the fibres' stiffness in front of a stromal fraction, as a function of the fraction.
        ground_kPa: c [kPa], even over the depth.
        fibre_kPa: mean of k_f [kPa].
        stiffening: k₂ [–].
        volume_kPa: K [kPa], even over the depth.
        sclera_ratio: every stiffness of the sclera over the mean of the stroma [–].

    Raises:
        EyeError: a stiffness that is negative or infinite.
    """

    share: Callable[[Array], Floats]
    ground_kPa: float
    fibre_kPa: float
    stiffening: float
    volume_kPa: float
    sclera_ratio: float

    linear: ClassVar[bool] = False

    def __post_init__(self) -> None:
        finite(self, RANGES)

    def bulk(self, tissue: Tissue) -> Array:
        """K [kPa] at points of the tissue."""
        return self.volume_kPa * np.where(tissue.sclera, self.sclera_ratio, np.ones(np.shape(tissue.front)))

    def respond(self, gradient: Array, normal: Array, tissue: Tissue) -> tuple[Array, Array]:
        """First Piola stress and its change by the gradient, without K; see mechanics/laws/law.py."""
        F = gradient + ONE
        ground = self.ground_kPa * np.where(tissue.sclera, self.sclera_ratio, 1.0)
        stress, tangent = _ground(F, ground + np.zeros(F.shape[:-2]))
        more, steeper = self._fibres(F, normal, self.fibre_kPa * tissue.mean(self.share, self.sclera_ratio))
        return stress + more, tangent + steeper

    def _fibres(self, F: Array, normal: Array, stiffness: Array) -> tuple[Array, Array]:
        """Stress and tangent of the fibres: 2W₄·Fa⊗a, and 2W₄·δ⊗(a⊗a) + 4W₄₄·(Fa⊗a)⊗(Fa⊗a), W₄ = ∂W/∂I₄."""
        along = directions(normal)
        pulled = np.matmul(along, np.swapaxes(F, -1, -2))
        longer = np.sum(pulled**2, axis=-1) - 1.0
        stretch, taut = np.maximum(longer, 0.0), longer > -NEARLY_TAUT
        grown = np.exp(np.minimum(self.stiffening * stretch**2, STEEPEST)) * stiffness[..., np.newaxis] / FIBRES
        first, second = grown * stretch, grown * (1.0 + 2.0 * self.stiffening * stretch**2) * taut
        dyads = (pulled[..., :, np.newaxis] * along[..., np.newaxis, :]).reshape(*along.shape[:-1], 9)
        weighted = (2.0 * first)[..., np.newaxis] * along
        stress = np.matmul(np.swapaxes(pulled, -1, -2), weighted)
        tangent = np.matmul(np.swapaxes(dyads, -1, -2), (4.0 * second)[..., np.newaxis] * dyads)
        plane = np.matmul(np.swapaxes(along, -1, -2), weighted)
        return stress, tangent + np.einsum("ik,...jl->...ijkl", ONE, plane).reshape(tangent.shape)


def _ground(F: Array, c: Array) -> tuple[Array, Array]:
    """Stress and tangent of c·(I₁·J^(−2/3) − 3): P = 2c·J^(−2/3)·(F − I₁/3·F⁻ᵀ), and ∂P/∂F."""
    turned = np.swapaxes(np.linalg.inv(F), -1, -2)
    first = np.sum(F**2, axis=(-1, -2))[..., np.newaxis, np.newaxis]
    factor = (2.0 * c * np.linalg.det(F) ** (-2.0 / 3.0))[..., np.newaxis, np.newaxis]
    f, t = F.reshape(*c.shape, 9), turned.reshape(*c.shape, 9)
    outer = t[..., :, np.newaxis] * f[..., np.newaxis, :]
    crossed = np.einsum("...il,...kj->...ijkl", turned, turned).reshape(*c.shape, 9, 9)
    both = first * (2.0 / 9.0 * t[..., :, np.newaxis] * t[..., np.newaxis, :] + crossed / 3.0)
    tangent = np.eye(9) - 2.0 / 3.0 * (outer + np.swapaxes(outer, -1, -2)) + both
    return factor * (F - first / 3.0 * turned), factor * tangent


def directions(normal: Array) -> Array:
    """Unit vectors of the fibres across a normal, shape (…, 12, 3)."""
    other = np.where(np.abs(normal[..., 2:]) < 0.9, [0.0, 0.0, 1.0], [1.0, 0.0, 0.0])
    one = np.cross(other, normal)
    one /= np.linalg.norm(one, axis=-1, keepdims=True)
    two = np.cross(normal, one)
    angle = np.pi * np.arange(FIBRES)[:, np.newaxis] / FIBRES
    return np.cos(angle) * one[..., np.newaxis, :] + np.sin(angle) * two[..., np.newaxis, :]
