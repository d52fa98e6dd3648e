"""Follow-up without a browser: readings are put in, told when they are wrong, taken out, and go into the plan file."""

import pytest
from streamlit.testing.v1 import AppTest

from tissue.entry.plan_file import read_plan
from tissue.screens.desk.press import PRESSES
from tissue.screens.desk.readings import begun, entries, put_in, take_out, tried
from tissue.screens.desk.state import Day, Desk, demo_files, open_demo

GOOD = {"days": "90", "method": "oct", "thickness_um": "462", "refraction": "-0.25"}


@pytest.fixture
def desk():
    made = Desk()
    open_demo(made, "harbour-21_extraction_followed")
    return made


def values(desk):
    return desk.figures("OD")[0].inputs.values


def test_a_demo_brings_its_readings(desk):
    found, wrong = entries(desk, "OD", values(desk))
    assert [one.reading.days for one in found] == [30, 182] and not wrong and not desk.changed
    assert entries(desk, "OS", {}) == ((), [])


def test_a_reading_put_in_goes_into_the_plan_file(desk):
    assert put_in(desk, "OD", GOOD, values(desk)) == []
    back = read_plan(desk.as_file().encode())
    assert [one.reading.days for one in back.readings["OD"]] == [30, 182, 90]
    assert desk.changed and desk.code == "harbour-21-copy" and back.eyes["OD"]["done"] == "lenticule"


def test_a_wrong_reading_is_not_put_in(desk):
    faults = put_in(desk, "OD", GOOD | {"thickness_um": "95"}, values(desk))
    assert [fault.text for fault in faults] == ["reading 3: thickness_um: read 95, accepted 200 to 900 µm"]
    assert len(desk.readings["OD"]) == 2 and not desk.changed


def test_twenty_readings_are_enough(desk):
    for _ in range(18):
        assert put_in(desk, "OD", GOOD, values(desk)) == []
    assert "1 to 20" in put_in(desk, "OD", GOOD, values(desk))[0].text


def test_a_reading_taken_out_is_gone_and_reset_brings_it_back(desk):
    first = desk.readings["OD"][0]
    for _ in range(2):  # of two presses the second one comes when another reading has its place
        take_out(desk, "OD", first)
    assert [one["days"] for one in desk.readings["OD"]] == ["182"] and desk.changed
    assert "days = 30" not in desk.as_file()
    desk.reset()
    assert len(desk.readings["OD"]) == 2 and not desk.changed


def test_another_plan_leaves_no_reading(desk):
    assert "harbour-22_flap_followed" in demo_files()
    open_demo(desk, "harbour-22_flap_followed")
    assert "OD" not in desk.readings and len(desk.readings["OS"]) == 3


def drawn(name):
    def screen(name):
        import streamlit as st

        from tissue.screens.desk.state import Day, Desk, open_demo
        from tissue.screens.pages import followup

        if "day" not in st.session_state:
            st.session_state["day"] = Day.of(Desk())
            open_demo(st.session_state["day"].desk, name)
        followup.show()

    return AppTest.from_function(screen, args=(name,), default_timeout=60).run()


@pytest.mark.parametrize("name", [name for name in demo_files() if "followed" in name] + ["harbour-03_moderate_myopia"])
def test_the_screen_draws_every_demo_without_a_fault(name):
    assert not drawn(name).exception


def typed(day, plan, side="OD", **values):
    """What the page tells of the form of a reading; the entries are numbered on."""
    log = [
        {"plan": plan.id, "side": side, "form": f"reading_{side}", "name": f"reading_{name}", "text": text}
        for name, text in values.items()
    ]
    told(day, *log)


def told(day, *log):
    numbered = [entry | {"number": day.answered + 1 + i} for i, entry in enumerate(log)]
    day.take({"desk": day.name, "log": numbered})


def put(day, plan, side="OD"):
    told(day, {"act": "put_reading", "plan": plan.id, "side": side})


def test_a_reading_is_put_in_by_its_form(desk):
    day = Day.of(desk)
    typed(day, desk, days="400", bed_um="700")
    put(day, desk)
    assert len(desk.readings["OD"]) == 2 and tried(desk, "OD") and begun(desk, "OD")["bed_um"] == "700"
    typed(day, desk, bed_um="325")
    assert not tried(desk, "OD")  # a fault is told of what was to be put in, and of nothing that was typed since
    for _ in range(2):  # a second press finds the form empty, and no fault of an empty reading is told
        put(day, desk)
    assert not tried(desk, "OD")
    assert [one["days"] for one in desk.readings["OD"]] == ["30", "182", "400"]
    assert begun(desk, "OD") == {} and desk.readings["OD"][2]["method"] == "oct"


