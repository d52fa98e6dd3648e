"""A press that goes through the page's log is done once, for the eye it stood for, after what was typed before it.

Source: rule of the desk: nothing asked for is lost, and an act runs on what stands in the fields.
"""

import json

import pytest
from helpers import ROOT
from streamlit.runtime.state import SessionState
from streamlit.testing.v1 import AppTest

from tissue.screens.desk import press as presses
from tissue.screens.desk import state
from tissue.screens.desk.link import ACTS
from tissue.screens.desk.plan import Desk
from tissue.screens.desk.press import LEFT, forget_pressed, noted, press, pressed
from tissue.screens.desk.readings import take_out
from tissue.screens.desk.state import Day, Made
from tissue.screens.start.start import ASKED
from tissue.screens.tradeoffs.moving import _back, move_plan

EYE = {"refraction": "-6.00", "central_thickness_um": "548", "zone_mm": "6.5", "cap_um": "120"}


@pytest.fixture
def day(monkeypatch):
    """A day with two plans, its session, and buttons that are not drawn."""
    assert {"press", "step"} <= set(ACTS)
    made = Day.of(Desk(texts={"OD": dict(EYE)}), Desk(texts={"OD": EYE | {"zone_mm": "6.0"}}))
    session = {"day": made}
    for module in (presses, state):
        monkeypatch.setattr(module.st, "session_state", session)
    monkeypatch.setattr(presses.st, "button", lambda *told, **more: None)
    return made


def keep_button(plan):
    """The button of a plan is drawn; gives what the page says when it is pressed."""
    press("keep", "Keep this plan", plan.keep, "OD", of=(plan.id, "OD"))
    return {"act": "press", "button": f"keep-{plan.id}-OD"}


def say(day, *log):
    """What the page sends, its entries numbered."""
    log = [entry | {"number": number} for number, entry in enumerate(log, 1)]
    day.take({"desk": day.name, "log": log})


def test_a_press_that_is_said_again_is_done_once_and_after_what_was_typed(day):
    typed = {"plan": day.at, "side": "OD", "form": "", "name": "zone_mm", "text": "6.1"}
    pressed = keep_button(day.desk)
    for _ in range(2):
        say(day, typed, pressed)
    assert day.desk.kept["OD"].inputs.values["zone_mm"] == 6.1


def test_a_press_belongs_to_the_eye_it_stood_for_though_the_next_patient_s_button_is_drawn(day):
    first, second = day.plans.values()
    pressed = keep_button(first)
    day.step(1)
    keep_button(second)
    say(day, pressed)
    assert first.kept and not second.kept


def test_a_press_of_what_is_no_longer_there_says_so_and_keeps_nothing_of_it(day):
    first, second = day.plans.values()
    pressed = keep_button(first)
    day.drop(first.id)
    keep_button(second)
    say(day, pressed)
    assert day.said == LEFT and first.id not in str(state.st.session_state[presses.PRESSES])


def test_what_is_said_after_a_press_waits_until_its_act_is_whole(day):
    """An act that asks for the plan on the desk took over what was said after it, in its own middle."""
    log = {"act": "press", "button": "look"}, {"act": "step", "by": 1}
    at, seen = day.at, []
    press("look", "Look", lambda: (say(day, *log), seen.append(day.at)))
    say(day, *log)
    assert seen == [at] and day.at != at


def test_an_act_that_is_pressed_twice_does_no_second_thing(day):
    """A hand that presses twice is quicker than the page: the button is drawn again only after both presses."""
    plan, one = day.desk, {"days": "30", "method": "oct", "thickness_um": "450"}
    plan.readings["OD"] = [one, one | {"days": "90"}]
    for _ in range(2):
        take_out(plan, "OD", one)
    assert [left["days"] for left in plan.readings["OD"]] == ["90"]
    plan.put_maps_back()
    before = dict(plan.texts["OD"])
    move_plan(plan, plan.figures("OD")[0], {"zone_mm": 7.0})
    after = dict(plan.texts["OD"])
    for _ in range(2):
        _back(plan, "OD", before, after)
    assert plan.texts["OD"] == before and "to_moved" not in plan.own


def asks(app):
    """What the page is told: whether *new patient* would ask first."""
    found = app.run().get("bidi_component")
    head = next(one.proto.bytes for one in found if one.proto.component_name == "tissue_link")
    return json.loads(head.partition(b"\n")[0])["asks"]


