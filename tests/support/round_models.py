"""The written model and the matrices of power, to which the answers of a round are held."""

from functools import cache

import brute
import numpy as np
from round_cases import asked

UM = 0.06  # the brute force is as close as this


def values_of(case):
    return {name: value for name, value in case.inputs.values.items() if value == value}


def treated(case):
    """Sphere, cylinder, axis and vertex distance that are to be treated: as given, the target taken off."""
    v = {**brute.DEFAULTS, **values_of(case)}
    return *brute.treated(v), v["vertex_mm"]


@cache
def _modelled(items):
    return brute.figures(dict(items))


def model(values):
    """Figures of the written model, worked out once for the same eye."""
    return _modelled(tuple(sorted(values.items())))


def setting(question):
    return question.id.rsplit("/", 1)[1]


def matrix(S, C, A):
    """A refraction as a symmetric matrix of power: S on every meridian, C across the axis."""
    across = np.radians(A + 90.0)
    n = np.array([np.cos(across), np.sin(across)])
    return S * np.eye(2) + C * np.outer(n, n)


def matrix_of(refraction):
    return matrix(refraction.sphere_D, refraction.cylinder_D, refraction.axis_deg)


def each(kind):
    found = asked(kind)
    assert found
    return found
