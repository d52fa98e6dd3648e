"""The day of a page: its log is taken over once and in order, plans keep apart, and what is asked for is made whole."""

from contextlib import suppress
from copy import deepcopy
from dataclasses import replace
from threading import Event, Thread
from time import sleep
from types import SimpleNamespace

import pytest
from streamlit.runtime.scriptrunner import StopException

from tissue.entry import plan_file
from tissue.entry.own_errors import OwnErrors
from tissue.entry.own_map.written import WrittenMap
from tissue.report.readback import identity, used_to_compare
from tissue.screens.desk import state
from tissue.screens.desk.link import ACTS, CLICKED
from tissue.screens.desk.machine import use_here
from tissue.screens.desk.plan import FIRST_DEMO, Desk, demo_files, open_demo
from tissue.screens.desk.press import taken
from tissue.screens.desk.state import FAULTY, KEPT_S, NOT_TAKEN, Day, Made, Memory
from tissue.screens.letter.read_back import eyes_of
from tissue.screens.pages import day_list
from tissue.screens.tables.rows import HEADS, day_rows

VALUES = ("-9.25", "491", "6.7", "0.31", "7.77")


@pytest.fixture
def day():
    """A day with the first demo profile."""
    made = Desk()
    open_demo(made, FIRST_DEMO)
    return Day.of(made)


def typed(number, day, name, text, side="OD"):
    """An entry of the log."""
    return {"number": number, "plan": day.at, "side": side, "form": "", "name": name, "text": text}


def say(day, *log):
    """What the page sends."""
    day.take({"desk": day.name, "log": list(log)})


def column(day, head):
    """A column of the list once every row is worked out, which a busy machine does in several turns."""
    left = 1
    while left:
        rows, left = day_rows(day)
    return [row["cells"][HEADS.index(head)] for row in rows]


def test_an_entry_is_taken_once_however_often_it_is_sent(day):
    first = typed(1, day, "zone_mm", "6.0")
    say(day, first)
    day.desk.edit("OD", "zone_mm", "6.2")
    say(day, first, typed(2, day, "cap_um", "130"))
    assert (day.desk.texts["OD"]["zone_mm"], day.desk.texts["OD"]["cap_um"], day.answered) == ("6.2", "130", 2)


def test_an_entry_belongs_to_the_eye_and_the_plan_it_was_typed_for(day):
    """Source: rule of the desk: an entry on its way when eye or patient change is not lost nor put elsewhere."""
    first, entry = day.desk, typed(1, day, "zone_mm", "6.1")
    day.desk.look_at("OS")
    day.add(Desk())
    say(day, entry)
    assert first.texts["OD"]["zone_mm"] == "6.1" and day.desk.empty and "6.1" not in str(first.texts["OS"])


def test_a_click_on_a_picture_is_taken_once_and_for_its_own_plan_alone(day):
    """A click was lost where the library lost its message; in the log it is said again until it is answered."""
    click = {
        "number": 1,
        "act": "click",
        "plan": day.at,
        "side": "OD",
        "inputs": ["zone_mm", "cap_um"],
        "x": 6.0,
        "y": 110.0,
    }
    say(day, click)
    assert taken(CLICKED) == [day.at, "OD", {"zone_mm": 6.0, "cap_um": 110.0}]
    say(day, click, click | {"number": 2, "side": "OS"}, click | {"number": 3, "plan": "another"})
    assert taken(CLICKED) is None and day.answered == 3


def test_a_new_patient_leaves_nothing(day):
    say(
        day,
        *(
            typed(i + 1, day, name, text)
            for i, (name, text) in enumerate(
                zip(("sphere_D", "central_thickness_um", "zone_mm", "suction_done", "radius_mm"), VALUES, strict=True)
            )
        ),
    )
    day.desk.keep(day.desk.side)
    say(day, {"number": 9, "act": "new"})
    assert day.asking and not day.desk.empty
    say(day, {"number": 10, "act": "leave", "how": "drop", "listed": False})
    left = str([vars(one) for one in day.plans.values()]) + str(vars(day))
    assert day.desk.empty and len(day.plans) == 1 and not any(value in left for value in VALUES)


