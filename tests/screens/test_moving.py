"""A move of the plan on Trade-offs and the way back: nothing that was typed since is lost."""

from helpers import press_of
from streamlit.testing.v1 import AppTest

from tissue.screens.desk.state import Day, Desk

EYE = {"refraction": "-6.00", "central_thickness_um": "548", "zone_mm": "6.5", "cap_um": "120"}


def screen():
    """The line with the move alone; what was typed comes in a run that never reached it."""
    import streamlit as st

    from tissue.screens.desk.state import desk
    from tissue.screens.tradeoffs.moving import move_plan, moved_and_back

    on_desk = desk()
    if "moves" in st.session_state:
        move_plan(on_desk, on_desk.figures("OD")[0], st.session_state.pop("moves"))
    moved_and_back(on_desk)


def moved(**wanted):
    app = AppTest.from_function(screen, default_timeout=60)
    app.session_state["day"] = Day.of(Desk(texts={"OD": dict(EYE)}))
    app.session_state["moves"] = wanted
    return app.run()


def taken_back(app, **typed):
    """The words after the button was pressed right after something was typed, and what then stands in the eye."""
    on_desk = app.session_state["day"].desk
    for name, text in typed.items():
        on_desk.edit("OD", name, text)
    press_of(app, "to_back").click().run()
    assert not app.exception and not app.button
    return "".join(str(one.proto) for one in app.get("html")), on_desk.texts["OD"]


def test_a_move_is_taken_back():
    said, texts = taken_back(moved(zone_mm=7.0, cap_um=140.0))
    assert texts == EYE and "typed since" not in said


def test_what_was_typed_since_in_another_field_stays():
    """Source: rule of the desk: nothing typed is lost. The way back put the whole old plan in its place."""
    said, texts = taken_back(moved(zone_mm=7.0, cap_um=140.0), central_thickness_um="512")
    assert texts == EYE | {"central_thickness_um": "512"}
    assert "Taken back: cap thickness, optical zone. What was typed since stays: thickness at centre." in said


def test_what_was_typed_since_in_a_moved_field_stays():
    said, texts = taken_back(moved(zone_mm=7.0, cap_um=140.0), zone_mm="6.2")
    assert texts == EYE | {"zone_mm": "6.2"} and "What was typed since stays: optical zone." in said


def test_where_every_moved_field_was_typed_since_nothing_is_taken_back():
    said, texts = taken_back(moved(zone_mm=7.0), zone_mm="6.2")
    assert texts == EYE | {"zone_mm": "6.2"} and "Nothing was taken back." in said
