"""What a side cut takes from the centre of a layer, in closed form: two flat discs bonded by their own shear."""

import numpy as np

from tissue.ground.vocabulary import Floats


def lost_share(shear_ratio: Floats, radius_mm: float, front_mm: float, back_mm: float, poisson: float) -> Floats:
    """Share of its load that the front disc loses at the centre once its edge is cut free.

    [1 − (1 − ν)/2]/[I₀(a) − (1 − ν)·I₁(a)/a], a = r·√(3·(1 − ν²)/(k·t₁·t₂)), I the modified Bessel functions

    Args:
        shear_ratio: modulus along the lamellae over the shear modulus between them, k [–].
        radius_mm: of the cut [mm].
        front_mm, back_mm: thickness of stroma in front of the depth of the cut and behind it [mm].
        poisson: Poisson's ratio [–].

    >>> round(float(lost_share(47.0, 4.5, 0.107, 0.39, 0.49)), 3)
    0.034
    """
    from scipy.special import i0, i1

    a = radius_mm * np.sqrt(3.0 * (1.0 - poisson**2) / (np.asarray(shear_ratio) * front_mm * back_mm))
    return ((1.0 + poisson) / 2.0 / (i0(a) - (1.0 - poisson) * i1(a) / a))[()]
