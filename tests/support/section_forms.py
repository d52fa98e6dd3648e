"""The isotropic section once more, assembled by a library from its virtual work: what the program is held against."""

import numpy as np
from scipy.sparse import bmat
from scipy.sparse.linalg import spsolve
from skfem import BilinearForm, LinearForm

# u = (u_r, u_z), p the pressure in the solid, ε_r = ∂u_r/∂r, ε_z = ∂u_z/∂z, ε_θ = u_r/r, volume element r·dr·dz


@BilinearForm
def shear(u, v, w):
    """∫ 2μ ε(u):ε(v) r dr dz"""
    du, dv, r = u.grad, v.grad, w.x[0]
    across = (du[0, 1] + du[1, 0]) * (dv[0, 1] + dv[1, 0]) / 2.0
    return 2.0 * w.mu * (r * (du[0, 0] * dv[0, 0] + du[1, 1] * dv[1, 1] + across) + u[0] * v[0] / r)


@BilinearForm
def volume(u, q, w):
    """−∫ q div u r dr dz"""
    return -q * ((u.grad[0, 0] + u.grad[1, 1]) * w.x[0] + u[0])


@BilinearForm
def bulk(p, q, w):
    """−∫ p q / λ r dr dz"""
    return -p * q / w.lam * w.x[0]


@LinearForm
def inner_pressure(v, w):
    """−∫ P n·v r ds, n pointing out of the solid"""
    return -w.P * (v[0] * w.n[0] + v[1] * w.n[1]) * w.x[0]


def displacement_mm(body, modulus_kPa, poisson, pressure_kPa):
    """Displacement of every degree of freedom of a Solid [mm] with a modulus given at its points [kPa]."""
    mu = modulus_kPa / (2.0 * (1.0 + poisson)) + np.zeros(body.displacement.dx.shape)
    B = volume.assemble(body.displacement, body.pressure)
    C = bulk.assemble(body.pressure, lam=2.0 * mu * poisson / (1.0 - 2.0 * poisson))
    whole = bmat([[shear.assemble(body.displacement, mu=mu), B.T], [B, C]], format="csr")
    load = np.concatenate([inner_pressure.assemble(body.face, P=pressure_kPa), np.zeros(C.shape[0])])
    spread = body.spread
    answer = spread @ spsolve((spread.T @ whole @ spread).tocsc(), spread.T @ load)
    return answer[: body.displacement.N]
