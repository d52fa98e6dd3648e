"""The patient's page read a second time: place, number, picture and sentence of random eyes, by brute force."""

import pytest
from patient_reader import faults


@pytest.mark.parametrize("seed", range(32))
def test_what_is_said_and_drawn_is_so(seed):
    """Source of every expected figure: the definitions of the model in brute.py. All 2,000: tests/hard/patient.py."""
    assert faults(seed) == []
