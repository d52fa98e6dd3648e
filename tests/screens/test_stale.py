"""No figure is left over from the input before: a changed session stands as a new one, element by element."""

import pytest
from stale_cases import CHANGES, faults

from tissue.entry.fields import fields

QUICK = ("plan", "explain", "alignment", "suction", "enhancement")  # in turn; every pair is tried in tests/hard
PAIRS = [(QUICK[i % len(QUICK)], field) for i, field in enumerate(list(CHANGES)[::2])]
PAIRS += [("tradeoffs", "zone_mm"), ("tradeoffs", "flap_sd_um"), ("mechanics", "cap_um"), ("series", "sphere_D")]


def test_every_field_has_a_change():
    assert set(CHANGES) == set(fields())


@pytest.mark.parametrize(("screen", "field"), PAIRS)
def test_a_changed_field_leaves_nothing_over(screen, field):
    """Source: rule of the screens: a figure is never shown for another input; the new session knows no other one."""
    assert faults(screen, field) == []
