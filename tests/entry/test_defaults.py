"""A default stands once, in the field list; the arithmetic's own defaults, for notebooks, are held to it."""

from dataclasses import MISSING, fields

import numpy as np
import pytest

from tissue.entry.fields import fields as inputs
from tissue.eye.cornea import Cornea, Pupil
from tissue.eye.refraction import Refraction
from tissue.removal.options import CapCut, Errors, FlapCut, Judgement
from tissue.removal.removal import Treatment

KINDS = (Cornea, Refraction, Treatment, FlapCut, CapCut, Judgement, Errors, Pupil)
PAIRS = [
    (kind, field)
    for kind in KINDS
    for field in fields(kind)
    if field.init and field.name in inputs() and field.default is not MISSING
]


@pytest.mark.parametrize("kind, field", PAIRS, ids=lambda part: getattr(part, "name", getattr(part, "__name__", "")))
def test_default_of_the_arithmetic_is_that_of_the_field_list(kind, field):
    """Source: the field list, which names the source of each default."""
    listed = inputs()[field.name].default
    if field.default is None or (isinstance(field.default, float) and np.isnan(field.default)):
        assert listed is None or (kind is Refraction)
    elif listed is None:
        assert (kind, field.name) == (Refraction, "axis_deg")  # an axis of no cylinder
    else:
        assert field.default == listed


def test_every_default_is_reached():
    """At least the figures of errors, cuts and judgement are compared."""
    assert len(PAIRS) >= 30
