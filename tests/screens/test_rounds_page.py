"""The Rounds screen without a browser: a round is walked through, what is committed stays, nothing typed is lost."""

import csv
import io

import pytest
from helpers import press_of
from streamlit.runtime.state import SessionState
from streamlit.testing.v1 import AppTest

from tissue.entry.plan_file import read_plan
from tissue.rounds.cases import cases_of, published_cases
from tissue.rounds.judge import CHOSEN, OUTSIDE, WITHIN, judge
from tissue.rounds.kinds import round_of
from tissue.rounds.learning import Record, record_json
from tissue.rounds.question import kinds
from tissue.screens.desk.state import demo_files
from tissue.screens.rounds.record import today
from tissue.screens.rounds.session import Session
from tissue.screens.rounds.setup import FILE, INVENTED, ON_DESK, PUBLISHED


def screen():
    """What AppTest runs: the screen alone."""
    from tissue.screens.pages import rounds

    rounds.show()


def demo_round(seed, count, wanted=None):
    """The questions that the screen makes of the invented eyes."""
    cases = [case for name, path in demo_files().items() for case in cases_of(read_plan(path), name, "invented")]
    return round_of(cases, seed, count, wanted)


@pytest.fixture
def app():
    """The screen after its first run."""
    return AppTest.from_function(screen, default_timeout=60).run()


def html(app):
    return " ".join(one.proto.body for one in app.get("html"))


def begin(app, wanted=("bed",), eyes=(INVENTED,)):
    """A round of these kinds about these eyes."""
    app.session_state["rounds"].chosen.update(eyes=list(eyes), kinds=list(wanted))
    app.session_state["rounds_eyes"], app.session_state["rounds_kinds"] = list(eyes), list(wanted)
    app.run()
    press_of(app, "rounds_begin").click().run()
    assert not app.exception
    return app.session_state["rounds"]


def answer(app, text):
    """Write an answer and commit it."""
    app.text_input[0].set_value(text)
    app.button(key="rounds_commit").click().run()
    assert not app.exception


def test_a_question_that_a_run_beside_has_only_just_drawn_was_not_answered(app, monkeypatch):
    """It counted as one without an answer, see `test_what_a_run_beside_has_only_just_drawn_was_not_pressed`."""
    own = begin(app)
    monkeypatch.setattr(SessionState, "_widget_changed", lambda *told: True)
    app.run()
    assert not app.exception and own.judged is None and own.question is not None


def test_a_round_of_three_is_walked_through(app):
    """Source: the same round made without the screen; a number off by 50 µm lies outside."""
    app.session_state["day"].own["rounds_fields"] = {"count": "3", "seed": "8"}
    own = begin(app)
    expected = demo_round(8, 3, ["bed"])
    assert [one.id for one in own.questions] == [one.id for one in expected]
    for at, question in enumerate(expected):
        said = html(app)
        assert question.prompt in said and f"Question {at + 1} of 3" in said
        assert question.answer_words not in said.split("Answers of this session")[0] and "The arithmetic" not in said
        answer(app, f"{question.answer + (0.5 if at else 50.0):.1f} µm")
        said = html(app)
        assert f"The arithmetic: <b>{question.answer_words}</b>" in said
        assert all(line.words in said and line.figure in said for line in question.lines)
        press_of(app, "rounds_next").click().run()
    assert "Right: 2 of 3." in html(app) and "Seed 8" in html(app)
    assert [one[-1].words for one in own.results] == [OUTSIDE, WITHIN, WITHIN]


def test_an_answer_that_cannot_be_read_is_told_and_stays(app):
    own = begin(app)
    answer(app, "three hundred")
    assert "Nothing was committed: read three hundred, accepted a number in µm." in html(app)
    assert own.results == [] and app.text_input[0].value == "three hundred"
    answer(app, "300")
    assert len(own.results) == 1


def test_what_is_committed_cannot_be_altered(app):
    own = begin(app)
    answer(app, "300")
    first = own.results[0][-1]
    own.commit(judge(own.question, "310"))
    assert len(own.results) == 1 and own.judged is first and not app.text_input


def test_an_answer_to_another_question_is_not_taken():
    questions = demo_round(1, 2)
    own = Session()
    own.begin(questions, 1)
    own.commit(judge(questions[1], questions[1].answer_words.split(" = ")[0]))
    assert own.results == []


