"""What is chosen on a screen belongs to the eye it was shown for, though another came before the choice was taken over.

Source: rule of the desk: what belongs to a patient lives in the plan of that patient alone. The browser may send the
next patient, or the other eye, and a choice together, and then the choice is taken over last.
"""

import re

import pytest
from helpers import ROOT, press_of
from streamlit.testing.v1 import AppTest

from tissue.screens.desk import state
from tissue.screens.desk.plan import OTHER

SCREENS = ROOT / "tissue" / "screens"
FIRST, NEXT = "harbour-03_moderate_myopia", "harbour-07_unlike_eyes"


def screen_of(name):
    """A screen with two plans on the list, and its Day."""

    def screen(name, plans):
        from importlib import import_module

        import streamlit as st

        from tissue.screens.desk.state import Day, Desk, open_demo

        if "day" not in st.session_state:
            desks = [Desk() for _ in plans]
            for desk, plan in zip(desks, plans, strict=True):
                open_demo(desk, plan)
            st.session_state["day"] = Day.of(*desks)
        import_module(f"tissue.screens.pages.{name}").show()

    app = AppTest.from_function(screen, args=(name, (FIRST, NEXT)), default_timeout=60).run()
    return app, app.session_state["day"]


def texts_of(plan):
    return {side: dict(texts) for side, texts in plan.texts.items()}


def move_on(day, how):
    """The next patient comes onto the desk, or the other eye."""
    if how == "patient":
        day.step(1)
    else:
        day.desk.look_at(OTHER[day.desk.side])


@pytest.mark.parametrize("how", ["patient", "eye"])
def test_a_moment_of_the_clock(how):
    app, day = screen_of("suction")
    first, other = day.plans.values()
    before, untouched = texts_of(first), texts_of(other)
    move_on(day, how)
    app.slider[0].set_value(9.0).run()
    assert not app.exception and texts_of(other) == untouched and first.texts["OS"] == before["OS"]
    assert set(first.texts["OD"]) - set(before["OD"]) == {"suction_stage", "suction_done"}


@pytest.mark.parametrize("how", ["patient", "eye"])
def test_a_value_that_was_sought(how):
    app, day = screen_of("tradeoffs")
    first, other = day.plans.values()
    before, untouched = texts_of(first), texts_of(other)
    put = press_of(app, "to_apply")
    move_on(day, how)
    put.click().run()
    assert not app.exception and texts_of(other) == untouched and first.texts["OS"] == before["OS"]
    assert first.texts["OD"] != before["OD"]


def test_what_was_done():
    app, day = screen_of("followup")
    first, other = day.plans.values()
    day.step(1)
    app.selectbox[0].set_value("flap").run()
    assert first.texts["OD"]["done"] == "flap" and "done" not in other.texts["OD"]


def test_how_the_moment_is_given():
    app, day = screen_of("suction")
    first, other = day.plans.values()
    words = app.segmented_control[0]
    day.step(1)
    words.set_value(words.options[-1]).run()
    assert first.own["suction"]["by"] == words.options[-1] and other.own["suction"]["by"] == words.options[0]


def test_on_how_many_sheets_the_ways_are_printed():
    """The cap first has more ways than one sheet holds, unless nothing is cut (tests/paper/test_record.py)."""
    app, day = screen_of("suction")
    first = next(iter(day.plans.values()))
    few = "one sheet, or two where there are many notices"
    for name, value, sheets in (
        ("cut_order", "lenticule-first", few),
        ("cut_order", "cap-first", "two sheets or more"),
        ("refraction", "0.00", few),
    ):
        first.edit("OD", name, value)
        app.run()
        said = " ".join(str(one.proto.body) for one in app.get("html"))
        assert f"The rescue options of both eyes at seven moments on {sheets}, to be printed" in said


ACT = re.compile(r"on_(?:click|change)=([\w.]+(?:\([\w.]+\))?),\s*args=(\([^)]*\)|args)")


def test_an_act_on_a_plan_comes_after_all_that_was_typed():
    """Source: rule of the desk: an act works on what stands in the fields. What was typed and the act may come in one
    message, and the act be taken over first."""
    found = [one for path in SCREENS.rglob("*.py") for one in ACT.findall(path.read_text("utf-8"))]
    of_plan = [act for act, given in found if "on_desk" in act + given or "own," in given or given == "args"]
    assert len(of_plan) > 5
    assert not [act for act in of_plan if not act.startswith("after_told(")]


def test_a_press_goes_through_the_log_of_the_page():
    """Of a press beside an entry the library loses one at times. Beside its forms nothing is typed."""
    with_button = [path.name for path in SCREENS.rglob("*.py") if "st.button(" in path.read_text("utf-8")]
    assert with_button == ["press.py"]


def test_a_plan_is_kept_as_it_was_typed_though_the_click_is_taken_over_first():
    app, day = screen_of("plan")
    plan = day.desk
    typed = {"number": 1, "plan": plan.id, "side": "OD", "form": "", "name": "refraction", "text": "-3.00 -0.75 x 12"}
    told = []
    take = type(day).take
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(state, "day", lambda: told.append(1) or take(day, {"desk": day.name, "log": [typed]}) or day)
        state.after_told(plan.keep)("OD")
    assert told and plan.kept["OD"].comparison.measured.sphere_D == -3.0
