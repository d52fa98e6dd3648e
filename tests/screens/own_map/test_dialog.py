"""The dialog *Measured map* as the app draws it, without a browser."""

from pathlib import Path

import pytest
from map_tables import grid_table
from own_maps import nine
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


def test_of_a_file_and_a_pasted_table_none_is_taken_before_one_is_left_out(app):
    """The file won without a word. Source: rule of maps: nothing is guessed."""
    app.run()
    app.text_area(key="map_text").input(grid_table(nine))
    app.file_uploader(key="map_file").upload("map.csv", grid_table(nine).encode(), "text/csv")
    app.button(key="map_go").click().run()
    assert not app.exception and any("a file and a pasted table" in str(one.proto) for one in app.get("html"))