def test_a_row_says_what_is_so_of_the_plan_by_now(day):
    """Source: rule of the desk: nothing stale is shown as current, neither a read-back nor errors of this machine."""

    assert column(day, "Read back") == ["no", "no"]
    day.desk.readback = {"date": "", "of": identity(used_to_compare(eyes_of(day.desk))), "agrees": True}
    assert column(day, "Read back") == ["agrees", "agrees"]
    say(day, typed(1, day, "zone_mm", "6.1"))
    assert column(day, "Read back") == ["changed since", "changed since"]
    say(day, typed(2, day, "zone_mm", "6.5"))
    assert column(day, "Read back") == ["agrees", "agrees"]


def test_a_read_back_is_of_the_map_too(day):
    """The map of the epithelium was taken out, and the list went on saying that the read-back agrees."""
    rows = "\n".join(f"{x} {y} 53" for x in range(-3, 4) for y in range(-3, 4))
    day.desk.put_maps("OD", {"epithelium_map": WrittenMap("epithelium_map", "OD", "points", rows, "right", "up")})
    day.desk.edit("OD", "epithelium_um", "53")
    day.desk.readback = {"date": "", "of": identity(used_to_compare(eyes_of(day.desk))), "agrees": True}
    assert column(day, "Read back") == ["agrees", "agrees"]
    day.desk.open(plan_file.read_plan(day.desk.as_file().encode()), "")
    assert column(day, "Read back") == ["agrees", "agrees"]
    day.desk.put_maps("OD", {"epithelium_map": None})
    assert column(day, "Read back") == ["changed since", "changed since"]


