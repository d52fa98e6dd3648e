"""Widgets that show a value of a plan: what the browser still tells of one that has gone changes nothing."""

import pytest

from tissue.screens import kept
from tissue.screens.desk.state import Desk
from tissue.screens.kept import changed, widget_key
from tissue.screens.pages import plan


@pytest.fixture
def said(monkeypatch):
    """What stands in the widgets, by key."""
    found = {}
    monkeypatch.setattr(kept.st, "session_state", found)
    return found


def test_a_value_from_elsewhere_is_not_put_back_by_what_is_told_late(said):
    """Five of six stopped plays were: the slider's old second came with the next message of the page."""
    key = widget_key("seconds", 4.5, "plan")
    now = widget_key("seconds", 0.8, "plan")
    said[key] = 4.5  # told late
    assert now != key and changed("seconds", key) is None
    assert widget_key("seconds", 0.8, "plan") == now and said[now] == 0.8


def test_the_eye_of_the_patient_before_is_not_that_of_the_next(said):
    key = widget_key("eye", "OS", "first")
    now = widget_key("eye", "OD", "second")
    said[key] = "OS"
    assert changed("eye", key) is None and changed("eye", now) is None  # what it shows already is no change
    said[now] = "OS"
    assert changed("eye", now) == "OS"
    assert widget_key("eye", "OS", "third") != widget_key("eye", "OS", "second")


def test_a_change_by_hand_keeps_its_widget_and_none_is_no_change(said):
    key = widget_key("eye", "OD", "plan")
    said[key] = "OS"
    assert changed("eye", key) == "OS" and widget_key("eye", "OS", "plan") == key
    said[key] = None
    assert changed("eye", key) is None


def test_both_eyes_of_the_patient_before_are_not_asked_of_the_next(said, monkeypatch):
    """The switch stood at both eyes, the next patient came, and the message on its way put it back there."""
    before, after = Desk(both=True), Desk()
    key = widget_key("both", before.both, before.id)
    monkeypatch.setattr(plan, "desk", lambda: after)  # the next patient came in the same message, before the switch
    said[key] = False
    plan.take_both(before, key)
    said[key] = True
    plan.take_both(before, key)
    assert before.both and not after.both
    now = widget_key("both", after.both, after.id)
    said[key] = False  # told late
    plan.take_both(before, key)
    assert before.both and not after.both
    said[now] = True
    plan.take_both(after, now)
    assert after.both and widget_key("both", after.both, after.id) == now
