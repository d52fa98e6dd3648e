"""The desk: what is typed is kept as typed, nothing is overwritten silently, a stale figure is known as such."""

import pytest

from tissue.entry import plan_file
from tissue.screens.desk.state import FIRST_DEMO, Desk, demo_files, open_demo
from tissue.screens.pages import plan


@pytest.fixture
def desk():
    """A desk with the first demo profile on it."""
    made = Desk()
    open_demo(made, FIRST_DEMO)
    return made


def test_it_opens_on_an_invented_eye_with_figures(desk):
    shown, wrong = desk.figures("OD")
    assert desk.invented and desk.code == "harbour-03" and not desk.changed
    assert not wrong and all(result.available for result in shown.comparison.results.values())


def test_the_first_edit_works_on_a_copy(desk):
    desk.edit("OD", "zone_mm", "6.4")
    assert desk.code == "harbour-03-copy" and desk.changed
    assert plan_file.read_plan(demo_files()[FIRST_DEMO]).typed["OD"]["zone_mm"] == "6.5"


def test_a_wrong_value_leaves_the_last_good_one_and_stops_no_other_field(desk):
    """Source: rule of the screens: one field that cannot be read is named, the others go on working."""
    before, _ = desk.figures("OD")
    desk.edit("OD", "zone_mm", "65")
    shown, wrong = desk.figures("OD")
    assert list(wrong) == ["zone_mm"] and shown.inputs.values == before.inputs.values
    desk.edit("OD", "cap_um", "130")
    shown, wrong = desk.figures("OD")
    assert list(wrong) == ["zone_mm"] and (shown.inputs.values["cap_um"], shown.inputs.values["zone_mm"]) == (130, 6.5)
    desk.edit("OD", "zone_mm", "6.0")
    shown, wrong = desk.figures("OD")
    assert not wrong and shown.inputs.values["zone_mm"] == 6.0


def test_a_refraction_that_cannot_be_read_leaves_the_one_before(desk):
    before, _ = desk.figures("OD")
    desk.edit("OD", "refraction", "5.00 x")
    desk.edit("OD", "flap_um", "100")
    shown, wrong = desk.figures("OD")
    assert list(wrong) == ["refraction"] and shown.inputs.values["sphere_D"] == before.inputs.values["sphere_D"]
    assert shown.inputs.values["flap_um"] == 100


def test_an_emptied_field_is_not_given(desk):
    desk.edit("OD", "zone_mm", "")
    assert "zone_mm" not in desk.texts["OD"] and "zone_mm" not in desk.figures("OD")[0].inputs.values


def test_the_spelling_edited_last_counts(desk):
    desk.edit("OD", "refraction", "-3.00 sphere")
    assert desk.texts["OD"]["refraction"] == "-3.00 sphere" and "sphere_D" not in desk.texts["OD"]
    desk.edit("OD", "sphere_D", "-4.00")
    assert "refraction" not in desk.texts["OD"] and desk.texts["OD"]["sphere_D"] == "-4.00"


def test_a_number_changes_the_refraction_that_was_written_last(desk):
    """Source: rule of the screens: touching the axis after a pasted text changes the axis of that refraction."""
    desk.edit("OD", "refraction", "-5.00 -0.75 x 12")
    desk.edit("OD", "axis_deg", step=1)
    values = desk.figures("OD")[0].inputs.values
    assert (values["sphere_D"], values["cylinder_D"], values["axis_deg"]) == (-5.0, -0.75, 13.0)


def test_a_radius_takes_the_place_of_the_mean_K(desk):
    desk.edit("OD", "radius_mm", "7.9")
    assert desk.texts["OD"]["radius_mm"] == "7.9" and "mean_K_D" not in desk.texts["OD"]
    assert not desk.figures("OD")[1]


def test_a_code_of_ones_own_makes_a_plan_of_ones_own(desk):
    desk.edit("OD", "code", "  room-4 ")
    assert desk.code == "room-4" and not desk.invented and desk.changed


@pytest.mark.parametrize("name", list(demo_files()))
def test_every_demo_profile_opens_saves_and_opens_again(name):
    """Source: the plan file reads back the same (interface)."""
    desk = Desk()
    open_demo(desk, name)
    again = plan_file.read_plan(desk.as_file().encode())
    before = plan_file.read_plan(demo_files()[name])
    assert again.code == before.code and again.eyes == before.eyes


def test_saving_reset_and_changes(desk):
    desk.edit("OD", "zone_mm", "6.2")
    desk.saved()
    assert not desk.changed
    desk.edit("OD", "zone_mm", "6.0")
    assert desk.changed
    desk.reset()
    assert desk.texts["OD"]["zone_mm"] == "6.2" and not desk.changed


def test_an_invented_plan_that_was_renamed_is_invented_again_after_a_reset(desk):
    """Its handout said no longer that the eye is invented."""
    desk.edit("OD", "code", "mine")
    assert not desk.invented
    desk.reset()
    assert (desk.code, desk.invented, desk.changed) == ("harbour-03", True, False)
    desk.edit("OD", "code", "mine")
    desk.saved()
    desk.reset()
    assert (desk.code, desk.invented) == ("mine", False)


def test_identical_plans_with_unlike_refractions_are_asked_about_until_agreed(desk):
    assert desk.question() == ""
    desk.copy_to_other("OD")
    assert desk.question() == ""
    desk.edit("OD", "sphere_D", "-5.00")
    assert "Is that right?" in desk.question()
    desk.agree(desk.asked)
    assert desk.question() == ""
    desk.edit("OD", "sphere_D", "-4.00")
    assert desk.question()


def test_a_kept_plan_belongs_to_its_eye(desk):
    shown, _ = desk.figures("OD")
    for _ in range(2):  # a second press of the same button does no second thing
        desk.keep("OD")
    desk.look_at("OS")
    assert "OS" not in desk.kept and desk.kept["OD"] is shown
    desk.look_at("OD")
    for _ in range(2):
        desk.drop_kept("OD")
    assert not desk.kept


def test_what_happened_to_one_eye_is_not_copied(desk):
    desk.edit("OD", "residual", "-0.50 sphere")
    desk.edit("OS", "suction_stage", "cap")
    desk.copy_to_other("OD")
    assert "residual" not in desk.texts["OS"] and desk.texts["OS"]["suction_stage"] == "cap"


def test_a_row_of_words_that_shows_none_when_its_screen_comes_back_is_no_choice(monkeypatch):
    """Once in 181 acts a view of nothing ended the screen Plan: found by going to Explain and back at once."""
    on_desk = Desk()
    monkeypatch.setattr(plan, "desk", lambda: on_desk)
    monkeypatch.setattr(plan.st, "session_state", {"view": None, "meridian": "thinnest"})
    before = on_desk.view
    plan._taken("view")
    plan._taken("meridian")
    assert (on_desk.view, on_desk.meridian) == (before, "thinnest")
