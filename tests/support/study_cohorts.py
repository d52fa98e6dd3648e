"""Invented cohorts whose true figures are known: one or two eyes a patient, fellow eyes as alike as is wanted."""

import numpy as np
from scipy import stats

BIAS, SD, SPREAD, SHIFT = -5.0, 8.0, 20.0, 1.0
TRUE_ICC = (SPREAD**2 - SD**2 / 4.0) / (SPREAD**2 + SD**2 / 4.0 + BIAS**2 / 2.0)
TRUE_SHARE = 0.8


def owners(rng, patients, two=0.7):
    """Whose eyes they are; two of a patient with that chance."""
    return np.repeat(np.arange(patients), np.where(rng.random(patients) < two, 2, 1))


def drawn(rng, owner, alike):
    """A standard normal value an eye; fellow eyes are correlated by `alike`."""
    own = rng.normal(size=len(owner))
    return np.sqrt(alike) * rng.normal(size=owner.max() + 1)[owner] + np.sqrt(1.0 - alike) * own


def paired(rng, patients, alike, two=0.7):
    """Planned, measured and whose: differences −5 ± 8 of thicknesses 300 ± 20 that have no slope on their mean."""
    owner = owners(rng, patients, two)
    true = 300.0 + SPREAD * drawn(rng, owner, 0.8)
    difference = BIAS + SD * drawn(rng, owner, alike)
    return true - difference / 2.0, true + difference / 2.0, owner


def grouped(rng, patients, alike, shift=SHIFT, two=0.7, by_patient=False):
    """Values, whether an eye is of the second group, and whose; groups drawn by patient or by eye."""
    owner = owners(rng, patients, two)
    second = (rng.random(patients) < 0.5)[owner] if by_patient else rng.random(len(owner)) < 0.5
    return drawn(rng, owner, alike) + shift * second, second, owner


def happened(rng, patients, alike):
    """1 for about 80 of 100 eyes, else 0, and whose; what is normal beneath is as alike as is wanted."""
    owner = owners(rng, patients)
    return (drawn(rng, owner, alike) < stats.norm.ppf(TRUE_SHARE)).astype(float), owner
