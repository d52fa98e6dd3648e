"""The dialog *Measured map* as the app draws it, without a browser."""

from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from tissue.screens.desk.link import ACTS

APP = str(Path(__file__).resolve().parents[3] / "app.py")


@pytest.fixture
def app():
    """The app after its first run, its plan asked for the map of the right eye."""
    made = AppTest.from_file(APP, default_timeout=60).run()
    own = made.session_state["day"]
    ACTS["map"](own, {"plan": own.at, "side": "OD"})
    return made


def test_a_plan_that_was_left_before_its_dialog_was_drawn_closes_it(app):
    """The page stayed broken with a KeyError on every run. Source: rule of the desk: a new patient is one key."""
    own = app.session_state["day"]
    ACTS["new"](own, {})
    assert own.asking[1] not in own.plans
    app.run()
    assert not app.exception and own.asking == ()
    assert not app.run().exception
