"""Letters of hands that the reader does not know. Source: the truth they were made from; rules of letters (0 wrong)."""

import pytest
from letter_cases import judged
from outside_letters import outside_letters

CASES = [(text, truth, hand, name) for name, hand, text, truth in outside_letters()]


@pytest.mark.parametrize(("text", "truth", "hand"), [case[:3] for case in CASES], ids=[case[3] for case in CASES])
def test_nothing_is_filled_wrongly_and_every_number_is_listed(text, truth, hand):
    found = judged(text, truth, hand.get("asks", ()), hand.get("matters", ()))
    assert (found.wrong, found.lost) == ((), ())
    assert (found.asked, found.mattered) == (found.to_ask, found.to_matter)


def test_nine_of_ten_fields_are_read():
    """Source: what letters must reach: 90 of 100 of what is said."""
    found = [judged(text, truth) for text, truth, _, _ in CASES]
    assert len(CASES) == 60 and sum(one.right for one in found) >= 0.9 * sum(one.expected for one in found)