def test_a_row_takes_the_errors_of_this_machine_as_they_are_by_now(day, tmp_path, monkeypatch):
    """A bias of the thickness of 60 µm moves the chance under the line by far more than a digit."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path))
    monkeypatch.setenv("APPDATA", str(tmp_path))
    before = column(day, "Under the line, %")
    use_here(OwnErrors({"thickness_bias_um": -60.0}, "a test"))
    assert column(day, "Under the line, %") != before


def test_a_patient_that_stays_is_as_it_was(day):
    say(day, typed(1, day, "zone_mm", "6.0"), {"number": 2, "act": "new"}, {"number": 3, "act": "leave", "how": "stay"})
    assert not day.asking and day.desk.texts["OD"]["zone_mm"] == "6.0"


def test_what_is_saved_is_saved_once_the_browser_has_it(day):
    say(day, typed(1, day, "zone_mm", "6.0"))
    day.made.append(Made(2, "a.toml", "application/toml", b"", day.at, day.desk.snapshot()))
    day.desk.edit("OD", "zone_mm", "6.3")
    assert day.desk.changed
    ACTS["got"](day, {"number": 3, "act": "got", "file": 2})
    assert not day.made and day.desk.changed  # what was typed since is a change again
    day.desk.edit("OD", "zone_mm", "6.0")
    assert not day.desk.changed


def test_a_desk_that_is_not_remembered_is_put_back_from_the_page(day):
    text = plan_file.dumps(plan_file.read_plan(demo_files()[FIRST_DEMO]))
    lost = typed(4, day, "zone_mm", "6.0")
    begun = typed(5, day, "reading_days", "90") | {"form": "reading_OD"}
    of_nobody = {"number": 6, "plan": "", "side": "own", "form": "rounds", "name": "seed", "text": "3"}
    fresh = replace(Day.of(Desk()), gone=True)
    of_another = lost | {"plan": "another", "text": "5.5"}
    edits = [lost, begun, of_nobody, of_another]
    restore = {"act": "restore", "of": day.at, "side": "OS", "text": text, "edits": edits}
    say(fresh, restore | {"number": 1})
    assert fresh.desk.side == "OS" and len(fresh.plans) == 1 and fresh.said == NOT_TAKEN
    assert set(fresh.desk.texts) == {"OD", "OS"} and "reading_days" not in fresh.desk.texts["OD"]
    assert fresh.desk.own == {"reading_OD": {"reading_days": "90"}}
    assert fresh.desk.texts["OD"]["zone_mm"] == "6.0" and fresh.desk.code == "harbour-03" and fresh.desk.changed
    say(fresh, restore | {"number": 2})  # a second press: the page shows the button again until the first is answered
    assert len(fresh.plans) == 1


def test_a_desk_that_is_put_back_takes_nothing_of_what_was_done_since(day):
    """The offer stands until it is pressed: a plan typed meanwhile, not saved, was gone without a word."""
    say(day, typed(1, day, "zone_mm", "6.1"))
    here, day.gone = day.at, True
    text = plan_file.dumps(plan_file.read_plan(demo_files()[FIRST_DEMO]))
    say(day, {"number": 2, "act": "restore", "of": "another", "side": "OD", "text": text, "edits": []})
    assert day.plans[here].texts["OD"]["zone_mm"] == "6.1" and day.at != here


def beside(act):
    """An act in a run of its own beside this one, as the library begins one while the run before goes on."""
    other = Thread(target=act)
    other.start()
    return other


def test_a_file_is_made_of_all_that_was_typed_before_it_though_a_run_before_is_still_taking_it_over(day, monkeypatch):
    """Source: rule of the desk: an act runs on what stands in the fields. The library begins a run for every message,
    and the run before goes on beside it until it notices: it had counted the entry and not yet put it in."""
    first, second = typed(1, day, "zone_mm", "6.1"), {"number": 2, "act": "file", "file": "save"}
    begun, made, edit = Event(), [], Desk.edit

    def slow(*told):
        begun.set()
        sleep(0.2)
        edit(*told)

    monkeypatch.setattr(Desk, "edit", slow)
    monkeypatch.setitem(ACTS, "file", lambda own, entry: made.append(own.desk.texts["OD"]["zone_mm"]))
    before = beside(lambda: say(day, first))
    assert begun.wait(5.0)
    say(day, first, second)
    before.join()
    assert made == ["6.1"] and day.answered == 2


def test_an_act_of_a_widget_has_its_turn_too(day, monkeypatch):
    begun, done = Event(), []

    def act():
        begun.set()
        sleep(0.2)
        done.append("act")

    monkeypatch.setattr(state, "day", lambda: day)
    before = beside(state.after_told(act))
    assert begun.wait(5.0)
    monkeypatch.setitem(ACTS, "file", lambda own, entry: done.append("file"))
    say(day, {"number": 1, "act": "file", "file": "save"})
    before.join()
    assert done == ["act", "file"]


def test_an_act_in_whose_middle_a_run_is_stopped_is_done_by_the_next(day, monkeypatch):
    """Source: rule of the desk: nothing asked for is lost. A run may be stopped wherever it asks for its session."""
    log = typed(1, day, "zone_mm", "6.1"), {"number": 2, "act": "file", "file": "save"}
    done = []

    def stopped(own, entry):
        if not done.append("begun") and len(done) == 1:
            raise StopException
        done.append("made")

    monkeypatch.setitem(ACTS, "file", stopped)
    with pytest.raises(StopException):
        say(day, *log)
    assert day.answered == 1
    say(day, *log)
    assert done == ["begun", "begun", "made"] and day.answered == 2


def test_a_copy_of_a_day_has_a_turn_of_its_own(day):
    assert deepcopy(day).turn is not day.turn


def test_a_day_that_is_copied_for_another_page_is_of_no_half_change(day, monkeypatch):
    memory, begun = Memory(), Event()
    memory.keep(day)
    monkeypatch.setattr(state, "_held", lambda holder, session: True)

    def act():
        day.desk.edit("OD", "zone_mm", "6.1")
        begun.set()
        sleep(0.2)
        day.desk.edit("OD", "cap_um", "130")

    monkeypatch.setattr(state, "day", lambda: day)
    day.asking, day.awaits = ("reset", day.at, "OD"), {"file": "series"}
    before = beside(state.after_told(act))
    assert begun.wait(5.0)
    copy = memory.find(day.name, "")
    texts = copy.desk.texts["OD"]
    before.join()
    assert (texts["zone_mm"], texts["cap_um"]) == ("6.1", "130")
    assert not copy.asking and not copy.awaits  # a dialog, or a file asked for, is of the page where it was asked for


def test_a_day_is_remembered_for_twelve_hours_and_no_longer(day):
    memory = Memory()
    memory.keep(day)
    assert memory.find(day.name, "") is day
    day.desk.figures("OD")
    memory.sweep(day.seen + KEPT_S - 1.0)
    assert memory.find(day.name, "") is day and not day.desk.results
    memory.sweep(day.seen + KEPT_S + 1.0)
    assert memory.find(day.name, "") is None


def test_what_is_typed_for_a_new_patient_before_they_are_there_is_theirs_alone(day):
    """The page gives the new patient a name and types under it at once; where none is begun nothing is taken."""
    before, theirs = day.desk.texts["OD"], "0123456789ab"
    zone = {"plan": theirs, "side": "OD", "form": "", "name": "zone_mm", "text": "6.1"}
    say(day, {"number": 1, "act": "new", "begins": theirs}, zone | {"number": 2})
    assert (day.at, day.desk.texts, before["zone_mm"]) == (theirs, {"OD": {"zone_mm": "6.1"}}, "6.5")
    say(day, {"number": 3, "act": "new", "begins": "ba9876543210"}, zone | {"number": 4, "plan": "ba9876543210"})
    assert day.asking and day.at == theirs and day.said == NOT_TAKEN
    say(day, {"number": 5, "act": "leave", "how": "drop", "listed": False, "begins": theirs})
    assert day.at != theirs and day.desk.texts == {}  # a name that is taken is not given again


def test_a_plan_that_is_put_back_gets_nothing_of_the_patient_typed_after_it(day):
    text = day.desk.as_file()
    edits = [typed(1, day, "zone_mm", "6.1"), {"number": 2, "act": "new", "begins": "0123456789ab"}]
    edits += [typed(3, day, "cap_um", "131") | {"plan": "0123456789ab"}]
    day.gone = True
    say(day, {"number": 1, "act": "restore", "of": day.at, "side": "OD", "text": text, "edits": edits})
    assert day.desk.texts["OD"]["zone_mm"] == "6.1" and day.desk.texts["OD"].get("cap_um") != "131"


def test_a_new_patient_asks_where_a_reading_was_begun(day):
    """Source: rule of the desk: nothing typed is lost without a word. It is in no file, so the plan counts as saved."""
    say(day, typed(1, day, "reading_days", "9") | {"form": "reading_OS"}, {"number": 2, "act": "new"})
    assert day.asking and day.unsaved and not day.desk.changed


def test_opened_plans_do_not_take_the_place_of_one_with_a_reading_that_was_begun(day):
    say(day, typed(1, day, "reading_days", "9") | {"form": "reading_OS"})
    here = day.at
    day.put_all([Desk(code="another")])
    assert here in day.plans and day.plans[here].begun == ["OS"]


def test_why_a_file_is_not_opened_is_said_though_the_run_that_read_it_is_stopped(day, monkeypatch):
    """It counted as read and was not looked at again: neither was it on the list nor a word said."""
    session, said, read = Session(), [], []
    file = SimpleNamespace(file_id="a", name="harbour.toml", getvalue=lambda: read.append(1) or b"[OD")
    screen = SimpleNamespace(session_state=session, file_uploader=lambda *told, **more: [file])
    monkeypatch.setattr(day_list, "st", screen)
    monkeypatch.setattr(day_list, "put", lambda words: said.append(str(words)))
    session.stops = lambda: bool(read)
    with suppress(StopException):
        day_list._open_files(day)
    session.stops = lambda: False
    day_list._open_files(day)
    assert len(read) == 1 and "harbour.toml" in said[-1]


class Session(dict):
    """A session that stops its run where something is put into it, as the library's own does."""

    def __setitem__(self, name, value):
        if self.stops():
            raise StopException
        super().__setitem__(name, value)


def test_a_fault_of_an_act_is_said_and_what_follows_it_is_taken(day, monkeypatch):
    """It was counted as answered and the screen went out with the words of the library."""
    monkeypatch.setitem(ACTS, "faulty", lambda own, entry: own.plans["nobody"])
    say(day, {"number": 1, "act": "faulty"})
    assert day.said == FAULTY
    say(day, typed(2, day, "zone_mm", "6.1"))
    assert day.desk.texts["OD"]["zone_mm"] == "6.1" and day.said == ""
