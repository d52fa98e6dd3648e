"""Drags on the desk: one is taken back as one, and the strip says where it began."""

import re

import pytest

from tissue.screens.desk.link import ACTS
from tissue.screens.desk.state import FIRST_DEMO, Day, Desk, open_demo
from tissue.screens.plan.moved import change_words, moved_part
from tissue.screens.tradeoffs.moving import move_plan


@pytest.fixture
def day():
    """A desk with the first demo profile on it."""
    made = Desk()
    open_demo(made, FIRST_DEMO)
    return Day.of(made)


def told(day, *entries):
    """The page tells entries, numbered on from those before."""
    first = day.answered + 1
    day.take({"log": [entry | {"number": first + i} for i, entry in enumerate(entries)]})


def moved(day, drag, **texts):
    about = {"plan": day.at, "side": "OD", "form": ""}
    return [about | {"name": name, "text": text, "drag": drag} for name, text in texts.items()]


def strip(day):
    return str(moved_part(day.desk, day.desk.figures("OD")[0], narrow=False))


def test_sixty_moves_of_one_drag_are_taken_back_by_one_undo(day):
    """Source: one undo for one drag; a field that was not given is not given again, and the plan has its name back."""
    before = dict(day.desk.texts["OD"])
    told(day, *(entry for cap in range(121, 181) for entry in moved(day, "a", cap_um=str(cap))))
    assert day.desk.texts["OD"]["cap_um"] == "180" and day.desk.code == "harbour-03-copy"
    told(day, {"act": "undo"})
    assert day.desk.texts["OD"] == before and "cap_um" not in before
    assert (day.desk.code, day.desk.invented, day.desk.changed) == ("harbour-03", True, False)


def test_an_undo_puts_nothing_over_what_a_copy_or_a_letter_brought(day):
    """OS zone dragged from 6.5 to 6.0, then 7.0 of OD copied over it: the undo of the drag brought the 6.5 back."""
    told(day, *(one | {"side": "OS"} for one in moved(day, "a", zone_mm="6.0", cap_um="140")))
    told(day, {"plan": day.at, "side": "OD", "form": "", "name": "zone_mm", "text": "7.0"})
    day.desk.put_texts("OS", day.desk.texts["OS"] | {"zone_mm": "7.0"})
    told(day, {"act": "undo"})
    assert day.desk.texts["OS"]["zone_mm"] == "7.0" and "cap_um" not in day.desk.texts["OS"]
    told(day, *(one | {"side": "OS"} for one in moved(day, "b", zone_mm="6.0")))
    day.desk.copy_to_other("OD")
    told(day, {"act": "undo"})
    assert day.desk.texts["OS"]["zone_mm"] == "7.0"
    told(day, *moved(day, "c", zone_mm="6.2"))
    move_plan(day.desk, day.desk.figures("OD")[0], {"zone_mm": 6.8})
    told(day, {"act": "undo"})
    assert day.desk.texts["OD"]["zone_mm"] == "6.8"


def test_a_plan_that_was_changed_otherwise_keeps_the_name_of_a_copy(day):
    """Drag, change the map, undo: it had the name of the invented eye again, whose map it had no longer."""
    open_demo(day.desk, "harbour-09_own_map")
    told(day, *moved(day, "a", zone_mm="6.2"))
    day.desk.put_maps("OD", {"thickness_map": None})
    told(day, {"act": "undo"})
    assert day.desk.texts["OD"].get("zone_mm") != "6.2"
    assert (day.desk.code, day.desk.changed) == ("harbour-09-copy", True)


def test_drags_are_taken_back_one_after_another_and_leave_what_was_typed(day):
    told(day, *moved(day, "a", zone_mm="6.2"), *moved(day, "b", centre_x_mm="0.3", centre_y_mm="-0.1"))
    told(day, {"plan": day.at, "side": "OD", "form": "", "name": "flap_um", "text": "100"})
    told(day, {"act": "undo"})
    assert "centre_x_mm" not in day.desk.texts["OD"] and day.desk.texts["OD"]["zone_mm"] == "6.2"
    told(day, {"act": "undo"}, {"act": "undo"})
    assert day.desk.texts["OD"]["zone_mm"] == "6.5" and day.desk.texts["OD"]["flap_um"] == "100"


