"""The whole app without a browser: it opens, every demo profile draws, a wrong value leaves the figures standing."""

import json
from pathlib import Path
from types import SimpleNamespace

import pytest
from streamlit.testing.v1 import AppTest

from tissue.screens.desk import link
from tissue.screens.desk.state import demo_files, open_demo
from tissue.screens.pages import plan
from tissue.screens.parts.chart import chart
from tissue.screens.plan import views

APP = str(Path(__file__).resolve().parents[2] / "app.py")


@pytest.fixture
def app():
    """The app after its first run."""
    return AppTest.from_file(APP, default_timeout=60).run()


def test_it_opens_without_a_fault_and_with_the_standing_line(app):
    assert not app.exception
    assert any("does not say that an eye is fit for surgery" in str(one.proto) for one in app.get("html"))


@pytest.mark.parametrize("name", list(demo_files()))
def test_every_demo_profile_draws_in_every_view(app, name):
    desk = app.session_state["day"].desk
    open_demo(desk, name)
    for view in ("flattened", "depth × 4", "true scale", "from the front"):
        desk.view = view
        app.session_state["view"] = view
        app.run()
        assert not app.exception
    desk.both = bool(desk.texts.get("OS"))
    assert not app.run().exception


def test_a_wrong_value_is_said_and_nothing_falls_over(app):
    desk = app.session_state["day"].desk
    desk.texts["OD"]["zone_mm"] = "65"
    app.run()
    assert not app.exception and desk.figures("OD")[0] is not None


def test_an_empty_eye_asks_for_what_is_needed(app):
    app.session_state["day"].desk.texts = {"OD": {}}
    app.session_state["day"].desk.last = app.session_state["day"].desk.good = {}
    app.run()
    assert not app.exception
    assert any("No figures yet" in str(one.proto) for one in app.get("html"))


def test_without_the_component_the_charts_are_still_drawn(app):
    app.session_state["chart_component_failed"] = True
    app.run()
    assert not app.exception
    assert len(app.get("plotly_chart")) == 3


def test_a_narrow_window_draws_as_well(app):
    app.session_state["main_width"], app.session_state["window_width"] = 504, 560
    assert not app.run().exception


def test_every_picture_is_made_anew_for_its_width(app):
    """One that keeps the old width tells the new one again at each drawing."""
    app.session_state["main_width"] = 1000
    app.run()
    charts = [one.proto for one in app.get("bidi_component") if one.proto.component_name == "tissue_chart"]
    assert [json.loads(proto.bytes)["width"] for proto in charts] == [1000, 1000, 1000]


def test_two_eyes_are_not_drawn_from_the_front_and_the_choice_is_kept_for_one(app):
    """Source: width of the names; two front views beside one another have no room for them."""
    desk = app.session_state["day"].desk
    for name in demo_files():
        open_demo(desk, name)
        if desk.texts.get("OS"):
            break
    desk.view, desk.both = "from the front", True
    app.run()
    assert not app.exception and app.session_state["view"] == "depth × 4"
    desk.both = False
    app.run()
    assert desk.view == app.session_state["view"] == "from the front"


def test_plan_works_its_picture_out_where_an_entry_is_taken_over(app, monkeypatch):
    """Source: `desk/link`: before the first message of a run is sent. A screen that names nothing has nothing done."""
    done, desk = [], app.session_state["day"].desk
    state = {"shown_first": app.session_state["shown_first"]}
    monkeypatch.setattr(link, "st", SimpleNamespace(session_state=state))
    monkeypatch.setattr(link, "day", lambda: app.session_state["day"])
    monkeypatch.setattr(views, "picture", lambda on_desk, shown, _, columns, draw: done.append((shown, columns, draw)))
    link._heard()
    assert done == [(desk.figures("OD")[0], 1, False)]
    state.clear()
    link._heard()
    assert len(done) == 1


@pytest.mark.parametrize(("drag", "first"), [("a", "moved"), ("", "flattened")])
def test_in_a_drag_the_figures_are_sent_before_the_picture_is_worked_out(app, monkeypatch, drag, first):
    """Source: rule of the drag: figures at most 100 ms behind. They waited for the picture beside them."""
    own, done, built, piece = app.session_state["day"], [], chart._built, plan.piece
    monkeypatch.setattr(chart, "_built", lambda one, columns: done.append(one.title) or built(one, columns))
    monkeypatch.setattr(plan, "piece", lambda key, html: done.append(key) or piece(key, html))
    about = {"number": own.answered + 1, "plan": own.at, "side": "OD", "form": ""}
    own.take({"log": [about | {"name": "cap_um", "text": "130", "drag": drag}]})
    assert not app.run().exception
    both = [name.partition(",")[0] for name in done if name.partition(",")[0] in ("moved", "flattened")]
    assert both[0] == first and len(both) == 2
