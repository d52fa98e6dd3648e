"""A small fuzz of everything that reads, the same every time; `hard/fuzz.py` is the long one.

The properties stand in `fuzz_cases.py`. What must leave a function, and with which words, is the interface's: one
declared error, a line for each fault, exit code 0 or 2, nothing written with 2.
"""

import pytest
from fuzz_cases import TARGETS, outcome
from fuzz_inputs import spoilt, spoilt_bytes
from hypothesis import given, settings
from hypothesis import strategies as st

CASES = {"notation": 600, "checks": 600, "eye": 40, "plan file": 300, "table": 40, "map of columns": 200}
CASES |= {"Parquet": 40, "commands": 60}


@pytest.mark.parametrize("target", TARGETS)
def test_only_declared_errors_leave_what_reads(target):
    said = []

    @settings(max_examples=CASES[target], derandomize=True, database=None)
    @given(st.randoms(use_true_random=True))
    def each(r):
        said.append(outcome(TARGETS[target][0], r))

    each()
    assert {"refused", "taken"} == set(said) and len(said) >= CASES[target] // 2


@settings(derandomize=True, database=None)
@given(st.randoms(use_true_random=True))
def test_spoilt_inputs_are_spoilt(r):
    """The mutations change what they are given nearly every time, else the fuzz would test sound inputs only."""
    changed = [spoilt(r, "-6.00 -1.25 x 170") != "-6.00 -1.25 x 170" for _ in range(40)]
    bytes_ = [spoilt_bytes(r, b"[OD]\nsphere_D = -6\n") != b"[OD]\nsphere_D = -6\n" for _ in range(40)]
    assert sum(changed) > 20 and sum(bytes_) > 20