def test_what_was_typed_after_a_drag_in_the_same_field_stays(day):
    """Source: rule of the desk: nothing that was typed is lost. The undo put back what stood before the drag."""
    told(day, *moved(day, "a", zone_mm="6.2", flap_um="115"))
    told(day, {"plan": day.at, "side": "OD", "form": "", "name": "zone_mm", "text": "6.8"}, {"act": "undo"})
    assert day.desk.texts["OD"]["zone_mm"] == "6.8" and day.desk.texts["OD"].get("flap_um", "") != "115"


def test_only_the_drag_that_is_named_is_taken_back(day):
    """Source: Escape takes back the drag under way, never one before it."""
    told(day, *moved(day, "a", zone_mm="6.2"), {"act": "undo", "drag": "b"})
    assert day.desk.texts["OD"]["zone_mm"] == "6.2"


def test_the_strip_says_start_now_and_change_until_something_else_is_typed(day):
    start = day.desk.figures("OD")[0].comparison.results["flap"].budget.bed_central_um
    told(day, *moved(day, "a", flap_um="115"), *moved(day, "a", flap_um="130"))
    said = strip(day)
    assert "Flap thickness, with epithelium 110 → 130 µm" in said and f"from {start:.0f}, −20" in said
    told(day, {"plan": day.at, "side": "OD", "form": "", "name": "zone_mm", "text": "6.2"})
    assert strip(day) == ""


def test_the_plan_as_it_was_is_kept_beside_the_moved_one(day):
    before = day.desk.figures("OD")[0]
    told(day, *moved(day, "a", flap_um="130"), {"act": "keep_start"})
    assert day.desk.kept["OD"] is before and "keep the plan as it was" not in strip(day)
    told(day, *moved(day, "b", flap_um="140"), {"act": "keep_start", "drag": "a"})  # named on a strip that is gone
    assert day.desk.kept["OD"] is before


def test_another_patient_has_no_drag_to_take_back(day):
    told(day, *moved(day, "a", zone_mm="6.2"))
    open_demo(day.desk, FIRST_DEMO)
    told(day, {"act": "undo"})
    assert day.desk.texts["OD"]["zone_mm"] == "6.5" and {"undo", "keep_start"} <= ACTS.keys()


def test_a_move_is_taken_back_in_the_plan_that_showed_it(day):
    """Asked for after the next patient was, and before that one stood there: the next one's last drag was undone."""
    other = Desk(texts={"OD": dict(day.desk.texts["OD"])})
    first, day.plans[other.id] = day.at, other
    told(day, *moved(day, "a", zone_mm="6.2"), {"act": "step", "by": 1})
    told(day, *moved(day, "b", zone_mm="6.3"), *moved(day, "c", cap_um="140"), {"act": "step", "by": -1})
    told(day, {"act": "step", "by": 1}, {"act": "keep_start", "plan": first}, {"act": "undo", "plan": first})
    assert day.plans[first].texts["OD"]["zone_mm"] == "6.5" and other.texts["OD"]["cap_um"] == "140"
    assert day.plans[first].kept and not other.kept
    button = re.search(r"<button[^>]*undo[^>]*>", strip(day))[0]
    named = {name: re.search(f'data-{name}="(.*?)"', button)[1] for name in ("plan", "drag")}
    told(day, *2 * [{"act": "undo"} | named])  # a second press does not take back the move before
    assert "cap_um" not in other.texts["OD"] and other.texts["OD"]["zone_mm"] == "6.3"


@pytest.mark.parametrize(
    ("was", "now", "decimals", "words"),
    [("−2", "3", 0, "from −2, +5"), ("61.6", "55.2", 1, "from 61.6, −6.4"), ("7", "–", 0, "from 7")],
)
def test_a_change_is_the_difference_of_what_is_written(was, now, decimals, words):
    assert change_words(was, now, decimals) == words
