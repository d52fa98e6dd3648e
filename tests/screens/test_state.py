"""The desk: what is typed is kept as typed, nothing is overwritten silently, a stale figure is known as such."""

import pytest

from tissue.entry import plan_file
from tissue.screens.desk.state import FIRST_DEMO, Desk, demo_files, open_demo


@pytest.fixture
def desk():
    """A desk with the first demo profile on it."""
    made = Desk()
    open_demo(made, FIRST_DEMO)
    return made


def entry(desk, spelling="numbers", last="zone_mm", **texts):
    """What the fields send: everything that stands in them."""
    return {
        "side": desk.side,
        "revision": desk.revision,
        "sequence": desk.sequence + 1,
        "texts": desk.texts[desk.side] | texts,
        "spelling": spelling,
        "last": last,
    }


def test_it_opens_on_an_invented_eye_with_figures(desk):
    shown, wrong = desk.figures("OD")
    assert desk.invented and desk.code == "harbour-03" and not desk.changed
    assert not wrong and all(result.available for result in shown.comparison.results.values())


def test_the_first_edit_works_on_a_copy(desk):
    desk.edit(entry(desk, zone_mm="6.4"))
    assert desk.code == "harbour-03-copy" and desk.changed
    assert plan_file.read_plan(demo_files()[FIRST_DEMO]).typed["OD"]["zone_mm"] == "6.5"


def test_a_wrong_value_keeps_the_last_valid_figures_and_says_so(desk):
    before, _ = desk.figures("OD")
    desk.edit(entry(desk, zone_mm="65"))
    shown, wrong = desk.figures("OD")
    assert shown is before and list(wrong) == ["zone_mm"]
    desk.edit(entry(desk, zone_mm="6.0"))
    shown, wrong = desk.figures("OD")
    assert not wrong and shown is not before


def test_fields_of_another_revision_are_not_taken_over(desk):
    old = entry(desk, zone_mm="6.0")
    desk.look_at("OS")
    desk.edit(old)
    assert not desk.changed


def test_the_spelling_edited_last_counts(desk):
    desk.edit(entry(desk, "text", "refraction", refraction="-3.00 sphere"))
    assert desk.texts["OD"]["refraction"] == "-3.00 sphere" and "sphere_D" not in desk.texts["OD"]
    desk.edit(entry(desk, "numbers", "sphere_D", sphere_D="-4.00"))
    assert "refraction" not in desk.texts["OD"] and desk.texts["OD"]["sphere_D"] == "-4.00"


def test_a_radius_takes_the_place_of_the_mean_K(desk):
    desk.edit(entry(desk, last="radius_mm", radius_mm="7.9"))
    assert desk.texts["OD"]["radius_mm"] == "7.9" and "mean_K_D" not in desk.texts["OD"]
    assert not desk.figures("OD")[1]


@pytest.mark.parametrize("name", list(demo_files()))
def test_every_demo_profile_opens_saves_and_opens_again(name):
    """Source: the plan file reads back the same (interface)."""
    desk = Desk()
    open_demo(desk, name)
    again = plan_file.read_plan(desk.as_file().encode())
    before = plan_file.read_plan(demo_files()[name])
    assert again.code == before.code and again.eyes == before.eyes


def test_saving_reset_and_changes(desk):
    desk.edit(entry(desk, zone_mm="6.2"))
    desk.saved()
    assert not desk.changed
    desk.edit(entry(desk, zone_mm="6.0"))
    assert desk.changed
    desk.reset()
    assert desk.texts["OD"]["zone_mm"] == "6.2" and not desk.changed


def test_identical_plans_with_unlike_refractions_are_asked_about_until_agreed(desk):
    assert desk.question() == ""
    desk.copy_to_other()
    assert desk.question() == ""
    desk.edit(entry(desk, sphere_D="-5.00", last="sphere_D"))
    assert "Is that right?" in desk.question()
    desk.agree()
    assert desk.question() == ""
    desk.edit(entry(desk, sphere_D="-4.00", last="sphere_D"))
    assert desk.question()


def test_a_kept_plan_belongs_to_its_eye(desk):
    shown, _ = desk.figures("OD")
    desk.keep(shown)
    desk.look_at("OS")
    assert "OS" not in desk.kept and desk.kept["OD"] is shown
    desk.look_at("OD")
    desk.keep(None)
    assert not desk.kept