def test_a_saved_plan_is_left_for_certain_from_its_file_on():
    """Saved, and *new patient* before the server knew that the file had come: the fields took nothing for a while, and
    what was typed at once was not taken (1 of 411 hurried acts). What is typed after the file was made is unsaved."""
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60).run()
    day = app.session_state["day"]
    day.desk.edit("OD", "zone_mm", "6.1")
    assert asks(app)
    day.made.append(Made(1, "a.toml", "application/toml", b"", day.at, day.desk.snapshot()))
    assert not asks(app)
    day.desk.edit("OD", "zone_mm", "6.2")
    assert asks(app)


def test_a_page_with_a_dialog_takes_no_new_patient_for_certain():
    """What a dialog notes reaches the page only after it: *Compare*, its cross and N at once, and what was typed for
    the next patient was refused, for the read-back was not saved and the server asked."""
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60).run()
    day, told = app.session_state["day"], []
    for asking in ((), ("readback", day.at, "OD"), ()):
        day.asking = asking
        told.append(asks(app))
    assert told == [False, True, False]


def test_a_copy_goes_from_the_eye_that_its_dialog_named():
    """The other eye came into the fields in between, and its texts were put over those that were to be copied."""
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60).run()
    day = app.session_state["day"]
    day.desk.edit("OD", "zone_mm", "6.1")
    day.asking = "copy", day.at, "OD"
    app.run()
    day.desk.look_at("OS")
    app.session_state[presses.PRESSES][f"copy_yes-{day.at}-OD"][1]()
    assert [day.desk.texts[side]["zone_mm"] for side in ("OD", "OS")] == ["6.1", "6.1"]


def drawn(page):
    """A screen alone, about an eye with readings."""

    def screen(page):
        from importlib import import_module

        import streamlit as st

        from tissue.screens.desk.state import Day, Desk, open_demo

        if "day" not in st.session_state:
            st.session_state["day"] = Day.of(Desk())
            open_demo(st.session_state["day"].desk, "harbour-21_extraction_followed")
        import_module(f"tissue.screens.pages.{page}").show()

    return AppTest.from_function(screen, args=(page,), default_timeout=60).run()


@pytest.mark.parametrize("page", ["plan", "followup", "suction"])
def test_what_a_run_beside_has_only_just_drawn_was_not_pressed(page, monkeypatch):
    """A run that begins beside one that draws finds what it did not know, and the library calls its act: the plan was
    kept, a reading taken out, and the example of a moment of lost suction put into the plan.

    Source: `SessionState._call_callbacks`: what differs from before has changed, and there was nothing before.
    """
    app = drawn(page)
    plan = app.session_state["day"].desk
    monkeypatch.setattr(SessionState, "_widget_changed", lambda *told: True)
    app.run()
    assert not app.exception and not plan.changed and not plan.kept and not app.session_state["day"].asking


def test_work_that_is_asked_for_twice_is_not_begun_by_itself_later(day):
    """The second press came after the run had begun the round: when that round was ended, another one began."""
    presses.note("begin")
    assert pressed("begin", "Begin the round") and not pressed("begin", "Begin the round")
    presses.note("begin")
    before = noted()
    presses.note("other")  # a press that comes in the middle of the run is for the next one
    forget_pressed(before)
    assert not pressed("begin", "Begin the round") and pressed("other", "Work out the series")


def test_a_run_that_reached_its_end_leaves_no_press_noted():
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60)
    app.session_state[presses.PRESSED] = {"rounds_begin": []}
    assert app.run().session_state[presses.PRESSED] == {}


@pytest.mark.parametrize("leaves", ["patient", "eye", "nobody"])
def test_a_dialog_of_an_eye_that_was_left_is_closed(leaves):
    """It stood there for the next patient, and *Drop the changes*, *Overwrite*, *Open this one* was done to theirs."""
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=60).run()
    day = app.session_state["day"]
    first, other = day.desk, Desk(code="another", texts={"OD": dict(EYE)})
    day.plans[other.id] = other
    first.edit("OD", "zone_mm", "6.1")
    more = {"new": (False,), "map": ("OD",)}
    for dialog in ASKED:
        day.look_at(first.id)
        first.look_at("OD")
        day.asking = dialog, first.id, "OD", *more.get(dialog, ())
        if leaves == "patient":
            day.step(1)
        elif leaves == "eye":
            first.look_at("OS")
        app.run()
        stays = leaves == "nobody"
        assert not app.exception and bool(day.asking) == stays, dialog
        said = " ".join(str(one.proto.body) for one in app.get("html"))
        assert not stays or first.code in said
