"""The part of Trade-offs on what a zone buys, without a browser: its choices, its map and its file."""

import csv
import io

import pytest
from streamlit.testing.v1 import AppTest

from tissue.screens.desk.state import Day, Desk
from tissue.screens.sight.pictures import NO_PLACE
from tissue.screens.tradeoffs.sight import CURVES, FOCUS, MAP, PICTURES

EYE = {"refraction": "-6.00", "central_thickness_um": "548", "zone_mm": "6.5", "pupil_mm": "5.5"}


def screen():
    """The part alone, and what the page asked for."""
    import streamlit as st

    from tissue.screens import frame
    from tissue.screens.desk.state import ACTS, day, desk
    from tissue.screens.tradeoffs import sight

    if "asks" in st.session_state:
        ACTS["file"](day(), st.session_state.pop("asks"))
    colours = frame.begin()
    on_desk = desk()
    sight.show(on_desk, on_desk.figures(on_desk.side)[0], colours, "x")


def desk_of(**more):
    return Desk(code="x", texts={"OD": EYE | more})


def shown(on_desk, part=MAP):
    app = AppTest.from_function(screen, default_timeout=120)
    app.session_state["day"] = Day.of(on_desk)
    app.session_state["to_sight_part"] = part
    return app.run()


def test_the_map_asked_for_right_after_another_pupil_was_typed_comes():
    """Source: rule of the desk: no file of another state, and none is lost. It fell over the missing field."""
    on_desk = desk_of()
    app = shown(on_desk)
    assert not app.exception
    on_desk.edit("OD", "pupil_mm", "7.2")
    app.session_state["asks"] = {"number": 7, "file": "to_light_csv"}
    app.run()
    assert not app.exception
    (made,) = app.session_state["day"].made
    rows = list(csv.reader(io.StringIO(made.content.decode())))
    assert made.name == "x-OD-light-map.csv" and len(rows) > 12 * 12


def test_another_patient_begins_at_the_pupil_of_the_own_plan():
    """Source: rule of the desk: nothing of one patient at the next. It opened at the choice of the one before."""
    first, second = desk_of(), desk_of()
    app = shown(first, CURVES)
    pupil_box(app).set_value(7.5).run()
    assert pupil_box(app).value == 7.5 and not app.exception
    app.session_state["day"].add(second)
    app.run()
    assert not app.exception and pupil_box(app).value == 5.5
    app.session_state["day"].look_at(first.id)
    assert pupil_box(app.run()).value == 7.5


def pupil_box(app):
    return next(one for one in app.selectbox if one.label == "Pupil, mm")


@pytest.mark.parametrize("part", [CURVES, MAP, PICTURES, FOCUS])
@pytest.mark.filterwarnings("error::RuntimeWarning")
def test_an_eye_without_refraction_says_the_reason_of_the_option(part):
    """Source: why_not of the option's own Result. The zone was blamed, and a map of nothing warned."""
    on_desk = desk_of(refraction="0")
    why = on_desk.figures("OD")[0].comparison.results["lenticule"].why_not
    app = shown(on_desk, part)
    assert why and not app.exception
    said = "".join(str(one.proto) for one in app.get("html"))
    assert "There is no plan with 0.1 mm more zone" not in said
    assert part != CURVES or f"No figures for lenticule extraction: {why}." in said
    drawn = "".join(one.proto.bytes.decode() for one in app.get("bidi_component"))
    assert part != MAP or (NO_PLACE not in drawn and f"No figure in 100 % of the map: {why}." in drawn)
    assert part != PICTURES or (NO_PLACE not in said and why in said)


def test_pictures_stand_for_the_zone_and_the_pupil_of_the_plan_as_they_are():
    """Source: the fields. They were rounded to hundredths, so no column was this plan's and another zone was drawn."""
    app = shown(desk_of(zone_mm="6.125", pupil_mm="5.125"), PICTURES)
    said = "".join(one.proto.body for one in app.get("html"))
    assert not app.exception and "This plan, zone 6.125 mm, pupil 5.125 mm" in said and "one 6.12 mm" not in said
