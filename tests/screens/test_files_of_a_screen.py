"""A file that a screen makes from its own fields is made by what stands in them when it is asked for."""

from streamlit.testing.v1 import AppTest

from tissue.screens.desk.link import GONE
from tissue.screens.desk.state import ACTS


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
