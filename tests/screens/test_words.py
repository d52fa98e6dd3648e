"""What every screen says is in words: the name of no data file's row is read by a user."""

import re

import pytest
from stale_cases import SCREENS, first_texts, opened

from tissue.budget.strength.relationship import relationships
from tissue.ground.sources import keys

KEYS = {*keys(), *relationships()} - {"uniform"}  # an English word


def said(name):
    """All HTML and text of a screen of the first demo eye, without tags."""
    app = opened(name, first_texts())
    made = [one.proto.body for one in app.get("html")] + [one.value for one in app.markdown]
    return re.sub(r"<style.*?</style>|<[^>]*>", " ", " ".join(made), flags=re.S)


@pytest.mark.parametrize("name", [*SCREENS, "day_list", "followup"])
def test_no_screen_prints_the_name_of_a_row_of_data(name):
    """Source: rule of the screens: sources and curves are named in words."""
    words = set(re.findall(r"[\w-]+", said(name)))
    assert not words & KEYS
