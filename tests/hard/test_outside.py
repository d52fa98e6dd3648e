"""A few eyes of the outside check in every run of the tests; all of them: tests/hard/outside.py."""

import pytest
from outside import Tally, of_a_mistake, run
from outside_eyes import MISTAKES


@pytest.mark.parametrize("first", [0, 700])
def test_figures_notices_refusals_and_routes_are_those_of_the_written_model(first):
    """Source: the written model, by an arithmetic that shares nothing with the tool's."""
    tally = run(15, first)
    assert tally.faults == []
    assert tally.counted["figures"] > 1500 and tally.counted["routes"] > 50 and tally.counted["notices"] > 30


def test_every_mistake_is_refused_by_its_field():
    tally = Tally()
    for number in range(len(MISTAKES)):
        of_a_mistake(tally, number)
    assert tally.faults == [] and tally.counted["mistakes"] == len(MISTAKES)
