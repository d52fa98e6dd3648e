"""A file that a screen makes from its own fields is made by what stands in them when it is asked for."""

from threading import Event, Thread
from time import sleep
from types import SimpleNamespace

import pytest
from streamlit.runtime.scriptrunner import StopException
from streamlit.testing.v1 import AppTest

from tissue.screens.desk import link
from tissue.screens.desk.link import CSV, GONE
from tissue.screens.desk.state import ACTS, Day, Desk

ASKED = {"number": 7, "act": "file", "file": "word_save"}


def screen():
    """A screen with one field and a file of it; without a word in the field there is nothing to save."""
    import streamlit as st

    from tissue.screens.desk.link import hand, link, shown_up_to

    link("tried")
    if "asks" in st.session_state:
        from tissue.screens.desk.state import ACTS, day

        ACTS["file"](day(), st.session_state.pop("asks"))
    word = st.text_input("Word", "first", key="word")
    if word:
        made = "word.csv", "text/csv", word.encode()
        hand("word_save", "Save the word", lambda _: made, of_screen=True)
    shown_up_to()


def asked(word):
    """The day after a word was typed and the file asked for in one turn, as a hurried person does."""
    app = AppTest.from_function(screen, default_timeout=60).run()
    assert not app.exception and "file" in ACTS
    app.session_state["asks"] = {"number": 7, "file": "word_save"}
    app.text_input(key="word").set_value(word)
    app.run()
    assert not app.exception
    return app.session_state["day"]


def test_the_file_is_of_what_was_typed_just_before():
    """Source: rule of the desk: no file of another state. It held the word of the run before."""
    own = asked("second")
    assert [one.content for one in own.made] == [b"second"] and own.awaits is None


def test_a_file_whose_button_is_gone_is_said_not_to_be_made():
    own = asked("")
    assert own.made == [] and own.said == GONE and own.awaits is None


@pytest.fixture
def own(monkeypatch):
    """A day whose page has asked for a file of the screen; the button is drawn as the library draws it, for no page."""
    own = Day.of(Desk())
    own.awaits = dict(ASKED)
    monkeypatch.setattr(link, "day", lambda: own)
    monkeypatch.setattr(link, "st", SimpleNamespace(session_state={}, rerun=lambda: None))
    monkeypatch.setattr(link, "component", lambda *told: lambda **more: None)
    return own


def draw(make):
    link.hand("word_save", "Save the word", make, of_screen=True)


def test_a_run_that_begins_while_the_file_is_made_waits_for_it(own):
    """Source: rule of the desk: nothing asked for is lost. The newer run saw no file, ended, and nobody asked again."""
    begun = Event()

    def slow(on_desk):
        begun.set()
        sleep(0.2)
        return "word.csv", CSV, b"first"

    before = Thread(target=draw, args=(slow,))
    before.start()
    assert begun.wait(5.0)
    own.take({"log": []})  # the link of the newer run, which hands over what is made
    made = [one.content for one in own.made]
    before.join()
    assert made == [b"first"]


def test_a_file_in_whose_middle_a_run_is_stopped_is_made_by_the_next(own):
    def stopped(on_desk):
        raise StopException

    with pytest.raises(StopException):
        draw(stopped)
    draw(lambda on_desk: ("word.csv", CSV, b"first"))
    assert [one.content for one in own.made] == [b"first"] and own.awaits is None


def test_a_fault_in_a_file_is_told_once_and_the_screen_goes_on(own):
    """It was made again in every run, so that the screen showed nothing but the fault until it was left."""

    def faulty(on_desk):
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        draw(faulty)
    draw(faulty)
    assert own.made == [] and own.awaits is None
