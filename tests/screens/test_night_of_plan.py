"""The lights at night are switched on for one patient; they are printed only where the screen shows them."""

from io import BytesIO

import pytest
from pypdf import PdfReader
from streamlit.testing.v1 import AppTest

from tissue.screens.desk.state import Day, Desk
from tissue.screens.pages.explain import TOGETHER

EYE = {"refraction": "-6.00", "central_thickness_um": "548"}
YOUNG = "20–29"


def screen():
    """The screen alone, and what the page asked for."""
    import streamlit as st

    from tissue.screens.desk.state import ACTS, day
    from tissue.screens.pages import explain

    if "asks" in st.session_state:
        ACTS["file"](day(), st.session_state.pop("asks"))
    explain.show()


@pytest.fixture
def app():
    """The screen with the strip switched on for the first patient, at the pupil of an age."""
    app = AppTest.from_function(screen, default_timeout=120)
    app.session_state["day"] = Day.of(Desk(code="one", texts={"OD": EYE}))
    switch(app.run()).set_value(True).run()
    pupil(app).set_value(YOUNG).run()
    assert not app.exception and pupil(app).value == YOUNG
    return app


def printed(app, number):
    """How many pictures the handout has that is asked for now."""
    app.session_state["asks"] = {"number": number, "file": "explain_page"}
    app.run()
    assert not app.exception
    (made,) = (one for one in app.session_state["day"].made if one.number == number)
    return len(PdfReader(BytesIO(made.content)).pages[0].images)


def switch(app):
    """The switch of the strip."""
    return next(one for one in app.toggle if one.key.startswith("explain_night"))


def pupil(app):
    """The row of pupils."""
    return next(one for one in app.button_group if one.key.startswith("explain_pupil"))


def test_a_new_patient_has_no_strip_and_no_age_of_the_one_before(app):
    """Source: rule of the desk: a new patient leaves nothing; the strip is off until it is asked for."""
    own = app.session_state["day"]
    assert printed(app, 1) == 2
    own.new_patient()
    app.run()
    assert YOUNG not in str([vars(one) for one in own.plans.values()]) + str(app.session_state["explain"])
    own.desk.edit("OD", "refraction", "-5.00")
    own.desk.edit("OD", "central_thickness_um", "540")
    app.run()
    assert not app.exception and not switch(app).value and printed(app, 2) == 0
    switch(app).set_value(True).run()
    assert pupil(app).value == "usual"


def test_the_next_of_the_list_has_no_strip_and_the_first_keeps_its_own(app):
    own, first = app.session_state["day"], app.session_state["day"].at
    own.add(Desk(code="two", texts={"OD": EYE}))
    app.run()
    assert not app.exception and not switch(app).value and printed(app, 1) == 0
    own.look_at(first)
    app.run()
    assert switch(app).value and pupil(app).value == YOUNG


def test_side_by_side_prints_no_strip_for_none_stands_on_the_screen(app):
    app.session_state["explain"]["way"] = TOGETHER
    app.run()
    assert not [one for one in app.toggle if one.key.startswith("explain_night")] and printed(app, 1) == 0
