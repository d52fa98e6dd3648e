"""Zernike terms against another library, and what the nodes over the pupil must integrate exactly."""

import numpy as np
import pytest
from prysm.polynomials import zernike_nm

from tissue.optics.zernike import coefficients, index, nodes, radial, terms, weights, zernike

TERMS = terms(8)
R, ANGLE = (part.ravel() for part in np.meshgrid(np.linspace(0.0, 1.0, 21), np.linspace(-np.pi, np.pi, 25)))


@pytest.mark.parametrize("n, m", TERMS)
def test_equals_prysm(n, m):
    """Source: prysm (MIT), normalised terms, the same signs of m."""
    assert np.abs(zernike(n, m, R, ANGLE) - zernike_nm(n, m, R, ANGLE, norm=True)).max() < 1e-12


def test_sequence_is_osa_ansi():
    """Source: the OSA/ANSI sequence of Thibos et al. 2004: C12 is the primary spherical aberration."""
    assert [index(n, m) for n, m in TERMS] == list(range(len(TERMS)))
    assert (index(2, 0), index(3, -1), index(3, 1), index(4, 0)) == (4, 7, 8, 12)


def test_terms_are_orthonormal_on_the_nodes():
    """The mean of a product over the pupil is 1 for equal terms and 0 for others: definition of normalised."""
    x, y, share = nodes()
    values = np.stack([zernike(n, m, np.hypot(x, y), np.arctan2(y, x)) for n, m in terms(6)])
    assert np.abs((values * share) @ values.T - np.eye(len(values))).max() < 1e-13


def test_fit_gives_back_what_was_put_in():
    put = np.random.default_rng(4).normal(size=28)
    x, y, _ = nodes()
    wave = sum(c * zernike(n, m, np.hypot(x, y), np.arctan2(y, x)) for c, (n, m) in zip(put, terms(6), strict=True))
    assert np.abs(coefficients(wave) - put).max() < 1e-12
    assert np.abs(weights(4, 0) @ wave - put[12]) < 1e-12


def test_fit_equals_weighted_least_squares():
    """Solved as least squares by another route (LAPACK) on a wave the terms cannot follow."""
    x, y, share = nodes()
    wave = np.exp(x - 0.3 * y**3)
    matrix = np.stack([zernike(n, m, np.hypot(x, y), np.arctan2(y, x)) for n, m in terms(6)], axis=1)
    solved = np.linalg.lstsq(matrix * np.sqrt(share)[:, None], wave * np.sqrt(share), rcond=None)[0]
    assert np.abs(coefficients(wave) - solved).max() < 1e-12


@pytest.mark.parametrize("power, mean", [(4, 1 / (6 * 5**0.5)), (6, 1 / (4 * 5**0.5)), (8, 0.127775)])
def test_share_of_a_power_of_the_height_in_c40(power, mean):
    """Source: the closed form of a conic's spherical aberration, computed by hand: mean of r^k·Z(4, 0)."""
    x, y, _ = nodes()
    assert weights(4, 0) @ np.hypot(x, y) ** power == pytest.approx(mean, abs=5e-7)


@pytest.mark.parametrize("n, m", TERMS)
def test_radial_part_is_one_at_the_rim(n, m):
    assert radial(n, m, 1.0) == pytest.approx(1.0, abs=1e-12)
