"""The linear laws of the material, and the interface that every law has.

A section, or a solid in space, uses only the three members of `Law` and never asks which law it is.

gradient: displacement gradient at the points, shape (…, 3, 3); normal: unit vector across the lamellae, (…, 3).
The stress has shape (…, 3, 3) and goes with the gradient; the tangent has shape (…, 9, 9).
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar, Protocol

import numpy as np

from tissue.ground.vocabulary import Array, Floats

ONE = np.eye(3)
SYMMETRIC = (np.einsum("ik,jl->ijkl", ONE, ONE) + np.einsum("il,jk->ijkl", ONE, ONE)).reshape(9, 9) / 2.0


@dataclass(frozen=True, eq=False)
class Tissue:
    """Where the points of the stroma lay in the intact eye.

    front, back: ends of the slice that each point stands for, as fractions of the stroma. sclera: beyond the limbus.
    All of one shape, or of shapes that broadcast.
    """

    front: np.ndarray
    back: np.ndarray
    sclera: np.ndarray

    def mean(self, share: Callable[[Array], Floats], in_sclera: float) -> Array:
        """Mean of a relationship over each slice, so that a jump within it is not missed: (F(x₂) − F(x₁))/(x₂ − x₁).

        Args:
            share: function F of the stromal fraction to the share of the whole that lies in front of it.
            in_sclera: the value in the sclera.
        """
        thick = np.where(self.sclera, 1.0, self.back - self.front)
        return np.where(self.sclera, in_sclera, (share(self.back) - share(self.front)) / thick)


class Law(Protocol):
    """The interface of every law; `linear`: whether one step gives the answer."""

    linear: ClassVar[bool]

    def bulk(self, tissue: Tissue) -> Array:
        """Stiffness against a change of volume [kPa], the volume part of the stress."""

    def respond(self, gradient: Array, normal: Array, tissue: Tissue) -> tuple[Array, Array]:
        """Stress and tangent [kPa] without the volume part."""


@dataclass(frozen=True, eq=False)
class Isotropic:
    """The same in every direction: σ = 2G·ε + λ·tr ε, G = E/(2(1 + ν)), λ = 2Gν/(1 − 2ν).

    Args:
        share: share of the stiffness in front of a stromal fraction, as a function of the fraction.
        modulus_kPa: mean modulus of the stroma [kPa].
        poisson: Poisson's ratio [–].
        sclera_ratio: modulus of the sclera over that of the stroma [–].
    """

    share: Callable[[Array], Floats]
    modulus_kPa: float
    poisson: float
    sclera_ratio: float

    linear: ClassVar[bool] = True

    def modulus(self, tissue: Tissue) -> Array:
        """Modulus [kPa] at points of the tissue."""
        return self.modulus_kPa * tissue.mean(self.share, self.sclera_ratio)

    def bulk(self, tissue: Tissue) -> Array:
        """λ [kPa] at points of the tissue."""
        return 2.0 * _shear(self.modulus(tissue), self.poisson) * self.poisson / (1.0 - 2.0 * self.poisson)

    def respond(self, gradient: Array, normal: Array, tissue: Tissue) -> tuple[Array, Array]:
        """Stress and tangent without λ; see the head of this file."""
        tangent = 2.0 * _shear(self.modulus(tissue), self.poisson)[..., np.newaxis, np.newaxis] * SYMMETRIC
        return applied(tangent, gradient), tangent


@dataclass(frozen=True, eq=False)
class Transverse(Isotropic):
    """Stiff along the lamellae, soft between them: σ = 2G·ε + E_f·A:ε + λ·tr ε; the sclera stays isotropic.

    A: fibres even in the plane of the lamella. E_f = 2·(E/(1 − ν) − 2G − 4Gλ/(2G + λ)) keeps the stiffness against an
    even stretch of the plane that the isotropic law has.

    Args:
        shear_share: share of the shear stiffness in front of a stromal fraction.
        shear_ratio: mean modulus over mean shear modulus [–]; G is never more than the isotropic E/(2(1 + ν)).
    """

    shear_share: Callable[[Array], Floats]
    shear_ratio: float

    def respond(self, gradient: Array, normal: Array, tissue: Tissue) -> tuple[Array, Array]:
        """Stress and tangent without λ; see the head of this file."""
        E = self.modulus(tissue)
        most = _shear(E, self.poisson)
        G = np.minimum(self.modulus_kPa / self.shear_ratio * tissue.mean(self.shear_share, np.inf), most)
        lam = self.bulk(tissue)
        fibres = 2.0 * (E / (1.0 - self.poisson) - 2.0 * G - 4.0 * G * lam / (2.0 * G + lam))
        tangent = 2.0 * _each(G) * SYMMETRIC + _each(fibres) * even_fibres(normal)
        return applied(tangent, gradient), tangent


def _shear(modulus: Array, poisson: float) -> Array:
    """Shear modulus of an isotropic solid."""
    return modulus / (2.0 * (1.0 + poisson))


def _each(values: Array) -> Array:
    """Values at points, ready to scale a tangent at each."""
    return values[..., np.newaxis, np.newaxis]


def even_fibres(normal: Array) -> Array:
    """Mean of a⊗a⊗a⊗a over all directions a across a normal, shape (…, 9, 9).

    A_ijkl = (P_ij·P_kl + P_ik·P_jl + P_il·P_jk)/8, P = 1 − n⊗n: 3/8 for 1111, 1/8 for 1122 and 1212
    """
    P = ONE - normal[..., :, np.newaxis] * normal[..., np.newaxis, :]
    pairs = P[..., :, :, np.newaxis, np.newaxis] * P[..., np.newaxis, np.newaxis, :, :]
    whole = pairs + np.swapaxes(pairs, -3, -2) + np.moveaxis(pairs, -3, -1)
    return whole.reshape(*normal.shape[:-1], 9, 9) / 8.0


def applied(tangent: Array, gradient: Array) -> Array:
    """Stress that a tangent gives to a gradient, shape (…, 3, 3)."""
    flat = np.matmul(tangent, gradient.reshape(*gradient.shape[:-2], 9, 1))
    return flat.reshape(gradient.shape)