def test_the_arithmetic_can_be_shown_without_an_answer(app):
    own = begin(app)
    app.button(key="rounds_quiet").click().run()
    assert "No answer was given." in html(app) and own.results[0][-1].counts is False


@pytest.mark.parametrize("kind", list(kinds()))
def test_every_kind_is_drawn_before_and_after_its_answer(app, kind):
    """Also of the published eyes; choices are radio buttons or marks, and nothing of the answer stands before it."""
    own = begin(app, [kind], (INVENTED, PUBLISHED))
    question = own.question
    assert question.kind.id == kind
    if question.form == "one":
        app.radio[0].set_value(question.answer)
    elif question.form == "some":
        for box in app.checkbox:
            box.set_value(box.label in question.answer)
    else:
        app.text_input[0].set_value(question.answer_words.split(" = ")[0])
    assert 'class="plain sum"' not in html(app) and 'role="status"' not in html(app)
    app.button(key="rounds_commit").click().run()
    assert not app.exception and own.judged.within
    words = CHOSEN if question.form in ("one", "some") else WITHIN
    assert words in html(app) and bool(question.shows) == ("The eye of this question" in html(app))


def test_what_was_not_right_is_asked_again_and_the_score_is_by_kind(app):
    """Source: the answers that were given: of two beds one, of one thumb rule none."""
    app.session_state["day"].own["rounds_fields"] = {"count": "3", "seed": "8"}
    own = begin(app, ["bed", "thumb"])
    wrong = []
    for at, question in enumerate(own.questions):
        right = at == [one.kind.id for one in own.questions].index("bed")
        answer(app, f"{question.answer + (0.0 if right else 50.0):.1f}")
        wrong += [] if right else [question.id]
        press_of(app, "rounds_next").click().run()
    beds = sum(one.kind.id == "bed" for one in own.questions)
    said = html(app)
    assert "Right: 1 of 3." in said and "By kind" in said
    assert f"1 of {beds}" in said and f"0 of {3 - beds}" in said
    press_of(app, "rounds_retry").click().run()
    assert not app.exception and [one.id for one in own.questions] == wrong and "Question 1 of 2" in html(app)
    for question in own.questions:
        answer(app, f"{question.answer:.1f}")
        press_of(app, "rounds_next").click().run()
    assert "Right: 2 of 2." in html(app) and "makes this round again" not in html(app)
    assert not [one for one in app.button if one.key == "rounds_retry"]


def test_the_record_of_learning_goes_on_in_another_session(app):
    """Saved here, opened in a session that knows nothing of it: what is due is named and can be chosen."""
    own = begin(app, ["bed"])
    answer(app, "3")
    content = record_json(own.learnt, today())
    own.saved()
    assert own.news == [] and own.learnt.kinds["bed"].asked == 1
    new = AppTest.from_function(screen, default_timeout=60).run()
    assert "Due today" not in html(new)
    new.file_uploader[0].set_value(("mine.json", content, "application/json")).run()
    assert not new.exception and "Due today: Residual bed." in html(new)
    press_of(new, "rounds_due").click().run()
    assert new.session_state["rounds"].chosen["kinds"] == ["bed"] and new.multiselect[0].value == ["bed"]
    own = begin(new, ["bed"])
    answer(new, f"{own.question.answer:.1f}")
    known = new.session_state["rounds"].learnt.kinds["bed"]
    assert (known.asked, known.right, (known.due - today()).days) == (2, 1, 1)


def test_a_file_that_is_no_record_is_refused_and_the_one_before_stays(app):
    own = app.session_state["rounds"]
    own.opened(Record().after([("bed", False, today())]))
    app.run()
    app.file_uploader[0].set_value(("other.json", b"{}", "application/json")).run()
    said = html(app)
    assert "other.json was not taken." in said and "what: read nothing; accepted record of learning" in said
    assert "Due today: Residual bed." in said


def test_wrong_counts_and_seeds_are_told_and_no_round_begins(app):
    for texts, words in (
        ({"count": "0", "seed": "1"}, "count"),
        ({"count": "ten", "seed": "1"}, "count"),
        ({"count": "5", "seed": ""}, "seed"),
        ({"count": "5", "seed": "-3"}, "seed"),
        ({"count": "5", "seed": "1000000"}, "seed"),
        ({"count": "5", "seed": "1.5"}, "seed"),
    ):
        app.session_state["day"].own["rounds_fields"] = dict(texts)
        app.run()
        assert not app.exception and press_of(app, "rounds_begin").disabled, (texts, words)
        assert app.session_state["day"].own["rounds_fields"] == texts
    app.session_state["day"].own["rounds_fields"] = {"count": "5", "seed": "0"}
    app.run()
    assert not press_of(app, "rounds_begin").disabled


