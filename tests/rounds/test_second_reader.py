"""Rounds read a second time: question, answer, reason and picture of random eyes, by what is shown."""

import pytest
from rounds_reader import Page, a_question, faults, reckoned

from tissue.rounds.kinds import MAKERS


@pytest.mark.parametrize("seed", range(40))
def test_what_is_asked_answered_said_and_drawn_agrees(seed):
    """Source: the written model in outside_model.py, and arithmetic. All 2,000: tests/hard/rounds.py."""
    assert faults(seed) == []


def test_the_reader_meets_every_kind_and_sees_a_wrong_figure():
    kinds = {question.kind.id for question in (a_question(seed)[2] for seed in range(80)) if question is not None}
    assert len(kinds) > 0.75 * len(MAKERS)
    low, high = reckoned("540 − 146 − 68 − 13")
    assert low <= 313 <= high and not low <= 331 <= high
    low, high = reckoned("−6.50 / (1 − 12.0 · (−6.50) / 1000)")
    assert low < -6.03 < high
    row = "<tr class='result'><td>=</td><td>Bed<div class='by'><div>a</div><div>1 − 2</div></div></td></tr>"
    page = Page(f"<table>{row}</table>")
    assert page.rows[0]["by"] == ["a", "1 − 2"] and page.rows[0]["cells"][:2] == ["=", "Bed"]
