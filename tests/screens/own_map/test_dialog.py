"""The dialog *Measured map* as the app draws it, without a browser."""

from pathlib import Path

import pytest
from helpers import press_of
from map_tables import grid_table
from own_maps import nine
from streamlit.testing.v1 import AppTest

from tissue.entry import plan_file
from tissue.screens.desk.link import ACTS
from tissue.screens.own_map.answers import Table

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


def test_a_map_that_makes_the_plan_too_large_is_refused_in_the_dialog(app, monkeypatch):
    """It was taken, saved, and refused when it was opened. The limit is lowered: a table of 40,000 readings is slow."""
    monkeypatch.setattr(plan_file, "LARGEST_WITH_MAPS", 1_000)
    own = app.session_state["day"]
    before = dict(own.desk.texts["OD"])
    app.session_state["map_table"] = Table(grid_table(lambda x, y: nine(x, y) + 15.0).encode(), "OD")
    app.run()
    for key, said in (("map_of", "thickness"), ("map_x", "right"), ("map_y", "up")):
        app.radio(key=key).set_value(said)
    app.run()
    press_of(app, "map_take").click().run()
    assert not app.exception and any("Not taken: plan file: read 2.1 kB" in str(one.proto) for one in app.get("html"))
    assert own.desk.texts["OD"] == before and own.asking
    monkeypatch.undo()
    press_of(app, "map_take").click().run()
    assert "thickness_map" in own.desk.texts["OD"] and own.asking == ()


def test_a_typed_centre_that_is_not_the_map_s_is_said(app):
    """8 µm apart, under the 10 of the notice, and nothing said so. Source: harbour-10, an invented eye."""
    own = app.session_state["day"]
    values = plan_file.read_plan(next((Path(APP).parent / "demo_profiles").glob("harbour-10_*.toml"))).eyes["OD"]
    texts = own.desk.texts["OD"]
    texts["central_thickness_um"] = "532"
    for name in ("thinnest_um", "thinnest_x_mm", "thinnest_y_mm"):
        texts.pop(name, None)
    own.desk.put_maps("OD", {"thickness_map": values["thickness_map"]})
    app.run()
    typed = "524 µm at the vertex by the map, 532 typed: central figures use what was typed."
    assert typed in " ".join(one.proto.body for one in app.get("html"))
    own.desk.texts["OD"]["central_thickness_um"] = "5x"
    app.run()
    assert typed not in " ".join(one.proto.body for one in app.get("html"))


def test_only_the_picture_that_was_seen_is_confirmed(app):
    """Source: rule of maps: orientation is said, never guessed. A press may come with an answer that changed since."""
    own = app.session_state["day"]
    app.session_state["map_table"] = Table(grid_table(lambda x, y: nine(x, y) + 15.0).encode(), "OD")
    app.run()
    for key, said in (("map_of", "thickness"), ("map_x", "right"), ("map_y", "up")):
        app.radio(key=key).set_value(said)
    app.run()
    app.radio(key="map_y").set_value("down")
    press_of(app, "map_take").click().run()
    assert "thickness_map" not in own.desk.texts["OD"] and own.asking
    assert any("an answer has changed" in str(one.proto) for one in app.get("html"))
    app.text_input(key="map_sd").set_value("7")
    press_of(app, "map_take").click().run()
    found = own.desk.texts["OD"]["thickness_map"]
    assert (found.positive_y, found.sd_um) == ("down", "7") and not own.asking
