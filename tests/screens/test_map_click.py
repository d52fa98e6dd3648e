"""A click on the map of Trade-offs moves the inputs that lay under it, or none."""

import json

import pytest
from streamlit.testing.v1 import AppTest

from tissue.explore.tradeoffs import PAIRS
from tissue.screens.desk.state import Day, Desk

EYE = {"refraction": "-6.00", "central_thickness_um": "548", "zone_mm": "6.5", "cap_um": "120"}


def screen():
    """The screen alone, and what the page told."""
    import streamlit as st

    from tissue.screens.desk.state import ACTS, day
    from tissue.screens.pages import tradeoffs

    if "told" in st.session_state:
        ACTS["click"](day(), st.session_state.pop("told"))
    if "then" in st.session_state:
        day().add(st.session_state.pop("then"))
    tradeoffs.show()


@pytest.fixture
def app():
    app = AppTest.from_function(screen, default_timeout=120)
    app.session_state["day"] = Day.of(Desk(texts={"OD": dict(EYE)}))
    return app.run()


def meant(app):
    """What the map sends with a click: whose map it is, and which inputs lie along x and y."""
    (map_,) = (one.proto for one in app.get("bidi_component") if one.proto.id.endswith("chart-to_map"))
    return json.loads(map_.bytes)["clicks"]


def said(app):
    return "".join(str(one.proto) for one in app.get("html"))


def test_a_click_moves_the_inputs_of_its_map(app):
    assert PAIRS[0] == ("zone_mm", "cap_um")
    app.session_state["told"] = meant(app) | {"x": 6.0, "y": 131.2}
    app.run()
    assert not app.exception and "The plan was moved" in said(app)
    assert app.session_state["day"].desk.texts["OD"] == EYE | {"zone_mm": "6", "cap_um": "131"}


def test_a_click_on_a_map_that_was_changed_before_it_came_moves_nothing(app):
    """Source: rule of the desk: what is pressed means what was seen. Its x and y went into other fields."""
    app.session_state["told"] = meant(app) | {"x": 6.0, "y": 131.2}
    app.selectbox(key="to_pair").set_value(PAIRS[1]).run()
    assert not app.exception and "The plan was not moved" in said(app)
    assert app.session_state["day"].desk.texts["OD"] == EYE
    assert not [one for one in app.button if one.key == "to_back"]


def test_a_click_that_came_with_a_step_to_another_patient_moves_nobody(app):
    """It waited in its plan, and moved it when that patient was on the screen again."""
    own, first = app.session_state["day"], app.session_state["day"].desk
    app.session_state["told"] = meant(app) | {"x": 6.0, "y": 131.2}
    app.session_state["then"] = other = Desk(texts={"OD": dict(EYE)})
    app.run()
    assert own.desk is other and not app.exception
    own.at = first.id
    app.run()
    assert first.texts["OD"] == EYE and other.texts["OD"] == EYE