def test_without_eyes_no_round_begins(app):
    app.session_state["rounds_eyes"] = []
    app.run()
    assert press_of(app, "rounds_begin").disabled and "No eye to ask about yet." in html(app)


def test_eyes_that_carry_no_such_question_are_told(app):
    """Source: a rule of thumb is asked about published eyes alone."""
    own = begin(app, ["rule"])
    assert own.questions == () and "None of these eyes carries a question of these kinds." in html(app)


def test_the_plan_on_the_desk_is_asked_about_as_it_stands(app):
    from tissue.screens.desk.state import Day, Desk, open_demo

    made = Desk()
    open_demo(made, "harbour-03_moderate_myopia")
    made.texts["OD"]["zone_mm"] = "6.0"
    made.texts["OS"]["zone_mm"] = "65"
    app.session_state["day"] = Day.of(made)
    own = begin(app, ["thumb"], (ON_DESK,))
    assert own.question.eye == "OD (right eye), harbour-03, the plan on the desk"
    assert [row.text for row in own.question.given][0] == "6 mm" and len(own.questions) == 1
    own.leave()
    app.run()
    assert "OS (left) of the plan on the desk is left out: zone_mm: read 65, accepted 4 to 9 mm." in html(app)


def test_a_plan_file_is_taken_or_its_faults_are_told(app):
    """A file that cannot be read leaves the one taken before."""
    app.session_state["rounds_eyes"] = [FILE]
    app.run()
    good = b'schema = 1\ncode = "mine"\n[OS]\nrefraction = "-5.00 -0.75 x 12"\ncentral_thickness_um = 551\n'
    app.file_uploader[0].set_value(("mine.toml", good, "application/toml")).run()
    assert "Taken from mine.toml: 1 eye." in html(app) and "Eyes to ask about: 1." in html(app)
    app.file_uploader[0].set_value(("other.toml", b"schema = 1\n[OS]\nzone_mm = 65", "application/toml")).run()
    said = html(app)
    assert "other.toml was not taken." in said and "zone_mm: read 65, accepted 4 to 9 mm" in said
    assert "Taken from mine.toml: 1 eye." in said


def test_what_was_answered_outlives_a_round_and_reads_back_from_the_file(app):
    own = begin(app)
    answer(app, "300")
    press_of(app, "rounds_end").click().run()
    assert own.questions == () and len(own.results) == 1 and "Answers of this session" in html(app)
    assert app.session_state["day"].own["rounds_fields"]["seed"] == "2"
    from tissue.rounds.results import results_csv

    (row,) = list(csv.DictReader(io.StringIO(results_csv(own.results))))
    assert (row["answered"], row["seed"], row["kind"]) == ("300", "1", "Residual bed")


def test_names_from_a_file_are_shown_as_they_are_and_never_run(app):
    """A pseudonym may hold any sign; on the page it is text."""
    case = published_cases()[0]
    own = app.session_state["rounds"]
    (question,) = round_of([type(case)("<b>x</b>", "OD", "a plan file", case.inputs, case.comparison)], 1, 1, ["bed"])
    own.begin((question,), 1)
    app.run()
    assert "&lt;b&gt;x&lt;/b&gt;" in html(app) and "<b>x</b>" not in html(app)


def test_a_round_about_the_plan_on_the_desk_goes_with_its_patient(app):
    """Source: rule of the desk: after a new patient nothing of the one before; what is learnt stays."""
    own = begin(app, eyes=(ON_DESK,))
    code = app.session_state["day"].desk.code
    answer(app, "300")
    assert code in html(app) and own.results
    app.session_state["day"].new_patient()
    app.run()
    assert not app.exception and code not in html(app)
    assert (own.questions, own.results, own.plans) == ((), [], {}) and own.learnt.kinds


def test_a_round_about_a_plan_of_the_list_stays_while_the_plan_does(app):
    own = begin(app, eyes=(ON_DESK,))
    app.session_state["day"].new_patient(listed=True)
    app.run()
    assert not app.exception and own.questions
