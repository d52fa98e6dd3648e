"""The Mechanics screen: the law that is picked, what is asked of the whole cornea, and no figure of another plan."""

import time

from stale_cases import first_texts, opened

from tissue.screens.mechanics.space import Work


def texts(app):
    """All that stands on the screen as HTML or words."""
    return " ".join(str(getattr(one.proto, "body", "")) for one in app if getattr(one, "proto", None) is not None)


def box(app, label):
    """The field of that label."""
    return next(one for one in app.selectbox if one.label == label)


def test_each_law_has_its_own_fields():
    app = opened("mechanics", first_texts())
    labels = {one.label for one in app.selectbox}
    assert "Law of the stroma" in labels and "Modulus over shear modulus" not in labels
    before = texts(app)
    box(app, "Law of the stroma").set_value("transverse").run()
    assert not app.exception
    assert {"Modulus over shear modulus", "Shear stiffness with depth by"} <= {one.label for one in app.selectbox}
    assert texts(app) != before
    box(app, "Law of the stroma").set_value("fibre").run()
    assert not app.exception
    assert "Numbers of the law" in {one.label for one in app.selectbox}
    assert "no sliding faces" in texts(app) and "worked out in the section alone" in texts(app)


def test_the_whole_cornea_is_worked_out_when_asked_for_and_named_for_its_plan():
    app = opened("mechanics", first_texts())
    next(one for one in app.button if one.label == "Work out the whole cornea").click().run()
    work = app.session_state["mechanics_space"]
    assert isinstance(work, Work) and work.total == 7
    ends = time.monotonic() + 240.0
    while work.running and time.monotonic() < ends:
        time.sleep(0.2)
    assert work.done == work.total and len(work.states) == 5
    app.run()
    assert "Greatest in the treated disc" in texts(app) and "Shown for another plan" not in texts(app)
    figure = f"{work.states['flap'].centre.bed_stress_ratio:.2f}"
    assert figure in texts(app)
    on_desk = app.session_state["day"].desk
    on_desk.replace("OD", {**first_texts(), "zone_mm": "6.0"})
    app.run()
    assert "Shown for another plan or law" in texts(app)


def test_cancelled_work_stops_and_keeps_what_is_solved():
    app = opened("mechanics", first_texts())
    next(one for one in app.button if one.label == "Work out the whole cornea").click().run()
    work = app.session_state["mechanics_space"]
    work.stopped = True
    work.thread.join(60.0)
    assert not work.running and work.done <= 2
    app.run()
    assert not app.exception
    assert any(one.label == "Work out the whole cornea" for one in app.button)