def test_a_reading_that_was_begun_is_kept_with_its_patient_and_its_eye(desk):
    """Source: rule of the desk: nothing typed is lost, and nothing of a patient goes over to another."""
    other = Desk()
    open_demo(other, "harbour-22_flap_followed")
    day = Day.of(desk, other)
    typed(day, desk, days="90")
    typed(day, desk, "OS", days="91")
    typed(day, other, days="92")
    before = [dict(one.texts) for one in (desk, other)]
    day.step(1)
    assert [begun(desk, "OD"), begun(desk, "OS"), begun(other, "OD"), begun(other, "OS")] == [
        {"days": "90"}, {"days": "91"}, {"days": "92"}, {}
    ]  # fmt: skip
    assert [dict(one.texts) for one in (desk, other)] == before and not desk.changed and "90" not in desk.as_file()
    put(day, desk, "OS")  # of an eye with nothing measured: told where it is, put in nowhere
    assert begun(desk, "OS") and not desk.readings.get("OS")
    day.new_patient()
    assert begun(day.desk, "OD") == begun(day.desk, "OS") == {}
    open_demo(desk, "harbour-22_flap_followed")
    assert begun(desk, "OD") == begun(desk, "OS") == {}


def test_enhancement_may_take_the_eye_as_the_readings_have_it():
    """Offered after an extraction that was read again; the reserve is then that of the follow-up."""

    def screen(name):
        import streamlit as st

        from tissue.screens.desk.state import Desk, open_demo
        from tissue.screens.pages.enhancement import _eye

        if "eye" not in st.session_state:
            st.session_state["eye"] = Desk()
            open_demo(st.session_state["eye"], name)
        desk = st.session_state["eye"]
        shown = desk.figures(desk.side)[0]
        comparison, _ = _eye(desk, shown)
        st.text(f"{comparison.results['lenticule'].budget.bed_central_um:.2f}")

    app = AppTest.from_function(screen, args=("harbour-21_extraction_followed",), default_timeout=60).run()
    planned = float(app.text[0].value)
    app.segmented_control[0].set_value("As the readings have it").run()
    assert not app.exception and float(app.text[0].value) != planned
    flap = AppTest.from_function(screen, args=("harbour-22_flap_followed",), default_timeout=60).run()
    assert not flap.exception and not flap.segmented_control


def test_the_next_patient_has_nothing_of_the_one_before():
    """Source: rule of the desk: what belongs to a patient lives in the plan of that patient alone."""

    def screen():
        import streamlit as st

        from tissue.screens.desk.state import Day, Desk, open_demo
        from tissue.screens.pages import followup

        if "day" not in st.session_state:
            followed, other = Desk(), Desk()
            open_demo(followed, "harbour-21_extraction_followed")
            open_demo(other, "harbour-03_moderate_myopia")
            st.session_state["day"] = Day.of(followed, other)
        followup.show()

    app = AppTest.from_function(screen, default_timeout=60).run()
    own = app.session_state["day"]
    own.step(1)
    app.run()
    assert not app.exception and app.selectbox[0].value == "not told"
    assert "done" not in own.desk.texts["OD"] and not own.desk.changed
    app.selectbox[0].set_value("flap").run()
    assert own.desk.texts["OD"]["done"] == "flap" and app.selectbox[0].value == "flap"
    own.step(1)
    app.run()
    assert app.selectbox[0].value == "lenticule" and own.desk.texts["OD"]["done"] == "lenticule"
    assert not own.desk.changed


def test_a_second_press_takes_no_other_reading_out_where_the_buttons_are_drawn_anew():
    """The page still showed the button of the first one: by its place it was the button of the second one by then."""
    app = drawn("harbour-21_extraction_followed")
    button = next(name for name in app.session_state[PRESSES] if name.startswith("reading_out"))
    for _ in range(2):
        app.session_state[PRESSES][button][1]()
        app.run()
    assert [one["days"] for one in app.session_state["day"].desk.readings["OD"]] == ["182"]


def test_the_form_stays_open_where_what_was_begun_is_taken_back():
    """A digit and Backspace, with readings there: the form folded, and the next keys went nowhere."""
    app = drawn("harbour-21_extraction_followed")
    assert not app.expander[0].proto.expanded
    for text in ("9", ""):
        app.session_state["day"].desk.own["reading_OD"] = {"reading_days": text}
        assert app.run().expander[0].proto.expanded
